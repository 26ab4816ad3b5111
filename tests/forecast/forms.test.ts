import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FORECAST_KINDS, readForecast } from '../../src/forecast/forms.js';
import { tidyHours, Unreadable } from '../../src/forecast/tidy.js';
import { HOUR_MS, HOUR_NOW, moments, NOW } from './support.js';

/** Both samples are of our own making, after the services' documentation. */
const COLUMNS = {
  latitude: 52.5,
  longitude: 13.4,
  utc_offset_seconds: 0,
  timezone: 'GMT',
  hourly_units: {
    time: 'iso8601',
    temperature_2m: '°C',
    relative_humidity_2m: '%',
    shortwave_radiation: 'W/m²',
    wind_speed_10m: 'km/h',
    precipitation: 'mm',
  },
  hourly: {
    time: ['2026-06-01T12:00', '2026-06-01T13:00', '2026-06-01T14:00'],
    temperature_2m: [24.1, 25, null],
    relative_humidity_2m: [48, 45, 44],
    shortwave_radiation: [702, 688, 640],
    wind_speed_10m: [9, 18, 36],
    precipitation: [0, 0.4, 1.2],
  },
};
const NOON = Date.UTC(2026, 5, 1, 12);
const withUnits = (units: object, hourly: object = {}) => ({
  ...COLUMNS,
  hourly_units: { ...COLUMNS.hourly_units, ...units },
  hourly: { ...COLUMNS.hourly, ...hourly },
});
const read = (body: unknown) => readForecast('open-meteo', body);

describe('columns of hours', () => {
  it('become hours in our units; radiation and rain go to the hour they were of, the one before', () => {
    const { issuedAt, hours } = read(COLUMNS);
    expect(issuedAt).toBeNull();
    expect(hours).toEqual([
      { at: NOON, airTempC: 24.1, relHumidityPct: 48, radiationWm2: 688, cloudPct: null, windMs: 2.5, rainMm: 0.4 },
      {
        at: NOON + HOUR_MS,
        airTempC: 25,
        relHumidityPct: 45,
        radiationWm2: 640,
        cloudPct: null,
        windMs: 5,
        rainMm: 1.2,
      },
      {
        at: NOON + 2 * HOUR_MS,
        airTempC: null,
        relHumidityPct: 44,
        radiationWm2: null,
        cloudPct: null,
        windMs: 10,
        rainMm: null,
      },
    ]);
  });

  it('are read in the time the answer names, as text or in seconds', () => {
    expect(read({ ...COLUMNS, utc_offset_seconds: 7200 }).hours[0]?.at).toBe(NOON - 2 * HOUR_MS);
    const seconds = [0, 1, 2].map((after) => (NOON + after * HOUR_MS) / 1000);
    expect(read(withUnits({ time: 'unixtime' }, { time: seconds })).hours.map(({ at }) => at)).toEqual([
      NOON,
      NOON + HOUR_MS,
      NOON + 2 * HOUR_MS,
    ]);
  });

  it.each([
    ['°F', [75.38, 77, null], 24.1],
    ['K', [297.25, 298.15, null], 24.1],
  ])('temperatures in %s become °C', (unit, values, known) => {
    expect(read(withUnits({ temperature_2m: unit }, { temperature_2m: values })).hours[0]?.airTempC).toBeCloseTo(
      known,
      6,
    );
  });

  it.each([
    // International knot and mile, exact by definition.
    ['m/s', 2.5, 2.5],
    ['kn', 10, 5.14444],
    ['mp/h', 10, 4.4704],
  ])('wind in %s becomes m/s', (unit, given, known) => {
    const winds = withUnits({ wind_speed_10m: unit }, { wind_speed_10m: [given, given, given] });
    expect(read(winds).hours[0]?.windMs).toBeCloseTo(known, 4);
  });

  it('a unit of something else, or values that the unit cannot be true of, are refused in words', () => {
    expect(() => read(withUnits({ temperature_2m: 'hPa' }))).toThrow(
      'temperature_2m comes in "hPa", which is none of °C',
    );
    expect(() => read(withUnits({}, { temperature_2m: [297, 298, 299] }))).toThrow(
      'The air temperature for 2026-06-01 12:00 UTC would be 297 °C; -54 to 57 °C can be. Its unit is probably another.',
    );
    expect(() => read(withUnits({ precipitation: 'buckets' }))).toThrow('none of mm, inch');
  });

  it('a time beyond the calendar is refused', () => {
    for (const time of [1e300, -5, 9e15])
      expect(() => read(withUnits({}, { time: [time, 1, 2] }))).toThrow('is no time such as 2026-06-01T12:00Z.');
    expect(() => read({ ...COLUMNS, utc_offset_seconds: -9e14 })).toThrow('is no time such as');
  });

  it('a column of another length is refused', () => {
    expect(() => read(withUnits({}, { temperature_2m: [24.1, 25] }))).toThrow(
      'temperature_2m has 2 values for 3 hours.',
    );
  });

  it('an hour that comes twice, as when clocks go back, is refused with what to do', () => {
    expect(() => read(withUnits({}, { time: ['2026-10-25T02:00', '2026-10-25T02:00', '2026-10-25T03:00'] }))).toThrow(
      'An hour comes twice. Have the forecast given in UTC.',
    );
  });
});

describe('a list of moments', () => {
  it('becomes hours, with the time it was made', () => {
    const body = moments(HOUR_NOW, 2, HOUR_NOW - 40 * 60_000);
    const { issuedAt, hours } = readForecast('met-norway', body);
    expect(issuedAt).toBe(HOUR_NOW - 40 * 60_000);
    expect(hours).toEqual([
      { at: HOUR_NOW, airTempC: 10, relHumidityPct: 60, radiationWm2: null, cloudPct: 25, windMs: 3, rainMm: 0.2 },
      {
        at: HOUR_NOW + HOUR_MS,
        airTempC: 11,
        relHumidityPct: 60,
        radiationWm2: null,
        cloudPct: 25,
        windMs: 3,
        rainMm: 0.2,
      },
    ]);
  });

  it('keeps what is missing missing: later steps of six hours tell no rain of the hour', () => {
    const body = moments(HOUR_NOW, 1);
    const sparse = {
      time: new Date(HOUR_NOW + 6 * HOUR_MS).toISOString(),
      data: { instant: { details: { air_temperature: 18 } }, next_6_hours: { details: { precipitation_amount: 3 } } },
    };
    body.properties.timeseries.push(sparse as never);
    expect(readForecast('met-norway', body).hours[1]).toEqual({
      at: HOUR_NOW + 6 * HOUR_MS,
      airTempC: 18,
      relHumidityPct: null,
      radiationWm2: null,
      cloudPct: null,
      windMs: null,
      rainMm: null,
    });
  });

  it('brings rounding into bounds, and refuses what is out of them', () => {
    const body = (relHumidity: number) => {
      const made = moments(HOUR_NOW, 1);
      for (const step of made.properties.timeseries) step.data.instant.details.relative_humidity = relHumidity;
      return made;
    };
    expect(readForecast('met-norway', body(101.4)).hours[0]?.relHumidityPct).toBe(100);
    expect(() => readForecast('met-norway', body(140))).toThrow('The humidity for 2026-06-01 06:00 UTC would be 140 %');
  });

  it('says where an answer of another form goes wrong', () => {
    expect(() => readForecast('met-norway', COLUMNS)).toThrow(
      'The answer is not in the form expected: properties should be object, but nothing came.',
    );
    expect(() => readForecast('open-meteo', moments(HOUR_NOW, 1))).toThrow('hourly should be object, but nothing came');
    const late = moments(HOUR_NOW, 1);
    late.properties.meta.updated_at = 'yesterday';
    expect(() => readForecast('met-norway', late)).toThrow('"yesterday" is no time such as 2026-06-01T12:00Z.');
  });

  it.each(FORECAST_KINDS)('whatever comes, %s is read or refused, never anything else', (kind) => {
    fc.assert(
      fc.property(fc.jsonValue(), (body) => {
        try {
          readForecast(kind, body);
        } catch (error) {
          expect(error).toBeInstanceOf(Unreadable);
        }
      }),
    );
  });
});

/** The same with one value somewhere inside replaced. */
function spoilt(body: unknown, path: readonly number[], value: unknown): unknown {
  if (path.length === 0 || typeof body !== 'object' || body === null) return value;
  const keys = Object.keys(body);
  const key = keys[(path[0] ?? 0) % keys.length];
  if (key === undefined) return value;
  const copy: Record<string, unknown> = Array.isArray(body) ? ([...body] as never) : { ...body };
  copy[key] = spoilt(copy[key], path.slice(1), value);
  return copy;
}

it.each([
  ['met-norway', moments(HOUR_NOW, 3)],
  ['open-meteo', COLUMNS],
] as const)('an answer of %s in which something is spoilt is read or refused, never anything else', (kind, body) => {
  fc.assert(
    fc.property(fc.array(fc.nat(20), { maxLength: 8 }), fc.jsonValue(), (path, value) => {
      try {
        for (const hour of readForecast(kind, spoilt(body, path, value)).hours)
          for (const one of Object.values(hour)) expect(one === null || Number.isFinite(one)).toBe(true);
      } catch (error) {
        expect(error).toBeInstanceOf(Unreadable);
      }
    }),
    { numRuns: 500 },
  );
});

describe('the hours that are kept', () => {
  const hour = (after: number, airTempC: number | null = 10) => ({
    at: HOUR_NOW + after * HOUR_MS,
    airTempC,
    relHumidityPct: null,
    radiationWm2: null,
    cloudPct: null,
    windMs: null,
    rainMm: null,
  });
  const kept = (hours: ReturnType<typeof hour>[], issuedAt = NOW) =>
    tidyHours(hours, issuedAt, NOW).map(({ at }) => (at - HOUR_NOW) / HOUR_MS);

  it('rise, and begin with the hour in which the forecast was issued', () => {
    expect(kept([hour(3), hour(-2), hour(0), hour(1), hour(-1)])).toEqual([0, 1, 3]);
  });

  it('end after ten days', () => {
    expect(kept(Array.from({ length: 400 }, (_, after) => hour(after))).at(-1)).toBe(239);
  });

  it.each([
    ['nothing', [], 'It holds no hours.'],
    ['the past alone', [hour(-3), hour(-2)], 'It holds no hour to come: the last is 2026-06-01 04:00 UTC.'],
    ['no temperature', [hour(1, null), hour(2, null)], 'It holds no air temperature.'],
    ['an hour twice', [hour(1), hour(1)], 'The hour 2026-06-01 07:00 UTC comes twice.'],
    ['half hours', [hour(0.5)], '2026-06-01 06:30 UTC is no full hour. Have the forecast given in UTC, hour by hour.'],
  ])('are refused when there is %s', (_, hours, said) => {
    expect(() => kept(hours)).toThrow(said);
  });
});
