/** What the model of a house has learned, in a grower's words, and how good it was lately. */
import type { OutlookSkill } from '../../domain/outlook.js';
import { shortDay } from '../../domain/time.js';
import { type AirCoefficients, airParameters, runAir, VENT_WORTH_PER_HOUR } from './air-model.js';
import type { ThermalDay } from './days.js';
import { simpleForecasts } from './simple-forecasts.js';
import type { Walk } from './walk.js';

const SKILL_DAYS = 30;
const FEWEST_DAYS = 5;

/** Forecasts of the morning for the same day, over the last month; undefined while there are too few. */
export function outlookSkill(walk: Walk, days: readonly ThermalDay[]): OutlookSkill | undefined {
  const cases = walk.mornings.flatMap(({ forecasts }) => {
    const today = forecasts.find(({ lead }) => lead === 0);
    const truth = today && (days[today.dayIndex]?.maxC ?? null);
    if (!today || truth === null || truth === undefined) return [];
    const { persistence } = simpleForecasts(days, today.dayIndex, 0, { hasOutside: false, hasSun: false });
    return persistence === undefined ? [] : [{ truth, persistence, band: today.maxC }];
  });
  const last = cases.slice(-SKILL_DAYS);
  if (last.length < FEWEST_DAYS) return undefined;
  const mean = (of: (one: (typeof last)[number]) => number): number =>
    last.reduce((sum, one) => sum + of(one), 0) / last.length;
  return {
    days: last.length,
    maeC: mean(({ band, truth }) => Math.abs(band.p50 - truth)),
    persistenceMaeC: mean(({ persistence, truth }) => Math.abs(persistence - truth)),
    bandHeld: mean(({ band, truth }) => (truth >= band.p10 && truth <= band.p90 ? 1 : 0)),
  };
}

export interface LearnedFrom {
  /** What the cover is called. */
  readonly coverName: string;
  readonly heatToC?: number | undefined;
  readonly walk: Walk;
  readonly days: readonly ThermalDay[];
  readonly hasOutside: boolean;
}

/** Days it takes until what was learned says more of the house than of its cover. */
const KNOWN_DAYS = 7;
/** Wet pads that cool less than this are not worth a sentence. */
const COOLING_WORTH = 0.2;
const FULL_SUN_WM2 = 800;
const MILD_C = 20;

export function learnedSentences({ coverName, heatToC, walk, days, hasOutside }: LearnedFrom): string[] {
  const known = days.filter(({ maxC }) => maxC !== null).length;
  const coefficients = walk.mornings.at(-1)?.air?.coefficients;
  const change = walk.changes.at(-1);
  const sentences: string[] = [];
  if (!hasOutside)
    sentences.push('Nothing tells of the weather outside: days to come are taken to be like the last ones.');
  if (known < KNOWN_DAYS)
    sentences.push(
      known === 0
        ? `Nothing was heard of this house yet: these are the usual values of ${coverName}.`
        : `Only ${known} ${known === 1 ? 'day' : 'days'} of this house are known: much of this is still the usual of ${coverName}.`,
    );
  else sentences.push(`Learned from ${known} days of this house.`);
  if (change !== undefined && days[change])
    sentences.push(
      `Since about ${shortDay((days[change] as ThermalDay).day)} the house is another one than before (cover, whitewash, vents or a moved sensor): it is learned anew.`,
    );
  if (coefficients === undefined || known < KNOWN_DAYS) return sentences;
  const p = airParameters(coefficients);
  sentences.push(
    `On a mild day of ${MILD_C} °C, in full sun (${FULL_SUN_WM2} W/m²), it gets to about ${warmth(coefficients, FULL_SUN_WM2).toFixed(0)} °C; under thick cloud to about ${warmth(coefficients, FULL_SUN_WM2 / 8).toFixed(0)} °C.`,
  );
  if (p.ventPerHour > VENT_WORTH_PER_HOUR && warmest(days) > p.ventFromC)
    sentences.push(`Vents or fans begin to cool at about ${p.ventFromC.toFixed(0)} °C.`);
  if (p.coolingShare > COOLING_WORTH)
    sentences.push(
      `The air that comes in is cooled ${(100 * p.coolingShare).toFixed(0)} % of the way to its wet bulb.`,
    );
  if (heatToC !== undefined)
    sentences.push(`Heating is set to ${heatToC} °C; the house is held at about ${p.heatToC.toFixed(0)} °C.`);
  return sentences;
}

/** After four hours of such sun. */
function warmth(coefficients: AirCoefficients, sunWm2: number): number {
  const hour = { outsideTempC: MILD_C, outsideWetBulbC: MILD_C - 5, sunWm2 };
  const into = new Float64Array(4);
  runAir(coefficients, [hour, hour, hour, hour], { airC: MILD_C, massC: MILD_C }, into);
  return into[3] as number;
}

const warmest = (days: readonly ThermalDay[]): number =>
  Math.max(Number.NEGATIVE_INFINITY, ...days.flatMap(({ maxC }) => maxC ?? []));
