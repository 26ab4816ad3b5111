import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../../src/science/guards.js';
import {
  type LogisticState,
  logistic,
  logisticProbability,
  startLogistic,
  updateLogistic,
} from '../../../src/science/statistics/logistic.js';

/**
 * O-ring distress (1 = yes) and temperature at launch in °F of 23 shuttle flights. Source: Dalal, Fowlkes & Hoadley
 * (1989), J. Am. Stat. Assoc. 84:945-957; the fit by maximum likelihood is 15.043 - 0.2322 °F (remembered from textbooks
 * such as Christensen 1997, Log-Linear Models and Logistic Regression, 2.6).
 */
const LAUNCHES: readonly (readonly [tempF: number, distress: 0 | 1])[] = [
  [66, 0],
  [70, 1],
  [69, 0],
  [68, 0],
  [67, 0],
  [72, 0],
  [73, 0],
  [70, 0],
  [57, 1],
  [63, 1],
  [70, 1],
  [78, 0],
  [67, 0],
  [53, 1],
  [67, 0],
  [75, 0],
  [70, 0],
  [81, 0],
  [76, 0],
  [79, 0],
  [75, 1],
  [76, 0],
  [58, 1],
];
/** Centred, so that the steps of the recursion are well scaled. */
const regressorsOf = (tempF: number) => [1, (tempF - 70) / 5];

const learnAll = (state: LogisticState, rounds: number): LogisticState => {
  let learned = state;
  for (let round = 0; round < rounds; round += 1)
    for (const [tempF, distress] of LAUNCHES) learned = updateLogistic(learned, regressorsOf(tempF), distress === 1, 1);
  return learned;
};

describe('recursive logistic regression', () => {
  it('comes to the published fit of the shuttle launches when it sees them often', () => {
    const [level, slope] = learnAll(startLogistic([0, 0], 10), 400).fit.coefficients as [number, number];
    // 15.043 - 0.2322 x 70 and -0.2322 x 5.
    expect(level).toBeCloseTo(15.043 - 0.2322 * 70, 1);
    expect(slope).toBeCloseTo(-0.2322 * 5, 1);
  });

  it('keeps to a firm start and leaves a loose one', () => {
    const start = [0, -1];
    const firm = learnAll(startLogistic(start, 1e-4), 1).fit.coefficients;
    expect(firm[0]).toBeCloseTo(0, 2);
    const loose = learnAll(startLogistic(start, 10), 1).fit.coefficients;
    expect(loose[0] as number).toBeLessThan(-0.4);
  });

  it('gives half at log odds of nought, and its ends to rounding', () => {
    expect(logistic(0)).toBe(0.5);
    expect(logistic(Math.log(3))).toBeCloseTo(0.75, 12);
    expect(logistic(800)).toBe(1);
    expect(logistic(-800)).toBe(0);
  });

  it('a long time without anything to learn from does not make it jumpy', () => {
    let state = startLogistic([0, 1.7], 0.1);
    for (let day = 0; day < 5000; day += 1) state = updateLogistic(state, [1, -4], false, 0.99);
    const widest = Math.max(...state.fit.covariance);
    expect(widest).toBeLessThanOrEqual(0.1 + 1e-12);
    const before = logisticProbability(state, [1, 0]);
    const after = logisticProbability(updateLogistic(state, [1, -4], true, 0.99), [1, 0]);
    expect(Math.abs(after - before)).toBeLessThan(0.2);
  });

  it('an event never makes it less likely under the same circumstances; a covariance stays one', () => {
    const pairs = fc.array(fc.tuple(fc.double({ min: -5, max: 5, noNaN: true }), fc.boolean()), { maxLength: 60 });
    fc.assert(
      fc.property(pairs, fc.double({ min: -5, max: 5, noNaN: true }), (history, z) => {
        let state = startLogistic([0, 1.7], 0.1);
        for (const [past, happened] of history) state = updateLogistic(state, [1, past], happened, 0.98);
        const before = logisticProbability(state, [1, z]);
        expect(logisticProbability(updateLogistic(state, [1, z], true, 0.98), [1, z])).toBeGreaterThanOrEqual(
          before - 1e-12,
        );
        expect(logisticProbability(updateLogistic(state, [1, z], false, 0.98), [1, z])).toBeLessThanOrEqual(
          before + 1e-12,
        );
        const [a, b, , d] = state.fit.covariance as [number, number, number, number];
        expect(a).toBeGreaterThan(0);
        expect(d).toBeGreaterThan(0);
        expect(a * d - b * b).toBeGreaterThan(-1e-12);
      }),
    );
  });

  it('catches NaN, no regressors, a wrong number of them', () => {
    const state = startLogistic([0, 1], 0.1);
    expect(() => updateLogistic(state, [1, Number.NaN], true, 1)).toThrow(PhysicsRangeError);
    expect(() => updateLogistic(state, [1], true, 1)).toThrow(PhysicsRangeError);
    expect(() => updateLogistic(state, [1, 1], true, 0.2)).toThrow(PhysicsRangeError);
    expect(() => logisticProbability(state, [1, 2, 3])).toThrow(PhysicsRangeError);
    expect(() => startLogistic([0], 0)).toThrow(PhysicsRangeError);
    expect(() => logistic(Number.NaN)).toThrow(PhysicsRangeError);
    expect(() => updateLogistic(startLogistic([], 1), [], true, 1)).toThrow(PhysicsRangeError);
  });
});
