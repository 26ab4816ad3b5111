/** Recursive logistic regression: the probability of an event, learned pair by pair and slowly forgetting the old ones. */
import { PhysicsRangeError, requireFinite, requireInRange, requirePositive } from '../guards.js';
import { type LeastSquaresState, predictLeastSquares, startLeastSquares, updateLeastSquares } from './least-squares.js';

export interface LogisticState {
  readonly fit: LeastSquaresState;
  /** Spread of the start. What was learned is never held for less certain than that. */
  readonly priorVariance: number;
}

/** Keeps the weight of a pair away from zero, where its working response would be endless. */
const LEAST_WEIGHT = 1e-4;

/**
 * A start that leans on a prior guess.
 * @param coefficients in units of log odds per unit of the regressor
 * @param priorVariance above 0; 0.1 keeps to the guess until some tens of pairs speak against it
 * @throws PhysicsRangeError for NaN
 */
export const startLogistic = (coefficients: readonly number[], priorVariance: number): LogisticState => ({
  fit: startLeastSquares(coefficients, requirePositive('priorVariance', priorVariance, '')),
  priorVariance,
});

/** Share of 1 at given log odds, 0-1 with both ends excluded up to rounding. @throws PhysicsRangeError for NaN */
export const logistic = (logOdds: number): number => 1 / (1 + Math.exp(-requireFinite('logOdds', logOdds, '')));

/** @returns probability of the event, 0-1 @throws PhysicsRangeError for NaN or a wrong number of regressors */
export function logisticProbability(state: LogisticState, regressors: readonly number[]): number {
  return logistic(predictLeastSquares(state.fit, regressors));
}

/**
 * One pair: a Newton step by recursive least squares on the working response η + (y - p) / w with weight w = p (1 - p).
 * Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., 2.5; made recursive as in Ljung & Soderstrom
 * (1983), Theory and Practice of Recursive Identification, 3.6. Where long no pair says anything (p near 0 or 1),
 * forgetting would let the covariance grow without end: it is kept at or below that of the start.
 * @param regressors as many as there are coefficients
 * @param forgetting 0.5 to 1; the memory is about 1 / (1 - forgetting) pairs
 * @throws PhysicsRangeError for NaN, or a wrong number of regressors
 */
export function updateLogistic(
  state: LogisticState,
  regressors: readonly number[],
  happened: boolean,
  forgetting: number,
): LogisticState {
  requireInRange('forgetting', forgetting, '', 0.5, 1);
  const logOdds = predictLeastSquares(state.fit, regressors);
  const probability = logistic(logOdds);
  const weight = Math.max(probability * (1 - probability), LEAST_WEIGHT);
  const root = Math.sqrt(weight);
  const fit = updateLeastSquares(
    state.fit,
    regressors.map((value) => root * value),
    root * logOdds + ((happened ? 1 : 0) - probability) / root,
    forgetting,
  );
  return { ...state, fit: notWiderThan(fit, state.priorVariance) };
}

function notWiderThan(fit: LeastSquaresState, variance: number): LeastSquaresState {
  const size = fit.coefficients.length;
  if (size === 0) throw new PhysicsRangeError('number of coefficients', 0, '', { min: 1, max: Infinity });
  const scales = fit.coefficients.map((_, i) => Math.sqrt(variance / (fit.covariance[i * (size + 1)] as number)));
  if (scales.every((scale) => scale >= 1)) return fit;
  const within = (index: number): number => Math.min(1, scales[index] as number);
  return {
    ...fit,
    // Row and column alike: what is left is a covariance still.
    covariance: fit.covariance.map((value, i) => value * within(Math.trunc(i / size)) * within(i % size)),
  };
}
