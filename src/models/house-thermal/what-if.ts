/**
 * What another cloth would do to the days ahead: the same days run through the air model twice, with the light under either
 * cloth, and the difference told with a spread. The spread is that of the coefficients of the last mornings and of what a
 * cloth really holds back.
 */
import type { Band } from '../../domain/outlook.js';
import type { LocalDay } from '../../domain/time.js';
import { quantile } from '../../science/statistics/quantiles.js';
import { type AirCoefficients, type AirInput, type AirState, runAir } from './air-model.js';
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

export interface ClothEffect {
  readonly day: LocalDay;
  /** Change of the day's highest, °C; below 0: cooler. */
  readonly maxChangeC: Band;
  /** Light of the day under the wanted cloth over that under the one that hangs. */
  readonly lightRatio: Band;
}

const MORNINGS = 14;
/** Real shade differs from the nominal by about this much light. Source: Yates 1989, Acta Hort. 257:201-217; size a starting value. */
const SHADE_SPREAD = 0.1;
/** Where only one morning was learned, an effect may be half or one and a half of what it seems. */
const UNLEARNED = [0.5, 1, 1.5] as const;

/** @param from the cloth that hangs; null: none */
export function clothEffects(run: AheadRun, from: ClothKind | null, to: ClothKind | null): ClothEffect[] {
  const mornings = run.coefficients.slice(-MORNINGS);
  const shares = mornings.length > 1 ? [1] : UNLEARNED;
  const hung = mornings.map((coefficients) => dayMaxima(run, coefficients, clothWarmth(from)));
  const wanted = [-1, 0, 1].flatMap((off) =>
    mornings.map((coefficients, at) => ({
      at,
      maxima: dayMaxima(run, coefficients, shifted(clothWarmth(to), from, to, off)),
    })),
  );
  return run.days.flatMap(({ day }, index) => {
    const changes = wanted.flatMap(({ at, maxima }) => {
      const change = (maxima[index] ?? Number.NaN) - (hung[at]?.[index] ?? Number.NaN);
      return Number.isFinite(change) ? shares.map((share) => share * change) : [];
    });
    if (changes.length === 0) return [];
    const ratio = (off: number): number => shifted(clothLight(to), from, to, off) / clothLight(from);
    return [
      {
        day,
        maxChangeC: { p10: quantile(changes, 0.1), p50: quantile(changes, 0.5), p90: quantile(changes, 0.9) },
        lightRatio: { p10: ratio(-1), p50: ratio(0), p90: ratio(1) },
      },
    ];
  });
}

/** A cloth that stays the same has no unknown shade; one that comes or goes has. */
function shifted(share: number, from: ClothKind | null, to: ClothKind | null, off: number): number {
  const moves = from?.shadePct !== to?.shadePct || from?.place !== to?.place || from?.colour !== to?.colour;
  const spread = moves ? SHADE_SPREAD * Math.min(1, Math.abs(clothLight(to) - clothLight(from)) * 2) : 0;
  return Math.min(1, Math.max(0.02, share + (off * spread) / 1.3));
}

function dayMaxima(run: AheadRun, coefficients: AirCoefficients, warmth: number): number[] {
  const hourlyC = new Float64Array(run.inputs.length);
  const inputs = run.inputs.map((input) => ({ ...input, sunWm2: input.sunWm2 * warmth }));
  runAir(coefficients, inputs, run.start, hourlyC);
  return run.days.map(({ first, end }) => {
    const hours = hourlyC.subarray(first, end);
    return hours.length === 0 ? Number.NaN : Math.max(...hours);
  });
}
