import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  averageDegreeDays,
  shareOfDayAbove,
  sineDegreeDays,
  triangleDegreeDays,
} from '../../src/science/degree-days.js';
import { PhysicsRangeError } from '../../src/science/guards.js';

/** Minimum, range, lower threshold and the gap to the upper one. */
const day = fc
  .record({
    min: fc.double({ min: -10, max: 30, noNaN: true }),
    range: fc.double({ min: 0.1, max: 25, noNaN: true }),
    lower: fc.double({ min: 0, max: 20, noNaN: true }),
    gap: fc.double({ min: 1, max: 25, noNaN: true }),
  })
  .map(({ min, range, lower, gap }) => ({ min, max: min + range, lower, upper: lower + gap }));

/** The same day summed numerically: the check that no formula is shared with. */
function summed(min: number, max: number, rate: (temp: number) => number): number {
  const steps = 20_000;
  let sum = 0;
  for (let step = 0; step < steps; step += 1) {
    const angle = (2 * Math.PI * (step + 0.5)) / steps;
    sum += rate((min + max) / 2 + ((max - min) / 2) * Math.sin(angle));
  }
  return sum / steps;
}

describe('single sine', () => {
  it('equals the numerical sum over the day, for each cut-off', () => {
    fc.assert(
      fc.property(day, ({ min, max, lower, upper }) => {
        const plain = (temp: number) => Math.max(0, temp - lower);
        const horizontal = (temp: number) => Math.min(plain(temp), upper - lower);
        const vertical = (temp: number) => (temp > upper ? 0 : plain(temp));
        const close = (ours: number, rate: (temp: number) => number, slack: number) =>
          expect(Math.abs(ours - summed(min, max, rate))).toBeLessThan(slack);
        close(sineDegreeDays(min, max, { lowerC: lower }), plain, 0.002);
        close(sineDegreeDays(min, max, { lowerC: lower, upperC: upper }), horizontal, 0.002);
        // The step in the rate limits the numerical sum to one part in 20 000 of the gap, four crossings at most.
        close(sineDegreeDays(min, max, { lowerC: lower, upperC: upper, cutoff: 'vertical' }), vertical, 0.02);
      }),
      { numRuns: 60 },
    );
  });

  it('the share of the day above a level equals the numerical one', () => {
    fc.assert(
      fc.property(day, ({ min, max, upper }) => {
        const numeric = summed(min, max, (temp) => (temp > upper ? 1 : 0));
        expect(Math.abs(shareOfDayAbove(min, max, upper) - numeric)).toBeLessThan(0.001);
      }),
      { numRuns: 60 },
    );
  });
});

describe('every method', () => {
  it('is never negative, grows with the maximum, and shrinks with the lower threshold', () => {
    fc.assert(
      fc.property(day, ({ min, max, lower }) => {
        const methods = [
          (a: number, b: number, level: number) => averageDegreeDays(a, b, level),
          (a: number, b: number, level: number) => triangleDegreeDays(a, b, { lowerC: level }),
          (a: number, b: number, level: number) => sineDegreeDays(a, b, { lowerC: level }),
        ];
        for (const method of methods) {
          const value = method(min, max, lower);
          expect(value).toBeGreaterThanOrEqual(0);
          expect(method(min, max + 1, lower)).toBeGreaterThanOrEqual(value - 1e-9);
          expect(method(min, max, lower + 1)).toBeLessThanOrEqual(value + 1e-9);
        }
      }),
    );
  });

  it('an upper threshold takes away: none >= horizontal >= intermediate, and vertical <= horizontal', () => {
    fc.assert(
      fc.property(day, ({ min, max, lower, upper }) => {
        for (const method of [triangleDegreeDays, sineDegreeDays]) {
          const none = method(min, max, { lowerC: lower });
          const horizontal = method(min, max, { lowerC: lower, upperC: upper });
          const intermediate = method(min, max, { lowerC: lower, upperC: upper, cutoff: 'intermediate' });
          const vertical = method(min, max, { lowerC: lower, upperC: upper, cutoff: 'vertical' });
          expect(horizontal).toBeLessThanOrEqual(none + 1e-9);
          expect(intermediate).toBeLessThanOrEqual(horizontal + 1e-9);
          expect(vertical).toBeLessThanOrEqual(horizontal + 1e-9);
          expect(Math.min(horizontal, intermediate, vertical)).toBeGreaterThanOrEqual(0);
        }
      }),
    );
  });

  it('agrees on a day that lies wholly between the thresholds, and on a day without range', () => {
    expect(sineDegreeDays(12, 28, { lowerC: 10, upperC: 30 })).toBe(10);
    expect(triangleDegreeDays(12, 28, { lowerC: 10, upperC: 30 })).toBe(10);
    expect(sineDegreeDays(15, 15, { lowerC: 10 })).toBe(5);
    expect(triangleDegreeDays(16, 16, { lowerC: 10, upperC: 15, cutoff: 'vertical' })).toBe(0);
    expect(sineDegreeDays(10, 10, { lowerC: 10 })).toBe(0);
  });
});

describe('refusals', () => {
  it('NaN, extremes mixed up and thresholds mixed up are refused with a named error', () => {
    for (const call of [
      () => averageDegreeDays(Number.NaN, 20, 10),
      () => sineDegreeDays(10, Number.NaN, { lowerC: 10 }),
      () => sineDegreeDays(10, 20, { lowerC: Number.NaN }),
      () => triangleDegreeDays(20, 10, { lowerC: 5 }),
      () => sineDegreeDays(10, 20, { lowerC: 10, upperC: 10 }),
      () => sineDegreeDays(10, 20, { lowerC: 10, upperC: Number.NaN }),
      () => shareOfDayAbove(10, 20, Number.NaN),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
  });
});
