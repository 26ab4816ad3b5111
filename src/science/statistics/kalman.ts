/**
 * Kalman filters of one hidden number: a level that wanders, and a level with a rate of change that wanders.
 * Source of both: Durbin & Koopman (2012), Time Series Analysis by State Space Methods, 2nd ed., ch. 2 and 3.2.
 */
import { requireFinite, requireNotNegative, requirePositive } from '../guards.js';

/** A number with the variance it is known with. */
export interface Estimate {
  readonly mean: number;
  readonly variance: number;
}

export interface LevelUpdate extends Estimate {
  /** Observed minus predicted. */
  readonly innovation: number;
  /** What the innovation was expected to vary by. */
  readonly innovationVariance: number;
  /** Share of the innovation believed, 0-1. */
  readonly gain: number;
}

/** The level as time goes on without an observation. @throws PhysicsRangeError for NaN or a negative variance */
export function predictLevel(level: Estimate, addedVariance: number): Estimate {
  requireFinite('level', level.mean, '');
  requireNotNegative('addedVariance', addedVariance, '');
  return { mean: level.mean, variance: level.variance + addedVariance };
}

/**
 * The level after an observation: v = y - a, F = P + R, K = P / F, a += K v, P = (1 - K) P.
 * @param observationVariance above 0
 * @throws PhysicsRangeError for NaN
 */
export function updateLevel(predicted: Estimate, observed: number, observationVariance: number): LevelUpdate {
  requireFinite('observed', observed, '');
  requirePositive('observationVariance', observationVariance, '');
  requireNotNegative('variance', predicted.variance, '');
  const innovation = observed - predicted.mean;
  const innovationVariance = predicted.variance + observationVariance;
  const gain = predicted.variance / innovationVariance;
  return {
    mean: predicted.mean + gain * innovation,
    variance: (1 - gain) * predicted.variance,
    innovation,
    innovationVariance,
    gain,
  };
}

/** A level and its rate of change per unit of time, with their joint covariance. */
export interface TrendEstimate {
  readonly level: number;
  readonly rate: number;
  readonly levelVariance: number;
  readonly covariance: number;
  readonly rateVariance: number;
}

export interface TrendNoise {
  /** Variance the level gains per unit of time beside the rate. */
  readonly levelPerTime: number;
  /** Variance the rate gains per unit of time. */
  readonly ratePerTime: number;
}

/**
 * The trend after some time without an observation (integrated random walk in continuous time).
 * @param elapsed time since the last step, at least 0
 * @throws PhysicsRangeError for NaN or time running backwards
 */
export function predictTrend(trend: TrendEstimate, elapsed: number, noise: TrendNoise): TrendEstimate {
  requireNotNegative('elapsed', elapsed, '');
  requireFinite('level', trend.level, '');
  return {
    level: trend.level + trend.rate * elapsed,
    rate: trend.rate,
    levelVariance:
      trend.levelVariance +
      2 * elapsed * trend.covariance +
      elapsed ** 2 * trend.rateVariance +
      noise.levelPerTime * elapsed +
      (noise.ratePerTime * elapsed ** 3) / 3,
    covariance: trend.covariance + elapsed * trend.rateVariance + (noise.ratePerTime * elapsed ** 2) / 2,
    rateVariance: trend.rateVariance + noise.ratePerTime * elapsed,
  };
}

/**
 * The trend after an observation of the level.
 * @param observationVariance above 0
 * @throws PhysicsRangeError for NaN
 */
export function updateTrend(predicted: TrendEstimate, observed: number, observationVariance: number): TrendEstimate {
  requireFinite('observed', observed, '');
  requirePositive('observationVariance', observationVariance, '');
  const innovation = observed - predicted.level;
  const innovationVariance = predicted.levelVariance + observationVariance;
  const levelGain = predicted.levelVariance / innovationVariance;
  const rateGain = predicted.covariance / innovationVariance;
  return {
    level: predicted.level + levelGain * innovation,
    rate: predicted.rate + rateGain * innovation,
    levelVariance: (1 - levelGain) * predicted.levelVariance,
    covariance: (1 - levelGain) * predicted.covariance,
    rateVariance: Math.max(0, predicted.rateVariance - rateGain * predicted.covariance),
  };
}
