import { z } from 'zod';
import type { ForecastHour } from '../domain/forecast.js';
import { schemaProblems } from '../domain/problems.js';
import { parseInstant } from '../domain/time.js';
import { converter, type ForecastValue, isInstant, plausible, Unreadable } from './tidy.js';

/**
 * The two forms in which open weather services answer. Units are taken as the answer names them and brought to ours; a
 * value that is missing stays missing.
 *
 * `met-norway`: Locationforecast 2.0 of MET Norway, a GeoJSON feature with a list of moments (its data model page).
 * `open-meteo`: hourly columns beside a list of times (the documentation of Open-Meteo's forecast API).
 */
export const FORECAST_KINDS = ['met-norway', 'open-meteo'] as const;
export type ForecastKind = (typeof FORECAST_KINDS)[number];

export interface ReadForecast {
  /** UTC ms; null where the answer does not say. */
  readonly issuedAt: number | null;
  /** As they came: not yet tidied. */
  readonly hours: readonly ForecastHour[];
}

/** @throws Unreadable with what is wrong */
export const readForecast = (kind: ForecastKind, body: unknown): ReadForecast =>
  kind === 'met-norway' ? readMoments(body) : readColumns(body);

const HOUR_MS = 3_600_000;
const EMPTY = {
  airTempC: null,
  relHumidityPct: null,
  radiationWm2: null,
  cloudPct: null,
  windMs: null,
  rainMm: null,
} satisfies Omit<ForecastHour, 'at'>;

function checked<S extends z.ZodType>(schema: S, body: unknown): z.infer<S> {
  const result = schema.safeParse(body);
  if (result.success) return result.data;
  const [first] = schemaProblems(schema, body, result.error);
  throw new Unreadable(
    `The answer is not in the form expected: ${first?.path || 'the whole of it'} should be ${first?.expected ?? 'something else'}, but ${first?.got ?? 'something else'} came.`,
  );
}

const value = z.number().nullish();

const momentSchema = z.looseObject({
  properties: z.looseObject({
    meta: z.looseObject({
      updated_at: z.string(),
      units: z.record(z.string(), z.string()).default({}),
    }),
    timeseries: z
      .array(
        z.looseObject({
          time: z.string(),
          data: z.looseObject({
            instant: z.looseObject({
              details: z.looseObject({
                air_temperature: value,
                relative_humidity: value,
                cloud_area_fraction: value,
                wind_speed: value,
              }),
            }),
            next_1_hours: z
              .looseObject({ details: z.looseObject({ precipitation_amount: value }).nullish() })
              .nullish(),
          }),
        }),
      )
      .max(2000),
  }),
});

const MOMENT_FIELDS = {
  airTempC: ['air_temperature', 'celsius'],
  relHumidityPct: ['relative_humidity', '%'],
  cloudPct: ['cloud_area_fraction', '%'],
  windMs: ['wind_speed', 'm/s'],
} as const;

function readMoments(body: unknown): ReadForecast {
  const { meta, timeseries } = checked(momentSchema, body).properties;
  const unitOf = (field: string, usual: string): string => meta.units[field] ?? usual;
  const convert = {
    ...mapFields(MOMENT_FIELDS, (name, [field, usual]) => converter(name, unitOf(field, usual), field)),
    rainMm: converter('rainMm', unitOf('precipitation_amount', 'mm'), 'precipitation_amount'),
  };
  const hours = timeseries.map(({ time, data }): ForecastHour => {
    const at = instantOf(time);
    const { details } = data.instant;
    const told = (name: ForecastValue, given: number | null | undefined, to: (one: number) => number) =>
      given === null || given === undefined ? null : plausible(name, to(given), at);
    return {
      at,
      ...EMPTY,
      ...mapFields(MOMENT_FIELDS, (name, [field]) => told(name, details[field], convert[name])),
      rainMm: told('rainMm', data.next_1_hours?.details?.precipitation_amount, convert.rainMm),
    };
  });
  return { issuedAt: instantOf(meta.updated_at), hours };
}

const column = z.array(z.number().nullable()).max(2000).optional();
const columnSchema = z.looseObject({
  utc_offset_seconds: z.number().int().default(0),
  hourly_units: z.record(z.string(), z.string()).default({}),
  hourly: z.looseObject({
    time: z.array(z.union([z.string(), z.number()])).max(2000),
    temperature_2m: column,
    relative_humidity_2m: column,
    cloud_cover: column,
    wind_speed_10m: column,
    shortwave_radiation: column,
    precipitation: column,
  }),
});

/** Field, unit when none is named, and hours by which a value speaks of an earlier hour than the time it stands at. */
const COLUMN_FIELDS = {
  airTempC: ['temperature_2m', '°C', 0],
  relHumidityPct: ['relative_humidity_2m', '%', 0],
  cloudPct: ['cloud_cover', '%', 0],
  windMs: ['wind_speed_10m', 'km/h', 0],
  // Mean, and sum, of the hour before.
  radiationWm2: ['shortwave_radiation', 'W/m²', 1],
  rainMm: ['precipitation', 'mm', 1],
} as const;

function readColumns(body: unknown): ReadForecast {
  const { utc_offset_seconds: offset, hourly_units: units, hourly } = checked(columnSchema, body);
  const times = hourly.time.map((time) => instantOf(time, offset * 1000));
  const hours = new Map(
    times.map((at) => [at, { at, ...EMPTY } as { -readonly [K in keyof ForecastHour]: ForecastHour[K] }]),
  );
  if (hours.size < times.length) throw new Unreadable('An hour comes twice. Have the forecast given in UTC.');
  for (const [name, [field, usual, back]] of Object.entries(COLUMN_FIELDS) as [
    ForecastValue,
    (typeof COLUMN_FIELDS)[ForecastValue],
  ][]) {
    const values = hourly[field];
    if (!values) continue;
    if (values.length !== times.length)
      throw new Unreadable(`${field} has ${values.length} values for ${times.length} hours.`);
    const convert = converter(name, units[field] ?? usual, field);
    values.forEach((given, index) => {
      const at = (times[index] ?? 0) - back * HOUR_MS;
      const hour = hours.get(at);
      if (hour && given !== null) hour[name] = plausible(name, convert(given), at);
    });
  }
  return { issuedAt: null, hours: [...hours.values()] };
}

/** A text in the time the answer names, or seconds UTC. */
function instantOf(time: string | number, aheadMs = 0): number {
  const read = typeof time === 'number' ? time * 1000 : parseInstant(time);
  const at = read === undefined || typeof time === 'number' ? read : read - aheadMs;
  if (isInstant(at)) return at;
  throw new Unreadable(`"${String(time).slice(0, 40)}" is no time such as 2026-06-01T12:00Z.`);
}

function mapFields<K extends string, V, R>(
  fields: Readonly<Record<K, V>>,
  make: (key: K, value: V) => R,
): Record<K, R> {
  return Object.fromEntries((Object.entries(fields) as [K, V][]).map(([key, one]) => [key, make(key, one)])) as Record<
    K,
    R
  >;
}
