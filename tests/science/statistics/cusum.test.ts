import { describe, expect, it } from 'vitest';
import { CUSUM_START, cusumChange, updateCusum } from '../../../src/science/statistics/cusum.js';

describe('cumulative sums', () => {
  it('follow the worked example of a textbook', () => {
    // Montgomery (2009), Statistical Quality Control, 6th ed., table 9.2: mean 10, k 0.5, h 5; the first values and what
    // their sums become (remembered, and worked out by hand from the formula).
    const values = [9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.2, 10.34];
    let state = CUSUM_START;
    const sums = values.map((value) => {
      state = updateCusum(state, value - 10);
      return [state.above, state.below].map((sum) => Math.round(sum * 100) / 100);
    });
    expect(sums).toEqual([
      [0, 0.05],
      [0, 1.56],
      [0, 1.77],
      [1.16, 0],
      [2.82, 0],
      [2.5, 0],
      [0.04, 1.46],
      [1, 0],
      [0, 0.3],
      [0, 0],
    ]);
  });

  it('say how long ago the mean moved', () => {
    let state = CUSUM_START;
    for (let at = 0; at < 20; at += 1) state = updateCusum(state, 0);
    for (let at = 0; at < 4; at += 1) {
      expect(cusumChange(state)).toBeUndefined();
      state = updateCusum(state, 2);
    }
    // Four times 2 - 0.5 is 6, above 5.
    expect(cusumChange(state)).toBe(4);
    let down = CUSUM_START;
    for (let at = 0; at < 4; at += 1) down = updateCusum(down, -2);
    expect(cusumChange(down)).toBe(4);
  });

  it('refuse what is no number', () => {
    expect(() => updateCusum(CUSUM_START, Number.NaN)).toThrow('standardised');
    expect(() => updateCusum(CUSUM_START, 1, 0)).toThrow('slack');
    expect(() => cusumChange(CUSUM_START, 0)).toThrow('limit');
  });
});
