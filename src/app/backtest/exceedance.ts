/**
 * How likely a limit is passed, from a forecast with a spread; and from which probability on a warning is worth giving.
 * Both are learned from what came of earlier forecasts.
 */
import { clamp, requireFinite, requireInRange, requirePositive } from '../../science/guards.js';
import {
  type LogisticState,
  logisticProbability,
  startLogistic,
  updateLogistic,
} from '../../science/statistics/logistic.js';
import type { CorrectedMaximum } from './maximum-correction.js';

export type ExceedanceState = LogisticState;

/** Log odds per standard deviation with which a logistic curve lies closest to the normal one: Johnson & Kotz (1970). */
const NORMAL_SLOPE = 1.702;
/** Keeps to the normal curve until some tens of forecasts near the limit speak against it (starting value). */
const START_VARIANCE = 0.1;
/** Beyond five standard deviations a forecast says no more than at five. */
const FURTHEST = 5;

export const startExceedance = (): ExceedanceState => startLogistic([0, NORMAL_SLOPE, 0], START_VARIANCE);

function regressorsOf({ meanC, spreadC }: CorrectedMaximum, limitC: number): number[] {
  const distance = requireFinite('meanC', meanC, '°C') - requireFinite('limitC', limitC, '°C');
  const z = clamp(distance / requirePositive('spreadC', spreadC, '°C'), -FURTHEST, FURTHEST);
  // Above the limit the odds rise at a pace of their own: forecasts of great heat overshoot more often than they fall short.
  return [1, z, Math.max(z, 0)];
}

/**
 * Probability that the limit is passed: logistic in the standardised distance of the forecast from it.
 * Source of the form: Wilks (2009), Meteorol. Appl. 16:361-368; of the standardised distance: Gneiting, Raftery, Westveld &
 * Goldman (2005), Mon. Wea. Rev. 133:1098-1118.
 * @returns 0-1
 * @throws PhysicsRangeError for NaN or a spread of nought
 */
export const learnedProbabilityAbove = (state: ExceedanceState, forecast: CorrectedMaximum, limitC: number): number =>
  logisticProbability(state, regressorsOf(forecast, limitC));

/**
 * Learns whether the limit was passed.
 * @param forgetting 0.5 to 1, see `updateLogistic`
 */
export const learnExceedance = (
  state: ExceedanceState,
  forecast: CorrectedMaximum,
  limitC: number,
  happened: boolean,
  forgetting: number,
): ExceedanceState => updateLogistic(state, regressorsOf(forecast, limitC), happened, forgetting);

/** What warnings came to so far; see `warningThreshold`. */
export interface WarningTally {
  readonly hits: number;
  readonly falseAlarms: number;
  readonly misses: number;
}

/** As if 30 events had been warned of with a critical success index of 2/3: warnings begin at 0.4 (starting value). */
export const startTally = (): WarningTally => ({ hits: 24, falseAlarms: 6, misses: 6 });

/** @param forgetting share of the old counts that is kept, 0-1 @throws PhysicsRangeError outside */
export function countWarning(
  tally: WarningTally,
  warned: boolean,
  happened: boolean,
  forgetting: number,
): WarningTally {
  requireInRange('forgetting', forgetting, '', 0, 1);
  return {
    hits: forgetting * tally.hits + (warned && happened ? 1 : 0),
    falseAlarms: forgetting * tally.falseAlarms + (warned && !happened ? 1 : 0),
    misses: forgetting * tally.misses + (!warned && happened ? 1 : 0),
  };
}

/**
 * The probability from which a warning raises the critical success index C = hits / (events + false alarms): one more
 * warning turns it into (hits + p) / (events + false alarms + 1 - p), which is more when p / (1 - p) is above C. So C / (1 + C), for
 * probabilities that are reliable, with C as it was so far.
 * @returns 0-0.5
 */
export function warningThreshold({ hits, falseAlarms, misses }: WarningTally): number {
  const all = hits + falseAlarms + misses;
  return all > 0 ? hits / (all + hits) : 0;
}
