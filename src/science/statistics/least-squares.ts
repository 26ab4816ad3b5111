/** Recursive least squares: a linear model that learns from each pair and slowly forgets the old ones. */
import { PhysicsRangeError, requireFinite, requireInRange, requirePositive } from '../guards.js';

/** Coefficients and the covariance they are known with, in units of the error variance; row by row. */
export interface LeastSquaresState {
  readonly coefficients: readonly number[];
  readonly covariance: readonly number[];
}

/**
 * A start that knows nothing (large spread) or leans on a prior guess (small spread).
 * @param priorVariance above 0; 1e9 makes the first pairs decide
 * @throws PhysicsRangeError for NaN
 */
export function startLeastSquares(coefficients: readonly number[], priorVariance: number): LeastSquaresState {
  requirePositive('priorVariance', priorVariance, '');
  const size = coefficients.length;
  for (const value of coefficients) requireFinite('coefficient', value, '');
  return {
    coefficients,
    covariance: Array.from({ length: size * size }, (_, index) => (index % (size + 1) === 0 ? priorVariance : 0)),
  };
}

/**
 * One pair: K = P x / (λ + x'P x), θ += K (y - x'θ), P = (P - K x'P) / λ. With λ = 1 and a large start it ends at ordinary
 * least squares. Source: Ljung & Soderstrom (1983), Theory and Practice of Recursive Identification.
 * @param regressors as many as there are coefficients
 * @param forgetting λ, 0.5 to 1; the memory is about 1 / (1 - λ) pairs
 * @throws PhysicsRangeError for NaN, or a wrong number of regressors
 */
export function updateLeastSquares(
  state: LeastSquaresState,
  regressors: readonly number[],
  observed: number,
  forgetting: number,
): LeastSquaresState {
  const size = state.coefficients.length;
  requireInRange('number of regressors', regressors.length, '', size, size);
  requireFinite('observed', observed, '');
  requireInRange('forgetting', forgetting, '', 0.5, 1);
  for (const value of regressors) requireFinite('regressor', value, '');
  const x = (i: number): number => regressors[i] as number;
  const p = (i: number, j: number): number => state.covariance[i * size + j] as number;
  const px = Array.from({ length: size }, (_, i) => {
    let total = 0;
    for (let j = 0; j < size; j += 1) total += p(i, j) * x(j);
    return total;
  });
  const scale = forgetting + px.reduce((total, value, i) => total + value * x(i), 0);
  const error = observed - predictLeastSquares(state, regressors);
  const covariance = new Array<number>(size * size);
  for (let i = 0; i < size; i += 1)
    for (let j = i; j < size; j += 1) {
      // Both halves from one value: rounding must not break the symmetry the update relies on.
      const value = (p(i, j) - ((px[i] as number) * (px[j] as number)) / scale) / forgetting;
      covariance[i * size + j] = value;
      covariance[j * size + i] = value;
    }
  return {
    coefficients: state.coefficients.map((value, i) => value + ((px[i] as number) / scale) * error),
    covariance,
  };
}

/** The model's value for a set of regressors. @throws PhysicsRangeError when their number differs */
export function predictLeastSquares(state: LeastSquaresState, regressors: readonly number[]): number {
  if (regressors.length !== state.coefficients.length)
    throw new PhysicsRangeError('number of regressors', regressors.length, '', {
      min: state.coefficients.length,
      max: state.coefficients.length,
    });
  return regressors.reduce((total, value, i) => total + value * (state.coefficients[i] as number), 0);
}
