/** The normal distribution. */
import { requireFinite, requireInRange, requirePositive } from '../guards.js';

/**
 * Error function, to 1e-15: Maclaurin series below 2.5, continued fraction of the complement above.
 * Source: Abramowitz & Stegun (1964), 7.1.6 and 7.1.14.
 * @throws PhysicsRangeError for NaN
 */
export function errorFunction(x: number): number {
  requireFinite('x', x, '');
  const size = Math.abs(x);
  if (size > 6) return Math.sign(x);
  if (size < 2.5) {
    let term = size;
    let total = size;
    for (let n = 1; term > 1e-17 * total; n += 1) {
      term *= (2 * size * size) / (2 * n + 1);
      total += term;
    }
    return (Math.sign(x) * 2 * Math.exp(-size * size) * total) / Math.sqrt(Math.PI);
  }
  let tail = size;
  for (let k = 60; k >= 1; k -= 1) tail = size + k / 2 / tail;
  return Math.sign(x) * (1 - Math.exp(-size * size) / (tail * Math.sqrt(Math.PI)));
}

/** Density of the standard normal distribution. @throws PhysicsRangeError for NaN */
export const normalDensity = (z: number): number =>
  Math.exp(-(requireFinite('z', z, '') ** 2) / 2) / Math.sqrt(2 * Math.PI);

/** Share of a standard normal distribution below z, 0-1. @throws PhysicsRangeError for NaN */
export const normalCdf = (z: number): number => (1 + errorFunction(requireFinite('z', z, '') / Math.SQRT2)) / 2;

/** Standard deviation of a normal variable over its mean distance from the middle. Its mean distance is the integral of |z| over the density: sqrt(2 / pi). */
export const DEVIATION_OVER_MEAN = Math.sqrt(Math.PI / 2);

/**
 * The value below which a share of a normal distribution lies, by bisection on `normalCdf`.
 * @param share 1e-12 to 1 - 1e-12
 * @throws PhysicsRangeError outside
 */
export function normalQuantile(share: number, mean = 0, standardDeviation = 1): number {
  requireInRange('share', share, '', 1e-12, 1 - 1e-12);
  requirePositive('standardDeviation', standardDeviation, '');
  let low = -8;
  let high = 8;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (normalCdf(middle) < share) low = middle;
    else high = middle;
  }
  return mean + (standardDeviation * (low + high)) / 2;
}

/** Distance of the 10 and 90 % points of a normal distribution from its middle, in standard deviations. */
export const NORMAL_Z90 = normalQuantile(0.9);
