import { describe, expect, it } from 'vitest';
import { benchModels } from '../../../src/app/bench/models.js';

describe('the benchmark of the models', () => {
  it('runs a year of every species group and prints a ratio to its yardstick', () => {
    const result = benchModels({ batches: 17 });
    expect(result.name).toBe('a year of hourly states for 17 batches');
    expect(result.ratio).toBeGreaterThan(0);
    // A pot in this climate is dry now and then, and a dry one gets a drink: the year was really lived.
    expect(result.detail).toMatch(/\d+ drinks/);
    expect(Number(/(\d+) drinks/.exec(result.detail)?.[1])).toBeGreaterThan(17);
  });
});
