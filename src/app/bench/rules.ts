import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { gatherFacts } from '../../advice/facts.js';
import { type Given, givenSchema, inputsOf } from '../../advice/what-if.js';
import type { Catalogue } from '../../domain/catalogue.js';
import { type Compiled, compileRow, explainRow, type FactSheet, rowMet, sheetOf } from '../../rules/evaluate.js';
import { limitsFor } from '../../rules/limits.js';
import type { Rulebook } from '../../rules/rulebook.js';
import type { Row } from '../../rules/schema.js';
import { decide } from '../../rules/verdict.js';
import { loadCatalogue } from '../config/catalogue.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import { loadRulebook } from '../config/rulebook.js';
import type { BenchResult } from './storage.js';

interface RulesSpeed {
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
 * How fast rows are explained, beside the same rows without their trace. Reads the rulebook and the catalogue that come with
 * the service.
 */
export function benchRules(options: { readonly evaluations?: number } = {}): BenchResult {
  const rulebook = loadRulebook(join(PACKAGE_CONFIG, 'rulebook'));
  const catalogue = loadCatalogue(join(PACKAGE_CONFIG, 'catalogue'));
  const speed = measure(rulebook, catalogue, options.evaluations ?? 300_000);
  const millions = (perSecond: number): string => `${(perSecond / 1e6).toFixed(2)} million`;
  return {
    name: 'rules',
    ratio: speed.ratio,
    yardstick: 'the same row of ten conditions evaluated without its trace',
    detail:
      `${millions(speed.explainedPerSecond)} explained and ${millions(speed.barePerSecond)} bare evaluations a second; ` +
      `${Math.round(speed.verdictsPerSecond)} verdicts with trace, ` +
      `${Math.round(speed.verdictsWithNearestPerSecond)} with the nearest change too`,
  };
}

function measure(rulebook: Rulebook, catalogue: Catalogue, evaluations: number): RulesSpeed {
  const input = inputsOf(QUESTION, catalogue);
  const facts = gatherFacts(input);
  const sheet = sheetOf(facts);
  const limits = limitsFor(rulebook, input.group, input.general);
  const row = compileRow('policy', TEN_CONDITIONS);
  const values = limits.phases.growing.values;
  const perSecond = (times: number, one: () => unknown): number => {
    let kept: unknown;
    const start = performance.now();
    for (let count = 0; count < times; count += 1) kept = one();
    const seconds = (performance.now() - start) / 1000;
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
