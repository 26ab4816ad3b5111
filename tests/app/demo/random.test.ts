import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { even, mixed, normal, pick, withMemory } from '../../../src/app/demo/random.js';

const N = 20_000;
const sample = (chance: (n: number) => number): number[] => Array.from({ length: N }, (_, n) => chance(n));
const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const spread = (values: readonly number[]): number => {
  const middle = mean(values);
  return Math.sqrt(mean(values.map((value) => (value - middle) ** 2)));
};

describe('chance of the demo', () => {
  it('gives the same value for the same place in a stream, whatever was asked before', () => {
    fc.assert(
      fc.property(fc.nat(), fc.string(), fc.integer({ min: -1e6, max: 1e6 }), (seed, stream, n) => {
        const first = normal(seed, stream);
        const again = normal(seed, stream);
        again(n + 1);
        return first(n) === again(n);
      }),
    );
  });

  it('keeps parts of a key apart', () => {
    expect(mixed('ab', 'c')).not.toBe(mixed('a', 'bc'));
    expect(even(1, 'x')(0)).not.toBe(even(2, 'x')(0));
  });

  // Tolerances are about five standard errors of N values.
  it('spreads evenly over 0 to 1', () => {
    const values = sample(even(3, 'even'));
    expect(Math.min(...values)).toBeGreaterThanOrEqual(0);
    expect(Math.max(...values)).toBeLessThan(1);
    expect(mean(values)).toBeCloseTo(0.5, 1);
    expect(spread(values)).toBeCloseTo(Math.sqrt(1 / 12), 2);
  });

  it('is normal with mean 0 and spread 1', () => {
    const values = sample(normal(3, 'normal'));
    expect(Math.abs(mean(values))).toBeLessThan(0.04);
    expect(Math.abs(spread(values) - 1)).toBeLessThan(0.03);
    // 95.45 % of a normal variable lies within two spreads.
    expect(values.filter((value) => Math.abs(value) < 2).length / N).toBeCloseTo(0.9545, 2);
  });

  it.each([0, 0.5, 0.85])('remembers as much as it is told to: %s', (memory) => {
    const values = sample(withMemory(5, 'memory', memory));
    const pairs = values.slice(1).map((value, index) => value * (values[index] as number));
    expect(Math.abs(spread(values) - 1)).toBeLessThan(0.06);
    expect(Math.abs(mean(pairs) / spread(values) ** 2 - memory)).toBeLessThan(0.05);
  });

  it('picks every entry, and none beyond the ends', () => {
    const picked = new Set(sample(even(1, 'pick')).map((value) => pick(['a', 'b', 'c'], value)));
    expect(picked).toEqual(new Set(['a', 'b', 'c']));
  });
});
