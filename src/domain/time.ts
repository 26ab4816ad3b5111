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

const lastDayByZone = new Map<string, { day: LocalDay; bounds: DayBounds }>();

/** The local day an instant falls on. */
export function localDayOf(zone: string, atMs: number): LocalDay {
  const last = lastDayByZone.get(zone);
  if (last && atMs >= last.bounds.startMs && atMs < last.bounds.endMs) return last.day;
  const day = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainDate().toString();
  lastDayByZone.set(zone, { day, bounds: localDayBounds(zone, day) });
  return day;
}

export const localDayHours = (zone: string, day: LocalDay): number => {
  const { startMs, endMs } = localDayBounds(zone, day);
  return (endMs - startMs) / 3_600_000;
};

export const addDays = (day: LocalDay, days: number): LocalDay => Temporal.PlainDate.from(day).add({ days }).toString();

/** Whole calendar days from `from` to `to`, negative when `to` is earlier. */
export const daysBetween = (from: LocalDay, to: LocalDay): number =>
  Temporal.PlainDate.from(from).until(Temporal.PlainDate.from(to), { largestUnit: 'day' }).days;

/** Whole calendar months from `from` to `to`, as an age in months. */
export const monthsBetween = (from: LocalDay, to: LocalDay): number =>
  Temporal.PlainDate.from(from).until(Temporal.PlainDate.from(to), { largestUnit: 'month' }).months;

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
export const dayInWords = (day: LocalDay, locale = 'en-GB'): string =>
  new Intl.DateTimeFormat(locale, {
    timeZone: 'UTC',
    weekday: 'long',
    day: 'numeric',
    month: 'long',
    year: 'numeric',
  })
    .format(Date.UTC(Number(day.slice(0, 4)), Number(day.slice(5, 7)) - 1, Number(day.slice(8, 10))))
    .replace(',', '');

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
