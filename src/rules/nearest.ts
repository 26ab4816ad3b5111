import type { WaterPhase } from '../domain/catalogue.js';
import { type Amount, FIRMNESS } from '../domain/plants.js';
import { addDays, type LocalDay } from '../domain/time.js';
import type { FactValue, NearestChange } from '../domain/verdict.js';
import { DEGREES_PER_DAY } from '../models/growth-cycle.js';
import { type Outcome, weigh } from './decide.js';
import { changedSheet, type FactSheet, type LimitValues, valueIn } from './evaluate.js';
import type { Limits } from './limits.js';
import type { Rulebook } from './rulebook.js';
import { drinkInWords, inWords } from './words.js';

/*
 * The smallest change that can come by itself, or by looking, and would turn the verdict. Each candidate is one change
 * of the facts; it counts when the same rules then say something else.
 */

interface Candidate {
  readonly fact: string;
  readonly patch: Readonly<Record<string, FactValue>>;
  /** Ends the sentence `Becomes a light drink ...`. */
  readonly when: string;
  /** Days until it is expected; absent: nobody knows. */
  readonly inDays?: number | undefined;
}

const BODIES = {
  working: { fact: 'workingSoftness', name: 'the body' },
  'new-pair': { fact: 'newPairSoftness', name: 'the new pair' },
  'older-pair': { fact: 'olderPairSoftness', name: 'the older pair' },
} as const;

/** Weather that stands against no drink: what is supposed of a day that is still to come. */
const FAIR: Candidate['patch'] = {
  tonightWetHours: 0,
  tonightColdDamp: false,
  aheadDullDays: 0,
  aheadHotSpell: false,
  tonightMinC: 14,
  aheadNightMinC: 14,
  aheadDayMaxC: 24,
  forecastDayMaxC: 24,
};

/** Unknown dates rank after a fortnight: sooner things that are known come first. */
const UNDATED_DAYS = 15;

export function nearestChange(
  rulebook: Rulebook,
  sheet: FactSheet,
  limits: Limits,
  outcome: Outcome,
): NearestChange | undefined {
  const dry = outcome.amount === 'none';
  const candidates = [...(dry ? wetter(sheet, limits, outcome) : drier(sheet, limits, outcome))];
  candidates.sort((a, b) => (a.inDays ?? UNDATED_DAYS) - (b.inDays ?? UNDATED_DAYS));
  for (const candidate of candidates) {
    const { amount } = weigh(rulebook, changedSheet(sheet, candidate.patch), limits, true);
    if (amount !== outcome.amount) return told(candidate, amount, sheet);
  }
  return undefined;
}

function told(candidate: Candidate, amount: Amount, sheet: FactSheet): NearestChange {
  const day = valueIn(sheet, 'day') as LocalDay | null;
  const inDays = candidate.inDays === undefined ? undefined : Math.ceil(candidate.inDays);
  const about = inDays === undefined || inDays < 1 ? '' : `, in about ${inDays} ${inDays === 1 ? 'day' : 'days'}`;
  return {
    amount,
    sentence: `Becomes ${drinkInWords(amount)} ${candidate.when}${about}.`,
    fact: candidate.fact,
    ...(inDays !== undefined && inDays > 0 && day !== null && { expectedOn: addDays(day, inDays) }),
  };
}

const asNumber = (sheet: FactSheet, name: string): number | undefined => {
  const value = valueIn(sheet, name);
  return typeof value === 'number' ? value : undefined;
};

/** The row of the policy that holds a drink back for what a forecast says. */
const HEAT_ROW = 'heat-ahead';

/** A week that neither heat nor cold holds back: what a change of phase brings with it. */
const MILD: Candidate['patch'] = { ...FAIR, recentNightMinC: 12, recentDayMaxC: 22, recentDayMeanC: 17, recentDli: 15 };

function* wetter(sheet: FactSheet, limits: Limits, outcome: Outcome): Generator<Candidate> {
  const drying = [...potDries(sheet, limits, outcome)];
  const softening = [...seenSofter(sheet, limits, outcome)];
  yield* weatherPasses(sheet, outcome);
  yield* softening;
  yield* drying;
  // Often it takes both: the pot must be dry and the plant soft.
  for (const dry of drying)
    for (const soft of softening)
      yield {
        fact: soft.fact,
        patch: { ...dry.patch, ...soft.patch },
        when: `${soft.when} and ${dry.when.slice('when '.length)}`,
      };
  yield* repotHeals(sheet, outcome, limits);
  yield* nextPhase(sheet);
}

const valuesOf = (limits: Limits, { phase }: Outcome): LimitValues =>
  phase === null ? limits.base : limits.phases[phase].values;

/** The bodies the drinks of the phase look at. */
function bodiesOf(limits: Limits, outcome: Outcome): (typeof BODIES)[keyof typeof BODIES][] {
  const { policyPhase } = outcome;
  const drinks = policyPhase === null ? [] : limits.phases[policyPhase].drinks;
  const named = new Set(drinks.map((drink) => drink.values['drink-body'] as keyof typeof BODIES));
  return named.size === 0 ? [BODIES.working] : [...named].map((name) => BODIES[name]);
}

function* seenSofter(sheet: FactSheet, limits: Limits, outcome: Outcome): Generator<Candidate> {
  for (const { fact, name } of bodiesOf(limits, outcome)) {
    const now = valueIn(sheet, fact);
    if (now === null)
      yield { fact, patch: { [fact]: 'soft', thirst: 'soft' }, when: `if ${name} is found soft`, inDays: 0 };
    else
      for (const softer of FIRMNESS.slice(FIRMNESS.indexOf(now as (typeof FIRMNESS)[number]) + 1))
        yield {
          fact,
          patch: { ...FAIR, [fact]: softer, thirst: softer },
          when: `when ${name} is ${inWords(softer)}`,
        };
  }
}

function* weatherPasses(sheet: FactSheet, outcome: Outcome): Generator<Candidate> {
  const heatAhead = outcome.bites.some((bite) => bite.met === 'yes' && bite.trace.row === HEAT_ROW);
  if (!outcome.postponed && !heatAhead) return;
  const inDays = outcome.postponed ? asNumber(sheet, 'daysToFairWeather') : undefined;
  yield {
    fact: 'daysToFairWeather',
    patch: FAIR,
    when: 'when the weather has passed',
    inDays,
  };
}

function* potDries(sheet: FactSheet, limits: Limits, outcome: Outcome): Generator<Candidate> {
  const dryDays = asNumber(sheet, 'dryDays');
  if (outcome.policyPhase === null || dryDays === undefined) return;
  const gaps = limits.phases[outcome.policyPhase].drinks
    .map((drink) => drink.values['drink-gap'])
    .filter((gap): gap is number => typeof gap === 'number');
  const moist = dryDays <= 0;
  const daysToDry = moist ? asNumber(sheet, 'daysToDry') : 0;
  for (const gap of [...new Set(gaps.map((one) => Math.max(1, one)))].sort((a, b) => a - b)) {
    if (gap <= dryDays) continue;
    const days = gap === 1 ? '' : ` for ${gap} days`;
    yield {
      fact: 'dryDays',
      patch: { ...FAIR, dryDays: gap, depletion: 1 },
      when: `when the pot has been dry${days}`,
      ...(daysToDry !== undefined && { inDays: moist ? daysToDry + gap : gap - dryDays }),
    };
  }
}

function* repotHeals(sheet: FactSheet, outcome: Outcome, limits: Limits): Generator<Candidate> {
  const ago = asNumber(sheet, 'repottedDaysAgo');
  const dry = valuesOf(limits, outcome)['repot-dry-days'];
  if (ago === undefined || typeof dry !== 'number' || ago >= dry) return;
  yield {
    fact: 'repottedDaysAgo',
    patch: { ...FAIR, repottedDaysAgo: dry },
    when: 'when the roots have healed',
    inDays: dry - ago,
  };
}

function* nextPhase(sheet: FactSheet): Generator<Candidate> {
  const next = valueIn(sheet, 'nextPhase') as WaterPhase | null;
  if (next === null) return;
  const inDays = asNumber(sheet, 'daysToNextPhase');
  const angle = asNumber(sheet, 'seasonAngleDeg');
  yield {
    fact: 'waterPhase',
    patch: {
      ...MILD,
      waterPhase: next,
      phaseProbability: 1,
      daysFromWaterSeason: 0,
      ...(angle !== undefined && inDays !== undefined && { seasonAngleDeg: (angle + inDays * DEGREES_PER_DAY) % 360 }),
    },
    when: `once it is ${inWords(next)}`,
    inDays,
  };
}

function* drier(sheet: FactSheet, limits: Limits, outcome: Outcome): Generator<Candidate> {
  const wetHours = valuesOf(limits, outcome)['wet-night-hours'];
  for (const { fact, name } of bodiesOf(limits, outcome)) {
    const now = valueIn(sheet, fact);
    if (now !== null && now !== 'firm')
      yield { fact, patch: { [fact]: 'firm', thirst: 'firm' }, when: `if ${name} is found firm`, inDays: 0 };
  }
  if (typeof wetHours === 'number')
    yield {
      fact: 'tonightWetHours',
      patch: { tonightWetHours: wetHours },
      when: `if tonight turns wet, ${wetHours} h or more near the dew point`,
    };
}
