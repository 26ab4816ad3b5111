/**
 * Gaussian process regression: a smooth function known from noisy values, with the spread it is known with.
 * Source: Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, algorithm 2.1.
 */
import { PhysicsRangeError, requireFinite, requireInRange, requireNotNegative, requirePositive } from '../guards.js';
import { choleskyFactor, solveCholesky, solveLower } from './cholesky.js';
import type { Estimate } from './kalman.js';

export interface ProcessFit {
  readonly size: number;
  readonly lower: Float64Array;
  /** (K + noise)⁻¹ y. */
  readonly dual: Float64Array;
  /** How much each value was believed, 0 to 1: 1 for those the function passes close by. */
  readonly trust: Float64Array;
  readonly noiseVariance: number;
}

/** Residuals beyond this many standard deviations of the noise are believed less. Source: Huber (1964), tuning 1.345-1.5. */
const HUBER_LIMIT = 1.5;

/**
 * Fits the values. In every pass after the first, values far off are given more noise in proportion (Huber weights), so
 * that a single odd day does not bend the function.
 * @param kernel covariance of the function between the places of the values, size x size, row by row
 * @param values as many as there are rows, about mean 0
 * @param noiseVariance above 0, in the square of the unit of the values
 * @param passes 1: plain, or with the trust that is given; 2 or more: robust
 * @param trust to begin with, above 0 to 1, e.g. from `huberTrust` of an earlier fit; left out: all values alike
 * @throws PhysicsRangeError for no values, NaN, or a kernel of another size
 */
export function fitProcess(
  kernel: ArrayLike<number>,
  values: readonly number[],
  noiseVariance: number,
  passes = 2,
  trust?: ArrayLike<number>,
): ProcessFit {
  const size = values.length;
  if (size === 0) throw new PhysicsRangeError('number of values', 0, '', { min: 1, max: Number.POSITIVE_INFINITY });
  for (const value of values) requireFinite('value', value, '');
  requireInRange('entries of the kernel', kernel.length, '', size * size, size * size);
  requirePositive('noiseVariance', noiseVariance, '');
  let believed: Float64Array = trust === undefined ? new Float64Array(size).fill(1) : new Float64Array(trust);
  requireInRange('number of trusts', believed.length, '', size, size);
  for (let pass = 1; ; pass += 1) {
    const noisy = new Float64Array(kernel);
    for (let i = 0; i < size; i += 1) {
      const diagonal = i * size + i;
      noisy[diagonal] = (noisy[diagonal] as number) + noiseVariance / (believed[i] as number);
    }
    const lower = choleskyFactor(noisy, size);
    const fit = { size, lower, dual: solveCholesky(lower, size, values), trust: believed, noiseVariance };
    if (pass >= passes) return fit;
    believed = huberTrust(fit);
  }
}

/** How far each value may be believed, by its distance from the fitted function: 1 near by, less in proportion beyond. */
export function huberTrust({ size, dual, trust, noiseVariance }: ProcessFit): Float64Array {
  const deviation = Math.sqrt(noiseVariance);
  return Float64Array.from({ length: size }, (_, i) => {
    // The residual of a fitted value is its noise variance times its dual.
    const residual = (Math.abs(dual[i] as number) * noiseVariance) / (trust[i] as number) / deviation;
    return residual > HUBER_LIMIT ? HUBER_LIMIT / residual : 1;
  });
}

/**
 * The function at another place, without the noise of a measurement there.
 * @param cross covariance between that place and each of the values
 * @param ownVariance covariance of the function with itself at that place, at least 0
 * @throws PhysicsRangeError for NaN or a wrong number of covariances
 */
export function predictProcess(fit: ProcessFit, cross: ArrayLike<number>, ownVariance: number): Estimate {
  requireInRange('number of covariances', cross.length, '', fit.size, fit.size);
  requireNotNegative('ownVariance', ownVariance, '');
  let mean = 0;
  for (let i = 0; i < fit.size; i += 1) mean += (cross[i] as number) * (fit.dual[i] as number);
  requireFinite('covariance', mean, '');
  const half = solveLower(fit.lower, fit.size, cross);
  let known = 0;
  for (const value of half) known += value * value;
  return { mean, variance: Math.max(0, ownVariance - known) };
}
