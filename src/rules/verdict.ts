import { FACTS, factValue } from '../domain/facts.js';
import { type Amount, amountRank } from '../domain/plants.js';
import { addDays, type LocalDay } from '../domain/time.js';
import type { Facts, TraceRow, Verdict } from '../domain/verdict.js';
import { type Bite, type Outcome, traced, weigh } from './decide.js';
import { type FactSheet, type LimitValues, sheetOf, unknownFacts, valueIn } from './evaluate.js';
import type { Limits } from './limits.js';
import { lookOf } from './look.js';
import { nearestChange } from './nearest.js';
import type { Rulebook } from './rulebook.js';
import type { Window } from './schema.js';
import { drinkInWords, fillIn, inWords, quantityInWords, roundedMl } from './words.js';

export interface DecideOptions {
  /** Leave out the search for the nearest change, which costs several evaluations. */
  readonly withoutNearest?: boolean;
}

/** What the rulebook says of one batch on one morning. Pure: the same facts, rows and limits give the same verdict. */
export function decide(rulebook: Rulebook, facts: Facts, limits: Limits, options: DecideOptions = {}): Verdict {
  const sheet = sheetOf(facts);
  const first = weigh(rulebook, sheet, limits);
  const values = first.phase === null ? limits.base : limits.phases[first.phase].values;
  const otherFacts = secondPhaseFacts(facts, values);
  const second = otherFacts && weigh(rulebook, sheetOf(otherFacts), limits);
  const split = second !== undefined && second.amount !== first.amount;
  const outcome = second && amountRank(second.amount) < amountRank(first.amount) ? second : first;
  const outcomeFacts = outcome === second && otherFacts ? otherFacts : facts;
  const say: Say = (text, limitValues = values) => fillIn(text, outcomeFacts, limitValues, rulebook.limits);
  const light = lightOf(rulebook, sheet, values);
  const alerts = alertsOf(rulebook, sheet, values);
  const look = lookOf(rulebook, sheetOf(outcomeFacts), limits, values, { outcome, split, first, second });
  const day = factValue(facts, 'day') as LocalDay | null;
  const fairIn = factValue(facts, 'daysToFairWeather');
  const window = outcome.amount === 'none' ? undefined : windowOf(outcome);
  const pour = pourOf(outcome.amount, facts, values);
  const nearest = options.withoutNearest ? undefined : nearestChange(rulebook, sheetOf(outcomeFacts), limits, outcome);
  const deciding = decidingBite(outcome);
  const valuesOfRow = (row: TraceRow): LimitValues | undefined =>
    first.drinkValues.get(row) ?? second?.drinkValues.get(row);
  return {
    amount: outcome.amount,
    postponed: outcome.postponed,
    ...(outcome.postponed && day !== null && typeof fairIn === 'number' && { postponedUntil: addDays(day, fairIn) }),
    inspect: look !== undefined,
    lightRamp: light.ramp,
    ...(light.shade !== undefined && { shade: light.shade }),
    alerts: alerts.kinds,
    ...pour,
    ...(window && { window }),
    ...(look && { lookFor: look.lookFor, lookSaves: look.saves }),
    sentence: sentenceOf({
      outcome,
      facts: outcomeFacts,
      limits,
      say,
      pour,
      window,
      look: look?.lookFor,
      split,
      deciding,
    }),
    decidedBy: deciding
      ? { table: deciding.trace.table, row: deciding.trace.row }
      : { table: 'phase', row: outcome.policyPhase ?? 'unknown' },
    vetoes: outcome.bites
      .filter((bite) => bite.met === 'yes' && ['safety', 'climate'].includes(bite.trace.table))
      .map((bite) => `${bite.trace.table}/${bite.trace.row}`),
    ...(nearest && { nearestChange: nearest }),
    trace: [...first.trace, ...(second ? second.trace.filter(ofThePhase) : []), ...light.trace, ...alerts.trace].map(
      (row) => (row.because === undefined ? row : { ...row, because: say(row.because, valuesOfRow(row)) }),
    ),
  };
}

const ofThePhase = (row: TraceRow): boolean => ['policy', 'phase', 'guard'].includes(row.table);

/** The facts as they would be in the second likely phase, when the first is not sure; no second known: in no known phase. */
function secondPhaseFacts(facts: Facts, values: LimitValues): Facts | undefined {
  const sure = values['phase-sure'];
  const probability = factValue(facts, 'phaseProbability');
  if (facts.waterPhase === undefined) return undefined;
  if (typeof sure === 'number' && typeof probability === 'number' && probability >= sure) return undefined;
  const { waterPhase: _, ...others } = facts;
  const second = facts.secondPhase;
  return second?.value == null ? others : { ...others, waterPhase: second };
}

// --- light and alerts ------------------------------------------------------------------------------------------------

interface Band {
  readonly minPct: number;
  readonly maxPct: number;
}

/** Width of the band of cloth that holds the light at what the plant may get, and the least worth hanging, %. */
const HOLD_BAND_PCT = 10;
const LEAST_CLOTH_PCT = 10;

function lightOf(
  rulebook: Rulebook,
  sheet: FactSheet,
  values: LimitValues,
): { ramp: boolean; shade: Band | null | undefined; trace: readonly TraceRow[] } {
  const rows = rulebook.tables.light.rows.map((row) => ({ row, trace: traced(row, { sheet, values }) }));
  const met = rows.filter(({ trace }) => trace.met === 'yes');
  const bands = met
    .map(({ row }) => bandOf(row.row.effect.shade, sheet, values))
    .filter((band): band is Band => band !== undefined);
  const known = ['recentDli', 'recentDayMaxC', 'aheadDayMaxC', 'aheadPeakPpfdUmol'].some(
    (name) => valueIn(sheet, name) !== null,
  );
  return {
    ramp: met.some(({ row }) => row.row.effect.lightRamp === true),
    shade:
      bands.length > 0
        ? {
            minPct: Math.max(...bands.map((band) => band.minPct)),
            maxPct: Math.max(...bands.map((band) => band.maxPct)),
          }
        : known
          ? null
          : undefined,
    trace: rows.map(({ trace }) => trace),
  };
}

function bandOf(
  shade: 'hold-to-step' | 'hold-to-liking' | { readonly limit: string } | undefined,
  sheet: FactSheet,
  values: LimitValues,
): Band | undefined {
  if (shade === undefined) return undefined;
  if (typeof shade === 'object') {
    const band = values[shade.limit];
    if (!Array.isArray(band)) return undefined;
    const [minPct, maxPct] = band as [number, number];
    return { minPct, maxPct };
  }
  const names = shade === 'hold-to-step' ? ['lightStepRatio', 'peakStepRatio'] : ['lightExcessRatio'];
  const ratio = Math.max(...names.map((name) => Number(valueIn(sheet, name) ?? 0)));
  const needPct = ratio > 0 ? 100 * (1 - 1 / ratio) : 0;
  if (needPct < LEAST_CLOTH_PCT) return undefined;
  // Cloths come in tens, and true shade differs from the nominal by as much.
  const minPct = Math.min(80, Math.floor(needPct / 10) * 10);
  return { minPct, maxPct: minPct + HOLD_BAND_PCT };
}

function alertsOf(
  rulebook: Rulebook,
  sheet: FactSheet,
  values: LimitValues,
): { kinds: readonly string[]; trace: readonly TraceRow[] } {
  const rows = rulebook.tables.alerts.rows.map((row) => ({ row, trace: traced(row, { sheet, values }) }));
  const kinds = rows.filter(({ trace }) => trace.met === 'yes').map(({ row }) => row.row.effect.alert);
  return {
    kinds: [...new Set(kinds.filter((kind) => kind !== undefined))],
    trace: rows.map(({ trace }) => trace),
  };
}

// --- how much, when ----------------------------------------------------------------------------------------------------

function pourOf(amount: Amount, facts: Facts, values: LimitValues): Pick<Verdict, 'mlPerPot' | 'doses'> {
  if (amount === 'none') return { mlPerPot: 0 };
  const number = (value: unknown): number => (typeof value === 'number' ? value : 0);
  const mlPerMm = number(factValue(facts, 'potMlPerMm'));
  const lightMl = number(values['light-drink-mm']) * mlPerMm;
  const doses = number(values['split-doses']);
  if (amount === 'light') return { mlPerPot: roundedMl(lightMl) };
  if (doses > 1)
    return { mlPerPot: roundedMl(lightMl), doses: { count: doses, gapDays: number(values['split-dose-gap-days']) } };
  // A dry pot holds back its last water, so more than the available share is never missing.
  const gone = Math.min(1, number(factValue(facts, 'depletion') ?? 1));
  const fullMl = number(values['full-drink-share']) * gone * number(factValue(facts, 'potAvailableMm')) * mlPerMm;
  return { mlPerPot: roundedMl(Math.max(fullMl, lightMl)) };
}

/** By 10 o'clock solar time, unless a row that counts says otherwise: the surface must be dry before dusk. */
function windowOf(outcome: Outcome): Window {
  const named = outcome.bites.filter((bite) => bite.met === 'yes').map((bite) => bite.row.row.effect.window);
  return named.find((window) => window === 'evening') ?? named.find((window) => window !== undefined) ?? 'by-10';
}

const WINDOW_WORDS: Record<Window, string> = {
  'by-10': 'done by 10 o’clock sun time',
  'by-09': 'done by 9 o’clock sun time',
  evening: 'in the evening',
};

// --- the sentence --------------------------------------------------------------------------------------------------------

/** The row that settled it: what surely holds before what is merely not known, in the order of the decision. */
function decidingBite(outcome: Outcome): Bite | undefined {
  if (outcome.amount !== 'none') return outcome.raisedBy;
  const none = outcome.bites.filter((bite) => bite.cap === 'none');
  const sure = none.filter((bite) => bite.met === 'yes');
  if (outcome.postponed) return sure.find((bite) => bite.row.row.effect.postpone === true);
  const notWeather = (bite: Bite): boolean => bite.trace.table !== 'climate';
  const settled = sure.find(notWeather);
  // A phase that gives nothing needs no other reason, however much else is not known.
  return settled ?? (outcome.phaseIsDry ? undefined : (none.find(notWeather) ?? none[0]));
}

/** Fills in a text with the facts, and with the limits of a drink where it is about one. */
type Say = (text: string, values?: LimitValues) => string;

interface SentenceParts {
  readonly outcome: Outcome;
  readonly facts: Facts;
  readonly limits: Limits;
  readonly say: Say;
  readonly pour: Pick<Verdict, 'mlPerPot' | 'doses'>;
  readonly window: Window | undefined;
  readonly look: string | undefined;
  readonly split: boolean;
  readonly deciding: Bite | undefined;
}

function sentenceOf(parts: SentenceParts): string {
  const { outcome, limits, say, look, deciding } = parts;
  const note = outcome.policyPhase === null ? undefined : limits.phases[outcome.policyPhase].note;
  if (outcome.amount !== 'none') return watered(parts);
  if (outcome.postponed && deciding) {
    const wish = drinkInWords(outcome.withoutWeather);
    return `Not today. ${say(deciding.row.row.because, deciding.values)} It would be ${wish}.`;
  }
  if (parts.split && look) return `Dry until someone has looked: ${look}.`;
  if (deciding?.met === 'yes') return `Dry. ${say(deciding.row.row.because, deciding.values)}`;
  if (look) return `Dry until someone has looked: ${look}.`;
  if (deciding) {
    const missing = unknownFacts(deciding.trace)[0];
    return `Dry. Not known: ${FACTS[missing ?? '']?.meaning ?? 'what it needs'}.`;
  }
  if (note === undefined) return 'Dry. This group has no such phase: check what was entered.';
  return /dry/i.test(note) ? note : `Dry. ${note}`;
}

function watered(parts: SentenceParts): string {
  const { outcome, say, pour, window, look } = parts;
  const name = outcome.amount === 'light' ? 'A light drink' : 'A full drink';
  const ml = `about ${pour.mlPerPot} mL a pot`;
  const doses = pour.doses
    ? `, now the first of ${pour.doses.count} light ones ${pour.doses.gapDays} days apart, ${ml} each`
    : `, ${ml}`;
  const reason =
    outcome.raisedBy ??
    outcome.bites.find((bite) => bite.met === 'yes' && bite.cap === outcome.amount && bite.cap !== 'full');
  const why = reason ? say(reason.row.row.because, reason.values) : whyOfDrink(parts);
  const then = look ? ` Look first: ${look}.` : '';
  return `${name}${doses}, ${WINDOW_WORDS[window ?? 'by-10']}. ${why}${then}`.trim();
}

const BODY_FACTS: Readonly<Record<string, readonly [fact: string, name: string]>> = {
  working: ['workingSoftness', 'The body'],
  'new-pair': ['newPairSoftness', 'The new pair'],
  'older-pair': ['olderPairSoftness', 'The older pair'],
};

/** `The new pair is soft and the pot has been dry for 20 days.` */
function whyOfDrink({ outcome, facts }: SentenceParts): string {
  const asked = outcome.drink?.values['drink-softness'];
  const [fact, name] = BODY_FACTS[String(outcome.drink?.values['drink-body'])] ?? ['workingSoftness', 'The body'];
  const softness = factValue(facts, fact);
  const dryDays = factValue(facts, 'dryDays');
  const parts = [
    asked != null && typeof softness === 'string' && `${name} is ${inWords(softness)}`,
    typeof dryDays === 'number' && `the pot has been dry for ${quantityInWords(dryDays, 'days')}`,
  ].filter((part): part is string => typeof part === 'string');
  const text = parts.join(' and ');
  return text === '' ? '' : `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
