import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addDays, type LocalDay } from '../../src/domain/time.js';
import type { ClimateDay } from '../../src/models/house-climate.js';
import { type DayExtremes, hotDryRun, warmthSince, wetSurface } from '../../src/models/pest-pressure.js';

const SINCE = '2026-03-03';
const MEALYBUG = { lowerC: 8.5, degreeDays: 667 };
/** Days after the look, the first of them at index 0. */
const spell = (days: readonly (DayExtremes | undefined)[]): ReadonlyMap<LocalDay, DayExtremes> =>
  new Map(days.flatMap((air, index) => (air ? [[addDays(SINCE, index + 1), air] as const] : [])));
const steady = (count: number, tempC: number) => Array.from({ length: count }, () => ({ minC: tempC, maxC: tempC }));

describe('warmth since a look', () => {
  it.each([
    // Development takes K / (T - base) days: 667 / (25 - 8.5) = 40.4 and 667 / (20 - 8.5) = 58 days
    // (Karacaoglu & Satar 2017, Turk. J. Entomol. 41:147-157, citrus mealybug).
    [25, MEALYBUG, 41],
    [20, MEALYBUG, 58],
    // 146.5 / (30 - 12.5) = 8.4 days (two-spotted mite, base 12.5 °C, 146.5 degree-days).
    [30, { lowerC: 12.5, degreeDays: 146.5 }, 9],
  ])('at a steady %d °C reaches a generation when development does', (tempC, trigger, day) => {
    const warmth = warmthSince(spell(steady(80, tempC)), SINCE, addDays(SINCE, 81), trigger);
    expect(warmth.reachedOn).toBe(addDays(SINCE, day));
    expect(warmth.degreeDays).toBeCloseTo(80 * (tempC - trigger.lowerC), 6);
    expect(warmth).toMatchObject({ days: 80, heard: 80 });
  });

  it('counts the warm hours of a day whose mean is below the threshold', () => {
    // A sine from 0 to 15 °C above 8.5: angle asin(1/7.5), [(7.5 - 8.5)(pi/2 - angle) + 7.5 cos(angle)] / pi = 1.9086,
    // by hand from the formula of Baskerville & Emin (1969).
    const warmth = warmthSince(spell([{ minC: 0, maxC: 15 }]), SINCE, addDays(SINCE, 2), MEALYBUG);
    expect(warmth.degreeDays).toBeCloseTo(1.9086, 4);
  });

  it('counts neither the day of the look nor this morning’s', () => {
    const days = new Map([...spell(steady(10, 20)), [SINCE, { minC: 40, maxC: 40 }]]);
    expect(warmthSince(days, SINCE, addDays(SINCE, 4), MEALYBUG)).toMatchObject({ days: 3, degreeDays: 34.5 });
    expect(warmthSince(days, SINCE, addDays(SINCE, 1), MEALYBUG)).toEqual({ degreeDays: 0, days: 0, heard: 0 });
    expect(warmthSince(days, SINCE, SINCE, MEALYBUG).degreeDays).toBe(0);
  });

  it('takes a few silent days like the others, and calls the warmth unknown when most are silent', () => {
    const gaps = steady(10, 18.5).map((air, index) => (index % 3 === 1 ? undefined : air));
    expect(warmthSince(spell(gaps), SINCE, addDays(SINCE, 11), MEALYBUG)).toMatchObject({
      degreeDays: 100,
      days: 10,
      heard: 7,
    });
    const silent = steady(10, 18.5).map((air, index) => (index < 5 ? air : undefined));
    expect(warmthSince(spell(silent), SINCE, addDays(SINCE, 11), MEALYBUG)).toEqual({
      degreeDays: undefined,
      days: 10,
      heard: 5,
    });
  });

  it('a warmer spell is never told later', () => {
    const day = fc.record({
      minC: fc.double({ min: -5, max: 20, noNaN: true }),
      more: fc.double({ min: 0, max: 20, noNaN: true }),
    });
    fc.assert(
      fc.property(
        fc.array(day, { minLength: 1, maxLength: 120 }),
        fc.double({ min: 0, max: 8, noNaN: true }),
        (days, warmer) => {
          const of = (by: number) =>
            warmthSince(
              spell(days.map(({ minC, more }) => ({ minC: minC + by, maxC: minC + more + by }))),
              SINCE,
              addDays(SINCE, days.length + 1),
              { lowerC: 8.5, degreeDays: 100 },
            );
          const [cool, warm] = [of(0), of(warmer)];
          expect(warm.degreeDays as number).toBeGreaterThanOrEqual((cool.degreeDays as number) - 1e-9);
          if (cool.reachedOn !== undefined) expect((warm.reachedOn as LocalDay) <= cool.reachedOn).toBe(true);
        },
      ),
      { numRuns: 1000 },
    );
  });

  it('refuses figures that are none', () => {
    expect(() => warmthSince(spell([{ minC: Number.NaN, maxC: 20 }]), SINCE, addDays(SINCE, 2), MEALYBUG)).toThrow(
      /NaN/,
    );
    expect(() => warmthSince(new Map(), SINCE, SINCE, { lowerC: 8.5, degreeDays: 0 })).toThrow(/degreeDays/);
  });
});

const FIRST = '2026-07-01';
type Air = { max?: number; vpd?: number; mean?: number; et?: number };
const known = (value: number) => ({ value, certainty: 'known' as const });
const past = (...days: Air[]): ClimateDay[] =>
  days.map(({ max, vpd, mean, et }, index) => ({
    day: addDays(FIRST, index),
    ...(max !== undefined && { dayMaxC: known(max) }),
    ...(vpd !== undefined && { daylightVpdKPa: known(vpd) }),
    ...(mean !== undefined && { meanTempC: known(mean) }),
    ...(et !== undefined && { referenceEtMm: known(et) }),
  }));

describe('hot dry days in a row', () => {
  const LIMITS = { vpdAboveKPa: 2, dayMaxAboveC: 28 };
  const hot: Air = { max: 33.4, vpd: 2.6 };

  it('are counted back from yesterday, to the first that was not', () => {
    expect(hotDryRun(past(hot, { max: 28, vpd: 2.6 }, hot, hot, hot), undefined, LIMITS)).toEqual({
      days: 3,
      vpdKPa: 2.6,
      dayMaxC: 33.4,
    });
    expect(hotDryRun(past(hot, hot, { max: 33, vpd: 2 }), undefined, LIMITS)).toBeUndefined();
  });

  it('begin anew after a look, and a day that was not heard is no such day', () => {
    expect(hotDryRun(past(hot, hot, hot, hot), addDays(FIRST, 1), LIMITS)?.days).toBe(2);
    expect(hotDryRun(past(hot, { max: 33 }, hot), undefined, LIMITS)?.days).toBe(1);
    expect(hotDryRun([], undefined, LIMITS)).toBeUndefined();
  });
});

describe('a wet surface', () => {
  const pot = (drinks: readonly [number, number][], topFactor = 1) => ({
    readilyEvaporableMm: 3,
    topFactor,
    drinksMm: new Map(drinks.map(([index, mm]) => [addDays(FIRST, index), mm])),
  });
  const days = Array.from({ length: 10 }, () => ({ mean: 22, et: 1 }));

  it('lasts until its readily evaporable water has gone, at the rate of the reference evaporation', () => {
    // FAO-56 stage 1: 3 mm at 1 mm a day stay wet for the day of the drink and the two after it.
    expect(wetSurface(past(...days), pot([[2, 20]]), 10)).toEqual({ wetDays: 3, days: 10, meanTempC: 22 });
    // Grit that leaves half of the evaporation doubles the time.
    expect(wetSurface(past(...days), pot([[2, 20]], 0.5), 10)?.wetDays).toBe(6);
    // A light drink of 1.5 mm lasts into the second day.
    expect(wetSurface(past(...days), pot([[2, 1.5]]), 10)?.wetDays).toBe(2);
  });

  it('looks at the last days alone, and knows the drink before them', () => {
    expect(wetSurface(past(...days), pot([[5, 3]]), 4)).toMatchObject({ wetDays: 2, days: 4 });
    expect(wetSurface(past(...days), pot([]), 4)).toMatchObject({ wetDays: 0 });
  });

  it('is not known where the house was silent; single silent days dry nothing', () => {
    const silent = days.map((day, index) => (index < 5 ? { mean: 22 } : day));
    expect(wetSurface(past(...silent), pot([[0, 3]]), 10)).toBeUndefined();
    const gap = days.map((day, index) => (index === 3 ? { mean: 22 } : day));
    expect(wetSurface(past(...gap), pot([[2, 3]]), 10)?.wetDays).toBe(4);
    expect(wetSurface([], pot([]), 10)).toBeUndefined();
  });
});
