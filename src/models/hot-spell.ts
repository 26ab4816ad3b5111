/**
 * What a hot spell is in one house. Three days of the house's own air are looked at: it is a spell when enough of them
 * are hot, or all three nights stay warm, or the three together are more heat than this house knows. A day is hot from
 * an absolute limit on (a lower one while plants change their leaf pair), or from what is unusual here at this time of the
 * year; but nothing below the floor is hot, so that a mild week in winter harms nobody's sleep.
 */
import type { LocalDay } from '../domain/time.js';
import { requireFinite, requireTemperature } from '../science/guards.js';
import { calendarDay, calendarDayPercentiles, excessHeat, heatDayMeanC } from '../science/heat.js';
import { median, quantile } from '../science/statistics/quantiles.js';

/** One local day in the house; what was not heard, or is not forecast, is left out. */
export interface DayHeat {
  readonly day: LocalDay;
  readonly dayMaxC?: number;
  /** Of the night that ended on this day. */
  readonly nightMinC?: number;
}

/** What is usual in a house. Unknown until there is enough to tell. */
export interface HeatRecord {
  readonly from: 'own record' | 'outside record' | 'too short';
  /** 95th percentile of daily means, °C. */
  readonly dailyMean95C?: number;
  /** Day maximum that so large a share of the days around stays at or below; 365 entries, index 0 = 1 January. */
  readonly unusualMaxC: readonly (number | undefined)[];
}

export interface HotSpellLimits {
  /** A day that reaches this is hot. Lower while plants change their leaf pair. */
  readonly hotDayC: number;
  /** A night that stays at or above this is warm. */
  readonly hotNightC: number;
  /** Hot days of three that make a spell, 1 to 3. */
  readonly hotDaysOfThree: number;
  /** No day below this is hot, however unusual. */
  readonly floorC: number;
}

export interface HotSpell {
  /** Undefined when the days that are not known could decide it either way. */
  readonly met: boolean | undefined;
  readonly because?: 'hot days' | 'warm nights' | 'excess heat';
  readonly hotDays: number;
  /** Where three daily means and the record are known, °C². */
  readonly excessHeatFactorC2?: number;
}

const DAYS_OF_SPELL = 3;
/** Two seasons: daily means that must be known before a house's own record speaks (two years with some gaps). */
const FEWEST_DAILY_MEANS = 600;
/** Days with both figures that tell how far a house is from the outside (starting value). */
const FEWEST_OFFSET_DAYS = 30;
/** Of the thirty days before a spell (starting value): with fewer the plants' habit is taken as not known. */
const FEWEST_DAYS_BEFORE = 20;

/**
 * Daily mean for the excess heat factor: of a day's maximum and the night that follows; the night before stands in where
 * the next one is not known yet.
 */
function dailyMeanC(day: DayHeat | undefined, next: DayHeat | undefined): number | undefined {
  if (day?.dayMaxC === undefined) return undefined;
  const nightC = next?.nightMinC ?? day.nightMinC;
  return nightC === undefined ? undefined : heatDayMeanC(day.dayMaxC, nightC);
}

const dailyMeansC = (days: readonly DayHeat[]): (number | undefined)[] =>
  days.map((day, index) => dailyMeanC(day, days[index + 1]));

const calendarDayOf = (day: LocalDay): number => calendarDay(Number(day.slice(5, 7)), Number(day.slice(8, 10)));

/**
 * What is usual by a record of days, all of them over. Published definitions: 95th percentile of daily means (Nairn &
 * Fawcett 2015, IJERPH 12:227-253), calendar-day percentile of maxima (ETCCDI; Zhang et al. 2011).
 * @param days without holes, oldest first
 * @param share of the days around that are no warmer than an unusual one, 0-1
 * @throws PhysicsRangeError for NaN
 */
export function heatRecord(days: readonly DayHeat[], share = 0.9): HeatRecord {
  const means = dailyMeansC(days).filter((mean) => mean !== undefined);
  const maxima = days.flatMap(({ day, dayMaxC }) =>
    dayMaxC === undefined ? [] : [{ calendarDay: calendarDayOf(day), value: requireTemperature('dayMaxC', dayMaxC) }],
  );
  if (means.length < FEWEST_DAILY_MEANS) return { from: 'too short', unusualMaxC: [] };
  return {
    from: 'own record',
    dailyMean95C: quantile(means, 0.95, 8),
    unusualMaxC: calendarDayPercentiles(maxima, share),
  };
}

/**
 * What is usual in a house with a short record: the outside record, shifted by how much warmer the house was on the days
 * that are known of both (the middle of the differences; common practice, no published source).
 * @param outside record of the site's own outdoor sensor or of a station near by, from `heatRecord`
 * @returns too short when fewer than thirty days are known of both, or the outside record is short itself
 */
export function heatRecordFromOutside(
  outside: HeatRecord,
  insideDays: readonly DayHeat[],
  outsideDays: readonly DayHeat[],
): HeatRecord {
  const [inside, out] = [dailyMeansC(insideDays), dailyMeansC(outsideDays)];
  const outsideAt = new Map(outsideDays.map(({ day, dayMaxC }, i) => [day, { dayMaxC, meanC: out[i] }]));
  const shiftOf = (pick: (index: number) => number | undefined): number | undefined => {
    const shifts = insideDays.map((_, index) => pick(index)).filter((shift) => shift !== undefined);
    return shifts.length < FEWEST_OFFSET_DAYS ? undefined : median(shifts);
  };
  const less = (a: number | undefined, b: number | undefined) =>
    a === undefined || b === undefined ? undefined : a - b;
  const meanShiftC = shiftOf((i) => less(inside[i], outsideAt.get(insideDays[i]?.day ?? '')?.meanC));
  const maxShiftC = shiftOf((i) => less(insideDays[i]?.dayMaxC, outsideAt.get(insideDays[i]?.day ?? '')?.dayMaxC));
  if (outside.dailyMean95C === undefined || meanShiftC === undefined || maxShiftC === undefined)
    return { from: 'too short', unusualMaxC: [] };
  return {
    from: 'outside record',
    dailyMean95C: outside.dailyMean95C + meanShiftC,
    unusualMaxC: outside.unusualMaxC.map((maxC) => (maxC === undefined ? undefined : maxC + maxShiftC)),
  };
}

/**
 * What is usual in a house: by its own record, or, while that is short, by the outside record shifted to the house.
 * @param insideDays without holes, oldest first; likewise `outsideDays`
 */
export function heatRecordOf(insideDays: readonly DayHeat[], outsideDays: readonly DayHeat[], share = 0.9): HeatRecord {
  const own = heatRecord(insideDays, share);
  return own.from === 'own record'
    ? own
    : heatRecordFromOutside(heatRecord(outsideDays, share), insideDays, outsideDays);
}

/** Day maximum above which a day is unusual here at this time of the year; undefined while that cannot be told. */
export const unusualDayMaxC = (record: HeatRecord, day: LocalDay): number | undefined =>
  record.unusualMaxC[calendarDayOf(day) - 1];

/**
 * The day maximum from which on a day is hot.
 * @param unusualC of `unusualDayMaxC`
 */
export const hotDayLimitC = ({ hotDayC, floorC }: HotSpellLimits, unusualC: number | undefined): number =>
  unusualC === undefined
    ? requireTemperature('hotDayC', hotDayC)
    : Math.min(requireTemperature('hotDayC', hotDayC), Math.max(requireTemperature('floorC', floorC), unusualC));

/**
 * Whether three days are a hot spell.
 * @param days of the house without holes, oldest first, measured or expected: the three and the day after them (for its
 *   night), and the thirty before, as far as they are there
 * @param first index of the first of the three
 * @param record of days that were over when the question was asked
 * @throws PhysicsRangeError for NaN
 */
export function hotSpellFrom(
  days: readonly DayHeat[],
  first: number,
  record: HeatRecord,
  limits: HotSpellLimits,
): HotSpell {
  const maxC = (index: number): number | undefined => days[index]?.dayMaxC;
  const hot = countOfThree(first, (index) => {
    const value = maxC(index);
    if (value === undefined) return undefined;
    const unusualC = unusualDayMaxC(record, days[index]?.day ?? '');
    return requireTemperature('dayMaxC', value) >= hotDayLimitC(limits, unusualC);
  });
  const aboveFloor = countOfThree(first, (index) => {
    const value = maxC(index);
    return value === undefined ? undefined : value >= limits.floorC;
  });
  // Nights are named by the day they end on: the three that follow the three days.
  const warm = countOfThree(first, (index) => {
    const minC = days[index + 1]?.nightMinC;
    return minC === undefined ? undefined : requireTemperature('nightMinC', minC) >= limits.hotNightC;
  });
  const needed = requireFinite('hotDaysOfThree', limits.hotDaysOfThree, 'days');
  const factorC2 = excessHeatFrom(days, first, record);
  const found = (met: boolean | undefined, because?: NonNullable<HotSpell['because']>): HotSpell => ({
    met,
    hotDays: hot.sure,
    ...(because && { because }),
    ...(factorC2 !== undefined && { excessHeatFactorC2: factorC2 }),
  });
  if (hot.sure >= needed) return found(true, 'hot days');
  if (warm.sure >= DAYS_OF_SPELL) return found(true, 'warm nights');
  if (factorC2 !== undefined && factorC2 > 0 && aboveFloor.sure >= needed) return found(true, 'excess heat');
  const heatOpen =
    record.dailyMean95C !== undefined && factorC2 === undefined && aboveFloor.sure + aboveFloor.unknown >= needed;
  const open = heatOpen || hot.sure + hot.unknown >= needed || warm.sure + warm.unknown >= DAYS_OF_SPELL;
  return found(open ? undefined : false);
}

function countOfThree(
  first: number,
  holds: (index: number) => boolean | undefined,
): { readonly sure: number; readonly unknown: number } {
  const answers = [first, first + 1, first + 2].map(holds);
  return {
    sure: answers.filter((answer) => answer === true).length,
    unknown: answers.filter((answer) => answer === undefined).length,
  };
}

/**
 * Excess heat factor of three days, forward window: Nairn & Fawcett (2015). Above nought: hotter than this house is on
 * nineteen days of twenty. Where too little is known of the thirty days before, the plants count as used to the heat.
 */
function excessHeatFrom(days: readonly DayHeat[], first: number, record: HeatRecord): number | undefined {
  if (record.dailyMean95C === undefined) return undefined;
  const meansOf = (from: number, count: number): number[] =>
    Array.from({ length: count }, (_, i) => dailyMeanC(days[from + i], days[from + i + 1])).filter(
      (mean) => mean !== undefined,
    );
  const three = meansOf(first, DAYS_OF_SPELL);
  if (three.length < DAYS_OF_SPELL) return undefined;
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
  const before = meansOf(first - 30, 30);
  const mean30C = before.length < FEWEST_DAYS_BEFORE ? mean(three) : mean(before);
  return excessHeat(mean(three), mean30C, record.dailyMean95C).excessHeatFactorC2;
}
