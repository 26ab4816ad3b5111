/** How far the weather and the water of a house have brought its pests since somebody looked for them. */
import type { TriggerOf } from '../domain/tasks.js';
import { addDays, type LocalDay } from '../domain/time.js';
import { sineDegreeDays } from '../science/degree-days.js';
import { requireNotNegative, requirePositive } from '../science/guards.js';
import type { ClimateDay } from './house-climate.js';

/** Air of one local day in a house, °C. */
export interface DayExtremes {
  readonly minC: number;
  readonly maxC: number;
}

/** Less than this share of the days heard, and the warmth counts as not known (starting value). */
export const HEARD_SHARE = 0.6;
/** Longer ago than this nobody counts degree-days: a look is due anyhow. */
export const WARMTH_DAYS_BACK = 400;

export interface Warmth {
  /** °C day; days that were not heard are taken like the mean of the others. Undefined: too few were heard. */
  readonly degreeDays: number | undefined;
  readonly days: number;
  readonly heard: number;
  /** First day on which the sum had reached what a generation needs. */
  readonly reachedOn?: LocalDay;
}

/**
 * Degree-days from the day after `since` up to yesterday, single sine, no upper threshold.
 * Source: Baskerville & Emin (1969), Ecology 50:514-517, through `sineDegreeDays`.
 * @param extremes days of the house that were heard; °C
 * @param since day of the last look; at most `WARMTH_DAYS_BACK` days back are counted
 * @param day this morning
 * @param trigger lower threshold, °C, and what a generation needs, °C day, above 0
 * @throws PhysicsRangeError for NaN or a minimum above its maximum
 */
export function warmthSince(
  extremes: ReadonlyMap<LocalDay, DayExtremes>,
  since: LocalDay,
  day: LocalDay,
  { lowerC, degreeDays: needed }: Pick<TriggerOf<'degree-days'>, 'lowerC' | 'degreeDays'>,
): Warmth {
  requirePositive('degreeDays', needed, '°C day');
  const earliest = addDays(day, -WARMTH_DAYS_BACK);
  const first = since < earliest ? earliest : addDays(since, 1);
  const span: (number | undefined)[] = [];
  for (let at = first; at < day; at = addDays(at, 1)) {
    const air = extremes.get(at);
    span.push(air && sineDegreeDays(air.minC, air.maxC, { lowerC }));
  }
  const known = span.filter((value) => value !== undefined);
  const counted = { days: span.length, heard: known.length };
  if (span.length === 0) return { degreeDays: 0, ...counted };
  if (known.length < HEARD_SHARE * span.length) return { degreeDays: undefined, ...counted };
  const usual = known.reduce((sum, value) => sum + value, 0) / known.length;
  let sum = 0;
  let reached: number | undefined;
  span.forEach((value, index) => {
    sum += value ?? usual;
    // A hair below is reached: sums of tenths end on such hairs.
    if (reached === undefined && sum >= needed - 1e-9) reached = index;
  });
  return { degreeDays: sum, ...counted, ...(reached !== undefined && { reachedOn: addDays(first, reached) }) };
}

export interface HotDryRun {
  readonly days: number;
  /** Of the last of them. */
  readonly vpdKPa: number;
  readonly dayMaxC: number;
}

/**
 * Days in a row, up to yesterday and after the last look, that were hot and dry. A day that was not heard ends the row.
 * Two-spotted mites thrive in dry heat (extension summaries); the limits are a starting value.
 * @param past days before this morning, oldest first, without holes
 */
export function hotDryRun(
  past: readonly ClimateDay[],
  since: LocalDay | undefined,
  { vpdAboveKPa, dayMaxAboveC }: Pick<TriggerOf<'hot-dry-days'>, 'vpdAboveKPa' | 'dayMaxAboveC'>,
): HotDryRun | undefined {
  const hotAndDry = (day: ClimateDay): boolean =>
    day.dayMaxC !== undefined &&
    day.dayMaxC.value > dayMaxAboveC &&
    day.daylightVpdKPa !== undefined &&
    day.daylightVpdKPa.value > vpdAboveKPa;
  let days = 0;
  for (let index = past.length - 1; index >= 0; index -= 1) {
    const day = past[index] as ClimateDay;
    if ((since !== undefined && day.day <= since) || !hotAndDry(day)) break;
    days += 1;
  }
  const last = past.at(-1);
  if (days === 0 || !last?.daylightVpdKPa || !last.dayMaxC) return undefined;
  return { days, vpdKPa: last.daylightVpdKPa.value, dayMaxC: last.dayMaxC.value };
}

/** What the surface of a pot holds, and what it was given. */
export interface PotSurface {
  /** Water that evaporates freely before the mix holds it back, mm. */
  readonly readilyEvaporableMm: number;
  /** What a top dressing leaves of the evaporation, above 0. */
  readonly topFactor: number;
  /** Millimetres given, by day. */
  readonly drinksMm: ReadonlyMap<LocalDay, number>;
}

export interface WetSurface {
  readonly wetDays: number;
  readonly days: number;
  /** Mean air of these days, °C. */
  readonly meanTempC: number;
}

/**
 * Days of the last `lastDays` on which the surface held freely evaporating water: stage 1 of FAO-56 (Allen et al. 1998,
 * ch. 7), whose readily evaporable water a drink fills and the reference evaporation takes.
 * @param past days before this morning, oldest first, without holes; what went before counts towards the first of them
 * @returns undefined where the evaporation or the temperature of too many days is not known
 * @throws PhysicsRangeError for NaN, a negative drink or surface water, or a top factor of 0
 */
export function wetSurface(past: readonly ClimateDay[], pot: PotSurface, lastDays: number): WetSurface | undefined {
  requireNotNegative('readilyEvaporableMm', pot.readilyEvaporableMm, 'mm');
  requirePositive('topFactor', pot.topFactor, '');
  const from = Math.max(0, past.length - lastDays);
  const window = past.slice(from);
  const temps = window.flatMap(({ meanTempC }) => (meanTempC ? [meanTempC.value] : []));
  const evaporations = window.filter(({ referenceEtMm }) => referenceEtMm).length;
  if (window.length === 0 || Math.min(temps.length, evaporations) < HEARD_SHARE * window.length) return undefined;
  let heldMm = 0;
  let wetDays = 0;
  past.forEach((day, index) => {
    const drinkMm = requireNotNegative('drinkMm', pot.drinksMm.get(day.day) ?? 0, 'mm');
    heldMm = Math.min(pot.readilyEvaporableMm, heldMm + drinkMm);
    if (index >= from && (heldMm > 0 || drinkMm > 0)) wetDays += 1;
    // A day that was not heard dries nothing: a look too many does no harm.
    heldMm = Math.max(0, heldMm - (day.referenceEtMm?.value ?? 0) * pot.topFactor);
  });
  return { wetDays, days: window.length, meanTempC: temps.reduce((sum, value) => sum + value, 0) / temps.length };
}
