import type { MappingTime } from '../domain/mapping.js';
import { parseInstant } from '../domain/time.js';

/** Reading of the time a device sends along. */
const DECIMAL = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;
const UTC_FORM = /^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?Z$/i;
/** Largest instant a calendar can hold, ECMA-262 section 21.4.1.1. */
const MAX_INSTANT_MS = 8.64e15;

/** Milliseconds of an epoch number whose unit is told by its size: seconds, milli-, micro- or nanoseconds. */
export function epochByTheSize(value: number): number {
  const size = Math.abs(value);
  if (size < 1e11) return Math.round(value * 1000);
  if (size < 1e14) return Math.trunc(value);
  if (size < 1e17) return Math.trunc(value / 1e3);
  return Math.trunc(value / 1e6);
}

function isoInstant(text: string, zone: string): number | undefined {
  // Whole UTC stamps are by far the most common: read them without a calendar library.
  const parts = UTC_FORM.exec(text);
  if (!parts) return text.includes('[') ? undefined : parseInstant(text, zone);
  const [, year, month, day, hour, minute, second = '0', fraction = ''] = parts;
  const at = Date.UTC(
    Number(year),
    Number(month) - 1,
    Number(day),
    Number(hour),
    Number(minute),
    Number(second),
    Number(`${fraction}000`.slice(0, 3)),
  );
  // Date.UTC carries 31 February over into March; the calendar refuses it.
  return daysInMonth(Number(year), Number(month)) >= Number(day) &&
    Number(day) > 0 &&
    Number(month) > 0 &&
    Number(hour) < 24 &&
    Number(minute) < 60 &&
    Number(second) < 60
    ? at
    : parseInstant(text, zone);
}

function daysInMonth(year: number, month: number): number {
  if (month === 2) return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : month <= 12 ? 31 : 0;
}

/** UTC milliseconds of what a device sent, or undefined when it cannot be read as a time. */
export function deviceInstant(raw: unknown, time: Pick<MappingTime, 'kind' | 'zone'>): number | undefined {
  let at: number | undefined;
  if (typeof raw === 'number' || (typeof raw === 'string' && DECIMAL.test(raw.trim()))) {
    const value = Number(raw);
    if (!Number.isFinite(value) || time.kind === 'iso') return undefined;
    at = time.kind === 's' ? Math.round(value * 1000) : time.kind === 'ms' ? Math.trunc(value) : epochByTheSize(value);
  } else if (typeof raw === 'string' && (time.kind === 'auto' || time.kind === 'iso'))
    at = isoInstant(raw.trim(), time.zone);
  return at !== undefined && Math.abs(at) <= MAX_INSTANT_MS ? at : undefined;
}
