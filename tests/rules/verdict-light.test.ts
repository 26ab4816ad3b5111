import { describe, expect, it } from 'vitest';
import type { LimitValues } from '../../src/rules/evaluate.js';
import type { Effect } from '../../src/rules/schema.js';
import { burst, growing, rot, row, said } from './small-book.js';

describe('light', () => {
  const light = (effects: [Effect, boolean][], known: object = {}, values: LimitValues = {}) => {
    const rows = effects.map(([effect, holds], at) => row(`row-${at}`, effect, { ...rot, value: holds }));
    const { lightRamp, shade, trace } = said({ light: rows }, { signRot: true, ...known }, growing(values));
    return { lightRamp, shade, rows: trace.filter(({ table }) => table === 'light').length };
  };

  it('is raised in steps where a row that holds says so', () => {
    expect(light([[{ lightRamp: true }, true]]).lightRamp).toBe(true);
    expect(light([[{ lightRamp: true }, false]]).lightRamp).toBe(false);
    expect(light([[{ inspect: true }, true]])).toMatchObject({ lightRamp: false, rows: 1 });
  });

  it('wants no cloth where the light is known and nothing asks for one, and says nothing where it is not known', () => {
    expect(light([]).shade).toBeUndefined();
    for (const name of ['recentDli', 'recentDayMaxC', 'aheadDayMaxC', 'aheadPeakPpfdUmol'])
      expect(light([], { [name]: 10 }).shade).toBeNull();
    expect(light([], { dryDays: 10 }).shade).toBeUndefined();
  });

  it('wants the cloth that the strictest row asks for', () => {
    const values = { thin: [20, 40], thick: [30, 35] } as const;
    const both: [Effect, boolean][] = [
      [{ shade: { limit: 'thin' } }, true],
      [{ shade: { limit: 'thick' } }, true],
    ];
    expect(light(both, {}, values).shade).toEqual({ minPct: 30, maxPct: 40 });
    expect(light([[{ shade: { limit: 'thin' } }, false]], {}, values).shade).toBeUndefined();
    // A limit that is not set asks for nothing.
    expect(light([[{ shade: { limit: 'other' } }, true]], { recentDli: 10 }, values).shade).toBeNull();
  });

  it('is held where the plant is used to it: 100 (1 - 1 / ratio) %, by tens, in a band of ten', () => {
    const held = (known: object) => light([[{ shade: 'hold-to-step' }, true]], { recentDli: 10, ...known }).shade;
    expect(held({ lightStepRatio: 2 })).toEqual({ minPct: 50, maxPct: 60 });
    expect(held({ lightStepRatio: 1.5 })).toEqual({ minPct: 30, maxPct: 40 });
    expect(held({ lightStepRatio: 1.2, peakStepRatio: 2 })).toEqual({ minPct: 50, maxPct: 60 });
    // Less than a tenth is not worth hanging a cloth for.
    expect(held({ lightStepRatio: 1.1 })).toBeNull();
    expect(held({ lightStepRatio: 1 / 0.9 })).toEqual({ minPct: 10, maxPct: 20 });
    expect(held({ lightStepRatio: 0 })).toBeNull();
    expect(held({})).toBeNull();
    // No cloth is darker than this.
    expect(held({ lightStepRatio: 20 })).toEqual({ minPct: 80, maxPct: 90 });
    const liking = light([[{ shade: 'hold-to-liking' }, true]], {
      recentDli: 10,
      lightExcessRatio: 2,
      lightStepRatio: 9,
    });
    expect(liking.shade).toEqual({ minPct: 50, maxPct: 60 });
  });
});

describe('alerts', () => {
  it('are the kinds of the rows that hold, each once, and all rows stand in the trace', () => {
    const rows = [
      row('a', { alert: 'frost' }, rot),
      row('b', { alert: 'frost' }, rot),
      row('c', { alert: 'wet-night' }, rot),
      row('d', { alert: 'hot-spell' }, burst),
      row('e', { inspect: true }, rot),
    ];
    const verdict = said({ alerts: rows }, { signRot: true, signBurst: false });
    expect(verdict.alerts).toEqual(['frost', 'wet-night']);
    expect(verdict.trace.filter(({ table }) => table === 'alerts')).toHaveLength(5);
  });
});
