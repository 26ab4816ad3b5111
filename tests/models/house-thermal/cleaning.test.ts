import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cleanSamples } from '../../../src/models/house-thermal/cleaning.js';
import type { ThermalColumn, ThermalSample } from '../../../src/models/house-thermal/record.js';
import { BERLIN } from '../../support/thermal-house.js';

const START = Date.UTC(2026, 0, 10);
const MINUTE = 60_000;

/** Samples every ten minutes that no check has anything against. */
const samples = (
  hours: number,
  change: (sample: ThermalSample, index: number) => Partial<ThermalSample> = () => ({}),
) =>
  Array.from({ length: hours * 6 }, (_, index): ThermalSample => {
    const sample = {
      at: START + index * 10 * MINUTE,
      insideTempC: 20 + Math.sin(index / 7) + index / 1e4,
      insideRelHumidityPct: 60 + Math.sin(index / 5) + index / 1e4,
      outsideTempC: 6 + Math.sin(index / 9) + index / 1e4,
      outsideRelHumidityPct: 80 + Math.sin(index / 11) + index / 1e4,
      outsideRadiationWm2: 100 + (index % 50),
    };
    return { ...sample, ...change(sample, index) };
  });
const clean = (rows: readonly ThermalSample[]) => cleanSamples(rows, BERLIN);
const of = (rows: readonly ThermalSample[], column: ThermalColumn) => clean(rows).samples.map((one) => one[column]);

describe('samples of a house', () => {
  it('stay as they are when nothing is wrong with them', () => {
    const rows = samples(40);
    expect(clean(rows)).toEqual({ samples: rows, removed: [] });
  });

  it('lose what no sensor can give, such as a sentinel', () => {
    const rows = samples(3, (_, index) => (index === 4 ? { insideTempC: -214748000, outsideRadiationWm2: 9999 } : {}));
    const { samples: kept, removed } = clean(rows);
    expect(kept[4]).toMatchObject({
      insideTempC: null,
      outsideRadiationWm2: null,
      outsideTempC: rows[4]?.outsideTempC,
    });
    expect(removed).toEqual([
      { column: 'insideTempC', fault: 'impossible', count: 1 },
      { column: 'outsideRadiationWm2', fault: 'impossible', count: 1 },
    ]);
  });

  it('lose blocks of zeros: humidity of nothing, 0 °C out of nowhere, no light under a high sun', () => {
    const rows = samples(48, (_, index) =>
      index >= 64 && index < 76
        ? { insideTempC: 0, insideRelHumidityPct: 0, outsideTempC: 0, outsideRelHumidityPct: 0, outsideRadiationWm2: 0 }
        : {},
    );
    for (const column of ['insideTempC', 'insideRelHumidityPct', 'outsideTempC', 'outsideRelHumidityPct'] as const)
      expect(of(rows, column).slice(64, 76)).toEqual(Array(12).fill(null));
    // 10:40 to 12:30 UTC in Berlin, in January: the sun stands at 15 to 17°.
    expect(of(rows, 'outsideRadiationWm2').slice(64, 76)).toEqual(Array(12).fill(null));
  });

  it('keep the zeros of a thaw, of the night and of a desert evening', () => {
    const thaw = samples(6, (_, index) => ({ outsideTempC: index < 10 ? 0.5 - index / 20 : 0 }));
    expect(of(thaw, 'outsideTempC').filter((value) => value === 0).length).toBeGreaterThan(20);
    const dark = samples(8, () => ({ outsideRadiationWm2: 0 }));
    expect(of(dark, 'outsideRadiationWm2').slice(0, 36)).toEqual(Array(36).fill(0));
  });

  it('lose a sensor that stands still for longer than half a day, light after three hours; darkness and fog may last', () => {
    const rows = samples(30, () => ({ insideTempC: 21.4, outsideRelHumidityPct: 100, outsideRadiationWm2: 379 }));
    const inside = of(rows, 'insideTempC');
    expect(inside.filter((value) => value !== null)).toHaveLength(12 * 6 + 1);
    expect(inside.at(-1)).toBeNull();
    expect(of(rows, 'outsideRadiationWm2').filter((value) => value !== null)).toHaveLength(3 * 6 + 1);
    expect(of(rows, 'outsideRelHumidityPct')).not.toContain(null);
  });

  it('lose a day that is the day before again, once six hours of it are seen', () => {
    const day = samples(24);
    const copy = day.map((one) => ({ ...one, at: one.at + 24 * 60 * MINUTE }));
    const inside = of([...day, ...copy], 'insideTempC');
    expect(inside.slice(0, 144)).not.toContain(null);
    expect(inside.slice(144 + 36)).toEqual(Array(144 - 36).fill(null));
  });

  it('are brought into order, the last of several at one instant counting', () => {
    const rows = samples(2);
    const late = { ...(rows[3] as ThermalSample), insideTempC: 23.3 };
    const { samples: kept } = clean([...rows.slice(5), late, ...rows.slice(0, 5).reverse(), late]);
    expect(kept.map(({ at }) => at)).toEqual(rows.map(({ at }) => at));
  });

  it('lose known offsets at the ends of their range, and nothing else', () => {
    const rows = samples(1, () => ({ insideRelHumidityPct: 101.5, outsideRadiationWm2: -3 }));
    expect(of(rows, 'insideRelHumidityPct')).toEqual(Array(6).fill(100));
    expect(of(rows, 'outsideRadiationWm2')).toEqual(Array(6).fill(0));
  });

  it('are judged by what came before alone: later samples change nothing of earlier ones', () => {
    const value = fc.oneof(
      fc.constant(0),
      fc.constant(21),
      fc.double({ min: -60, max: 120, noNaN: true }),
      fc.constant(null),
    );
    fc.assert(
      fc.property(
        fc.array(fc.record({ t: value, rh: value, g: value }), { minLength: 4, maxLength: 250 }),
        fc.nat(),
        (all, cut) => {
          const rows = all.map(({ t, rh, g }, index) => ({
            at: START + index * 30 * MINUTE,
            insideTempC: t,
            insideRelHumidityPct: rh,
            outsideTempC: t,
            outsideRelHumidityPct: rh,
            outsideRadiationWm2: g,
          }));
          const until = 1 + (cut % rows.length);
          expect(clean(rows.slice(0, until)).samples).toEqual(clean(rows).samples.slice(0, until));
        },
      ),
      { numRuns: 60 },
    );
  });
});
