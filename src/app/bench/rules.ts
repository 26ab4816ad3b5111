import { gatherFacts } from '../../advice/facts.js';
import { type Given, givenSchema, inputsOf } from '../../advice/what-if.js';
import type { Catalogue } from '../../domain/catalogue.js';
import { type Compiled, compileRow, explainRow, type FactSheet, rowMet, sheetOf } from '../../rules/evaluate.js';
import { limitsFor } from '../../rules/limits.js';
import type { Rulebook } from '../../rules/rulebook.js';
import type { Row } from '../../rules/schema.js';
import { decide } from '../../rules/verdict.js';

export interface RulesBench {
  /** Explained evaluations of a row of ten conditions, all of them met, per second. */
  readonly explainedPerSecond: number;
  /** The same row without its trace. */
  readonly barePerSecond: number;
  /** Explained over bare: what the trace costs, the same on any machine. */
  readonly ratio: number;
  /** Whole verdicts with trace and sentence per second, and those with the nearest change too. */
  readonly verdictsPerSecond: number;
  readonly verdictsWithNearestPerSecond: number;
}

const TEN_CONDITIONS: Row = {
  id: 'ten',
  when: [
    { fact: 'dryDays', op: 'at-least', value: 7 },
    { fact: 'workingSoftness', op: 'at-least', value: 'slightly-soft' },
    { fact: 'waterPhase', op: 'is', value: 'growing' },
    { fact: 'recentNightMinC', op: 'above', value: 4 },
    { fact: 'recentDayMaxC', op: 'below', value: 36 },
    { fact: 'tonightWetHours', op: 'below', limit: 'wet-night-hours' },
    { fact: 'tonightMinC', op: 'at-least', limit: 'min-wet' },
    { fact: 'aheadHotSpell', op: 'is', value: false },
    { fact: 'ageMonths', op: 'at-least', limit: 'seedling-months' },
    { fact: 'signRot', op: 'is', value: false },
  ],
  effect: { cap: 'full' },
  because: 'All ten hold.',
  source: 'practice',
};

const QUESTION: Given = givenSchema.parse({
  group: 'lithops-summer-rain',
  on: { latitude: 51, date: '2027-05-25' },
  plant: { phase: 'growing', firmness: 'soft' },
  pot: { dryDays: 12 },
  house: { recent: { nightMin: 11, dayMax: 24, dli: 26 }, tonight: { min: 11, wetHours: 0 } },
});

/** Rounds of each kind, taken in turn so that a busy machine slows both alike; the median counts. */
const ROUNDS = 7;

/**
 * How fast rows are explained and verdicts given.
 * @param nowMs a clock of milliseconds, such as `performance.now`
 */
export function benchRules(
  rulebook: Rulebook,
  catalogue: Catalogue,
  nowMs: () => number,
  evaluations = 300_000,
): RulesBench {
  const input = inputsOf(QUESTION, catalogue);
  const facts = gatherFacts(input);
  const sheet = sheetOf(facts);
  const limits = limitsFor(rulebook, input.group, input.general);
  const row = compileRow('policy', TEN_CONDITIONS);
  const values = limits.phases.growing.values;
  const perSecond = (times: number, one: () => unknown): number => {
    let kept: unknown;
    const start = nowMs();
    for (let count = 0; count < times; count += 1) kept = one();
    const seconds = (nowMs() - start) / 1000;
    if (kept === undefined) throw new Error('The benchmark worked out nothing.');
    return times / seconds;
  };
  const explained: number[] = [];
  const bare: number[] = [];
  const verdicts: number[] = [];
  const nearest: number[] = [];
  for (let round = 0; round <= ROUNDS; round += 1) {
    const one = [
      perSecond(evaluations, () => explainRow(row, sheet, values)),
      perSecond(evaluations, () => rowMet(row, sheet, values)),
      perSecond(evaluations / 1000, () => decide(rulebook, facts, limits, { withoutNearest: true })),
      perSecond(evaluations / 1000, () => decide(rulebook, facts, limits)),
    ];
    // The first round warms up.
    if (round === 0) continue;
    [explained, bare, verdicts, nearest].forEach((list, index) => {
      list.push(one[index] as number);
    });
  }
  checkMet(row, sheet, values);
  return {
    explainedPerSecond: median(explained),
    barePerSecond: median(bare),
    ratio: median(explained) / median(bare),
    verdictsPerSecond: median(verdicts),
    verdictsWithNearestPerSecond: median(nearest),
  };
}

/** A row that stopped at its first condition would make the figure worthless. */
function checkMet(row: Compiled, sheet: FactSheet, values: Parameters<typeof rowMet>[2]): void {
  const open = explainRow(row, sheet, values).conditions.find((condition) => condition.met !== 'yes');
  if (open) throw new Error(`The benchmark row is not met: ${open.fact}.`);
}

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] as number;
