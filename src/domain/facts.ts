import { z } from 'zod';
import { GROWTH_TYPES, LEAF_CHANGES, WATER_PHASES } from './catalogue.js';
import { AMOUNTS, FIRMNESS, ORIGIN_ZONES, PAIR_STATES, PHASES, SIGNS, type Sign, STAGES } from './plants.js';
import { EXPOSURES } from './site.js';
import type { Fact, Facts, FactValue } from './verdict.js';

/*
 * Everything a rule may see about a batch on a morning, declared once. The rule checker takes its vocabulary from here,
 * the trace its units, the API its schema, and the page "what a rule can see" its text.
 */

/** `rank`: words in an order, so that they can be compared: softer, wetter, more. */
export type FactKind = 'number' | 'word' | 'rank' | 'flag';

export interface FactInfo {
  readonly kind: FactKind;
  /** Canonical unit as shown to people; empty for words. */
  readonly unit: string;
  /** Allowed words of a `word` or `rank`, in rank order; absent: any word. */
  readonly words?: readonly string[];
  /** Lowest and highest value that can be meant, of a number. */
  readonly bounds?: readonly [number, number];
  /** One line a grower understands. */
  readonly meaning: string;
  /** Which part of the service supplies it. */
  readonly source: string;
  /** What to look for when a look at the bench would tell it; absent: looking does not help. */
  readonly look?: string;
}

type Extra = Pick<FactInfo, 'look'>;
const number = (
  unit: string,
  bounds: readonly [number, number],
  meaning: string,
  source: string,
  extra: Extra = {},
): FactInfo => ({ kind: 'number', unit, bounds, meaning, source, ...extra });
const word = (words: readonly string[] | undefined, meaning: string, source: string, extra: Extra = {}): FactInfo => ({
  kind: 'word',
  unit: '',
  ...(words && { words }),
  meaning,
  source,
  ...extra,
});
const rank = (words: readonly string[], meaning: string, source: string, extra: Extra = {}): FactInfo => ({
  kind: 'rank',
  unit: '',
  words,
  meaning,
  source,
  ...extra,
});
const flag = (meaning: string, source: string, extra: Extra = {}): FactInfo => ({
  kind: 'flag',
  unit: '',
  meaning,
  source,
  ...extra,
});

const TEMP: readonly [number, number] = [-40, 70];
const DLI: readonly [number, number] = [0, 80];
const PPFD: readonly [number, number] = [0, 3000];
const DAYS: readonly [number, number] = [0, 5000];

/** Fact name of a sign: `rot` becomes `signRot`. */
export const signFact = (sign: Sign): string =>
  `sign${sign.replace(/(^|-)([a-z])/g, (_, __, letter: string) => letter.toUpperCase())}`;

const SIGN_MEANINGS: Record<Sign, string> = {
  rot: 'rot seen: glassy or brown, wet, collapsing from the base',
  rocking: 'the plant rocks in its pot when touched',
  'stacked-pairs': 'more living leaf pairs than this plant should have',
  stretched: 'taller than wide, pale, leaning to the light',
  scorched: 'dry white, tan or brown patches on the sun side',
  'tight-old-skin': 'a dry old skin grips the new pair',
  burst: 'a clean split through the skin',
  'wrinkled-sides': 'level wrinkles round the sides',
  'closed-tips': 'leaf tips folded in, the rosette closed',
  'elongating-leaves': 'leaves grow long',
};
const signFacts = Object.fromEntries(
  SIGNS.map((sign) => [
    signFact(sign),
    flag(SIGN_MEANINGS[sign], 'journal: signs seen', { look: SIGN_MEANINGS[sign] }),
  ]),
);

export const FACTS: Readonly<Record<string, FactInfo>> = {
  day: word(undefined, 'the local day the advice is for', 'calendar of the site'),
  group: word(undefined, 'species group of the batch', 'collection'),
  originZone: word(ORIGIN_ZONES, 'rainfall zone of the habitat', 'collection, else the first zone of the group'),
  growthType: word(GROWTH_TYPES, 'when the group grows', 'catalogue'),
  leafChange: word(LEAF_CHANGES, 'how the group changes its leaves', 'catalogue'),
  seasonAngleDeg: number('°', [0, 360], 'season angle: 0 local autumn equinox, 90 winter solstice', 'sun and latitude'),
  daysFromWaterSeason: number('days', [0, 200], 'how far outside the usual weeks with water', 'catalogue and season'),

  phase: word(PHASES, 'phase of the year’s growth', 'growth-cycle model, or as entered', { look: 'the phase' }),
  stage: word(STAGES, 'stage of the leaf-pair change', 'growth-cycle model, or as entered', {
    look: 'how far the old pair has gone',
  }),
  waterPhase: word(WATER_PHASES, 'phase, with the stages of the leaf-pair change apart', 'growth-cycle model', {
    look: 'which phase it is in (buds, a gaping fissure, a new pair, a sheath)',
  }),
  phaseProbability: number('', [0, 1], 'how sure the phase is', 'growth-cycle model'),
  secondPhase: word(WATER_PHASES, 'the next likely phase', 'growth-cycle model'),
  secondPhaseProbability: number('', [0, 1], 'how likely the second phase is', 'growth-cycle model'),
  nextPhase: word(WATER_PHASES, 'the phase that comes next', 'growth-cycle model'),
  daysInPhase: number('days', DAYS, 'days since the phase began', 'growth-cycle model'),
  daysToNextPhase: number('days', DAYS, 'days until the next phase is expected', 'growth-cycle model'),

  firmness: rank(FIRMNESS, 'firmness of the working body', 'journal: signs seen, else the reserve model', {
    look: 'how firm the body is',
  }),
  oldPair: word(PAIR_STATES, 'state of the old leaf pair', 'journal: signs seen', { look: 'the old pair' }),
  newPair: word([...PAIR_STATES, 'hidden'], 'state of the new leaf pair', 'journal: signs seen', {
    look: 'the new pair',
  }),
  workingSoftness: rank(FIRMNESS, 'softness of the working body', 'firmness, else the new pair', {
    look: 'whether the body is soft',
  }),
  newPairSoftness: rank(
    FIRMNESS,
    'softness of the new pair',
    'the new pair as seen; once the old one is paper, the body',
    {
      look: 'whether the new pair is soft',
    },
  ),
  olderPairSoftness: rank(FIRMNESS, 'softness of the older pair', 'the old pair as seen, else firmness', {
    look: 'whether the older pair is soft',
  }),
  thirst: rank(FIRMNESS, 'softness of the body that shows thirst at this time', 'the three softnesses and the phase', {
    look: 'whether the plant is soft or sunken',
  }),
  sheathed: flag('hidden in a dry sheath', 'journal: signs seen', { look: 'whether it sits in its sheath' }),
  ...signFacts,
  ageMonths: number('months', [0, 1200], 'age since sowing', 'collection'),
  repottedDaysAgo: number('days', DAYS, 'days since roots were cut at repotting', 'journal: repotting'),
  reserve: number('', [0, 1.5], 'water held in the plant, 1 = plump', 'plant reserve model'),
  potCount: number('pots', [0, 1e6], 'pots in the batch', 'collection'),
  worth: number('', [0, 100], 'what a lost pot costs beside others', 'collection'),

  dryDays: number('days', DAYS, 'days since the substrate became dry; 0: still moist', 'pot-water model and notes', {
    look: 'whether the pot is dry (lift one)',
  }),
  depletion: number('', [0, 2], 'share of the available water gone', 'pot-water model, sensor or scale', {
    look: 'whether the pot is dry (lift one)',
  }),
  daysToDry: number('days', DAYS, 'days until the pot is dry', 'pot-water model and forecast'),
  lastWateringDaysAgo: number('days', DAYS, 'days since the last drink', 'journal: waterings'),
  lastWateringAmount: rank(AMOUNTS, 'how much the last drink was', 'journal: waterings'),
  potMlPerMm: number('mL/mm', [0.05, 1000], 'mL that stand for 1 mm over the pot', 'catalogue: pots'),
  potAvailableMm: number('mm', [0.5, 300], 'water the pot can give to roots', 'catalogue: mixes and pots'),

  recentNightMinC: number('°C', TEMP, 'mean night minimum of the last 7 days', 'house climate'),
  recentDayMaxC: number('°C', TEMP, 'mean day maximum of the last 7 days', 'house climate'),
  recentDayMeanC: number('°C', TEMP, 'middle of the two, last 7 days', 'house climate'),
  recentDli: number('mol m⁻² d⁻¹', DLI, 'daily light at the bench, last 7 days', 'house climate'),
  recentPeakPpfdUmol: number('µmol m⁻² s⁻¹', PPFD, 'highest hour of light, last 7 days', 'house climate'),
  tonightMinC: number('°C', TEMP, 'lowest temperature tonight', 'indoor forecast'),
  tonightMaxC: number('°C', TEMP, 'highest temperature tonight', 'indoor forecast'),
  tonightWetHours: number('h', [0, 24], 'hours tonight near the dew point at 9-21 °C', 'indoor forecast'),
  tonightColdDamp: flag('tonight is below 8 °C and damp, 92 % or more', 'indoor forecast'),
  aheadDayMaxC: number('°C', TEMP, 'highest day of the next four', 'indoor forecast, else the last week'),
  forecastDayMaxC: number('°C', TEMP, 'highest day of the next four, by a forecast', 'indoor forecast'),
  aheadNightMinC: number('°C', TEMP, 'lowest night of the next three', 'indoor forecast, else the last week'),
  aheadDullDays: number('days', [0, 14], 'longest run of dull days in the next three', 'forecast, else the last week'),
  aheadDli: number('mol m⁻² d⁻¹', DLI, 'brightest of the next three days', 'forecast, else the last week'),
  aheadPeakPpfdUmol: number('µmol m⁻² s⁻¹', PPFD, 'highest light of the next three days', 'forecast, else estimated'),
  aheadHotSpell: flag('a hot spell is on or coming', 'forecast, else the last week'),
  daysToFairWeather: number('days', DAYS, 'days until the weather lets a pot dry again', 'forecast'),
  leafTempC: number(
    '°C',
    [-40, 90],
    'hottest a leaf in the sun can get in the next three days with no cloth on',
    'leaf estimate',
  ),
  leafTempUnderClothC: number(
    '°C',
    [-40, 90],
    'hottest a leaf in the sun can get in the next three days under the cloth that hangs now',
    'leaf estimate',
  ),

  usedToDli: number('mol m⁻² d⁻¹', DLI, 'daily light the plant was used to', 'light history'),
  usedToDays: number('days', DAYS, 'days it stood in that light', 'light history'),
  lightStepRatio: number('', [0, 50], 'expected light over the light it may get today', 'light history and forecast'),
  peakStepRatio: number(
    '',
    [0, 50],
    'expected peak with no cloth on over the highest peak it knows',
    'light history and forecast',
  ),
  peakStepUnderClothRatio: number(
    '',
    [0, 50],
    'expected peak under the cloth that hangs now over the highest peak it knows',
    'light history and forecast',
  ),
  lightExcessRatio: number(
    '',
    [0, 50],
    'expected light over the top of what the group likes',
    'forecast and catalogue',
  ),

  houseId: word(undefined, 'house it stands in', 'collection'),
  lineId: word(undefined, 'watering line of its bench', 'collection'),
  benchExposure: word(EXPOSURES, 'how its bench lies', 'collection'),
  policyAmount: rank(AMOUNTS, 'what the phase would give, before the weather', 'worked out by the rules'),
};

export const FACT_NAMES: readonly string[] = Object.keys(FACTS);
export const isFactName = (name: string): boolean => Object.hasOwn(FACTS, name);
export const factInfo = (name: string): FactInfo | undefined => (isFactName(name) ? FACTS[name] : undefined);
export const factUnit = (name: string): string => FACTS[name]?.unit ?? '';

const UNKNOWN: Fact = { value: null, certainty: 'unknown', from: 'not known' };
export const factOf = (facts: Facts, name: string): Fact => facts[name] ?? UNKNOWN;

/** The value, or null where it is unknown, not a number, or none of the declared words. */
export function factValue(facts: Facts, name: string): FactValue | null {
  const value = facts[name]?.value;
  if (value === undefined || value === null) return null;
  return typeof value === 'number' && Number.isNaN(value) ? null : value;
}

function valueSchema(info: FactInfo): z.ZodType<FactValue> {
  if (info.kind === 'flag') return z.boolean();
  if (info.kind === 'number') {
    const [low, high] = info.bounds ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
    return z.number().min(low).max(high);
  }
  return info.words ? z.enum(info.words as [string, ...string[]]) : z.string().min(1);
}

const factSchema = (info: FactInfo) =>
  z.strictObject({
    value: valueSchema(info).nullable(),
    certainty: z.enum(['known', 'estimated', 'unknown']),
    spread: z.number().optional(),
    from: z.string(),
  });

/** Facts of a morning as kept and as sent: only declared names, each value of its kind. */
export const factsSchema = z.strictObject(
  Object.fromEntries(FACT_NAMES.map((name) => [name, factSchema(FACTS[name] as FactInfo).optional()])),
);

/** "What a rule can see", as a table in Markdown. */
export function factsDocument(): string {
  const rows = FACT_NAMES.map((name) => {
    const info = FACTS[name] as FactInfo;
    const form = info.words ? info.words.join(', ') : info.kind === 'flag' ? 'yes or no' : info.unit || info.kind;
    return `| \`${name}\` | ${info.meaning} | ${form} | ${info.source} |`;
  });
  return ['| fact | meaning | unit or words | comes from |', '| --- | --- | --- | --- |', ...rows, ''].join('\n');
}
