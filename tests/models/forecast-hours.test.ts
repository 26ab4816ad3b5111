import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ForecastHour } from '../../src/domain/forecast.js';
import type { RollUp } from '../../src/domain/quantities.js';
import { clearSkyMeans, wholeHours } from '../../src/models/forecast-hours.js';
import { observedHours } from '../../src/models/outdoor-hours.js';
import { clearSkyAt } from '../../src/science/radiation.js';

const HOUR_MS = 3_600_000;
const T0 = Date.UTC(2026, 5, 1, 6);
const PLACE = { latitudeDeg: 50, longitudeDeg: 0, elevationM: 100 };
const step = (after: number, more: Partial<ForecastHour> = {}): ForecastHour => ({
  at: T0 + after * HOUR_MS,
  airTempC: null,
  relHumidityPct: null,
  radiationWm2: null,
  cloudPct: null,
  windMs: null,
  rainMm: null,
  ...more,
});
const flat = () => 400;

describe('hours of a forecast', () => {
  it('are means: from the moment they begin to the next', () => {
    const hours = wholeHours([step(0, { airTempC: 10 }), step(1, { airTempC: 12 }), step(2, { airTempC: 11 })], flat);
    expect(hours.map(({ airTempC }) => airTempC)).toEqual([11, 11.5, 11]);
  });

  it('fill steps of six hours along the straight line, but not what is told of one hour alone', () => {
    const hours = wholeHours(
      [step(0, { airTempC: 10, radiationWm2: 300, rainMm: 2 }), step(6, { airTempC: 16, radiationWm2: 100 })],
      flat,
    );
    expect(hours.map(({ at }) => (at - T0) / HOUR_MS)).toEqual([0, 1, 2, 3, 4, 5, 6]);
    expect(hours.map(({ airTempC }) => airTempC)).toEqual([10.5, 11.5, 12.5, 13.5, 14.5, 15.5, 16]);
    expect(hours.map(({ radiationWm2 }) => radiationWm2)).toEqual([300, null, null, null, null, null, 100]);
    expect(hours.every(({ rainMm }) => rainMm === null)).toBe(true);
  });

  it('leave a gap of more than six hours as it is, and make up no end that is missing', () => {
    const hours = wholeHours([step(0, { airTempC: 10 }), step(7, { airTempC: 16 }), step(10)], flat);
    expect(hours.map(({ at, airTempC }) => [(at - T0) / HOUR_MS, airTempC])).toEqual([
      [0, 10],
      [7, null],
      [8, null],
      [9, null],
      [10, null],
    ]);
    expect(wholeHours([step(0, { airTempC: 10 }), step(1)], flat)[0]?.airTempC).toBe(10);
  });

  it('work radiation out from the cloud where it is not told, and say so', () => {
    const [clear, half, told] = wholeHours(
      [step(0, { cloudPct: 0 }), step(1, { cloudPct: 0 }), step(2, { cloudPct: 90, radiationWm2: 55 })],
      flat,
    );
    expect(clear).toMatchObject({ radiationWm2: 400, radiationEstimated: true });
    // 45 % of cloud as the hour's mean: 1 - 0.75 · 0.45^3.4 = 0.9504 (Kasten & Czeplak 1980).
    expect(half?.radiationWm2).toBeCloseTo(400 * 0.95034, 2);
    expect(told).toMatchObject({ radiationWm2: 55, radiationEstimated: false });
  });

  it('rise one by one within a step and never leave the span of its ends', () => {
    const steps = fc
      .array(
        fc.record({ wait: fc.integer({ min: 1, max: 9 }), airTempC: fc.double({ min: -30, max: 45, noNaN: true }) }),
        {
          minLength: 1,
          maxLength: 40,
        },
      )
      .map((some) => {
        let after = 0;
        return some.map(({ wait, airTempC }) => {
          after += wait;
          return step(after, { airTempC });
        });
      });
    fc.assert(
      fc.property(steps, (some) => {
        const hours = wholeHours(some, flat);
        const given = some.map(({ airTempC }) => airTempC ?? 0);
        for (const [index, hour] of hours.entries()) {
          expect(hour.airTempC).toBeGreaterThanOrEqual(Math.min(...given) - 1e-9);
          expect(hour.airTempC).toBeLessThanOrEqual(Math.max(...given) + 1e-9);
          if (index > 0) expect(hour.at).toBeGreaterThan(hours[index - 1]?.at ?? 0);
        }
        expect(hours.at(-1)?.at).toBe(some.at(-1)?.at);
      }),
    );
  });

  it('clear-sky means lie between the sky at both ends of a morning hour, and are the same when asked again', () => {
    const mean = clearSkyMeans(PLACE);
    const ends = [T0, T0 + HOUR_MS].map((at) => clearSkyAt(at, PLACE).globalWm2);
    expect(mean(T0)).toBeGreaterThan(Math.min(...ends));
    expect(mean(T0)).toBeLessThan(Math.max(...ends));
    expect(mean(T0)).toBe(mean(T0));
    expect(mean(Date.UTC(2026, 5, 1, 0))).toBe(0);
  });
});

describe('hours the outdoor sensors told', () => {
  const hour = (after: number, mean: number, swing = 0.2): RollUp => ({
    startMs: T0 + after * HOUR_MS,
    count: 6,
    min: mean - swing,
    mean,
    max: mean + swing,
    integral: mean * 3600,
    coveredSeconds: 3600,
  });
  const table = (hours: readonly RollUp[]) => new Map(hours.map((one) => [one.startMs, one]));
  const NONE = table([]);

  it('are taken as they came, without what no air has', () => {
    const found = observedHours(table([hour(0, 14), hour(1, -127), hour(2, 85), hour(3, 15)]), NONE, flat);
    expect([...found.airTempC.values()]).toEqual([14, 15]);
  });

  it('leave out a sensor that stands still, and keep one that is only steady', () => {
    const still = (from: number, count: number, value: number) =>
      Array.from({ length: count }, (_, index) => hour(from + index, value, 0));
    const found = observedHours(
      table([
        hour(0, 14),
        ...still(1, 5, 14.5),
        hour(6, 15),
        ...still(7, 6, 15.5),
        hour(13, 16),
        ...still(14, 6, 16.5),
      ]),
      NONE,
      flat,
    );
    // Five equal hours may be a foggy night; six are not the air.
    expect([...found.airTempC.keys()].map((at) => (at - T0) / HOUR_MS)).toEqual([0, 1, 2, 3, 4, 5, 6, 13]);
  });

  it('two runs with silence between are two runs', () => {
    const hours = [0, 1, 2, 3, 9, 10, 11, 12].map((after) => hour(after, 14.5, 0));
    expect(observedHours(table(hours), NONE, flat).airTempC.size).toBe(8);
  });

  it('take light by day only, and not from a sensor that stays dark or stands still', () => {
    const dark = Array.from({ length: 5 }, (_, after) => hour(after, 0, 0));
    expect(observedHours(NONE, table(dark), flat).radiationWm2.size).toBe(0);
    expect(observedHours(NONE, table([hour(0, 3), hour(1, 250), hour(2, 9000)]), flat).radiationWm2.size).toBe(2);
    expect(observedHours(NONE, table([hour(0, 3), hour(1, 250)]), () => 20).radiationWm2.size).toBe(0);
  });
});
