/** Rainfall seasons of a habitat: the origin zone of its plants and two indices of how seasonal the rain is. */
import { PhysicsRangeError, requireNotNegative } from './guards.js';
import { wrapDegrees } from './units.js';

/** Twelve monthly means, January first, mm. */
export type MonthlyRain = readonly number[];

export type RainfallZone = 'winter' | 'summer' | 'all-year';

/** Share of the yearly rain in the winter half above which a place counts as a winter-rain one (and 1 - it below). */
export const WINTER_RAIN_SHARE = 0.66;
/** Fog days a year that make a fog coast (after the fog maps of the Namib; limit common practice). */
export const FOG_COAST_DAYS = 30;

function requireMonths(monthlyRainMm: MonthlyRain): void {
  if (monthlyRainMm.length !== 12)
    throw new PhysicsRangeError('number of monthly rainfalls', monthlyRainMm.length, '', { min: 12, max: 12 });
  for (const [month, rain] of monthlyRainMm.entries()) requireNotNegative(`rainfall of month ${month + 1}`, rain, 'mm');
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

/**
 * Share of the year's rain that falls in the winter half: April to September in the south, October to March in the north.
 * @param monthlyRainMm twelve monthly means, January first, mm
 * @returns 0-1, or undefined where no rain falls
 * @throws PhysicsRangeError unless twelve finite values of at least 0 are given
 */
export function winterRainShare(
  monthlyRainMm: MonthlyRain,
  hemisphere: 'north' | 'south' = 'south',
): number | undefined {
  requireMonths(monthlyRainMm);
  const year = sum(monthlyRainMm);
  if (year === 0) return undefined;
  const aprilToSeptember = sum(monthlyRainMm.slice(3, 9)) / year;
  return hemisphere === 'south' ? aprilToSeptember : 1 - aprilToSeptember;
}

/**
 * Rainfall zone by the share rule: winter rain where more than 66 % falls in the winter half, summer rain where more than
 * 66 % falls in the summer half, else all-year rain.
 * Source: Chase & Meadows (2007), Earth-Sci. Rev. 84:103-138 (limits remembered; the scheme seen through later papers).
 * Valid: southern Africa; elsewhere a name for the same shares.
 * @returns the zone, or undefined where no rain falls
 * @throws PhysicsRangeError as `winterRainShare`
 */
export function rainfallZone(
  monthlyRainMm: MonthlyRain,
  hemisphere: 'north' | 'south' = 'south',
): RainfallZone | undefined {
  const share = winterRainShare(monthlyRainMm, hemisphere);
  if (share === undefined) return undefined;
  if (share > WINTER_RAIN_SHARE) return 'winter';
  return share < 1 - WINTER_RAIN_SHARE ? 'summer' : 'all-year';
}

/**
 * Whether the habitat lies in a fog belt.
 * @param fogDaysPerYear days with fog a year; undefined when not known
 * @returns undefined when not known
 * @throws PhysicsRangeError for NaN or a negative number
 */
export function isFogCoast(fogDaysPerYear: number | undefined): boolean | undefined {
  if (fogDaysPerYear === undefined) return undefined;
  return requireNotNegative('fogDaysPerYear', fogDaysPerYear, 'days') >= FOG_COAST_DAYS;
}

/**
 * Origin zone of a plant from its habitat's rain and fog. Fog outranks rain: where it is the main source of water the
 * plants are grown as fog-coast ones whatever the little rain does.
 * @returns undefined where neither rain nor fog tells
 */
export function originZoneOf(
  monthlyRainMm: MonthlyRain,
  fogDaysPerYear?: number,
  hemisphere: 'north' | 'south' = 'south',
): RainfallZone | 'fog-coast' | undefined {
  return isFogCoast(fogDaysPerYear) ? 'fog-coast' : rainfallZone(monthlyRainMm, hemisphere);
}

/**
 * Seasonality index: SI = (1/R) sum |x_m - R/12|.
 * Source: Walsh & Lawler (1981), Weather 36:201-208. 0 = the same every month, 11/6 = all in one month.
 * @returns 0 to 1.83, or undefined where no rain falls
 * @throws PhysicsRangeError as `winterRainShare`
 */
export function walshLawlerSeasonality(monthlyRainMm: MonthlyRain): number | undefined {
  requireMonths(monthlyRainMm);
  const year = sum(monthlyRainMm);
  if (year === 0) return undefined;
  return sum(monthlyRainMm.map((rain) => Math.abs(rain - year / 12))) / year;
}

/** Class names of the seasonality index. Source: Walsh & Lawler (1981), Table 1 (remembered). */
export function walshLawlerClass(seasonality: number): string {
  requireNotNegative('seasonality', seasonality, '');
  if (seasonality < 0.2) return 'very equable';
  if (seasonality < 0.4) return 'equable with a wetter season';
  if (seasonality < 0.6) return 'rather seasonal';
  if (seasonality < 0.8) return 'seasonal';
  if (seasonality < 1) return 'markedly seasonal, long dry season';
  return seasonality < 1.2 ? 'most rain in three months or fewer' : 'extreme, rain in one or two months';
}

/**
 * Rain as a vector: months are angles (January 15°, February 45°, ...), rainfalls are lengths.
 * Source: Markham (1970), Ann. Assoc. Am. Geogr. 60:593-597.
 * @returns concentration 0 (even) to 1 (one month), and the middle of the rains as an angle from 1 January; undefined
 * where no rain falls
 * @throws PhysicsRangeError as `winterRainShare`
 */
export function markhamSeasonality(
  monthlyRainMm: MonthlyRain,
): { readonly concentration: number; readonly peakDeg: number } | undefined {
  requireMonths(monthlyRainMm);
  const year = sum(monthlyRainMm);
  if (year === 0) return undefined;
  let east = 0;
  let north = 0;
  for (const [month, rain] of monthlyRainMm.entries()) {
    const angle = ((month + 0.5) * Math.PI) / 6;
    east += rain * Math.sin(angle);
    north += rain * Math.cos(angle);
  }
  return {
    concentration: Math.hypot(east, north) / year,
    peakDeg: wrapDegrees((Math.atan2(east, north) * 180) / Math.PI),
  };
}
