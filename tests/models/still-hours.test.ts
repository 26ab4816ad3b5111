import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Quantity, RollUp } from '../../src/domain/quantities.js';
import type { HourTable } from '../../src/models/house-climate.js';
import { movingHours, stillHours } from '../../src/models/still-hours.js';
import { MS_PER_HOUR } from '../../src/science/units.js';

const T0 = Date.UTC(2026, 5, 1);
/** One hour each; a pair swings between two values, null is silence. */
const tableOf = (values: readonly (number | readonly [number, number] | null)[]): HourTable =>
  new Map(
    values.flatMap((value, after): [number, RollUp][] => {
      if (value === null) return [];
      const startMs = T0 + after * MS_PER_HOUR;
      const [min, max] = typeof value === 'number' ? [value, value] : value;
      const mean = (min + max) / 2;
      return [[startMs, { startMs, count: 4, min, mean, max, integral: mean * 3600, coveredSeconds: 3600 }]];
    }),
  );
const afterOf = (hours: Iterable<number>): number[] => [...hours].map((at) => (at - T0) / MS_PER_HOUR);

describe('hours in which a sensor stands still', () => {
  it('are those of a run as long as the limit, from its first hour on', () => {
    expect(afterOf(stillHours(tableOf([[1, 2], 3, 3, 3, [3, 4]]), 3 * MS_PER_HOUR))).toEqual([1, 2, 3]);
    expect(afterOf(stillHours(tableOf([[1, 2], 3, 3, [3, 4], 3]), 3 * MS_PER_HOUR))).toEqual([]);
  });

  it('a gap ends a run, and so does another value', () => {
    expect(stillHours(tableOf([3, 3, null, 3, 3]), 3 * MS_PER_HOUR).size).toBe(0);
    expect(stillHours(tableOf([3, 3, 4, 4]), 3 * MS_PER_HOUR).size).toBe(0);
  });

  it('a value that may last is never still', () => {
    const fog = tableOf(Array(30).fill(100));
    expect(stillHours(fog, 3 * MS_PER_HOUR, { restValues: [100] }).size).toBe(0);
    expect(stillHours(fog, 3 * MS_PER_HOUR).size).toBe(30);
  });

  it('are none where every hour moves, whatever the limit', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -5, max: 5 }), { maxLength: 40 }),
        fc.integer({ min: 1, max: 9 }),
        (lows, hours) => {
          expect(stillHours(tableOf(lows.map((low) => [low, low + 1] as const)), hours * MS_PER_HOUR).size).toBe(0);
        },
      ),
    );
  });
});

describe('hours of sensors that move', () => {
  /** Day from 04:00 to 20:00 UTC. */
  const clearSky = (at: number): number => {
    const hour = new Date(at).getUTCHours();
    return hour >= 4 && hour < 20 ? 600 : 0;
  };
  const left = (quantity: Quantity, values: Parameters<typeof tableOf>[0]): number[] =>
    afterOf(movingHours({ [quantity]: tableOf(values) }, clearSky)[quantity]?.keys() ?? []);

  it('go without air that is the same for twelve hours, the stuck time of an air sensor', () => {
    expect(left('airTempC', [[9, 10], ...Array(11).fill(10), [10, 11]])).toHaveLength(13);
    expect(left('airTempC', [[9, 10], ...Array(12).fill(10), [10, 11]])).toEqual([0, 13]);
    expect(left('relHumidityPct', Array(30).fill(100))).toHaveLength(30);
  });

  it('go without light that is dead by day or stuck by night; darkness at night may last', () => {
    const live = Array.from({ length: 16 }, (_, hour) => [50 * hour, 50 * hour + 40] as const);
    const night = Array(4).fill(0);
    expect(left('radiationWm2', [...night, ...live, ...night])).toHaveLength(24);
    // Its dark of the night before is not light held over into the morning.
    expect(left('radiationWm2', [...live.slice(0, 4), ...Array(20).fill(0)])).toEqual([0, 1, 2, 3]);
    // Two dark hours at dusk may be.
    expect(left('radiationWm2', [...night, ...live.slice(0, 14), 0, 0, ...night])).toHaveLength(24);
    // A dead sensor: no light under a high sun is no measurement.
    expect(left('radiationWm2', Array(24).fill(0))).toEqual([]);
    // A stuck one: nothing of it is left, by night neither.
    for (const light of ['radiationWm2', 'ppfdUmol', 'illuminanceLux'] as const)
      expect(left(light, Array(24).fill(430)), light).toEqual([]);
  });

  it('keep what may stay the same for ever', () => {
    expect(left('ventPct', Array(48).fill(0))).toHaveLength(48);
  });
});
