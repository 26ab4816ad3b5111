/**
 * An 80 % band about a forecast that holds 80 % of the days, whatever the errors look like: the quantile of the last errors
 * in units of the spread that was claimed, widened after each miss and narrowed after each hit so that the share of misses
 * stays at a fifth. Sources: conformal prediction by weighted past errors, Barber et al. (2023), Ann. Statist. 51:816-845;
 * steering, Gibbs & Candès (2021), NeurIPS 34:1660-1672, here on the logarithm of the width. The errors of all leads count
 * together: each is measured by the spread of its own lead.
 */
import type { Band } from '../../domain/outlook.js';
import { clamp } from '../../science/guards.js';
import type { Estimate } from '../../science/statistics/kalman.js';
import { DEVIATION_OVER_MEAN, normalQuantile } from '../../science/statistics/normal.js';

export interface GivenBand {
  readonly band: Band;
  /** What half a band of width 1 stands for, °C. */
  readonly unitC: number;
}

export interface BandKeeper {
  readonly give: (forecast: Estimate, lead: number) => GivenBand;
  /** Tells what came of a band that was given. Days in rising order. */
  readonly learn: (given: GivenBand, lead: number, dayIndex: number, observed: number) => void;
}

const HELD = 0.8;
/** How far a miss moves the logarithm of the width; a fifth of it, the other way, for a hit. */
const STEERING = 0.3;
const FARTHEST = 1;
const HALF_LIFE_DAYS = 20;
const ERRORS_KEPT = 180;
/** Errors believed before any was seen: so many of a normal distribution. */
const ERRORS_BEFORE = 8;
const PRIOR = Array.from({ length: ERRORS_BEFORE }, (_, at) => normalQuantile(0.5 + (at + 0.5) / (2 * ERRORS_BEFORE)));
/** The claimed spread of a day is half believed; the other half is what the errors of that lead were like of late. */
const SPREADS_KEPT = 40;
/** So many days of errors as large as claimed come before those that were seen. */
const DAYS_BEFORE = 6;

interface PastError {
  readonly sizeC: number;
  /** In units of the band. */
  readonly size: number;
  readonly lead: number;
  readonly dayIndex: number;
}

export function createBands(leads: number): BandKeeper {
  const errors: PastError[] = [];
  const spreads = Array.from({ length: leads }, (): number[] => []);
  let steered = 0;
  let days = 0;
  let newest = 0;
  const levelOf = (lead: number): number => {
    const claimed = spreads[lead] as number[];
    let sum = (DAYS_BEFORE * claimed.reduce((total, value) => total + value, 0)) / claimed.length;
    let weight = DAYS_BEFORE;
    for (const error of errors) {
      if (error.lead !== lead) continue;
      const fading = 0.5 ** ((newest - error.dayIndex) / HALF_LIFE_DAYS);
      sum += fading * DEVIATION_OVER_MEAN * error.sizeC;
      weight += fading;
    }
    return sum / weight;
  };
  return {
    give: ({ mean, variance }, lead) => {
      const spread = Math.sqrt(variance);
      const kept = spreads[lead] as number[];
      kept.push(spread);
      if (kept.length > SPREADS_KEPT) kept.shift();
      const unitC = Math.sqrt(spread * levelOf(lead));
      const half = unitC * usual(errors, days, newest, leads) * Math.exp(steered);
      return { band: { p10: mean - half, p50: mean, p90: mean + half }, unitC };
    },
    learn: ({ band, unitC }, lead, dayIndex, observed) => {
      const missed = observed < band.p10 || observed > band.p90 ? 1 : 0;
      steered = clamp(steered + (STEERING * (missed - (1 - HELD))) / leads, -FARTHEST, FARTHEST);
      const sizeC = Math.abs(observed - band.p50);
      errors.push({ sizeC, size: sizeC / unitC, lead, dayIndex });
      if (errors.length > ERRORS_KEPT) errors.shift();
      if (dayIndex !== newest) days += 1;
      newest = dayIndex;
    },
  };
}

/** The size that four in five of the last errors stay below, newer ones counting more. */
function usual(errors: readonly PastError[], days: number, newest: number, leads: number): number {
  const fading = (age: number): number => 0.5 ** (age / HALF_LIFE_DAYS);
  const weighed = [
    ...PRIOR.map((size) => ({ size, weight: fading(days) })),
    ...errors.map(({ size, dayIndex }) => ({ size, weight: fading(newest - dayIndex) / leads })),
  ].sort((a, b) => a.size - b.size);
  const wanted = HELD * weighed.reduce((sum, { weight }) => sum + weight, 0);
  let sum = 0;
  let before: { readonly size: number; readonly middle: number } | undefined;
  for (const { size, weight } of weighed) {
    const middle = sum + weight / 2;
    if (middle >= wanted)
      return before === undefined
        ? size
        : before.size + ((size - before.size) * (wanted - before.middle)) / (middle - before.middle);
    before = { size, middle };
    sum += weight;
  }
  return before?.size ?? 1;
}
