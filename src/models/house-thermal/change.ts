/** Notices that a house is no longer what was learned: another cover, whitewash, a vent that stays shut. */
import { clamp } from '../../science/guards.js';
import { CUSUM_START, cusumChange, updateCusum } from '../../science/statistics/cusum.js';
import { robustSpread } from '../../science/statistics/quantiles.js';

export interface ChangeWatch {
  /**
   * Takes the error of one day's forecast of the air model.
   * @returns the day from which on the house was another one, when this error makes it plain
   */
  readonly learn: (dayIndex: number, errorC: number) => number | undefined;
}

/** Errors of quiet days that the others are measured by, and how many it takes to begin. */
const ERRORS_KEPT = 40;
const ERRORS_FIRST = 10;
/** A spread below this is a house too still to tell a change by. */
const LEAST_SPREAD_C = 0.4;
/** One odd day moves the sum no further than this, in standard deviations: it takes several. */
const FARTHEST = 2.5;
/** A move of two standard deviations is looked for: a house wanders by one without having changed. */
const SLACK = 1;
const LIMIT = 6;

export function watchForChange(): ChangeWatch {
  let errors: number[] = [];
  let days: number[] = [];
  let sums = CUSUM_START;
  return {
    learn: (dayIndex, errorC) => {
      days.push(dayIndex);
      if (errors.length >= ERRORS_FIRST) {
        const spread = Math.max(LEAST_SPREAD_C, robustSpread(errors));
        sums = updateCusum(sums, clamp(errorC / spread, -FARTHEST, FARTHEST), SLACK);
        const ago = cusumChange(sums, LIMIT);
        if (ago !== undefined) {
          const since = days[Math.max(0, days.length - ago)] as number;
          errors = [];
          days = [];
          sums = CUSUM_START;
          return since;
        }
      }
      errors.push(errorC);
      if (errors.length > ERRORS_KEPT) errors.shift();
      return undefined;
    },
  };
}
