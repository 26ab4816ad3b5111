/**
 * Fits the air model to the last weeks of a house: damped least squares (Marquardt 1963, J. SIAM 11:431-441) on the hourly
 * errors of whole days run from their morning on, with Huber weights, older days counting less, and the prior as one more
 * observation of each coefficient. It starts from yesterday's coefficients, so that a step or two a morning follows a
 * house that changes.
 */
import { clamp } from '../../science/guards.js';
import { choleskyFactor, solveCholesky } from '../../science/statistics/cholesky.js';
import { type AirCoefficients, type AirInput, type AirPrior, type AirState, runAir } from './air-model.js';

/** A day as it was measured, from its morning on. */
export interface AirStretch {
  readonly inputs: readonly AirInput[];
  /** One per input; null: not heard. */
  readonly insideTempC: readonly (number | null)[];
  /** State at its start, given how slowly the mass follows. */
  readonly startAt: (massHours: number) => AirState | undefined;
  /** Days before the fit. */
  readonly ageDays: number;
}

/** Errors beyond this count by their size and no longer by its square. */
const HUBER_C = 1.5;
/** An hour's error with what its neighbours repeat: variance one hour is worth, °C². */
const ERROR_VARIANCE = 6;
/** A day this old counts half. */
const HALF_AGE_DAYS = 24;
/** The warm hours decide the day's highest; those far below it count a little less than half as much. */
const COOL_WEIGHT = 0.6;
const WARM_WEIGHT = 1.4;
const WARM_SPAN_C = 6;
/** Largest step of a coefficient, in standard deviations of its prior. */
const LONGEST_STEP = 1;
const DIFFERENCE = 0.03;

export interface AirFit {
  readonly coefficients: AirCoefficients;
  /** What is left unexplained, with the distance from the prior: of two fits to the same days the lower is the better one. */
  readonly cost: number;
}

/**
 * @param start coefficients to begin with
 * @param steps at most so many improvements
 * @returns better coefficients, or the same where nothing improves them
 */
export function fitAir(
  prior: AirPrior,
  start: AirCoefficients,
  stretches: readonly AirStretch[],
  steps: number,
): AirFit {
  const size = start.length;
  const weights = stretches.map(hourWeights);
  const errorsAt = (coefficients: AirCoefficients) => allErrors(coefficients, stretches, weights);
  let now = start;
  let errors = errorsAt(now);
  let cost = costOf(errors, now, prior);
  let damping = 0.1;
  for (let step = 0; step < steps; step += 1) {
    const slopes = now.map((value, index) => {
      const difference = DIFFERENCE * (prior.deviation[index] as number);
      const moved = errorsAt(now.with(index, value + difference));
      return moved.map((error, row) => (error - (errors[row] as number)) / difference);
    });
    const { matrix, gradient } = normalEquations(errors, slopes, now, prior);
    let better = false;
    for (let attempt = 0; attempt < 4 && !better; attempt += 1) {
      const damped = matrix.map((value, index) => (index % (size + 1) === 0 ? value * (1 + damping) : value));
      const change = solveCholesky(choleskyFactor(damped, size), size, gradient);
      const tried = now.map((value, index) => {
        const longest = LONGEST_STEP * (prior.deviation[index] as number);
        return value - clamp(change[index] as number, -longest, longest);
      });
      const triedErrors = errorsAt(tried);
      const triedCost = costOf(triedErrors, tried, prior);
      better = triedCost < cost;
      if (better) {
        now = tried;
        errors = triedErrors;
        cost = triedCost;
        damping = Math.max(1e-3, damping / 4);
      } else damping *= 6;
    }
    if (!better) break;
  }
  return { coefficients: now, cost };
}

/** Weight of each hour of a stretch: 0 where nothing was heard. */
function hourWeights(stretch: AirStretch): number[] {
  const heard = stretch.insideTempC.filter((value) => value !== null);
  const highest = Math.max(...heard);
  const age = 0.5 ** (stretch.ageDays / HALF_AGE_DAYS);
  return stretch.insideTempC.map((value) => {
    if (value === null) return 0;
    const warm = Math.max(0, 1 - (highest - value) / WARM_SPAN_C);
    return age * (COOL_WEIGHT + (WARM_WEIGHT - COOL_WEIGHT) * warm);
  });
}

function allErrors(
  coefficients: AirCoefficients,
  stretches: readonly AirStretch[],
  weights: readonly (readonly number[])[],
): Float64Array {
  const total = stretches.reduce((sum, { inputs }) => sum + inputs.length, 0);
  const errors = new Float64Array(total);
  const massHours = Math.exp(coefficients[3] as number);
  let row = 0;
  stretches.forEach((stretch, index) => {
    const { inputs, insideTempC } = stretch;
    const state = stretch.startAt(massHours);
    if (state !== undefined) {
      const run = errors.subarray(row, row + inputs.length);
      runAir(coefficients, inputs, state, run);
      for (let hour = 0; hour < inputs.length; hour += 1) {
        const measured = insideTempC[hour] ?? null;
        const weight = weights[index]?.[hour] ?? 0;
        run[hour] = measured === null ? 0 : ((run[hour] as number) - measured) * weight;
      }
    }
    row += inputs.length;
  });
  return errors;
}

const inDeviations = (coefficients: AirCoefficients, prior: AirPrior, index: number): number =>
  ((coefficients[index] as number) - (prior.mean[index] as number)) / (prior.deviation[index] as number);

function costOf(errors: Float64Array, coefficients: AirCoefficients, prior: AirPrior): number {
  let cost = 0;
  for (const error of errors) {
    const size = Math.abs(error);
    cost += size < HUBER_C ? (size * size) / 2 : HUBER_C * (size - HUBER_C / 2);
  }
  cost /= ERROR_VARIANCE;
  for (let index = 0; index < coefficients.length; index += 1)
    cost += inDeviations(coefficients, prior, index) ** 2 / 2;
  return cost;
}

function normalEquations(
  errors: Float64Array,
  slopes: readonly Float64Array[],
  coefficients: AirCoefficients,
  prior: AirPrior,
): { matrix: Float64Array; gradient: Float64Array } {
  const size = slopes.length;
  const matrix = new Float64Array(size * size);
  const gradient = new Float64Array(size);
  const belief = errors.map((error) => Math.min(1, HUBER_C / Math.abs(error)) / ERROR_VARIANCE);
  for (let i = 0; i < size; i += 1) {
    const slopeI = slopes[i] as Float64Array;
    for (let j = 0; j <= i; j += 1) {
      const slopeJ = slopes[j] as Float64Array;
      let sum = 0;
      for (let row = 0; row < errors.length; row += 1)
        sum += (belief[row] as number) * (slopeI[row] as number) * (slopeJ[row] as number);
      matrix[i * size + j] = sum;
      matrix[j * size + i] = sum;
    }
    let sum = 0;
    for (let row = 0; row < errors.length; row += 1)
      sum += (belief[row] as number) * (slopeI[row] as number) * (errors[row] as number);
    const deviation = prior.deviation[i] as number;
    matrix[i * size + i] = (matrix[i * size + i] as number) + 1 / (deviation * deviation);
    gradient[i] = sum + inDeviations(coefficients, prior, i) / deviation;
  }
  return { matrix, gradient };
}
