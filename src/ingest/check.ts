import type { CheckOverride, Mapping } from '../domain/mapping.js';
import { QUANTITIES, type Quantity, quantityInfo, type ReadingFlag, type TimeSource } from '../domain/quantities.js';
import { type Fault, fault, plainNumber } from './reasons.js';

/** The checks a reading has to pass, each a pure function of the reading, what is known of its series, and the times. */
export interface CheckLimits {
  readonly min: number;
  readonly max: number;
  readonly clampMin: number;
  readonly clampMax: number;
  readonly maxRatePerMinute: number | null;
  readonly stuckAfterMs: number | null;
  readonly restValues: readonly number[];
  readonly holdMs: number;
  readonly unit: string;
  readonly label: string;
}

export function checkLimits(quantity: Quantity, override: CheckOverride = {}): CheckLimits {
  const info = quantityInfo(quantity);
  const min = override.min ?? info.range[0];
  const max = override.max ?? info.range[1];
  // A range set by hand stands for itself: the known offsets of the usual sensors no longer apply to that side.
  const usualMin = override.min === undefined ? info.clampWithin?.[0] : undefined;
  const usualMax = override.max === undefined ? info.clampWithin?.[1] : undefined;
  const stuck = override.stuckAfterMinutes === undefined ? info.stuckAfterMinutes : override.stuckAfterMinutes;
  const rate = override.maxRatePerMinute === undefined ? info.maxRatePerMinute : override.maxRatePerMinute;
  return {
    min,
    max,
    clampMin: Math.min(min, override.clampMin ?? usualMin ?? min),
    clampMax: Math.max(max, override.clampMax ?? usualMax ?? max),
    maxRatePerMinute: rate ?? null,
    stuckAfterMs: stuck == null ? null : stuck * 60_000,
    restValues: info.restValues ?? [],
    holdMs: info.holdMinutes * 60_000,
    unit: info.unit,
    label: info.label,
  };
}

/** Limits of every quantity under one mapping. */
export function limitsOf(checks: Mapping['checks']): (quantity: Quantity) => CheckLimits {
  const made = new Map<Quantity, CheckLimits>();
  for (const quantity of Object.keys(QUANTITIES) as Quantity[])
    made.set(quantity, checkLimits(quantity, checks?.[quantity] ?? {}));
  return (quantity) => made.get(quantity) as CheckLimits;
}

export type RangeResult =
  | { readonly ok: true; readonly value: number; readonly clamped: boolean }
  | { readonly ok: false; readonly fault: Fault };

/** Inside the range, moved to its bound, or refused. */
export function checkRange(value: number, limits: CheckLimits, where?: string): RangeResult {
  if (value >= limits.min && value <= limits.max) return { ok: true, value, clamped: false };
  if (value >= limits.clampMin && value <= limits.clampMax)
    return { ok: true, value: value < limits.min ? limits.min : limits.max, clamped: true };
  return {
    ok: false,
    fault: fault(
      'out-of-range',
      `${capital(limits.label)}: expected ${plainNumber(limits.min)} to ${plainNumber(limits.max)} ${limits.unit}, got ${plainNumber(value)} ${limits.unit}.`,
      where,
    ),
  };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export interface ClockPolicy {
  /** Device times before this are a clock that was never set; null: any past is believed. */
  readonly earliestMs: number | null;
  /** Device times further ahead of arrival than this are a wrong clock. */
  readonly aheadMs: number;
}
/** Common practice, no published source: no sensor network of today was running before 2020; five minutes of drift pass. */
export const DEFAULT_CLOCK: ClockPolicy = { earliestMs: Date.UTC(2020, 0, 1), aheadMs: 300_000 };

export interface ResolvedTime {
  readonly at: number;
  readonly source: TimeSource;
  readonly clock: 'right' | 'ahead' | 'behind' | 'none';
}

/** Which time a reading gets: that of the device when it can be right, else that of its arrival. */
export function resolveTime(
  device: { readonly at: number; readonly relative: boolean } | undefined,
  receivedAt: number,
  policy: ClockPolicy,
): ResolvedTime {
  if (device === undefined) return { at: receivedAt, source: 'received', clock: 'none' };
  if (device.at > receivedAt + policy.aheadMs) return { at: receivedAt, source: 'received', clock: 'ahead' };
  if (policy.earliestMs !== null && device.at < policy.earliestMs)
    return { at: receivedAt, source: 'received', clock: 'behind' };
  return { at: device.at, source: device.relative ? 'received' : 'payload', clock: 'right' };
}

/** What is remembered of one series (sensor and quantity) between readings. */
export interface SeriesState {
  /** Time and value of the newest reading. */
  lastAt: number;
  lastValue: number;
  /** Newest reading whose change was believable. */
  believedAt: number;
  believedValue: number;
  /** Since when the value has not changed. */
  sameSince: number;
}

export const newSeriesState = (at: number, value: number): SeriesState => ({
  lastAt: at,
  lastValue: value,
  believedAt: at,
  believedValue: value,
  sameSince: at,
});

/** Readings that arrive later than this after their own time are marked. Common practice, no published source. */
export const LATE_AFTER_MS = 15 * 60_000;
/** Shorter steps than this count as this long, so that the noise of two readings a second apart is not a fast change. */
const SHORTEST_STEP_MS = 60_000;

export interface SeriesResult {
  readonly at: number;
  readonly flags: readonly ReadingFlag[];
  /** The series after this reading. */
  readonly next: SeriesState;
}

/** Rate of change, stuck value, late arrival: what the series before it says of a reading. */
export function checkSeries(
  before: SeriesState | undefined,
  reading: { readonly at: number; readonly value: number; readonly source: TimeSource },
  receivedAt: number,
  limits: CheckLimits,
): SeriesResult {
  const { value } = reading;
  let { at } = reading;
  const flags: ReadingFlag[] = [];
  // Two different values that only have an arrival time, and the same one, are two readings: keep them apart.
  if (
    before &&
    reading.source === 'received' &&
    at <= before.lastAt &&
    before.lastAt - at < 1000 &&
    value !== before.lastValue
  )
    at = before.lastAt + 1;
  if (receivedAt - at > LATE_AFTER_MS || (before !== undefined && at < before.lastAt)) flags.push('late');
  if (before === undefined) return { at, flags, next: newSeriesState(at, value) };
  // Out of order or delivered again: it tells nothing about the newest state.
  if (at <= before.lastAt) return { at, flags, next: before };

  let believable = true;
  const step = at - before.believedAt;
  // Measured from the last believable value: a spike and the way back from it are told apart, and a lasting step is
  // believed once enough time has passed for it.
  if (limits.maxRatePerMinute !== null && step <= limits.holdMs) {
    const minutes = Math.max(step, SHORTEST_STEP_MS) / 60_000;
    believable = Math.abs(value - before.believedValue) <= limits.maxRatePerMinute * minutes;
    if (!believable) flags.push('fast-change');
  }
  // A silence is no proof that the value stood still.
  const same = value === before.lastValue && at - before.lastAt <= 2 * limits.holdMs;
  const sameSince = same ? before.sameSince : at;
  if (limits.stuckAfterMs !== null && at - sameSince >= limits.stuckAfterMs && !limits.restValues.includes(value))
    flags.push('stuck');
  return {
    at,
    flags,
    next: {
      lastAt: at,
      lastValue: value,
      believedAt: believable ? at : before.believedAt,
      believedValue: believable ? value : before.believedValue,
      sameSince,
    },
  };
}
