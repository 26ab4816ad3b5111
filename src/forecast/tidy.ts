import type { ForecastHour } from '../domain/forecast.js';
import { acceptedUnits, unitConversion } from '../domain/units.js';

/** What came cannot be used; the message says why, to a grower. */
export class Unreadable extends Error {}

const HOUR_MS = 3_600_000;
/** Beyond ten days a forecast says no more than the season does. */
export const LONGEST_LEAD_HOURS = 240;

export type ForecastValue = Exclude<keyof ForecastHour, 'at'>;

/** What a forecast may hold; outside of it the unit is another than the source says. */
export const VALUE_LIMITS: Readonly<Record<ForecastValue, readonly [number, number]>> = {
  airTempC: [-54, 57],
  relHumidityPct: [0, 100],
  radiationWm2: [0, 1500],
  cloudPct: [0, 100],
  windMs: [0, 120],
  rainMm: [0, 500],
};
/** How far outside a value may be for rounding; it is then brought inside. */
const SLACK: Readonly<Record<ForecastValue, number>> = {
  airTempC: 0,
  relHumidityPct: 5,
  radiationWm2: 20,
  cloudPct: 1,
  windMs: 0,
  rainMm: 0.1,
};
const WORDS: Readonly<Record<ForecastValue, string>> = {
  airTempC: 'air temperature',
  relHumidityPct: 'humidity',
  radiationWm2: 'radiation',
  cloudPct: 'cloud cover',
  windMs: 'wind',
  rainMm: 'rain',
};
const CANONICAL: Readonly<Record<ForecastValue, string>> = {
  airTempC: '°C',
  relHumidityPct: '%',
  radiationWm2: 'W/m²',
  cloudPct: '%',
  windMs: 'm/s',
  rainMm: 'mm',
};

const RAIN_UNITS: Readonly<Record<string, number>> = { mm: 1, 'kg/m²': 1, 'kg/m2': 1, cm: 10, inch: 25.4, in: 25.4 };

/**
 * How to bring values of a unit to the canonical one.
 * @throws Unreadable for a unit that is none of that quantity
 */
export function converter(value: ForecastValue, unit: string, label: string): (given: number) => number {
  if (value === 'rainMm') {
    const factor = RAIN_UNITS[unit.trim()];
    if (factor !== undefined) return (given) => given * factor;
    throw wrongUnit(label, unit, ['mm', 'inch']);
  }
  // Cloud cover is a share like humidity.
  const quantity = value === 'cloudPct' ? 'relHumidityPct' : value;
  const conversion = unitConversion(quantity, unit);
  if (!conversion) throw wrongUnit(label, unit, acceptedUnits(quantity));
  return (given) => given * conversion.factor + conversion.offset;
}

const wrongUnit = (label: string, unit: string, accepted: readonly string[]): Unreadable =>
  new Unreadable(`${label} comes in "${unit.slice(0, 20)}", which is none of ${accepted.join(', ')}.`);

/** @throws Unreadable for a value no weather has */
export function plausible(value: ForecastValue, given: number, at: number): number {
  const [lowest, highest] = VALUE_LIMITS[value];
  if (given >= lowest - SLACK[value] && given <= highest + SLACK[value])
    return Math.min(highest, Math.max(lowest, given));
  const unit = CANONICAL[value];
  throw new Unreadable(
    `The ${WORDS[value]} for ${hourInWords(at)} would be ${Number(given.toPrecision(4))} ${unit}; ${lowest} to ${highest} ${unit} can be. Its unit is probably another.`,
  );
}

const LAST_INSTANT = Date.UTC(2200, 0);
/** A time that a forecast can speak of, UTC ms; a wrong number may lie far beyond the calendar. */
export const isInstant = (at: number | undefined): at is number =>
  at !== undefined && Number.isSafeInteger(at) && at >= 0 && at < LAST_INSTANT;

const hourInWords = (at: number): string => `${new Date(at).toISOString().slice(0, 16).replace('T', ' ')} UTC`;

/**
 * The hours of a forecast that are to be kept: rising, each once, none that was over when it was issued.
 * @param issuedAt UTC ms
 * @param now UTC ms
 * @throws Unreadable where that cannot be had
 */
export function tidyHours(hours: readonly ForecastHour[], issuedAt: number, now: number): ForecastHour[] {
  const sorted = [...hours].sort((a, b) => a.at - b.at);
  const odd = sorted.find(({ at }) => at % HOUR_MS !== 0);
  if (odd)
    throw new Unreadable(`${hourInWords(odd.at)} is no full hour. Have the forecast given in UTC, hour by hour.`);
  const twice = sorted.find(({ at }, index) => at === sorted[index + 1]?.at);
  if (twice) throw new Unreadable(`The hour ${hourInWords(twice.at)} comes twice. Have the forecast given in UTC.`);
  const first = Math.floor(issuedAt / HOUR_MS) * HOUR_MS;
  const kept = sorted.filter(({ at }) => at >= first && at < first + LONGEST_LEAD_HOURS * HOUR_MS);
  const last = kept.at(-1);
  if (!last || last.at + HOUR_MS <= now)
    throw new Unreadable(
      sorted.length === 0
        ? 'It holds no hours.'
        : `It holds no hour to come: the last is ${hourInWords(sorted.at(-1)?.at ?? 0)}.`,
    );
  if (kept.every(({ airTempC }) => airTempC === null)) throw new Unreadable('It holds no air temperature.');
  return kept;
}
