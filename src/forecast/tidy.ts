import type { ForecastHour } from '../domain/forecast.js';
import { acceptedUnits, unitConversion } from '../domain/units.js';
import { clamp } from '../science/guards.js';

/** What came cannot be used; the message says why, to a grower. */
export class Unreadable extends Error {}

const HOUR_MS = 3_600_000;
/** Beyond ten days a forecast says no more than the season does. */
export const LONGEST_LEAD_HOURS = 240;

export type ForecastValue = Exclude<keyof ForecastHour, 'at'>;

interface ForecastQuantity {
  readonly words: string;
  readonly unit: string;
  /** What a forecast may hold; outside of it the unit is another than the source says. */
  readonly limits: readonly [number, number];
  /** How far outside a value may be for rounding; it is then brought inside. */
  readonly slack: number;
  /** For who writes a program against it. */
  readonly meaning: string;
}

export const FORECAST_VALUES: Readonly<Record<ForecastValue, ForecastQuantity>> = {
  airTempC: { words: 'air temperature', unit: '°C', limits: [-54, 57], slack: 0, meaning: 'Outside air, °C.' },
  relHumidityPct: { words: 'humidity', unit: '%', limits: [0, 100], slack: 5, meaning: 'Relative humidity, %.' },
  radiationWm2: {
    words: 'radiation',
    unit: 'W/m²',
    limits: [0, 1500],
    slack: 20,
    meaning: 'Global radiation, mean of the hour, W/m².',
  },
  cloudPct: {
    words: 'cloud cover',
    unit: '%',
    limits: [0, 100],
    slack: 1,
    meaning: 'Share of the sky that is covered, %.',
  },
  windMs: { words: 'wind', unit: 'm/s', limits: [0, 120], slack: 0, meaning: 'Wind at 10 m, m/s.' },
  rainMm: { words: 'rain', unit: 'mm', limits: [0, 500], slack: 0.1, meaning: 'Rain of the hour, mm.' },
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
  const { limits, slack, unit, words } = FORECAST_VALUES[value];
  const [lowest, highest] = limits;
  if (given >= lowest - slack && given <= highest + slack) return clamp(given, lowest, highest);
  throw new Unreadable(
    `The ${words} for ${hourInWords(at)} would be ${Number(given.toPrecision(4))} ${unit}; ${lowest} to ${highest} ${unit} can be. Its unit is probably another.`,
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
