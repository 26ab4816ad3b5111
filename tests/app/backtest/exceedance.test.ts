import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  countWarning,
  learnExceedance,
  learnedProbabilityAbove,
  startExceedance,
  startTally,
  warningThreshold,
} from '../../../src/app/backtest/exceedance.js';
import { PhysicsRangeError } from '../../../src/science/guards.js';
import { normalCdf } from '../../../src/science/statistics/normal.js';

describe('probability of passing a limit', () => {
  it('begins within 0.01 of the normal curve (Johnson & Kotz 1970: the logistic with 1.702 never strays further)', () => {
    for (let meanC = 25; meanC <= 45; meanC += 0.25) {
      const probability = learnedProbabilityAbove(startExceedance(), { meanC, spreadC: 2 }, 35);
      expect(Math.abs(probability - normalCdf((meanC - 35) / 2))).toBeLessThan(0.01);
    }
  });

  it('rises with the forecast, falls with the limit, whatever was learned', () => {
    const history = fc.array(fc.tuple(fc.double({ min: 20, max: 40, noNaN: true }), fc.boolean()), { maxLength: 80 });
    fc.assert(
      fc.property(history, fc.double({ min: 25, max: 39, noNaN: true }), (days, meanC) => {
        let odds = startExceedance();
        // Outcomes that have to do with the forecast: a coin decides only near the limit.
        for (const [toldC, coin] of days) {
          const happened = Math.abs(toldC - 32) < 2 ? coin : toldC > 32;
          odds = learnExceedance(odds, { meanC: toldC, spreadC: 2 }, 32, happened, 0.99);
        }
        const at = (warmerC: number, limitC: number) =>
          learnedProbabilityAbove(odds, { meanC: meanC + warmerC, spreadC: 2 }, limitC);
        expect(at(1, 32)).toBeGreaterThanOrEqual(at(0, 32));
        expect(at(0, 33)).toBeLessThanOrEqual(at(0, 32));
      }),
    );
  });

  it('learns that a source boasts: forecasts a spread above the limit that come true one time in two', () => {
    let odds = startExceedance();
    const boast = { meanC: 34, spreadC: 2 };
    expect(learnedProbabilityAbove(odds, boast, 32)).toBeGreaterThan(0.8);
    for (let day = 0; day < 600; day += 1) odds = learnExceedance(odds, boast, 32, day % 2 === 0, 0.998);
    expect(learnedProbabilityAbove(odds, boast, 32)).toBeGreaterThan(0.45);
    expect(learnedProbabilityAbove(odds, boast, 32)).toBeLessThan(0.55);
  });

  it('catches NaN and a spread of nought', () => {
    const odds = startExceedance();
    expect(() => learnedProbabilityAbove(odds, { meanC: Number.NaN, spreadC: 1 }, 30)).toThrow(PhysicsRangeError);
    expect(() => learnedProbabilityAbove(odds, { meanC: 30, spreadC: 0 }, 30)).toThrow(PhysicsRangeError);
    expect(() => learnedProbabilityAbove(odds, { meanC: 30, spreadC: 1 }, Number.NaN)).toThrow(PhysicsRangeError);
  });
});

describe('the probability from which to warn', () => {
  it('begins at 0.4 and keeps the counts', () => {
    expect(warningThreshold(startTally())).toBeCloseTo(0.4, 12);
    const counted = [
      [true, true],
      [true, false],
      [false, true],
      [false, false],
    ].reduce(
      (tally, [warned, happened]) => countWarning(tally, warned as boolean, happened as boolean, 1),
      startTally(),
    );
    expect(counted).toEqual({ hits: 25, falseAlarms: 7, misses: 7 });
    expect(countWarning(counted, false, false, 0.5)).toEqual({ hits: 12.5, falseAlarms: 3.5, misses: 3.5 });
    expect(warningThreshold({ hits: 0, falseAlarms: 0, misses: 0 })).toBe(0);
  });

  it('is the best one there is: no other gives more hits per event or false alarm, for probabilities that are reliable', () => {
    // Cases with probability 0.05, 0.10, ..., 0.95, as many of each: what is expected to come of warnings from one on.
    const probabilities = Array.from({ length: 19 }, (_, i) => 0.05 * (i + 1));
    const expected = (threshold: number) => {
      const sum = (of: (p: number) => number) => probabilities.reduce((total, p) => total + of(p), 0);
      const hits = sum((p) => (p >= threshold ? p : 0));
      return { hits, falseAlarms: sum((p) => (p >= threshold ? 1 - p : 0)), misses: sum((p) => p) - hits };
    };
    const csi = (threshold: number) => {
      const { hits, falseAlarms, misses } = expected(threshold);
      return hits / (hits + falseAlarms + misses);
    };
    let threshold = 0.4;
    for (let round = 0; round < 20; round += 1) threshold = warningThreshold(expected(threshold));
    for (const other of probabilities) expect(csi(other)).toBeLessThanOrEqual(csi(threshold) + 1e-12);
  });

  it('catches a share outside 0-1', () => {
    expect(() => countWarning(startTally(), true, true, 1.1)).toThrow(PhysicsRangeError);
    expect(() => countWarning(startTally(), true, true, Number.NaN)).toThrow(PhysicsRangeError);
  });
});
