import { Temporal } from 'temporal-polyfill';

/** A calendar day of a site, ISO form `2026-10-25`. It has no length of its own: ask `localDayBounds`. */
export type LocalDay = string;

const DAY_FORM = /^\d{4}-\d{2}-\d{2}$/;

export function isLocalDay(text: string): text is LocalDay {
  if (!DAY_FORM.test(text)) return false;
  try {
    return Temporal.PlainDate.from(text, { overflow: 'reject' }).toString() === text;
  } catch {
    return false;
  }
}

export function isTimeZone(name: string): boolean {
  try {
    Temporal.Instant.fromEpochMilliseconds(0).toZonedDateTimeISO(name);
    return true;
  } catch {
    return false;
  }
}

/** First instant of the day and first instant after it, UTC ms. The day begins where the zone says, not always at 00:00. */
export interface DayBounds {
  readonly startMs: number;
  readonly endMs: number;
}

const boundsByZone = new Map<string, Map<LocalDay, DayBounds>>();

/** Bounds of a local day. 23, 24 or 25 hours long; half-hour and odd zones follow their own law. */
export function localDayBounds(zone: string, day: LocalDay): DayBounds {
  let days = boundsByZone.get(zone);
  if (!days) {
    days = new Map();
    boundsByZone.set(zone, days);
  }
  const known = days.get(day);
  if (known) return known;
  const date = Temporal.PlainDate.from(day);
  const bounds = {
    startMs: date.toZonedDateTime(zone).startOfDay().epochMilliseconds,
    endMs: date.add({ days: 1 }).toZonedDateTime(zone).startOfDay().epochMilliseconds,
  };
  // The bounds never change, so the table only saves work; ten years of days per zone is its bound.
  if (days.size > 4000) days.clear();
  days.set(day, bounds);
  return bounds;
}

/** Every zone in force changes its day on a quarter of an hour, so one look serves all instants of a quarter. */
const QUARTER_MS = 900_000;
/** About a year of quarters. */
const QUARTERS_KEPT = 40_000;
const quartersByZone = new Map<string, Map<number, LocalDay>>();

/** The local day an instant falls on. */
export function localDayOf(zone: string, atMs: number): LocalDay {
  let quarters = quartersByZone.get(zone);
  if (!quarters) {
    quarters = new Map();
    quartersByZone.set(zone, quarters);
  }
  const quarter = Math.floor(atMs / QUARTER_MS);
  const known = quarters.get(quarter);
  if (known !== undefined) return known;
  const day = Temporal.Instant.fromEpochMilliseconds(quarter * QUARTER_MS)
    .toZonedDateTimeISO(zone)
    .toPlainDate()
    .toString();
  if (quarters.size >= QUARTERS_KEPT) quarters.clear();
  quarters.set(quarter, day);
  return day;
}

export const localDayHours = (zone: string, day: LocalDay): number => {
  const { startMs, endMs } = localDayBounds(zone, day);
  return (endMs - startMs) / 3_600_000;
};

export const addDays = (day: LocalDay, days: number): LocalDay => Temporal.PlainDate.from(day).add({ days }).toString();

/** Whole calendar days from `from` to `to`, negative when `to` is earlier. */
export const daysBetween = (from: LocalDay, to: LocalDay): number => Math.round((utcOf(to) - utcOf(from)) / 86_400_000);

/** Whole calendar months from `from` to `to`, as an age in months; `to` is not earlier. */
export const monthsBetween = (from: LocalDay, to: LocalDay): number => {
  const [fromYear, fromMonth, fromDate] = partsOf(from);
  const [toYear, toMonth, toDate] = partsOf(to);
  return (toYear - fromYear) * 12 + toMonth - fromMonth - (toDate < fromDate ? 1 : 0);
};

const partsOf = (day: LocalDay): [year: number, month: number, date: number] => [
  Number(day.slice(0, 4)),
  Number(day.slice(5, 7)),
  Number(day.slice(8, 10)),
];
/** Midnight UTC of the date: for arithmetic with dates, never for instants. */
const utcOf = (day: LocalDay): number => {
  const [year, month, date] = partsOf(day);
  return Date.UTC(year, month - 1, date);
};

/**
 * Instant of a wall-clock time on a local day. A time the clocks skip becomes the same distance after the jump; a time
 * that comes twice means the first.
 */
export function instantOnDay(zone: string, day: LocalDay, clock: string): number {
  return Temporal.PlainDate.from(day)
    .toPlainDateTime(Temporal.PlainTime.from(clock))
    .toZonedDateTime(zone, { disambiguation: 'compatible' }).epochMilliseconds;
}

/** Noon on the wall clock: the instant to hand to the sun functions, which otherwise answer for a neighbouring day. */
export const civilNoon = (zone: string, day: LocalDay): number => instantOnDay(zone, day, '12:00');

/** Wall clock `06:30` at an instant. */
export const clockAt = (zone: string, atMs: number): string =>
  Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainTime().toString().slice(0, 5);

/** Weekday and date as people say it, e.g. `Sunday 25 October 2026`. */
export const dayInWords = (day: LocalDay): string => LONG_DAY.format(utcOf(day)).replace(',', '');

/** `3 March`, as people say a day of this year. */
export function shortDay(day: LocalDay): string {
  const known = shortDays.get(day);
  if (known !== undefined) return known;
  const text = SHORT_DAY.format(utcOf(day));
  if (shortDays.size > 4000) shortDays.clear();
  shortDays.set(day, text);
  return text;
}
const shortDays = new Map<LocalDay, string>();

const LONG_DAY = new Intl.DateTimeFormat('en-GB', {
  timeZone: 'UTC',
  weekday: 'long',
  day: 'numeric',
  month: 'long',
  year: 'numeric',
});
const SHORT_DAY = new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', day: 'numeric', month: 'long' });

/** Instant of an ISO 8601 date-time; without a zone mark it is read in `zone`. Undefined when it is not one. */
export function parseInstant(text: string, zone = 'UTC'): number | undefined {
  const trimmed = text.trim();
  try {
    if (/(?:[zZ]|[+-]\d{2}(?::?\d{2})?)$/.test(trimmed)) return Temporal.Instant.from(trimmed).epochMilliseconds;
    return Temporal.PlainDateTime.from(trimmed).toZonedDateTime(zone).epochMilliseconds;
  } catch {
    return undefined;
  }
}

/** `3 hours`, `12 days`: one unit is enough to see what is wrong. */
export function durationInWords(ms: number): string {
  const steps: [number, string][] = [
    [365 * 86_400, 'year'],
    [86_400, 'day'],
    [3600, 'hour'],
    [60, 'minute'],
  ];
  for (const [seconds, word] of steps) {
    if (ms < seconds * 1000) continue;
    const count = Math.round(ms / 1000 / seconds);
    return `${count} ${word}${count === 1 ? '' : 's'}`;
  }
  return 'less than a minute';
}
