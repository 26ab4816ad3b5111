import { type LocalDay, localDayHours } from '../domain/time.js';
import { hoursOfSensors } from '../models/house-climate.js';
import type { DailyRollUp, SeriesDays } from '../storage/repositories.js';

/** Share of the hours of a day a sensor must have covered for its extremes to be those of the day (starting value). */
const ENOUGH_OF_A_DAY = 0.75;

/** Lowest and highest of one local day, the sensors put together. */
export interface DayRange {
  readonly day: LocalDay;
  readonly min: number;
  readonly max: number;
  /** Enough was heard to know that nothing lower or higher came; else it is only what came. */
  readonly isWhole: boolean;
}

/**
 * Day by day the lowest and highest, by rising day. Sensors that heard enough of a day go before those that heard a part of
 * it: a night sensor must not bend the maximum. A day of which nothing was heard is left out.
 */
export function dayRanges(sensors: readonly SeriesDays[], zone: string): DayRange[] {
  const byDay = new Map<LocalDay, DailyRollUp[]>();
  for (const { days } of sensors)
    for (const day of days) if (day.count > 0) byDay.set(day.day, [...(byDay.get(day.day) ?? []), day]);
  return [...byDay.keys()].sort().flatMap((day): DayRange[] => {
    const heard = byDay.get(day) as DailyRollUp[];
    const enoughSeconds = ENOUGH_OF_A_DAY * localDayHours(zone, day) * 3600;
    const whole = heard.filter(({ coveredSeconds }) => coveredSeconds >= enoughSeconds);
    const used = whole.length > 0 ? whole : heard;
    return [...hoursOfSensors(used.map((one) => [one])).values()].map(({ min, max }) => ({
      day,
      min,
      // Of two sensors in different places the middle of the highest may fall below that of the lowest.
      max: Math.max(min, max),
      isWhole: whole.length > 0,
    }));
  });
}
