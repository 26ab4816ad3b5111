/**
 * What was wrong yesterday is partly wrong today: a door left open, a cloth nobody entered. The share of yesterday's error
 * that comes again is learned as the slope of each error on the one before, drawn towards none while few days tell of it.
 */
import { clamp } from '../../science/guards.js';
import type { Estimate } from '../../science/statistics/kalman.js';

export interface CarryOver {
  /** The forecast for a day, yesterday's error taken in. */
  readonly corrected: (forecast: Estimate, dayIndex: number) => Estimate;
  /** Tells what came of the forecast as it was before the correction. */
  readonly learn: (forecast: Estimate, dayIndex: number, observed: number) => void;
}

const DAYS_KEPT = 60;
/** The slope is drawn towards 0 as by so many pairs without any. */
const PAIRS_OF_DOUBT = 9;
const MOST_CARRIED = 0.7;
/** Errors beyond so many standard deviations are taken as that far. */
const FARTHEST = 2.5;

export function createCarryOver(): CarryOver {
  let last: { readonly dayIndex: number; readonly error: number } | undefined;
  const pairs: { readonly before: number; readonly error: number }[] = [];
  const before = (dayIndex: number): number => (last?.dayIndex === dayIndex - 1 ? last.error : 0);
  return {
    corrected: ({ mean, variance }, dayIndex) => {
      if (pairs.length === 0) return { mean, variance };
      const sum = (of: (pair: { before: number; error: number }) => number): number =>
        pairs.reduce((total, pair) => total + of(pair), 0);
      const usual = sum(({ error }) => error * error) / pairs.length;
      const slope =
        sum((pair) => pair.before * pair.error) / (sum((pair) => pair.before ** 2) + PAIRS_OF_DOUBT * usual || 1);
      return { mean: mean + clamp(slope, 0, MOST_CARRIED) * before(dayIndex), variance };
    },
    learn: ({ mean, variance }, dayIndex, observed) => {
      const farthest = FARTHEST * Math.sqrt(variance);
      const error = clamp(observed - mean, -farthest, farthest);
      pairs.push({ before: before(dayIndex), error });
      if (pairs.length > DAYS_KEPT) pairs.shift();
      last = { dayIndex, error };
    },
  };
}
