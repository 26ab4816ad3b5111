import type {
  Amount,
  Firmness,
  NewPairState,
  OldPairState,
  Phase,
  Sign,
  Stage,
  SubstrateNote,
} from '../domain/plants.js';
import { type DueTask, TASK_REACH, type TaskKind } from '../domain/tasks.js';
import { clockAt, type LocalDay, localDayOf } from '../domain/time.js';
import { capital, count, decimal } from '../domain/wording.js';

export { taskHeadline, taskWords } from '../domain/task-words.js';
export { capital, count, decimal } from '../domain/wording.js';

import type { FactValue, Met, Verdict } from '../domain/verdict.js';

/** What a row looks like and where it belongs: one kind per verdict. */
export type RowKind = 'look' | 'full' | 'light' | 'wait' | 'dry';

export function rowKind(verdict: Verdict): RowKind {
  if (verdict.inspect) return 'look';
  if (verdict.amount === 'full') return 'full';
  if (verdict.amount === 'light') return 'light';
  return verdict.postponed ? 'wait' : 'dry';
}

const AMOUNT_WORDS: Record<Amount, string> = { none: 'no water', light: 'light drink', full: 'full drink' };
export const amountWords = (amount: Amount): string => AMOUNT_WORDS[amount];

/** Millilitres as a person pours them. */
export const millilitres = (ml: number): string => `${decimal(ml, ml < 10 ? 1 : 0)} mL`;

export const litres = (l: number): string => `${decimal(l, l < 10 ? 1 : 0)} L`;

export function drinkWords(amount: Amount, mlPerPot?: number): string {
  if (amount === 'none') return 'No water';
  const ml = mlPerPot !== undefined && mlPerPot > 0 ? `, ${millilitres(mlPerPot)} a pot` : '';
  return `${capital(amountWords(amount))}${ml}`;
}

/** The verdict in the fewest words that can be acted on. */
export function headline(verdict: Verdict): string {
  const drink = drinkWords(verdict.amount, verdict.mlPerPot);
  if (verdict.inspect)
    return verdict.amount === 'none' ? 'Look first' : `Look first, then ${drink[0]?.toLowerCase()}${drink.slice(1)}`;
  if (verdict.amount !== 'none') return drink;
  if (verdict.postponed)
    return verdict.postponedUntil ? `Wait until ${shortDay(verdict.postponedUntil)}` : 'Wait, not today';
  return 'Leave dry';
}

const WINDOW_WORDS: Record<NonNullable<Verdict['window']>, string> = {
  'by-09': 'Water before 9 o’clock sun time',
  'by-10': 'Water before 10 o’clock sun time',
  evening: 'Water in the evening',
};

/** How to give the drink, beside how much. */
export function drinkHints({ amount, window, doses }: Verdict): string[] {
  if (amount === 'none') return [];
  return [
    ...(window ? [WINDOW_WORDS[window]] : []),
    ...(doses ? [`One of ${doses.count} doses, ${count(doses.gapDays, 'day')} apart`] : []),
  ];
}

const shortDayFormat = new Intl.DateTimeFormat('en-GB', {
  timeZone: 'UTC',
  weekday: 'short',
  day: 'numeric',
  month: 'short',
});
/** `Fri 27 Nov`. */
export const shortDay = (day: LocalDay): string =>
  shortDayFormat.format(Date.parse(`${day}T00:00:00Z`)).replace(',', '');

/** `Fri 27 Nov, 07:30` by the clock of a zone. */
export const momentInWords = (zone: string, at: number): string =>
  `${shortDay(localDayOf(zone, at))}, ${clockAt(zone, at)}`;

const MINUTE = 60_000;
/** How long ago, in the largest unit that says enough. */
export function ago(at: number, now: number): string {
  const minutes = Math.floor((now - at) / MINUTE);
  if (minutes < 1) return 'just now';
  if (minutes < 90) return `${count(minutes, 'minute')} ago`;
  const hours = Math.round(minutes / 60);
  if (hours < 36) return `${count(hours, 'hour')} ago`;
  return `${count(Math.round(hours / 24), 'day')} ago`;
}

/** A day that is not 24 hours long, said once so that nobody wonders. */
export function dayLengthWords(hours: number): string | undefined {
  if (hours === 24) return undefined;
  const change = hours > 24 ? 'back' : 'forward';
  return `The clocks go ${change} today. This day has ${decimal(hours, 1)} hours.`;
}

const PHASE_WORDS: Record<Phase, string> = {
  growing: 'growing',
  flowering: 'in flower',
  'seed-set': 'setting seed',
  'leaf-replacement': 'replacing its leaf pair',
  'dormant-warm': 'resting in the heat',
  'dormant-cold': 'resting in the cold',
  waking: 'waking up',
};
export const phaseWords = (phase: Phase): string => PHASE_WORDS[phase];

const STAGE_WORDS: Record<Stage, string> = {
  forming: 'new pair forms inside',
  splitting: 'old pair splits',
  papery: 'old pair is paper',
};
export const stageWords = (stage: Stage): string => STAGE_WORDS[stage];

const FIRMNESS_WORDS: Record<Firmness, string> = {
  firm: 'firm',
  'slightly-soft': 'a little soft',
  soft: 'soft',
  'very-soft': 'very soft',
};
export const firmnessWords = (firmness: Firmness): string => FIRMNESS_WORDS[firmness];

const PAIR_WORDS: Record<OldPairState | NewPairState, string> = {
  firm: 'firm',
  'slightly-soft': 'a little soft',
  soft: 'soft',
  shrivelled: 'shrivelled',
  papery: 'dry as paper',
  hidden: 'not to be seen yet',
};
export const pairWords = (state: OldPairState | NewPairState): string => PAIR_WORDS[state];

const SIGN_WORDS: Record<Sign, string> = {
  rot: 'rot',
  rocking: 'rocks in the pot',
  'stacked-pairs': 'pairs stacked on each other',
  stretched: 'stretched',
  scorched: 'scorched',
  'tight-old-skin': 'old skin too tight',
  burst: 'burst',
  'wrinkled-sides': 'wrinkled sides',
  'closed-tips': 'tips closed',
  'elongating-leaves': 'leaves growing long',
};
export const signWords = (sign: Sign): string => SIGN_WORDS[sign];

const SUBSTRATE_WORDS: Record<SubstrateNote, string> = { 'looked-dry': 'looked dry', 'still-moist': 'still moist' };
export const substrateWords = (note: SubstrateNote): string => SUBSTRATE_WORDS[note];

const ALERT_WORDS: Record<string, string> = {
  'hot-spell': 'Hot spell coming',
  frost: 'Frost coming',
  'wet-night': 'Wet night coming',
  'burn-risk': 'Burn risk',
};
/** Kinds of alert come from the rulebook, which may know more than this page does. */
export const alertWords = (kind: string): string => ALERT_WORDS[kind] ?? capital(plainWords(kind));

/** A hyphenated or joined name as words: `nightMinC` becomes `night min c`. The last resort for a name without words. */
export const plainWords = (name: string): string =>
  name
    .replace(/([a-z0-9])([A-Z])/g, '$1 $2')
    .replace(/[-_.]+/g, ' ')
    .toLowerCase();

/** Where and until when, in a few words. */
export function taskFacts(zone: string, day: LocalDay, { kind, houseName, benches, until, hours }: DueTask): string[] {
  const where = benches.map(({ benchName }) => benchName);
  const shown = where.length <= 3 ? where.join(', ') : `${where.length} benches`;
  return [
    ...(houseName ? [TASK_REACH[kind] === 'house' ? houseName : `${houseName}: ${shown}`] : []),
    ...(hours ? [`${clockAt(zone, hours.fromMs)} to ${clockAt(zone, hours.toMs)}`] : []),
    ...(until === undefined ? [] : [until === day ? 'today' : `until ${shortDay(until)}`]),
  ];
}

const TASK_DONE_WORDS: Record<TaskKind, string> = {
  'harvest-capsules': 'ripe capsules taken',
  pollinate: 'pollinated',
  repot: 'repotted',
  sow: 'sown',
  feed: 'fed',
  'inspect-mealybugs': 'looked for mealybugs',
  'inspect-mites': 'looked for mites',
  'inspect-gnats': 'looked for fungus gnats',
};
export const taskDoneWords = (task: TaskKind): string => TASK_DONE_WORDS[task];

const MET_WORDS: Record<Met, string> = { yes: 'met', no: 'not met', unknown: 'not known' };
export const metWords = (met: Met): string => MET_WORDS[met];

const ANSWER_WORDS: Record<string, string> = {
  'as-advised': 'Done as advised',
  'another-amount': 'Another amount',
  skipped: 'Skipped',
  unasked: 'Watered',
};
export const answerWords = (answer: string): string => ANSWER_WORDS[answer] ?? capital(plainWords(answer));

const UNIT_WORDS: Record<string, string> = {
  'mol m⁻² d⁻¹': 'mol/m² a day',
  'µmol m⁻² s⁻¹': 'µmol/m² a second',
};
/** Units as they are said; the canonical form is for tables of figures. */
export const unitWords = (unit: string): string => UNIT_WORDS[unit] ?? unit;

/** Shares and ratios need two digits, whatever has a unit is measured to one. */
const usualDigits = (value: number, unit: string): 0 | 1 | 2 => (unit === '' ? 2 : Math.abs(value) < 100 ? 1 : 0);

export function factValueWords(value: FactValue | null, unit: string, digits?: 0 | 1 | 2 | 3): string {
  if (value === null) return 'not known';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'string') return plainWords(value);
  const figure = decimal(value, digits ?? usualDigits(value, unit));
  return unit ? `${figure} ${unitWords(unit)}` : figure;
}

/** The value beside its limit: one digit more where both would read the same and are not, so that nobody doubts it. */
export function actualWords(
  actual: FactValue | null,
  limit: FactValue | readonly FactValue[] | null,
  unit: string,
): string {
  const usual = factValueWords(actual, unit);
  const looksEqual =
    typeof actual === 'number' && actual !== limit && usual === factValueWords(limitNumber(limit), unit);
  return looksEqual ? factValueWords(actual, unit, unit === '' ? 3 : 2) : usual;
}
const limitNumber = (limit: FactValue | readonly FactValue[] | null): number | null =>
  typeof limit === 'number' ? limit : null;

/** What to look for, as a request: `Look whether the new pair is soft`. */
export const lookWords = (lookFor: string): string =>
  lookFor.startsWith('whether ') ? `Look ${lookFor}` : capital(lookFor);

/** Comparisons of the rulebook. */
const OP_WORDS: Record<string, string> = {
  is: '',
  'is-not': 'not',
  'one-of': 'one of',
  'none-of': 'none of',
  below: 'below',
  'at-most': 'at most',
  'at-least': 'at least',
  above: 'above',
  'in-season': 'in season',
  'out-of-season': 'out of season',
};

/** What the condition asks for, e.g. `at least 10 °C`. */
export function limitWords(op: string, limit: FactValue | readonly FactValue[] | null, unit: string): string {
  const word = OP_WORDS[op] ?? plainWords(op);
  if (limit === null) return word;
  if (typeof limit !== 'object') return `${word} ${factValueWords(limit, unit)}`.trim();
  const isRange = limit.length === 2 && limit.every((value) => typeof value === 'number');
  const last = limit.length - 1;
  const listed = limit
    .map((value, index) => factValueWords(value, index === last ? unit : ''))
    .join(isRange ? ' to ' : ', ');
  return `${limit.length === 1 && op === 'one-of' ? '' : word} ${listed}`.trim();
}
