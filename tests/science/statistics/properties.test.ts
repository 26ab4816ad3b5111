import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../../src/science/guards.js';
import { forwardFilter, predictBelief, updateBelief } from '../../../src/science/statistics/hidden-markov.js';
import { predictLevel, predictTrend, updateLevel, updateTrend } from '../../../src/science/statistics/kalman.js';
import {
  predictLeastSquares,
  startLeastSquares,
  updateLeastSquares,
} from '../../../src/science/statistics/least-squares.js';
import { errorFunction, normalCdf, normalQuantile } from '../../../src/science/statistics/normal.js';
import {
  conformalBound,
  conformalInterval,
  median,
  quantile,
  robustSpread,
} from '../../../src/science/statistics/quantiles.js';

const finite = fc.double({ min: -1000, max: 1000, noNaN: true });

describe('normal distribution', () => {
  it('matches the error function of Abramowitz & Stegun (1964), Table 7.1', () => {
    expect(errorFunction(0.5)).toBeCloseTo(0.5204998778, 10);
    expect(errorFunction(1)).toBeCloseTo(0.8427007929, 10);
    expect(errorFunction(1.5)).toBeCloseTo(0.9661051465, 10);
    expect(errorFunction(2)).toBeCloseTo(0.995322265, 10);
    expect(errorFunction(-1)).toBe(-errorFunction(1));
    // Both branches meet at 2.5; a step there would show as a wrong difference quotient.
    const slope = (errorFunction(2.5000001) - errorFunction(2.4999999)) / 2e-7;
    expect(slope).toBeCloseTo((2 / Math.sqrt(Math.PI)) * Math.exp(-6.25), 6);
  });
  it('quantile and share undo each other', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.0001, max: 0.9999, noNaN: true }), (share) => {
        expect(normalCdf(normalQuantile(share))).toBeCloseTo(share, 10);
      }),
    );
    expect(normalQuantile(0.975)).toBeCloseTo(1.959963985, 8);
  });
});

describe('quantiles', () => {
  it('follow Hyndman & Fan (1996), positions worked by hand for 1, 2, 3, 4 and 10', () => {
    const values = [10, 3, 1, 4, 2];
    // Type 7: h = 4 p + 1. Type 8: h = 5 p + (p + 1) / 3.
    expect(quantile(values, 0.9)).toBeCloseTo(7.6, 12);
    expect(quantile(values, 0.25)).toBe(2);
    expect(quantile(values, 0.25, 8)).toBeCloseTo(1 + (5 * 0.25 + 1.25 / 3 - 1), 12);
    expect(quantile(values, 0.9, 8)).toBe(10);
    expect(median(values)).toBe(3);
  });
  it('the robust spread ignores one wild value', () => {
    expect(robustSpread([1, 2, 3, 4, 5])).toBeCloseTo(1.4826, 10);
    expect(robustSpread([1, 2, 3, 4, 5000])).toBeCloseTo(1.4826, 10);
  });
  it('refuse an empty sample and NaN', () => {
    expect(() => quantile([], 0.5)).toThrow(PhysicsRangeError);
    expect(() => quantile([1, Number.NaN], 0.5)).toThrow(PhysicsRangeError);
  });
});

describe('conformal bounds', () => {
  it('take the ceil((n + 1) coverage)-th smallest', () => {
    const errors = Array.from({ length: 9 }, (_, i) => i + 1);
    expect(conformalBound(errors, 0.9)).toBe(9);
    expect(conformalBound(errors, 0.8)).toBe(8);
    expect(conformalBound(errors, 0.5)).toBe(5);
  });
  it('promise nothing from too few errors', () => {
    expect(conformalBound([1, 2, 3], 0.9)).toBe(Number.POSITIVE_INFINITY);
    expect(conformalInterval(10, [], 0.8)).toEqual({ low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY });
  });
  it('hold what they promise, whichever of exchangeable values comes last (Vovk et al. 2005)', () => {
    // Leave each value out in turn: the share inside is the coverage itself, not an estimate of it.
    fc.assert(
      fc.property(
        fc.array(finite, { minLength: 20, maxLength: 60 }),
        fc.constantFrom(0.5, 0.8, 0.9),
        (values, coverage) => {
          const inside = values.filter((value, i) => value <= conformalBound(values.toSpliced(i, 1), coverage)).length;
          expect(inside / values.length).toBeGreaterThanOrEqual(coverage - 1e-9);
        },
      ),
    );
  });
});

describe('recursive least squares', () => {
  it('recovers the coefficients of noiseless data whatever the forgetting', () => {
    fc.assert(
      fc.property(finite, finite, fc.double({ min: 0.9, max: 1, noNaN: true }), (a, b, forgetting) => {
        let state = startLeastSquares([0, 0], 1e6);
        for (let i = 0; i < 60; i += 1)
          state = updateLeastSquares(state, [1, (i * 7) % 5], a + b * ((i * 7) % 5), forgetting);
        expect(predictLeastSquares(state, [1, 10])).toBeCloseTo(a + 10 * b, 1);
      }),
    );
  });
  it('follows a change the sooner the more it forgets', () => {
    const afterChange = (forgetting: number): number => {
      let state = startLeastSquares([0], 1e6);
      for (let i = 0; i < 100; i += 1) state = updateLeastSquares(state, [1], i < 80 ? 5 : 9, forgetting);
      return state.coefficients[0] as number;
    };
    expect(afterChange(0.9)).toBeGreaterThan(afterChange(0.98));
    expect(afterChange(0.98)).toBeGreaterThan(afterChange(1));
  });
  it('refuses a regressor too many and NaN', () => {
    const state = startLeastSquares([0, 0], 1);
    expect(() => updateLeastSquares(state, [1], 2, 1)).toThrow(PhysicsRangeError);
    expect(() => updateLeastSquares(state, [1, 2], Number.NaN, 1)).toThrow(/observed/);
    expect(() => predictLeastSquares(state, [1, 2, 3])).toThrow(PhysicsRangeError);
  });
});

describe('Kalman filters', () => {
  it('tends to the steady prediction variance of the Nile model, 5501.3 (Durbin & Koopman 2012)', () => {
    let level = { mean: 0, variance: 1e7 };
    for (let i = 0; i < 100; i += 1) level = predictLevel(updateLevel(level, 1000, 15099), 1469.1);
    expect(level.variance).toBeCloseTo(5501.3, 0);
  });
  it('an observation never widens what is known and moves the level towards itself', () => {
    fc.assert(
      fc.property(finite, fc.double({ min: 0.01, max: 1e5, noNaN: true }), finite, (mean, variance, observed) => {
        const updated = updateLevel({ mean, variance }, observed, 4);
        expect(updated.variance).toBeLessThan(variance);
        expect((updated.mean - mean) * (observed - mean)).toBeGreaterThanOrEqual(0);
      }),
    );
  });
  it('a trend filter finds a straight line exactly and keeps its covariance positive', () => {
    let trend = { level: 0, rate: 0, levelVariance: 1e6, covariance: 0, rateVariance: 1e6 };
    for (let i = 1; i <= 200; i += 1)
      trend = updateTrend(predictTrend(trend, 0.5, { levelPerTime: 0, ratePerTime: 1e-9 }), 100 - 3 * i * 0.5, 0.01);
    expect(trend.rate).toBeCloseTo(-3, 3);
    expect(trend.levelVariance * trend.rateVariance).toBeGreaterThan(trend.covariance ** 2);
  });
  it('refuses time running backwards', () => {
    const trend = { level: 0, rate: 0, levelVariance: 1, covariance: 0, rateVariance: 1 };
    expect(() => predictTrend(trend, -1, { levelPerTime: 0, ratePerTime: 0 })).toThrow(/elapsed/);
  });
});

describe('hidden Markov filter', () => {
  const transition = [
    [0.9, 0.1, 0],
    [0, 0.8, 0.2],
    [0.3, 0, 0.7],
  ];
  it('keeps probabilities summing to 1 over a year of steps', () => {
    fc.assert(
      fc.property(
        fc.array(fc.constantFrom([0.9, 0.1, 0.1], [0.1, 0.9, 0.2]), { minLength: 365, maxLength: 365 }),
        (seen) => {
          const { beliefs, logLikelihood } = forwardFilter([1, 0, 0], transition, seen);
          const last = beliefs.at(-1) as number[];
          expect(last.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12);
          expect(Number.isFinite(logLikelihood)).toBe(true);
        },
      ),
      { numRuns: 20 },
    );
  });
  it('refuses signs that contradict every state, rows that do not sum to 1, and lists of another size', () => {
    expect(() => updateBelief([0.5, 0.5], [0, 0])).toThrow(/sum of probabilities/);
    expect(() =>
      predictBelief(
        [1, 0],
        [
          [0.5, 0.4],
          [0, 1],
        ],
      ),
    ).toThrow(/row 0/);
    expect(() => updateBelief([1], [1, 1])).toThrow(/likelihoods/);
  });
});
