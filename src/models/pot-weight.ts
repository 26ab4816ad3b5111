/**
 * The weight of a pot on a balance, minute by minute: how fast it dries, through handling. A level with a rate that wanders
 * is followed by a Kalman filter; a pot that is lifted, watered, swapped or leaned on makes a jump, and a jump says nothing
 * about drying.
 */
import { requireFinite, requireInstant } from '../science/guards.js';
import { predictTrend, type TrendEstimate, updateTrend } from '../science/statistics/kalman.js';
import { median } from '../science/statistics/quantiles.js';

export interface PotWeightReading {
  /** UTC ms. */
  readonly at: number;
  readonly weightG: number;
}

export interface PotWeightState {
  readonly at: number;
  /** Weight in g, rate in g/h; undefined while no pot stands on the balance. */
  readonly trend: TrendEstimate | undefined;
  /** Readings that do not fit and may be a new level, oldest first. */
  readonly misfits: readonly number[];
  /** Hours since the level last jumped or the pot was put down. */
  readonly settledHours: number;
}

export interface BalanceSettings {
  /** Below this there is no pot on it. */
  readonly emptyBelowG: number;
  /** One standard deviation of a reading, draughts and fans included. */
  readonly readingSpreadG: number;
  /** Changes of the rate: its variance gained in an hour, (g/h)²/h. Drying follows the sun, so it changes within hours. */
  readonly ratePerHour: number;
  /** Smallest jump that is called one. */
  readonly smallestJumpG: number;
}

/** Starting values for pots of a few hundred grams to some kilograms. */
export const USUAL_BALANCE: BalanceSettings = {
  emptyBelowG: 30,
  readingSpreadG: 0.4,
  ratePerHour: 4,
  smallestJumpG: 2,
};

/** Readings in a row that must agree on a new level before it is believed. */
const AGREEING = 4;
/** Further from the expected weight than this many standard deviations is a misfit. */
const MISFIT_SDS = 5;
/** After a gap the rate may have become anything that pots do, g/h. */
const ANY_RATE_SPREAD = 8;
const LONGEST_GAP_HOURS = 2;
const MS_IN_HOUR = 3_600_000;

const landed = (at: number, weightG: number, rate: number, settings: BalanceSettings): PotWeightState => ({
  at,
  trend: {
    level: weightG,
    rate,
    levelVariance: settings.readingSpreadG ** 2,
    covariance: 0,
    rateVariance: ANY_RATE_SPREAD ** 2,
  },
  misfits: [],
  settledHours: 0,
});

/**
 * The state after a reading.
 * @param before undefined at the first reading
 * @throws PhysicsRangeError for NaN. A reading older than the state is passed over.
 */
export function observePotWeight(
  before: PotWeightState | undefined,
  reading: PotWeightReading,
  settings: BalanceSettings = USUAL_BALANCE,
): PotWeightState {
  requireInstant('at', reading.at);
  requireFinite('weightG', reading.weightG, 'g');
  if (before && reading.at <= before.at) return before;
  if (reading.weightG < settings.emptyBelowG) return { at: reading.at, trend: undefined, misfits: [], settledHours: 0 };
  if (!before?.trend) return putDown(before, reading, settings);
  const hours = (reading.at - before.at) / MS_IN_HOUR;
  if (hours > LONGEST_GAP_HOURS) return landed(reading.at, reading.weightG, 0, settings);
  const noise = { levelPerTime: 0, ratePerTime: settings.ratePerHour };
  const predicted = predictTrend(before.trend, hours, noise);
  const allowed = Math.max(
    settings.smallestJumpG,
    MISFIT_SDS * Math.sqrt(predicted.levelVariance + settings.readingSpreadG ** 2),
  );
  if (Math.abs(reading.weightG - predicted.level) > allowed)
    return misfit({ ...before, trend: predicted }, reading, settings);
  return {
    at: reading.at,
    trend: updateTrend(predicted, reading.weightG, settings.readingSpreadG ** 2),
    misfits: [],
    settledHours: before.settledHours + hours,
  };
}

/** A pot being put down swings for a moment: wait until some readings agree. */
function putDown(
  before: PotWeightState | undefined,
  reading: PotWeightReading,
  settings: BalanceSettings,
): PotWeightState {
  const misfits = [...(before?.misfits ?? []), reading.weightG].slice(-AGREEING);
  if (!agree(misfits, settings)) return { at: reading.at, trend: undefined, misfits, settledHours: 0 };
  return landed(reading.at, median(misfits), 0, settings);
}

/** One odd reading is left out; a few that agree with each other are a new level, and the rate goes on as it was. */
function misfit(
  predicted: PotWeightState & { readonly trend: TrendEstimate },
  reading: PotWeightReading,
  settings: BalanceSettings,
): PotWeightState {
  const misfits = [...predicted.misfits, reading.weightG].slice(-AGREEING);
  if (agree(misfits, settings)) return landed(reading.at, median(misfits), predicted.trend.rate, settings);
  return { ...predicted, at: reading.at, misfits };
}

const agree = (weights: readonly number[], settings: BalanceSettings): boolean =>
  weights.length === AGREEING && Math.max(...weights) - Math.min(...weights) < settings.smallestJumpG;

export interface DryingRate {
  /** Weight lost, g/h. */
  readonly gPerHour: number;
  readonly spread: number;
}

/** Minutes after a jump before the rate is told again. */
const SETTLING_HOURS = 0.25;

/** How fast the pot loses water now; undefined while no pot stands there, and just after it was handled. */
export function dryingRate(state: PotWeightState): DryingRate | undefined {
  if (!state.trend || state.settledHours < SETTLING_HOURS || state.misfits.length > 0) return undefined;
  return { gPerHour: -state.trend.rate, spread: Math.sqrt(state.trend.rateVariance) };
}
