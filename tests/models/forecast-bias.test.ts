import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type BiasSample,
  biasSummary,
  correctionAt,
  learnBias,
  NOTHING_LEARNED,
  sunHourOf,
} from '../../src/models/forecast-bias.js';
import { HOUR_MS, type SimulatedPlace, simulate, T0 } from './forecast-simulator.js';

const DAY_MS = 24 * HOUR_MS;
const onDay = (days: number) => T0 + days * DAY_MS;
const learned = (place: SimulatedPlace) => learnBias(simulate(place));

describe('temperature', () => {
  it('is left as it is, with a spread that widens with the lead, before anything is learned', () => {
    const spreads = [1, 13, 25, 37, 50, 100].map((lead) => {
      const { addC, spreadC, lightFactor } = correctionAt(NOTHING_LEARNED, lead, 14, T0);
      expect(addC).toBe(0);
      expect(lightFactor).toBe(1);
      return spreadC;
    });
    expect(spreads).toEqual([...spreads].sort((a, b) => a - b));
    // Archived US forecasts of the daily high (2021): 1.06 °C mean error at 12 h is 1.3 °C of standard deviation.
    expect(spreads[0]).toBeGreaterThan(1.3);
  });

  it('follows a bias that is the same at every hour', () => {
    const bias = learned({ days: 30, seed: 1, biasC: () => 1.5 });
    for (const hour of [2, 8, 14, 20])
      for (const lead of [6, 30]) expect(correctionAt(bias, lead, hour, onDay(30)).addC).toBeCloseTo(1.5, 0);
    expect(bias.days).toBe(30);
  });

  it('follows a bias that belongs to the hour: nights colder, afternoons warmer than told', () => {
    const biasC = (hour: number) => (hour < 6 ? -2 : hour >= 12 && hour < 17 ? 1 : 0);
    const bias = learned({ days: 45, seed: 2, biasC });
    const addC = (hour: number) => correctionAt(bias, 6, hour, onDay(45)).addC;
    for (const [hour, known] of [
      [3, -2],
      [9, 0],
      [14, 1],
      [20, 0],
    ] as const)
      expect(Math.abs(addC(hour) - known), `hour ${hour}`).toBeLessThan(0.45);
  });

  it('tells leads apart where they differ, and lends them to each other where little is known', () => {
    const bias = learned({ days: 60, seed: 3, biasC: (_, lead) => (lead < 24 ? 0.5 : 2.5), leads: [6, 30] });
    const addC = (lead: number) => correctionAt(bias, lead, 12, onDay(60)).addC;
    expect(addC(6)).toBeLessThan(1.2);
    expect(addC(30)).toBeGreaterThan(1.8);
    // Never seen at this lead: what the hour has at other leads.
    expect(addC(60)).toBeGreaterThan(0.8);
    expect(addC(60)).toBeLessThan(2.2);
  });

  it('learns how far off it is: the spread comes near the one put in', () => {
    for (const noiseC of [0.7, 2.5]) {
      const bias = learned({ days: 60, seed: 4, noiseC });
      const { spreadC } = correctionAt(bias, 6, 14, onDay(60));
      expect(spreadC / noiseC, `${noiseC} °C`).toBeGreaterThan(0.8);
      expect(spreadC / noiseC, `${noiseC} °C`).toBeLessThan(1.4);
    }
  });

  it('forgets: a change is followed within weeks, and what is old fades back to nothing', () => {
    const before = learned({ days: 60, seed: 5, biasC: () => -2 });
    const changed = learnBias(simulate({ days: 40, seed: 6, biasC: () => 2, firstAt: onDay(60) }), before);
    expect(correctionAt(changed, 6, 12, onDay(100)).addC).toBeGreaterThan(0.7);
    expect(Math.abs(correctionAt(before, 6, 12, onDay(60 + 365)).addC)).toBeLessThan(0.1);
    expect(correctionAt(before, 6, 12, onDay(60 + 365)).spreadC).toBeCloseTo(
      correctionAt(NOTHING_LEARNED, 6, 12, T0).spreadC,
      1,
    );
  });
});

describe('a sensor gone wrong', () => {
  it('that now and then tells nonsense moves nothing', () => {
    // Every fourth day at some hour 18 °C too low, and every second day at some hour a sentinel.
    const sensor = (value: number, at: number) => {
      const hour = at / HOUR_MS;
      return hour % 97 === 0 ? value - 18 : hour % 41 === 0 ? -127 : value;
    };
    const bias = learned({ days: 45, seed: 7, biasC: () => 1, sensor });
    for (const hour of [0, 8, 16]) expect(Math.abs(correctionAt(bias, 6, hour, onDay(45)).addC - 1)).toBeLessThan(0.7);
  });

  it('that the sun shines on is noticed, and the sun’s part is left out', () => {
    const bias = learned({ days: 45, seed: 8, biasC: () => 0.5, sunHeatingC: 7 });
    const noon = correctionAt(bias, 6, 12, onDay(45)).addC;
    // Full sun adds 7 °C to the reading, 4.6 °C on the mean of the days; the air itself is 0.5 °C warmer than told. Of
    // the sun's part a third may stay: the forecast sun is 15 % off, and that flattens the slope.
    expect(noon).toBeLessThan(2);
    expect(noon).toBeGreaterThan(-0.7);
    expect(correctionAt(bias, 6, 1, onDay(45)).addC).toBeCloseTo(0.5, 0);
    expect(biasSummary(bias, onDay(45)).sunHeatedC).toBeGreaterThan(4);
    expect(biasSummary(learned({ days: 45, seed: 8, biasC: () => 0.5 }), onDay(45)).sunHeatedC).toBeNull();
  });

  it('that the sun shines on where every day is clear is held to 3 °C over its nights', () => {
    const samples = simulate({ days: 45, seed: 9, sunHeatingC: 9 }).map((sample) => {
      const sun = 800 * Math.max(0, Math.sin(((sample.sunHour - 5.5) / 13) * Math.PI));
      const truth = (sample.observedC ?? 0) - (9 * (sample.observedWm2 ?? 0)) / 800;
      return { ...sample, forecastWm2: sun, observedC: truth + (9 * sun) / 800 };
    });
    const { addC } = correctionAt(learnBias(samples), 6, 12, onDay(45));
    expect(addC).toBeGreaterThan(1.5);
    expect(addC).toBeLessThan(3.5);
  });
});

describe('radiation', () => {
  it('takes the factor put in, within its bounds', () => {
    for (const [lightFactor, told] of [
      [0.8, 0.8],
      [1.2, 1.2],
      [1.9, 1.5],
    ] as const) {
      const bias = learned({ days: 40, seed: 10, lightFactor });
      expect(correctionAt(bias, 6, 12, onDay(40)).lightFactor).toBeCloseTo(told, 1);
    }
  });

  it('does not believe a sensor in another unit, in the dark, or under a roof', () => {
    for (const lightFactor of [1000, 0.001, 0, 0.3]) {
      const bias = learned({ days: 40, seed: 11, lightFactor });
      const { lightFactor: factor, lightSpread } = correctionAt(bias, 6, 12, onDay(40));
      expect(factor).toBe(1);
      expect(lightSpread).toBeCloseTo(correctionAt(NOTHING_LEARNED, 6, 12, T0).lightSpread, 10);
      expect(biasSummary(bias, onDay(40)).lightDoubted).toBe(true);
    }
  });

  it('learns how far off it is', () => {
    const { lightSpread } = correctionAt(learned({ days: 60, seed: 12 }), 6, 12, onDay(60));
    // 15 % of noise was put in; the prior of 30 % still has its say.
    expect(lightSpread).toBeGreaterThan(0.12);
    expect(lightSpread).toBeLessThan(0.2);
  });
});

describe('whatever the readings', () => {
  const value = fc.option(fc.double({ min: -300, max: 5000, noNaN: false }), { nil: null });
  const sample = fc.record({
    leadHours: fc.double({ min: -5, max: 300, noNaN: true }),
    sunHour: fc.integer({ min: 0, max: 23 }),
    forecastC: value,
    observedC: value,
    forecastWm2: value,
    observedWm2: value,
  });
  const samples = fc
    .array(sample, { maxLength: 80 })
    .map((some) => some.map((one, index): BiasSample => ({ ...one, at: T0 + index * HOUR_MS })));

  it('the correction is bounded and the spread is above zero', () => {
    fc.assert(
      fc.property(
        samples,
        fc.double({ min: 0, max: 300, noNaN: true }),
        fc.integer({ min: 0, max: 23 }),
        (some, lead, hour) => {
          const { addC, spreadC, lightFactor, lightSpread } = correctionAt(
            learnBias(some),
            lead,
            hour,
            T0 + 4 * DAY_MS,
          );
          expect(Math.abs(addC)).toBeLessThanOrEqual(6);
          expect(lightFactor).toBeGreaterThanOrEqual(0.6);
          expect(lightFactor).toBeLessThanOrEqual(1.5);
          for (const spread of [spreadC, lightSpread]) {
            expect(Number.isFinite(spread)).toBe(true);
            expect(spread).toBeGreaterThan(0);
          }
        },
      ),
    );
  });

  it('learning in two goes is learning in one, and leaves what was learned before as it was', () => {
    fc.assert(
      fc.property(samples, fc.nat(80), (some, cut) => {
        const first = learnBias(some.slice(0, cut));
        const copy = structuredClone(first);
        expect(learnBias(some.slice(cut), first)).toEqual(learnBias(some));
        expect(first).toEqual(copy);
      }),
    );
  });

  it('hours that were not measured or not forecast teach nothing', () => {
    const unmeasured = simulate({ days: 5, seed: 13 }).map((one) => ({ ...one, observedC: null, observedWm2: null }));
    expect(learnBias(unmeasured)).toEqual(NOTHING_LEARNED);
  });
});

it('hours of the sun: noon at Greenwich is 12, at 90° east it is evening, at 75° west morning', () => {
  const noon = Date.UTC(2026, 0, 1, 12);
  expect([0, 90, -75, 179.9, -180].map((longitude) => sunHourOf(noon, longitude))).toEqual([12, 18, 7, 23, 0]);
});
