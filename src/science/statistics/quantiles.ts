/** Sample quantiles and distribution-free prediction bounds. */
import { PhysicsRangeError, requireFinite, requireInRange } from '../guards.js';

function sorted(values: readonly number[]): number[] {
  if (values.length === 0)
    throw new PhysicsRangeError('number of values', 0, '', { min: 1, max: Number.POSITIVE_INFINITY });
  for (const value of values) requireFinite('value', value, '');
  return [...values].sort((a, b) => a - b);
}

/**
 * Sample quantile. Position h = n p + m with m = 1 - p (type 7) or (p + 1) / 3 (type 8), linear in between.
 * Type 7 is the usual default; type 8 is median-unbiased whatever the distribution, and the one of the heat indices.
 * Source: Hyndman & Fan (1996), Am. Stat. 50:361-365.
 * @param share 0-1
 * @throws PhysicsRangeError for no values, NaN, or a share outside 0-1
 */
export function quantile(values: readonly number[], share: number, type: 7 | 8 = 7): number {
  requireInRange('share', share, '', 0, 1);
  const ordered = sorted(values);
  const n = ordered.length;
  const position = n * share + (type === 7 ? 1 - share : (share + 1) / 3);
  const below = Math.floor(position);
  const at = (index: number): number => ordered[Math.min(n, Math.max(1, index)) - 1] as number;
  return at(below) + (position - below) * (at(below + 1) - at(below));
}

export const median = (values: readonly number[]): number => quantile(values, 0.5);

/**
 * Median absolute deviation, scaled by 1.4826 to the standard deviation of a normal sample.
 * Source: Rousseeuw & Croux (1993), J. Am. Stat. Assoc. 88:1273-1283.
 */
export function robustSpread(values: readonly number[]): number {
  const middle = median(values);
  return 1.4826 * median(values.map((value) => Math.abs(value - middle)));
}

/**
 * Split conformal bound: the ceil((n + 1) coverage)-th smallest of past errors. A new error, exchangeable with the past
 * ones, stays at or below it with at least the stated probability, whatever its distribution.
 * Source: Vovk, Gammerman & Shafer (2005), Algorithmic Learning in a Random World; Lei et al. (2018), J. Am. Stat.
 * Assoc. 113:1094-1111, section 2.
 * @param coverage 0-1, both ends excluded
 * @returns the bound, or infinity when there are too few past errors to promise it (fewer than coverage / (1 - coverage))
 * @throws PhysicsRangeError for NaN, or a coverage outside
 */
export function conformalBound(pastErrors: readonly number[], coverage: number): number {
  requireInRange('coverage', coverage, '', Number.EPSILON, 1 - Number.EPSILON);
  // The tiny subtraction keeps a product such as 10 x 0.9 from being rounded up to the next rank.
  const rank = Math.ceil((pastErrors.length + 1) * coverage - 1e-9);
  if (rank > pastErrors.length) return Number.POSITIVE_INFINITY;
  return sorted(pastErrors)[Math.max(1, rank) - 1] as number;
}

/**
 * Interval that holds a new value with at least the stated probability, from past signed errors (observed - forecast):
 * half of what may be missed is spent at each end.
 * @returns infinite ends where there are too few past errors
 * @throws PhysicsRangeError as `conformalBound`
 */
export function conformalInterval(
  forecast: number,
  pastErrors: readonly number[],
  coverage: number,
): { readonly low: number; readonly high: number } {
  requireFinite('forecast', forecast, '');
  const eachSide = (1 + coverage) / 2;
  return {
    low:
      forecast -
      conformalBound(
        pastErrors.map((error) => -error),
        eachSide,
      ),
    high: forecast + conformalBound(pastErrors, eachSide),
  };
}
