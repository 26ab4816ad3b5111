/**
 * Degree-days of one day from its extremes: the warmth above a lower and, where given, below an upper threshold.
 * Sources: Zalom et al. (1983), UC DANR Leaflet 21373; average Wilson & Barnett (1983), Calif. Agric. 37(1):4-7; single
 * sine Baskerville & Emin (1969), Ecology 50:514-517. The unit is the unit of the temperatures times one day.
 */
import { clamp, PhysicsRangeError, requireDayExtremes, requireTemperature } from './guards.js';

/** What happens above the upper threshold: growth stays as fast, slows down again, or stops. */
export type UpperCutoff = 'horizontal' | 'intermediate' | 'vertical';

export interface DegreeDayThresholds {
  readonly lowerC: number;
  /** Above the lower; left out: none. */
  readonly upperC?: number;
  /** Left out: horizontal. */
  readonly cutoff?: UpperCutoff;
}

/**
 * Average method: max(0, (Tmin + Tmax) / 2 - lower), without an upper threshold. Source: Wilson & Barnett (1983).
 * Underestimates days that are warm only at noon; kept because published requirements are often given in it.
 * @returns °C day, at least 0
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function averageDegreeDays(airTempMinC: number, airTempMaxC: number, lowerC: number): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  return Math.max(0, (airTempMinC + airTempMaxC) / 2 - requireTemperature('lowerC', lowerC));
}

/**
 * Single-triangle method. Source: Zalom et al. (1983).
 * @returns °C day, at least 0
 * @throws PhysicsRangeError outside the ranges, for NaN, when the minimum is above the maximum or the lower threshold is
 *   not below the upper
 */
export function triangleDegreeDays(airTempMinC: number, airTempMaxC: number, thresholds: DegreeDayThresholds): number {
  return withCutoff(airTempMinC, airTempMaxC, thresholds, triangleAbove, (level) =>
    clamp((airTempMaxC - level) / (airTempMaxC - airTempMinC), 0, 1),
  );
}

/**
 * Single-sine method. Source: Baskerville & Emin (1969); cut-offs Zalom et al. (1983).
 * @returns °C day, at least 0
 * @throws PhysicsRangeError as for triangleDegreeDays
 */
export function sineDegreeDays(airTempMinC: number, airTempMaxC: number, thresholds: DegreeDayThresholds): number {
  return withCutoff(airTempMinC, airTempMaxC, thresholds, sineAbove, (level) =>
    shareOfDayAbove(airTempMinC, airTempMaxC, level),
  );
}

/**
 * Share of a day spent above a temperature, the day taken as a sine between its extremes: hours of heat from a forecast
 * that gives extremes only. Arithmetic of the shape (Baskerville & Emin 1969).
 * @returns 0 to 1
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function shareOfDayAbove(airTempMinC: number, airTempMaxC: number, levelC: number): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  requireTemperature('levelC', levelC);
  if (airTempMaxC <= levelC) return 0;
  if (airTempMinC >= levelC) return 1;
  return (Math.PI / 2 - crossingAngle(airTempMinC, airTempMaxC, levelC)) / Math.PI;
}

/** Degree-days above a level on a triangle-shaped day. */
function triangleAbove(min: number, max: number, level: number): number {
  if (max <= level) return 0;
  if (min >= level) return (min + max) / 2 - level;
  return (max - level) ** 2 / (2 * (max - min));
}

/** Angle from the mean at which a sine-shaped day crosses a level. */
function crossingAngle(min: number, max: number, level: number): number {
  return Math.asin(clamp((level - (min + max) / 2) / ((max - min) / 2), -1, 1));
}

/** Degree-days above a level on a sine-shaped day: [(mean - level) (pi/2 - angle) + amplitude cos(angle)] / pi. */
function sineAbove(min: number, max: number, level: number): number {
  if (max <= level) return 0;
  const mean = (min + max) / 2;
  if (min >= level) return mean - level;
  const angle = crossingAngle(min, max, level);
  return ((mean - level) * (Math.PI / 2 - angle) + ((max - min) / 2) * Math.cos(angle)) / Math.PI;
}

function withCutoff(
  min: number,
  max: number,
  { lowerC, upperC, cutoff = 'horizontal' }: DegreeDayThresholds,
  above: (min: number, max: number, level: number) => number,
  shareAbove: (level: number) => number,
): number {
  requireDayExtremes(min, max);
  requireTemperature('lowerC', lowerC);
  const warm = above(min, max, lowerC);
  if (upperC === undefined) return warm;
  requireTemperature('upperC', upperC);
  if (!(upperC > lowerC)) throw new PhysicsRangeError('upperC', upperC, '°C', { min: lowerC, max: 100 });
  const tooWarm = above(min, max, upperC);
  if (cutoff === 'intermediate') return Math.max(0, warm - 2 * tooWarm);
  if (cutoff === 'horizontal') return warm - tooWarm;
  const timeAbove = max <= upperC ? 0 : min >= upperC ? 1 : shareAbove(upperC);
  return Math.max(0, warm - tooWarm - (upperC - lowerC) * timeAbove);
}
