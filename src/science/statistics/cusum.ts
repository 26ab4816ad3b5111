/** Cumulative sums: notices that a mean has moved, however little each single value shows it. */
import { requireFinite, requirePositive } from '../guards.js';

export interface CusumState {
  /** How far the values have run above what is expected, and below, in standard deviations. */
  readonly above: number;
  readonly below: number;
  /** Values since the sum that stands higher last was nothing: how long ago the move began. */
  readonly aboveFor: number;
  readonly belowFor: number;
}

export const CUSUM_START: CusumState = { above: 0, below: 0, aboveFor: 0, belowFor: 0 };

/**
 * One value more: S+ = max(0, S+ + z - k), S- = max(0, S- - z - k).
 * Source: Page (1954), Biometrika 41:100-115; with k 0.5 and a limit of 5 a false alarm comes about every 465 values and a
 * move of one standard deviation is noticed after some 10 (Montgomery 2009, Statistical Quality Control, 6th ed., table 9.3).
 * @param standardised value minus what is expected, in standard deviations
 * @param slack k, above 0: half of the move that is to be noticed
 * @throws PhysicsRangeError for NaN or a slack that is not above 0
 */
export function updateCusum(state: CusumState, standardised: number, slack = 0.5): CusumState {
  requireFinite('standardised', standardised, '');
  requirePositive('slack', slack, '');
  const above = Math.max(0, state.above + standardised - slack);
  const below = Math.max(0, state.below - standardised - slack);
  return {
    above,
    below,
    aboveFor: above > 0 ? state.aboveFor + 1 : 0,
    belowFor: below > 0 ? state.belowFor + 1 : 0,
  };
}

/**
 * How many values ago the mean moved, when a sum has passed the limit.
 * @param limit h, above 0, in standard deviations
 * @returns undefined while there is no sign of it
 */
export function cusumChange(state: CusumState, limit = 5): number | undefined {
  requirePositive('limit', limit, '');
  if (state.above > limit) return state.aboveFor;
  if (state.below > limit) return state.belowFor;
  return undefined;
}
