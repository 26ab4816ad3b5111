/** From samples to hours, and what the sky could do in them. */

import { localDayOf } from '../../domain/time.js';
import { atmosphericPressureKPa, wetBulbC } from '../../science/air.js';
import { clamp } from '../../science/guards.js';
import { clearSkyAt } from '../../science/radiation.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { SkyHour, ThermalColumn, ThermalHour, ThermalPlace, ThermalSample } from './record.js';

/** A sample speaks for the time since the one before it, but not for longer than this. */
const HOLD_MS = MS_PER_HOUR;
/** Outside values are held for at most so many hours; the inside is never filled. */
const HELD_HOURS = 3;
/** Clear sky over radiation above the atmosphere. Source: FAO-56, Eq. 37 at sea level. */
const CLEAR_SHARE_OF_EXTRATERRESTRIAL = 0.75;
/** Source: FAO-56, Eq. 50 (Hargreaves-Samani); between 0.16 inland and 0.19 at a coast. */
const TEMPERATURE_RADIATION = 0.17;
/** Share of its hours a day must have for its highest and lowest to be told. */
const DAY_SHARE = 0.75;

const OUTSIDE_COLUMNS = ['outsideTempC', 'outsideRelHumidityPct', 'outsideRadiationWm2'] as const;

/**
 * Mean, highest and lowest of each UTC hour that has a sample.
 * @param samples rising in time
 */
export function hoursOfSamples(samples: readonly ThermalSample[]): ThermalHour[] {
  const buckets = new Map<number, { readonly rows: ThermalSample[]; heardMs: number }>();
  const bucketAt = (startMs: number) => {
    const known = buckets.get(startMs);
    if (known) return known;
    const bucket = { rows: [], heardMs: 0 };
    buckets.set(startMs, bucket);
    return bucket;
  };
  samples.forEach((sample, index) => {
    const startMs = Math.floor(sample.at / MS_PER_HOUR) * MS_PER_HOUR;
    const bucket = bucketAt(startMs);
    bucket.rows.push(sample);
    const before = samples[index - 1];
    if (sample.insideTempC === null || before === undefined || sample.at - before.at > HOLD_MS) return;
    bucket.heardMs += sample.at - Math.max(startMs, before.at);
    if (before.at < startMs) bucketAt(startMs - MS_PER_HOUR).heardMs += startMs - before.at;
  });
  return [...buckets]
    .filter(([, { rows }]) => rows.length > 0)
    .sort(([a], [b]) => a - b)
    .map(([startMs, { rows, heardMs }]) => {
      const inside = rows.flatMap(({ insideTempC }) => (insideTempC === null ? [] : [insideTempC]));
      return {
        startMs,
        insideTempC: meanOf(rows, 'insideTempC'),
        insideRelHumidityPct: meanOf(rows, 'insideRelHumidityPct'),
        outsideTempC: meanOf(rows, 'outsideTempC'),
        outsideRelHumidityPct: meanOf(rows, 'outsideRelHumidityPct'),
        outsideRadiationWm2: meanOf(rows, 'outsideRadiationWm2'),
        insideMaxC: inside.length > 0 ? Math.max(...inside) : null,
        insideMinC: inside.length > 0 ? Math.min(...inside) : null,
        insideHeard: Math.min(1, heardMs / MS_PER_HOUR),
        clothWarmthShare: 1,
      };
    });
}

function meanOf(rows: readonly ThermalSample[], column: ThermalColumn): number | null {
  let sum = 0;
  let count = 0;
  for (const row of rows) {
    const value = row[column];
    if (value === null) continue;
    sum += value;
    count += 1;
  }
  return count > 0 ? sum / count : null;
}

/**
 * The hours as a grid without holes, each with its local day, the clear sky, and what the outside temperatures tell of the
 * sun. The last outside values are held over short gaps; those of the inside are not.
 * @param hours rising in time; at most some years of them
 */
export function skyHours(hours: readonly ThermalHour[], place: ThermalPlace): SkyHour[] {
  const first = hours[0];
  if (first === undefined) return [];
  const grid: ThermalHour[] = [];
  for (const hour of hours) {
    let next = (grid.at(-1)?.startMs ?? hour.startMs - MS_PER_HOUR) + MS_PER_HOUR;
    for (; next < hour.startMs; next += MS_PER_HOUR) grid.push(silentHour(next));
    if (next === hour.startMs) grid.push(hour);
  }
  const held = OUTSIDE_COLUMNS.map((column) => hold(grid.map((hour) => hour[column])));
  const pressureKPa = atmosphericPressureKPa(place.elevationM);
  const sky = { latitudeDeg: place.latitude, longitudeDeg: place.longitude, elevationM: place.elevationM };
  const rows = grid.map((hour, index) => {
    const [outsideTempC = null, outsideRelHumidityPct = null, outsideRadiationWm2 = null] = held.map(
      (column) => column[index] ?? null,
    );
    return {
      ...hour,
      outsideTempC,
      outsideRelHumidityPct,
      outsideRadiationWm2,
      day: localDayOf(place.zone, hour.startMs),
      clearSkyWm2: clearSkyAt(hour.startMs + MS_PER_HOUR / 2, sky).globalWm2,
      outsideWetBulbC:
        outsideTempC === null || outsideRelHumidityPct === null
          ? null
          : wetBulbC(outsideTempC, clamp(outsideRelHumidityPct, 1, 100), pressureKPa),
    };
  });
  const shares = sunShares(rows);
  return rows.map((row) => {
    const share = shares.get(row.day);
    return { ...row, sunFromTempsWm2: share === undefined ? null : share * row.clearSkyWm2 };
  });
}

const silentHour = (startMs: number): ThermalHour => ({
  startMs,
  insideTempC: null,
  insideRelHumidityPct: null,
  outsideTempC: null,
  outsideRelHumidityPct: null,
  outsideRadiationWm2: null,
  insideMaxC: null,
  insideMinC: null,
  insideHeard: 0,
  clothWarmthShare: 1,
});

function hold(values: readonly (number | null)[]): (number | null)[] {
  let last: number | null = null;
  let age = 0;
  return values.map((value) => {
    age = value === null ? age + 1 : 0;
    last = value ?? last;
    return age <= HELD_HOURS ? last : null;
  });
}

/** Share of the clear sky that came through on a day, by the spread of its outside temperatures (FAO-56, Eq. 50). */
function sunShares(
  rows: readonly { readonly day: string; readonly outsideTempC: number | null }[],
): Map<string, number> {
  const days = new Map<string, { low: number; high: number; heard: number; hours: number }>();
  for (const { day, outsideTempC } of rows) {
    const entry = days.get(day) ?? {
      low: Number.POSITIVE_INFINITY,
      high: Number.NEGATIVE_INFINITY,
      heard: 0,
      hours: 0,
    };
    entry.hours += 1;
    if (outsideTempC !== null) {
      entry.heard += 1;
      entry.low = Math.min(entry.low, outsideTempC);
      entry.high = Math.max(entry.high, outsideTempC);
    }
    days.set(day, entry);
  }
  const shares = new Map<string, number>();
  for (const [day, { low, high, heard, hours }] of days)
    if (heard >= DAY_SHARE * Math.max(hours, 23))
      shares.set(day, Math.min(1, (TEMPERATURE_RADIATION * Math.sqrt(high - low)) / CLEAR_SHARE_OF_EXTRATERRESTRIAL));
  return shares;
}
