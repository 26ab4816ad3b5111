import { quantile } from '../../science/statistics/quantiles.js';
import { fahrenheitToCelsius } from '../../science/units.js';
import type { UsForecastDay, UsSite } from './us-forecasts.js';

/**
 * The 90th percentile of the site's own highs that a hot day is above: of its whole record; of May to September, scored
 * in those months alone; or of the highs that were known when the longest forecast for the day was issued.
 */
export const HOT_LIMITS = ['whole record', 'May to September', 'past only'] as const;
export type HotLimit = (typeof HOT_LIMITS)[number];

const SHARE = 0.9;
const isWarmSeason = (date: string): boolean => date.slice(5, 7) >= '05' && date.slice(5, 7) <= '09';
const highsOf = (days: readonly UsForecastDay[]): number[] =>
  days.flatMap(({ highC }) => (highC === undefined ? [] : [highC]));

/** Highs are whole °F: the limit is put midway to the next one, which changes no day and keeps rounding out of it. */
function hotLimitC(highsC: readonly number[]): number | undefined {
  if (highsC.length === 0) return undefined;
  return fahrenheitToCelsius(Math.floor((quantile(highsC, SHARE) * 9) / 5 + 32 + 1e-6) + 0.5);
}

/**
 * The limit of each day of a site.
 * @param firstDay of the scoring: before it "past only" has no limit
 * @param knownLag days before the day itself that are known to every forecast for it
 * @returns °C; undefined where the day is not scored
 */
export function limitsOfSite(
  limit: HotLimit,
  { days }: UsSite,
  firstDay: number,
  knownLag: number,
): readonly (number | undefined)[] {
  if (limit === 'past only')
    return days.map((_, day) => (day < firstDay ? undefined : hotLimitC(highsOf(days.slice(0, day - knownLag + 1)))));
  const counts = (date: string): boolean => limit === 'whole record' || isWarmSeason(date);
  const limitC = hotLimitC(highsOf(days.filter(({ date }) => counts(date))));
  return days.map(({ date }) => (counts(date) ? limitC : undefined));
}
