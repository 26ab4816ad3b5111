/**
 * What another cloth, or vents held open, would do to the days ahead: the same days run through the air model twice, with
 * and without, and the difference told with a spread. The spread is that of the coefficients of the last mornings and of
 * what a cloth really holds back.
 */
import type { Band } from '../../domain/outlook.js';
import type { LocalDay } from '../../domain/time.js';
import { clamp } from '../../science/guards.js';
import { NORMAL_Z90, normalQuantile } from '../../science/statistics/normal.js';
import { median, quantile } from '../../science/statistics/quantiles.js';
import {
  type AirCoefficients,
  type AirInput,
  type AirState,
  airParameters,
  runAir,
  VENT_WORTH_PER_HOUR,
} from './air-model.js';
import { type ClothKind, clothLight, clothWarmth } from './cloth.js';

/** The days ahead of one house, ready to be run again. */
export interface AheadRun {
  readonly days: readonly { readonly day: LocalDay; readonly first: number; readonly end: number }[];
  /** One per hour, with the light as it is above any cloth. */
  readonly inputs: readonly AirInput[];
  readonly start: AirState;
  /** Of the last mornings, newest last. */
  readonly coefficients: readonly AirCoefficients[];
}

export interface DayEffect {
  readonly day: LocalDay;
  /** Change of the day's highest, °C; below 0: cooler. */
  readonly maxChangeC: Band;
}
export interface ClothEffect extends DayEffect {
  /** Light of the day under the wanted cloth over that under the one that hangs. */
  readonly lightRatio: Band;
}

const MORNINGS = 14;
/**
 * Four in five cloths let through what is said of them to within this share of the light: half of the 80 % band. That real
 * shade differs from the nominal: Yates 1989, Acta Hort. 257:201-217; the size is a starting value.
 */
const SHADE_SPREAD = 0.1;
/** A change of cloth by this share of the light or more is as unsure as that, a smaller one less in proportion (starting value). */
const FULL_CHANGE = 0.5;
/** No cloth is darker: the light under one never becomes nothing, by which nothing could be divided (starting value). */
const DARKEST_SHARE = 0.02;
/** Equally likely shades of the wanted cloth, in halves of the 80 % band: its 10, 30, 50, 70 and 90 % points. */
const SHADES = [0.1, 0.3, 0.5, 0.7, 0.9].map((share) => normalQuantile(share) / NORMAL_Z90);
/** Where only one morning was learned, an effect may be half or one and a half of what it seems. */
const UNLEARNED = [0.5, 1, 1.5] as const;

/** @param from the cloth that hangs; null: none */
export function clothEffects(run: AheadRun, from: ClothKind | null, to: ClothKind | null): ClothEffect[] {
  const mornings = run.coefficients.slice(-MORNINGS);
  const tried = SHADES.flatMap((off) => {
    const [hung, wanted] = sharesUnder(clothWarmth, from, to, off);
    return mornings.map((coefficients) => ({
      hung: maximaUnder(run, coefficients, hung),
      wanted: maximaUnder(run, coefficients, wanted),
    }));
  });
  const ratio = (off: number): number => {
    const [hung, wanted] = sharesUnder(clothLight, from, to, off);
    return wanted / hung;
  };
  const lightRatio = { p10: ratio(-1), p50: ratio(0), p90: ratio(1) };
  return dayEffects(run, tried).map((effect) => ({ ...effect, lightRatio }));
}

/**
 * What vents held wide open from sunrise to sunset would do, beside what they have done by themselves.
 * @param from the cloth that hangs; null: none
 * @returns nothing where the house has not shown that its vents cool it
 */
export function ventEffects(run: AheadRun, from: ClothKind | null): DayEffect[] {
  const mornings = run.coefficients.slice(-MORNINGS);
  if (mornings.length === 0) return [];
  if (median(mornings.map((one) => airParameters(one).ventPerHour)) < VENT_WORTH_PER_HOUR) return [];
  const open = { ...run, inputs: run.inputs.map((input) => ({ ...input, ventsOpen: input.sunWm2 > 0 })) };
  const warmth = clothWarmth(from);
  return dayEffects(
    run,
    mornings.map((coefficients) => ({
      hung: maximaUnder(run, coefficients, warmth),
      wanted: maximaUnder(open, coefficients, warmth),
    })),
  );
}

/** Highest of each day as things are, and as they would be, told by one morning's coefficients. */
interface Tried {
  readonly hung: readonly number[];
  readonly wanted: readonly number[];
}

function dayEffects(run: AheadRun, tried: readonly Tried[]): DayEffect[] {
  const shares = Math.min(run.coefficients.length, MORNINGS) > 1 ? [1] : UNLEARNED;
  return run.days.flatMap(({ day }, index) => {
    const changes = tried.flatMap(({ hung, wanted }) => {
      const change = (wanted[index] ?? Number.NaN) - (hung[index] ?? Number.NaN);
      return Number.isFinite(change) ? shares.map((share) => share * change) : [];
    });
    if (changes.length === 0) return [];
    return [
      { day, maxChangeC: { p10: quantile(changes, 0.1), p50: quantile(changes, 0.5), p90: quantile(changes, 0.9) } },
    ];
  });
}

/**
 * What is left under the cloth that hangs and under the wanted one. A cloth that stays the same has no unknown shade; of one
 * that comes or goes the shade may be off.
 * @param off by how much more light than nominal the change gives, in halves of the 80 % band
 */
function sharesUnder(
  left: (cloth: ClothKind | null) => number,
  from: ClothKind | null,
  to: ClothKind | null,
  off: number,
): readonly [hung: number, wanted: number] {
  const [hung, wanted] = [left(from), left(to)];
  const moves = from?.shadePct !== to?.shadePct || from?.place !== to?.place || from?.colour !== to?.colour;
  if (!moves) return [hung, wanted];
  const change = Math.abs(clothLight(to) - clothLight(from));
  const by = off * SHADE_SPREAD * Math.min(1, change / FULL_CHANGE);
  // No cloth has a sure shade: then the one that comes off is the unsure one.
  return to === null ? [clamp(hung - by, DARKEST_SHARE, 1), wanted] : [hung, clamp(wanted + by, DARKEST_SHARE, 1)];
}

function maximaUnder(run: AheadRun, coefficients: AirCoefficients, warmth: number): number[] {
  const hourlyC = new Float64Array(run.inputs.length);
  const inputs = run.inputs.map((input) => ({ ...input, sunWm2: input.sunWm2 * warmth }));
  runAir(coefficients, inputs, run.start, hourlyC);
  return run.days.map(({ first, end }) => {
    const hours = hourlyC.subarray(first, end);
    return hours.length === 0 ? Number.NaN : Math.max(...hours);
  });
}
