/**
 * An 80 % band about a forecast that holds 80 % of the days, whatever the errors look like: quantiles of the last errors,
 * in units of the spread the forecast claims, with the share aimed at steered by what was missed (adaptive conformal
 * inference, Gibbs & Candès 2021, NeurIPS 34:1660-1672; one steering for each end).
 */
import type { Band } from '../../domain/outlook.js';
import { clamp } from '../../science/guards.js';
import type { Estimate } from '../../science/statistics/kalman.js';
import { normalQuantile } from '../../science/statistics/normal.js';
import { quantile } from '../../science/statistics/quantiles.js';

export interface BandKeeper {
  readonly band: (forecast: Estimate) => Band;
  /** Tells what came of a forecast, and the band that was given for it. */
  readonly learn: (forecast: Estimate, given: Band, observed: number) => void;
}

const SHARE = 0.1;
/** Share by which the aim moves after each day. */
const STEERING = 0.04;
const AIM = [0.02, 0.25] as const;
const ERRORS_KEPT = 60;
/** Errors believed before any was seen: those of a normal distribution, so many of them. */
const ERRORS_BEFORE = 12;
const PRIOR_ERRORS = Array.from({ length: ERRORS_BEFORE }, (_, at) => normalQuantile((at + 0.5) / ERRORS_BEFORE));

export function createBands(): BandKeeper {
  const ratios: number[] = [];
  let low = SHARE;
  let high = SHARE;
  return {
    band: ({ mean, variance }) => {
      const spread = Math.sqrt(variance);
      const all = [...PRIOR_ERRORS.slice(0, Math.max(0, ERRORS_BEFORE - Math.floor(ratios.length / 3))), ...ratios];
      const below = Math.min(0, quantile(all, low, 8));
      const above = Math.max(0, quantile(all, 1 - high, 8));
      return { p10: mean + below * spread, p50: mean, p90: mean + above * spread };
    },
    learn: ({ mean, variance }, given, observed) => {
      ratios.push((observed - mean) / Math.sqrt(variance));
      if (ratios.length > ERRORS_KEPT) ratios.shift();
      low = clamp(low + STEERING * (SHARE - (observed < given.p10 ? 1 : 0)), ...AIM);
      high = clamp(high + STEERING * (SHARE - (observed > given.p90 ? 1 : 0)), ...AIM);
    },
  };
}
