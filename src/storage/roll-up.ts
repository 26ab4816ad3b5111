import type { RollUp } from '../domain/quantities.js';
import { type LocalDay, localDayBounds, localDayOf } from '../domain/time.js';

/**
 * Roll-ups of readings by UTC hour and by local day, kept up to date one reading at a time.
 *
 * The integral joins neighbouring readings of a series by straight lines, where they are no further apart than the
 * quantity's hold time, and cuts each line at the bucket's bounds. Bounds and covered time are whole milliseconds, so
 * the covered time is exact whatever the order of arrival.
 */
export const HOUR_MS = 3_600_000;

export interface Sums {
  count: number;
  /** +Infinity while there is no reading. */
  min: number;
  /** -Infinity while there is no reading. */
  max: number;
  sum: number;
  /** Canonical unit × seconds. */
  integral: number;
  coveredMs: number;
}

/** Hours are told apart by their start, days by their date. */
export interface Bucket<Key extends number | LocalDay> extends Sums {
  readonly key: Key;
  readonly startMs: number;
  readonly endMs: number;
}
export type HourBucket = Bucket<number>;
export type DayBucket = Bucket<LocalDay>;

export const emptySums = (): Sums => ({
  count: 0,
  min: Number.POSITIVE_INFINITY,
  max: Number.NEGATIVE_INFINITY,
  sum: 0,
  integral: 0,
  coveredMs: 0,
});

export function hourBucketAt(atMs: number): HourBucket {
  const startMs = Math.floor(atMs / HOUR_MS) * HOUR_MS;
  return { key: startMs, startMs, endMs: startMs + HOUR_MS, ...emptySums() };
}

export function dayBucketAt(zone: string, atMs: number): DayBucket {
  const key = localDayOf(zone, atMs);
  return { key, ...localDayBounds(zone, key), ...emptySums() };
}

export function addValue(sums: Sums, value: number): void {
  sums.count += 1;
  sums.sum += value;
  if (value < sums.min) sums.min = value;
  if (value > sums.max) sums.max = value;
}

/** A reading as the end of a line. */
export interface Point {
  readonly at: number;
  readonly value: number;
}

/** Adds the part of the line from `a` to `b` between two instants that lie on it; sign -1 takes it away again. */
export function addLine(sums: Sums, a: Point, b: Point, fromMs: number, toMs: number, sign: 1 | -1 = 1): void {
  const slope = (b.value - a.value) / (b.at - a.at);
  const fromValue = fromMs === a.at ? a.value : a.value + slope * (fromMs - a.at);
  const toValue = toMs === b.at ? b.value : a.value + slope * (toMs - a.at);
  sums.integral += (sign * (fromValue + toValue) * (toMs - fromMs)) / 2000;
  sums.coveredMs += sign * (toMs - fromMs);
}

export interface StoredSums {
  readonly start_ms: number;
  readonly count: number;
  readonly min: number | null;
  readonly max: number | null;
  readonly sum: number;
  readonly integral: number;
  readonly covered_ms: number;
}

/**
 * A bucket as it is read. One without a reading of its own exists where a straight line passes over it: it has count 0
 * and shows the line's mean as its only value.
 */
export function rollUpOf(row: StoredSums): RollUp {
  const between = row.covered_ms > 0 ? row.integral / (row.covered_ms / 1000) : 0;
  return {
    startMs: row.start_ms,
    count: row.count,
    min: row.min ?? between,
    mean: row.count > 0 ? row.sum / row.count : between,
    max: row.max ?? between,
    integral: row.integral,
    coveredSeconds: row.covered_ms / 1000,
  };
}

const lowest = (a: number | null, b: number | null): number | null =>
  a === null ? b : b === null ? a : Math.min(a, b);
const highest = (a: number | null, b: number | null): number | null =>
  a === null ? b : b === null ? a : Math.max(a, b);

/** Two parts of one bucket. */
export const mergeStored = (a: StoredSums, b: StoredSums): StoredSums => ({
  start_ms: Math.min(a.start_ms, b.start_ms),
  count: a.count + b.count,
  min: lowest(a.min, b.min),
  max: highest(a.max, b.max),
  sum: a.sum + b.sum,
  integral: a.integral + b.integral,
  covered_ms: a.covered_ms + b.covered_ms,
});
