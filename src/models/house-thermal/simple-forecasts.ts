/**
 * Forecasts of a day's highest that need no model: the yardsticks, and a safety net under the others. Refitted every
 * morning on complete days alone.
 */
import { choleskyFactor, solveCholesky } from '../../science/statistics/cholesky.js';
import type { ThermalDay } from './days.js';

export const SIMPLE_FORECASTS = ['persistence', 'delta', 'rolling'] as const;
export type SimpleForecast = (typeof SIMPLE_FORECASTS)[number];

/** The last complete day must not be older than this before the morning. */
const OLDEST_BASE_DAYS = 4;
const ROLLING_DAYS = 30;
const FEWEST_DAYS = 10;
const RIDGE = 1e-6;

export interface SimpleOptions {
  /** Whether the record has outside temperatures, and radiation, at all. */
  readonly hasOutside: boolean;
  readonly hasSun: boolean;
}

/**
 * persistence: the last complete day's highest. delta: that, plus fitted multiples of the change in outside maximum and
 * mean radiation. rolling: least squares on both over the last 30 complete days.
 * @param target index of the predicted day
 * @param lead days from the morning's own day to it: that day's highest and later ones are not known yet
 */
export function simpleForecasts(
  days: readonly ThermalDay[],
  target: number,
  lead: number,
  options: SimpleOptions,
): Partial<Record<SimpleForecast, number>> {
  const issue = target - lead;
  const driversOf = (day: ThermalDay | undefined): number[] | undefined => {
    if (!day) return undefined;
    const { outsideMaxC, radiationMeanWm2 } = day.outside;
    const drivers = [...(options.hasOutside ? [outsideMaxC] : []), ...(options.hasSun ? [radiationMeanWm2] : [])];
    return drivers.every((value) => value !== null) ? (drivers as number[]) : undefined;
  };
  let base = issue - 1;
  while (base >= 0 && (days[base]?.maxC == null || driversOf(days[base]) === undefined)) base -= 1;
  if (base < 0 || issue - base > OLDEST_BASE_DAYS) return {};
  const baseMaxC = days[base]?.maxC as number;
  const persistence = { persistence: baseMaxC };
  const ahead = driversOf(days[target]);
  if (!options.hasOutside || ahead === undefined) return persistence;

  const known = days.slice(0, issue).map((day) => ({ maxC: day.maxC, drivers: driversOf(day) }));
  const changes: Row[] = [];
  known.forEach((day, index) => {
    const before = known[index - 1 - lead];
    if (day.maxC === null || !day.drivers || !before?.drivers || before.maxC === null) return;
    const old = before.drivers;
    changes.push({ x: day.drivers.map((value, at) => value - (old[at] as number)), y: day.maxC - before.maxC });
  });
  const levels: Row[] = known
    .flatMap((day) => (day.maxC !== null && day.drivers ? [{ x: [1, ...day.drivers], y: day.maxC }] : []))
    .slice(-ROLLING_DAYS);
  const from = driversOf(days[base]) as number[];
  return {
    ...persistence,
    ...(changes.length >= FEWEST_DAYS && {
      delta:
        baseMaxC +
        product(
          leastSquares(changes),
          ahead.map((value, at) => value - (from[at] as number)),
        ),
    }),
    ...(levels.length >= FEWEST_DAYS && { rolling: product(leastSquares(levels), [1, ...ahead]) }),
  };
}

interface Row {
  readonly x: readonly number[];
  readonly y: number;
}

function leastSquares(rows: readonly Row[]): ArrayLike<number> {
  const size = (rows[0] as Row).x.length;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  for (const { x, y } of rows)
    for (let i = 0; i < size; i += 1) {
      right[i] = (right[i] as number) + (x[i] as number) * y;
      for (let j = 0; j < size; j += 1)
        matrix[i * size + j] = (matrix[i * size + j] as number) + (x[i] as number) * (x[j] as number);
    }
  for (let i = 0; i < size; i += 1) matrix[i * (size + 1)] = (matrix[i * (size + 1)] as number) + RIDGE;
  return solveCholesky(choleskyFactor(matrix, size), size, right);
}

const product = (a: ArrayLike<number>, b: readonly number[]): number =>
  b.reduce((sum, value, index) => sum + value * (a[index] as number), 0);
