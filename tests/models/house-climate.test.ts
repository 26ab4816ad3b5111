import { describe, expect, it } from 'vitest';
import type { RollUp } from '../../src/domain/quantities.js';
import { addDays, civilNoon, localDayBounds } from '../../src/domain/time.js';
import {
  type ClimateDayFrame,
  type ClimatePlace,
  climateDay,
  type HouseHours,
  hoursOfSensors,
  meanFigure,
} from '../../src/models/house-climate.js';
import { glassReferenceEtMm } from '../../src/science/evaporation.js';

const HOUR = 3_600_000;
const zone = 'Europe/Berlin';
const place: ClimatePlace = { pressureKPa: 101.3, fans: false, wetMarginC: 2 };

const frameOf = (day: string): ClimateDayFrame => {
  const noonMs = civilNoon(zone, day);
  return {
    day,
    bounds: localDayBounds(zone, day),
    noonMs,
    noonBeforeMs: civilNoon(zone, addDays(day, -1)),
    sunriseMs: noonMs - 6 * HOUR,
    sunsetMs: noonMs + 6 * HOUR,
    alwaysDown: false,
  };
};

const rollUp = (startMs: number, mean: number, spread = 0): RollUp => ({
  startMs,
  count: 6,
  min: mean - spread,
  mean,
  max: mean + spread,
  integral: mean * 3600,
  coveredSeconds: 3600,
});

/** Hours over a span; a value of undefined is an hour without readings. */
const hours = (fromMs: number, toMs: number, value: (at: number) => number | undefined, spread = 0): RollUp[] => {
  const table: RollUp[] = [];
  for (let at = fromMs; at < toMs; at += HOUR) {
    const mean = value(at);
    if (mean !== undefined) table.push(rollUp(at, mean, spread));
  }
  return table;
};

const house = (frame: ClimateDayFrame, parts: Partial<Record<keyof HouseHours, (at: number) => number | undefined>>) =>
  Object.fromEntries(
    Object.entries(parts).map(([quantity, value]) => [
      quantity,
      hoursOfSensors([hours(frame.noonBeforeMs - HOUR, frame.bounds.endMs + HOUR, value as (at: number) => number)]),
    ]),
  ) as HouseHours;

const frame = frameOf('2026-06-10');
const sunny = (at: number) => (at >= (frame.sunriseMs as number) && at < (frame.sunsetMs as number) ? 500 : 0);

describe('the climate of one day', () => {
  it('tells night, day, light and evaporation from whole hours', () => {
    const day = climateDay(
      frame,
      house(frame, { airTempC: (at) => (sunny(at) ? 26 : 12), relHumidityPct: () => 50, ppfdUmol: sunny }),
      {},
      place,
      frame.bounds.endMs,
    );
    expect(day.nightMinC).toEqual({ value: 12, certainty: 'known' });
    expect(day.dayMaxC).toEqual({ value: 26, certainty: 'known' });
    // While the sun is up 26 °C at 50 %: half of 3.361 kPa, saturation by Allen et al. 1998, FAO-56 Eq. 11.
    expect(day.daylightVpdKPa?.value).toBeCloseTo(1.68, 2);
    // 12 h at 500 µmol m⁻² s⁻¹ are 500 × 43,200 / 1e6 = 21.6 mol, by definition of the daily light integral.
    expect(day.dli?.value).toBeCloseTo(21.6, 6);
    expect(day.peakPpfdUmol?.value).toBe(500);
    expect(day.referenceEtMm?.value).toBeCloseTo(
      glassReferenceEtMm({
        airTempC: 19,
        vpdKPa: day.meanVpdKPa?.value ?? Number.NaN,
        radiationMJm2: 21.6 / 2.0565,
        periodSeconds: 86_400,
        pressureKPa: 101.3,
      }),
      6,
    );
  });

  it('leaves unknown what was not heard, and estimates from most of the hours', () => {
    const half = climateDay(
      frame,
      house(frame, { airTempC: (at) => ((at / HOUR) % 2 === 0 ? 12 : undefined) }),
      {},
      place,
      frame.bounds.endMs,
    );
    expect(half).toEqual({ day: frame.day });
    const most = climateDay(
      frame,
      house(frame, { airTempC: (at) => ((at / HOUR) % 4 === 0 ? undefined : 12) }),
      {},
      place,
      frame.bounds.endMs,
    );
    expect(most.nightMinC).toEqual({ value: 12, certainty: 'estimated' });
    expect(most.dli).toBeUndefined();
    expect(most.referenceEtMm).toBeUndefined();
  });

  it('tells the night at the morning round, and no maximum of a day that is not over', () => {
    const morning = (frame.sunriseMs as number) - HOUR;
    const heard = (at: number) => (at < morning ? 9 : undefined);
    const day = climateDay(frame, house(frame, { airTempC: heard }), {}, place, morning);
    expect(day.nightMinC).toEqual({ value: 9, certainty: 'known' });
    expect(day.dayMaxC).toBeUndefined();
  });

  it('says nothing of the night while it lasts', () => {
    const midnight = frame.bounds.startMs;
    const day = climateDay(frame, house(frame, { airTempC: () => 9 }), {}, place, midnight);
    expect(day.nightMinC).toBeUndefined();
  });

  it('counts wet hours only near the dew point and where grey mould grows', () => {
    // 95 % RH is 0.8 °C above the dew point, 80 % 3.4 °C (tabulated dew-point margins).
    const count = (tempC: number, humidity: number) =>
      climateDay(
        frame,
        house(frame, { airTempC: () => tempC, relHumidityPct: (at) => (at < frame.bounds.startMs ? humidity : 60) }),
        {},
        place,
        frame.bounds.endMs,
      ).wetHours?.value;
    expect(count(12, 95)).toBe(12);
    expect(count(12, 80)).toBe(0);
    expect(count(6, 95)).toBe(0);
  });

  it('falls back on outside light through the cover, and says that it estimates', () => {
    const day = climateDay(
      frame,
      {},
      house(frame, { radiationWm2: sunny }),
      { ...place, transmission: 0.6 },
      frame.bounds.endMs,
    );
    // 500 W/m² × 2.0565 µmol/J × 0.6 × 43,200 s
    expect(day.dli?.value).toBeCloseTo((500 * 2.0565 * 0.6 * 43_200) / 1e6, 3);
    expect(day.dli?.certainty).toBe('estimated');
  });

  it('counts 25 and 23 hours on the days the clocks change', () => {
    for (const [day, expected] of [
      ['2026-10-25', 25],
      ['2026-03-29', 23],
    ] as const) {
      const changing = frameOf(day);
      const lit = climateDay(
        { ...changing, sunriseMs: null, sunsetMs: null },
        house(changing, { ppfdUmol: () => 100 }),
        {},
        place,
        changing.bounds.endMs,
      );
      expect(lit.dli?.value).toBeCloseTo((100 * expected * 3600) / 1e6, 6);
    }
  });
});

describe('several sensors in a house', () => {
  it('count alike, and a half-heard hour counts half', () => {
    const table = hoursOfSensors([[rollUp(0, 10)], [{ ...rollUp(0, 20), integral: 20 * 1800, coveredSeconds: 1800 }]]);
    expect(table.get(0)).toMatchObject({ mean: 15, count: 12, coveredSeconds: 3600 });
    expect(table.get(0)?.integral).toBeCloseTo(((10 * 3600 + 20 * 1800) / 5400) * 3600, 6);
  });
});

describe('three sensors and more', () => {
  it('are told by the middle one: a sensor in the sun or gone wrong does not bend the house', () => {
    const hour = hoursOfSensors([[rollUp(0, 20)], [rollUp(0, 21)], [rollUp(0, 45)]]).get(0);
    expect(hour).toMatchObject({ mean: 21, min: 21, max: 21 });
    expect(hour?.integral).toBeCloseTo(21 * 3600, 6);
  });
});

describe('means over days', () => {
  const day = (value?: number) => ({
    day: '2026-06-01',
    ...(value !== undefined && { dayMaxC: { value, certainty: 'known' as const } }),
  });
  it('are known only when every day is', () => {
    expect(meanFigure([day(10), day(20), day(30), day(40)], (d) => d.dayMaxC)).toEqual({
      value: 25,
      certainty: 'known',
    });
    expect(meanFigure([day(10), day(20), day(30), day(40), day()], (d) => d.dayMaxC)?.certainty).toBe('estimated');
    expect(meanFigure([day(10), day(), day(), day(), day()], (d) => d.dayMaxC)).toBeUndefined();
  });
});
