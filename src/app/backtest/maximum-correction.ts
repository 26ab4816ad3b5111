/**
 * What a forecast of a day's highest temperature really means at one place. Learned pair by pair as outcomes come in, so
 * that a forecast is corrected with nothing but what was known when it was issued: a linear correction shared by all
 * places, and on top of it the lasting offset of each place, which a few outcomes move little and many move wholly.
 */
import { clamp, requireFinite, requireTemperature } from '../../science/guards.js';
import { type Estimate, predictLevel, updateLevel } from '../../science/statistics/kalman.js';
import {
  type LeastSquaresState,
  predictLeastSquares,
  startLeastSquares,
  updateLeastSquares,
} from '../../science/statistics/least-squares.js';

/** What all places have in common. */
export interface SharedCorrection {
  readonly weights: LeastSquaresState;
  /** Mean square of the errors that are left, °C². */
  readonly varianceC2: number;
}

/** What one place has beside that. */
export interface PlaceCorrection {
  /** Observed minus corrected forecast, in the long run, °C. */
  readonly offset: Estimate;
  readonly varianceC2: number;
}

export interface ForecastCase {
  readonly forecastC: number;
  /** Of `usualPredictors`, and any more that the source gives; always as many and in the same order. */
  readonly predictors: readonly number[];
}

export interface CorrectedMaximum {
  readonly meanC: number;
  /** One standard deviation, °C. */
  readonly spreadC: number;
}

export interface CorrectionPace {
  /** Per outcome of any place, 0.5 to 1: the shared part remembers about 1 / (1 - forgetting) outcomes. */
  readonly forgetting: number;
  /** Wander of a place's offset from one outcome to the next, in parts of the error's variance. */
  readonly placeDrift: number;
}

/** Mean square error of a day-ahead forecast to begin with, °C² (starting value; errors of 1.3 °C on average). */
const START_VARIANCE_C2 = 3;
/** Places differ from the shared correction by about a third of an error (starting value). */
const PLACE_VARIANCE_SHARE = 1 / 8;
/** Pull of the shared weights to nought: as much as thirty outcomes (starting value). */
const WEIGHT_VARIANCE = 1 / 30;
/** Steps of the error's size: per outcome of a place, and of all of them together (starting values). */
const PLACE_SPREAD_STEP = 0.02;
const SHARED_SPREAD_STEP = 0.0005;
/** A single outcome counts as no further off than this, °C: a mistyped one must not bend the rest. */
const FURTHEST_ERROR_C = 8;
const FURTHEST_PLACE_ERROR_C = 4;

export const startSharedCorrection = (predictors: number): SharedCorrection => ({
  weights: startLeastSquares(new Array<number>(predictors).fill(0), WEIGHT_VARIANCE),
  varianceC2: START_VARIANCE_C2,
});

export const startPlaceCorrection = (): PlaceCorrection => ({
  offset: { mean: 0, variance: START_VARIANCE_C2 * PLACE_VARIANCE_SHARE },
  varianceC2: START_VARIANCE_C2,
});

export interface KnownAtIssue {
  readonly forecastC: number;
  /** Forecast for the same day as it was issued one time earlier. */
  readonly earlierForecastC?: number;
  readonly lastObservedC?: number;
  /** Observed minus forecast of the last day that is known. */
  readonly lastErrorC?: number;
  /** Place of the day in the year, 0 to 1. */
  readonly yearShare?: number;
}

/**
 * Predictors that help with any source: level, season, how the forecast was changed, how far it leaps from the last day,
 * the last error, and how warm it is. What is not known pulls neither way.
 * @returns seven numbers of about -2 to 2
 * @throws PhysicsRangeError for NaN
 */
export function usualPredictors(known: KnownAtIssue): number[] {
  const { forecastC, earlierForecastC, lastObservedC, lastErrorC = 0, yearShare } = known;
  const turn = yearShare === undefined ? undefined : 2 * Math.PI * requireFinite('yearShare', yearShare, '');
  return [
    1,
    turn === undefined ? 0 : Math.sin(turn),
    turn === undefined ? 0 : Math.cos(turn),
    clamp(forecastC - requireTemperature('earlierForecastC', earlierForecastC ?? forecastC), -6, 6),
    clamp(forecastC - requireTemperature('lastObservedC', lastObservedC ?? forecastC), -10, 10) / 5,
    clamp(requireFinite('lastErrorC', lastErrorC, '°C'), -FURTHEST_PLACE_ERROR_C, FURTHEST_PLACE_ERROR_C),
    (requireTemperature('forecastC', forecastC) - 15) / 10,
  ];
}

/**
 * The day's highest temperature to expect at a place, with its spread.
 * @returns forecast + shared correction + offset of the place, °C
 * @throws PhysicsRangeError for NaN, or a number of predictors other than the one learned with
 */
export function correctedMaximum(
  shared: SharedCorrection,
  place: PlaceCorrection,
  { forecastC, predictors }: ForecastCase,
): CorrectedMaximum {
  const correctionC = predictLeastSquares(shared.weights, predictors) + place.offset.mean;
  return {
    meanC: requireTemperature('forecastC', forecastC) + correctionC,
    // Half of a place's spread is its own: a month of its errors alone would swing too much.
    spreadC: Math.sqrt((place.varianceC2 + shared.varianceC2) / 2),
  };
}

/**
 * Learns from what came of a forecast.
 * @returns both parts anew; the given ones stay as they are
 * @throws PhysicsRangeError for NaN
 */
export function learnOutcome(
  shared: SharedCorrection,
  place: PlaceCorrection,
  forecast: ForecastCase,
  observedC: number,
  pace: CorrectionPace,
): { readonly shared: SharedCorrection; readonly place: PlaceCorrection } {
  const errorC = requireTemperature('observedC', observedC) - correctedMaximum(shared, place, forecast).meanC;
  const wantedC = clamp(observedC - forecast.forecastC - place.offset.mean, -FURTHEST_ERROR_C, FURTHEST_ERROR_C);
  const weights = updateLeastSquares(shared.weights, forecast.predictors, wantedC, pace.forgetting);
  const squareC2 = Math.min(Math.abs(errorC), FURTHEST_ERROR_C) ** 2;
  const left = observedC - forecast.forecastC - predictLeastSquares(weights, forecast.predictors);
  const before = place.offset.mean;
  const offset = updateLevel(
    predictLevel(place.offset, pace.placeDrift * place.varianceC2),
    before + clamp(left - before, -FURTHEST_PLACE_ERROR_C, FURTHEST_PLACE_ERROR_C),
    Math.max(place.varianceC2, 0.1),
  );
  return {
    shared: { weights, varianceC2: shared.varianceC2 + SHARED_SPREAD_STEP * (squareC2 - shared.varianceC2) },
    place: {
      offset: { mean: offset.mean, variance: offset.variance },
      varianceC2: place.varianceC2 + PLACE_SPREAD_STEP * (squareC2 - place.varianceC2),
    },
  };
}
