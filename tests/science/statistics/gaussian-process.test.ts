import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../../src/science/guards.js';
import { choleskyFactor, solveCholesky } from '../../../src/science/statistics/cholesky.js';
import { fitProcess, predictProcess } from '../../../src/science/statistics/gaussian-process.js';

describe('Cholesky decomposition', () => {
  it('gives the factor of the textbook matrix', () => {
    // [4 12 -16; 12 37 -43; -16 -43 98] = L L' with L = [2; 6 1; -8 5 3], a worked example found in many textbooks.
    const lower = choleskyFactor([4, 12, -16, 12, 37, -43, -16, -43, 98], 3);
    expect([...lower]).toEqual([2, 0, 0, 6, 1, 0, -8, 5, 3]);
    const x = solveCholesky(lower, 3, [4 + 24 - 48, 12 + 74 - 129, -16 - 86 + 294]);
    expect([...x].map((value) => Math.round(value * 1e9) / 1e9)).toEqual([1, 2, 3]);
  });

  it('wants a square of numbers', () => {
    expect(() => choleskyFactor([1, 2, 3], 2)).toThrow('number of entries');
    for (const broken of [
      [Number.NaN, 0, 0, 1],
      [1, 0, Number.NaN, 1],
      [1, 0, 0, Number.NaN],
      [1, 0, 0, Infinity],
    ])
      expect(() => choleskyFactor(broken, 2), `${broken}`).toThrow(PhysicsRangeError);
  });
});

describe('Gaussian process regression', () => {
  it('weighs one value by signal over signal plus noise', () => {
    // Rasmussen & Williams (2006), eq. 2.25-2.26 with one value: mean k y / (k + n), variance k - k²/(k + n).
    const fit = fitProcess([4], [3], 1, 1);
    const there = predictProcess(fit, [4], 4);
    expect(there.mean).toBeCloseTo(2.4, 12);
    expect(there.variance).toBeCloseTo(0.8, 12);
  });

  it('agrees with ridge regression for a linear kernel', () => {
    // k(x, z) = x z with noise 0.5 is ridge regression: slope = sum xy / (sum xx + 0.5).
    const xs = [1, 2, 3];
    const ys = [1.1, 1.9, 3.2];
    const kernel = xs.flatMap((x) => xs.map((z) => x * z));
    const slope = (1.1 + 3.8 + 9.6) / (14 + 0.5);
    const fit = fitProcess(kernel, ys, 0.5, 1);
    expect(
      predictProcess(
        fit,
        xs.map((x) => 5 * x),
        25,
      ).mean,
    ).toBeCloseTo(5 * slope, 10);
  });

  it('believes an odd value less in the second pass', () => {
    const xs = Array.from({ length: 11 }, (_, i) => i / 5 - 1);
    const kernel = xs.flatMap((x) => xs.map((z) => 10 + 10 * x * z));
    const ys = xs.map((x, i) => (i === 5 ? 8 : x));
    const middle = (passes: number) =>
      predictProcess(
        fitProcess(kernel, ys, 0.05, passes),
        xs.map(() => 10),
        10,
      ).mean;
    // Least squares moves the middle of the line by 8 / 11; Huber weights leave it where most values lie.
    expect(middle(1)).toBeCloseTo(8 / 11, 2);
    expect(middle(3)).toBeLessThan(0.2);
    expect(fitProcess(kernel, ys, 0.05, 2).trust[5]).toBeLessThan(0.2);
  });

  it('knows more with values than without, and never less than nothing', () => {
    const number = (bound: number) => fc.double({ min: -bound, max: bound, noNaN: true });
    const k = (a: number, b: number) => Math.exp(-((a - b) ** 2) / 2);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(number(3), number(5)), { minLength: 1, maxLength: 15 }),
        number(10),
        (pairs, at) => {
          const kernel = pairs.flatMap(([a]) => pairs.map(([b]) => k(a, b)));
          const values = pairs.map(([, y]) => y);
          const cross = pairs.map(([a]) => k(a, at));
          const there = predictProcess(fitProcess(kernel, values, 0.1), cross, 1);
          expect(there.variance).toBeGreaterThanOrEqual(0);
          expect(there.variance).toBeLessThanOrEqual(1 + 1e-9);
          expect(Number.isFinite(there.mean)).toBe(true);
        },
      ),
    );
  });

  it('says what was wrong', () => {
    expect(() => fitProcess([], [], 1)).toThrow('number of values');
    expect(() => fitProcess([1], [Number.NaN], 1)).toThrow('value');
    expect(() => fitProcess([1], [1], 0)).toThrow('noiseVariance');
    expect(() => predictProcess(fitProcess([1], [1], 1), [1, 2], 1)).toThrow('number of covariances');
  });
});
