/**
 * Heat and cold: is this day hot for this house and season, how hard is the spell, how warm or cold is the leaf itself.
 *
 * Two windows of the excess heat factor are published. The service uses the forward one (Nairn & Fawcett 2015): on a morning
 * the thirty days behind are measured and the three days ahead are forecast, so the index speaks of what can still be
 * shaded. The trailing one (Perkins & Alexander 2013) is known only when the spell is over, and serves the review of a season.
 */
import { PhysicsRangeError, requireFinite, requireInRange, requirePositive, requireTemperature } from './guards.js';
import { quantile } from './statistics/quantiles.js';

const DAYS_BEFORE_MONTH = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334] as const;

/**
 * Place of a date in the 365-day calendar of the percentile indices; 29 February counts as 28 February.
 * Source: ETCCDI (Zhang et al. 2011), which drops leap days from the calendar.
 * @param month 1-12
 * @param day 1-31
 * @returns 1-365
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function calendarDay(month: number, day: number): number {
  requireInRange('month', month, '', 1, 12);
  requireInRange('day', day, '', 1, 31);
  if (month === 2) return 31 + Math.min(day, 28);
  return (DAYS_BEFORE_MONTH[month - 1] ?? Number.NaN) + day;
}

/** A daily value and its place in the 365-day calendar. */
export interface CalendarValue {
  readonly calendarDay: number;
  readonly value: number;
}

/** Two seasons of a five-day window: with fewer values the day's threshold is unknown (common practice). */
const FEWEST_VALUES = 10;

/**
 * Calendar-day percentiles: for each day of the year the percentile of all values within two days of it, year-end wrapped.
 * Source: ETCCDI (Zhang et al. 2011, WIREs Clim. Change 2:851-870), quantile type 8 as in its reference software. The
 * bootstrap inside the base period is left out: it serves trends over decades, not tomorrow's question.
 * @param values of the base period
 * @param share 0 to 1; 0.9 for TX90p
 * @returns 365 entries, index 0 = 1 January; undefined where fewer than ten values fall into the window
 * @throws PhysicsRangeError for NaN or a day outside 1 to 365
 */
export function calendarDayPercentiles(values: readonly CalendarValue[], share = 0.9): (number | undefined)[] {
  requireInRange('share', share, '', 0, 1);
  const byDay: number[][] = Array.from({ length: 365 }, () => []);
  for (const { calendarDay: day, value } of values) {
    requireInRange('calendarDay', day, '', 1, 365);
    byDay[Math.trunc(day) - 1]?.push(requireFinite('value', value, ''));
  }
  return byDay.map((_, index) => {
    const around = [-2, -1, 0, 1, 2].flatMap((offset) => byDay[(index + offset + 365) % 365] ?? []);
    return around.length < FEWEST_VALUES ? undefined : quantile(around, share, 8);
  });
}

/** Each entry is a measurement, or undefined for a day that is not known. */
export type DailySeries = readonly (number | undefined)[];

/** Whether each day is above its threshold, strictly; undefined where either is not known. */
export function daysAbove(maxTempsC: DailySeries, thresholdsC: DailySeries): (boolean | undefined)[] {
  return maxTempsC.map((value, index) => {
    const threshold = thresholdsC[index];
    if (value === undefined || threshold === undefined) return undefined;
    return requireFinite('maxTempC', value, '°C') > requireFinite('thresholdC', threshold, '°C');
  });
}

/**
 * Warm days (TX90p): share of days with a maximum above their calendar-day 90th percentile, strictly.
 * Source: ETCCDI (Zhang et al. 2011).
 * @returns %, or undefined when no day is known
 * @throws PhysicsRangeError for NaN
 */
export function warmDaysPct(maxTempsC: DailySeries, thresholdsC: DailySeries): number | undefined {
  const known = daysAbove(maxTempsC, thresholdsC).filter((above) => above !== undefined);
  return known.length === 0 ? undefined : (100 * known.filter((above) => above).length) / known.length;
}

export interface WarmSpells {
  /** Days in spells of at least the shortest length. */
  readonly days: number;
  /** Every run of warm days, the short ones too: index of its first day and its length. */
  readonly runs: readonly { readonly start: number; readonly length: number }[];
}

/**
 * Warm spell duration (WSDI): days in runs of at least six days above the calendar-day 90th percentile.
 * Source: ETCCDI (Zhang et al. 2011). An unknown day ends a run: a spell is not made out of a gap.
 * @param shortestDays 6 for WSDI
 * @throws PhysicsRangeError for NaN
 */
export function warmSpells(maxTempsC: DailySeries, thresholdsC: DailySeries, shortestDays = 6): WarmSpells {
  requirePositive('shortestDays', shortestDays, 'days');
  const runs: { start: number; length: number }[] = [];
  let open: { start: number; length: number } | undefined;
  daysAbove(maxTempsC, thresholdsC).forEach((above, index) => {
    if (above !== true) {
      open = undefined;
    } else if (open === undefined) {
      open = { start: index, length: 1 };
      runs.push(open);
    } else {
      open.length += 1;
    }
  });
  const days = runs.filter((run) => run.length >= shortestDays).reduce((sum, run) => sum + run.length, 0);
  return { days, runs };
}

/**
 * Mean temperature of a day for the excess heat factor: (Tmax + the Tmin that follows it) / 2, so that a night without
 * relief counts with the day before it. Source: Nairn & Fawcett (2013), CAWCR Technical Report 60.
 * @returns °C
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function heatDayMeanC(maxTempC: number, followingMinTempC: number): number {
  requireTemperature('maxTempC', maxTempC);
  return (maxTempC + requireTemperature('followingMinTempC', followingMinTempC)) / 2;
}

export interface ExcessHeat {
  /** Mean of the three days, °C. */
  readonly mean3C: number;
  /** Mean of the thirty days before them, °C. */
  readonly mean30C: number;
  /** Significance: mean of three days above the 95th percentile of the record, °C. */
  readonly significanceC: number;
  /** Acclimatisation: mean of three days above the thirty days before, °C. */
  readonly acclimatisationC: number;
  /** Significance x max(1, acclimatisation), °C². Above 0 is a heatwave day. */
  readonly excessHeatFactorC2: number;
}

/**
 * Excess heat factor from its means. Source: Nairn & Fawcett (2015), IJERPH 12:227-253:
 * EHF = EHIsig max(1, EHIaccl). Negative when the three days are not hot for the place.
 * @param mean3C °C
 * @param mean30C °C
 * @param percentile95C 95th percentile of daily means over the record, °C
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function excessHeat(mean3C: number, mean30C: number, percentile95C: number): ExcessHeat {
  requireTemperature('mean3C', mean3C);
  requireTemperature('mean30C', mean30C);
  requireTemperature('percentile95C', percentile95C);
  const significanceC = mean3C - percentile95C;
  const acclimatisationC = mean3C - mean30C;
  return {
    mean3C,
    mean30C,
    significanceC,
    acclimatisationC,
    excessHeatFactorC2: significanceC * Math.max(1, acclimatisationC),
  };
}

/** "forward": this day and the two after it, against the thirty before it. "trailing": this day and the two before it. */
export type HeatWindow = 'forward' | 'trailing';

/**
 * Excess heat factor of one day of a series of daily means.
 * @param dailyMeansC °C, by day; undefined where not known
 * @param index of the day
 * @param percentile95C °C
 * @param window left out: forward, see the head of this file
 * @returns undefined when any of the 33 days is missing or not known
 * @throws PhysicsRangeError for NaN
 */
export function excessHeatOn(
  dailyMeansC: DailySeries,
  index: number,
  percentile95C: number,
  window: HeatWindow = 'forward',
): ExcessHeat | undefined {
  const first = window === 'forward' ? index : index - 2;
  const mean3C = meanOf(dailyMeansC, first, 3);
  const mean30C = meanOf(dailyMeansC, first - 30, 30);
  return mean3C === undefined || mean30C === undefined ? undefined : excessHeat(mean3C, mean30C, percentile95C);
}

function meanOf(series: DailySeries, start: number, length: number): number | undefined {
  if (start < 0 || start + length > series.length) return undefined;
  let total = 0;
  for (let index = start; index < start + length; index += 1) {
    const value = series[index];
    if (value === undefined) return undefined;
    total += requireTemperature('dailyMeanC', value);
  }
  return total / length;
}

/**
 * Limits between low-intensity, severe and extreme heat: the 85th percentile of the positive factors on record, and three
 * times that. Source: Nairn & Fawcett (2015) (limits remembered).
 * @returns °C², or undefined without a positive factor on record
 * @throws PhysicsRangeError for NaN
 */
export function heatSeverityLimitsC2(
  recordedFactorsC2: readonly number[],
): { readonly severe: number; readonly extreme: number } | undefined {
  const positive = recordedFactorsC2.filter((factor) => requireFinite('factor', factor, '°C²') > 0);
  if (positive.length === 0) return undefined;
  const severe = quantile(positive, 0.85, 8);
  return { severe, extreme: 3 * severe };
}

/**
 * Hot spell without a record to compare with: maximum at least 35 °C on two of three days, or minimum at least 22 °C on
 * three nights (common practice, no published source).
 * @param maxTempsC three days, °C; undefined where not known
 * @param minTempsC three nights, °C
 * @returns undefined when the unknown days could decide it either way
 * @throws PhysicsRangeError for NaN
 */
export function plainHotSpell(
  maxTempsC: DailySeries,
  minTempsC: DailySeries,
  limits: { readonly dayMaxC: number; readonly nightMinC: number } = { dayMaxC: 35, nightMinC: 22 },
): boolean | undefined {
  const days = atLeast(maxTempsC.slice(0, 3), limits.dayMaxC);
  const nights = atLeast(minTempsC.slice(0, 3), limits.nightMinC);
  if (days.sure >= 2 || nights.sure >= 3) return true;
  return days.sure + days.unknown >= 2 || nights.sure + nights.unknown >= 3 ? undefined : false;
}

function atLeast(temps: DailySeries, limitC: number): { sure: number; unknown: number } {
  requireTemperature('limitC', limitC);
  const known = temps.filter((temp) => temp !== undefined);
  const sure = known.filter((temp) => requireTemperature('temp', temp) >= limitC).length;
  return { sure, unknown: 3 - known.length };
}

/**
 * Chill hours: hours with a mean between two limits. Source: the 0 to 7.2 °C (32-45 °F) rule of orchard practice
 * (Weinberger 1950, Proc. Am. Soc. Hort. Sci. 56:122-128, remembered); limits for succulents are the grower's own.
 * @param hourlyTempsC °C; undefined where not known
 * @returns hours counted, and how many were known
 * @throws PhysicsRangeError for NaN or limits the wrong way round
 */
export function chillHours(
  hourlyTempsC: DailySeries,
  limits: { readonly aboveC: number; readonly toC: number } = { aboveC: 0, toC: 7.2 },
): { readonly hours: number; readonly knownHours: number } {
  requireTemperature('limits.aboveC', limits.aboveC);
  if (!(limits.toC > limits.aboveC)) {
    throw new PhysicsRangeError('limits.toC', limits.toC, '°C', { min: limits.aboveC, max: 100 });
  }
  const known = hourlyTempsC.filter((temp) => temp !== undefined);
  const hours = known.filter((temp) => requireTemperature('temp', temp) > limits.aboveC && temp <= limits.toC).length;
  return { hours, knownHours: known.length };
}

/**
 * Warming of a thick leaf by the sun, °C per W/m² of light inside. Chosen so that 800 W/m² gives 12 to 16 °C, in line with
 * +10 to +16 °C measured on thick succulents by Gates, Alderfer & Taylor (1968), Science 159:994-995.
 */
export const LEAF_WARMING_C_PER_WM2 = { 'moving-air': 0.015, 'still-air': 0.02 } as const;

/**
 * Leaf temperature of a thick succulent by day: air + k x light inside. An estimate within several degrees; an embedded
 * leaf follows the soil instead (Eller & Nipkow 1983).
 * @param airTempC °C
 * @param radiationWm2 global radiation at the plant, W/m², at least 0
 * @param air still when the vents are shut and no fan runs
 * @returns °C
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function leafTempC(airTempC: number, radiationWm2: number, air: keyof typeof LEAF_WARMING_C_PER_WM2): number {
  requireTemperature('airTempC', airTempC);
  requireInRange('radiationWm2', radiationWm2, 'W/m²', 0, 1600);
  return airTempC + LEAF_WARMING_C_PER_WM2[air] * radiationWm2;
}

/**
 * Coldest an exposed leaf gets on a clear night: below the air by 1 to 3 °C (Leuning & Cremer 1988, Agric. For. Meteorol.
 * 42:121-133); the middle, 2 °C, near glass or under thin film.
 * @param airTempMinC lowest air temperature of the night, °C
 * @param exposed near glass, under thin film or in the open
 * @returns °C
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function nightLeafTempC(airTempMinC: number, exposed: boolean): number {
  return requireTemperature('airTempMinC', airTempMinC) - (exposed ? 2 : 0);
}
