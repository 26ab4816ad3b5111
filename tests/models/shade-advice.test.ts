import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adviseShade, hangingTime, meanDli, type ShadeNeed } from '../../src/models/shade-advice.js';

const STORE = [
  { id: 'c50', shadePct: 50 },
  { id: 'c30', shadePct: 30 },
  { id: 'c70', shadePct: 70 },
];
const need = (batchId: string, leastPct: number, more: Partial<ShadeNeed> = {}): ShadeNeed => ({
  batchId,
  benchId: `bench-${batchId}`,
  pots: 10,
  leastPct,
  ...more,
});

describe('the cloth of a house', () => {
  it('is none where nobody needs any, and where the store is empty', () => {
    expect(adviseShade(STORE, null, [need('a', 0)], 20).clothId).toBeNull();
    expect(adviseShade([], null, [need('a', 40)], 20)).toMatchObject({
      clothId: null,
      benches: [],
      unmetBatchIds: ['a'],
    });
  });

  it('is the lightest that is enough for the one that needs most', () => {
    expect(adviseShade(STORE, null, [need('a', 0), need('b', 40)], 20)).toMatchObject({
      clothId: 'c50',
      forBatchIds: ['b'],
    });
    // Two parts of a hundred are less than cloth differs from its name.
    expect(adviseShade(STORE, null, [need('a', 32)], 20).clothId).toBe('c30');
    expect(adviseShade(STORE, null, [need('a', 33)], 20).clothId).toBe('c50');
  });

  it('is the one that hangs already where another shades as much', () => {
    const store = [...STORE, { id: 'white-50', shadePct: 50 }];
    expect(adviseShade(store, 'white-50', [need('a', 50)], 20).clothId).toBe('white-50');
    expect(adviseShade(store, 'c50', [need('a', 50)], 20).clothId).toBe('c50');
    // A lighter one that is enough is still the better one.
    expect(adviseShade(store, 'white-50', [need('a', 30)], 20).clothId).toBe('c30');
  });

  it('says who needs more than the densest holds back', () => {
    expect(adviseShade(STORE, null, [need('a', 80)], 40)).toMatchObject({ clothId: 'c70', unmetBatchIds: ['a'] });
  });

  it('where it would make others stretch, is left to the bench that needs it', () => {
    // 20 mol a day bare; half of it is 10, and the others stretch below 12.
    const needs = [need('a', 50), need('b', 0, { lowDli: 12, pots: 100 })];
    expect(adviseShade(STORE, null, needs, 20)).toEqual({
      clothId: null,
      forBatchIds: [],
      benches: [{ benchId: 'bench-a', clothId: 'c50', batchIds: ['a'] }],
      unmetBatchIds: [],
      tooDarkBatchIds: [],
    });
    // At rest they do not stretch, and 30 mol a day leave enough under it.
    expect(adviseShade(STORE, null, [need('a', 50), need('b', 0)], 20).clothId).toBe('c50');
    expect(adviseShade(STORE, null, needs, 30).clothId).toBe('c50');
  });

  it('does not blame the cloth for days that are too dark anyway, or of unknown light', () => {
    const needs = [need('a', 30), need('b', 0, { lowDli: 12 })];
    expect(adviseShade(STORE, null, needs, 8)).toMatchObject({ clothId: 'c30', tooDarkBatchIds: [] });
    expect(adviseShade(STORE, null, needs, undefined)).toMatchObject({ clothId: 'c30', tooDarkBatchIds: [] });
  });

  it('whatever the needs: everyone has enough, over the house or over the bench, or is named; no lighter cloth would do', () => {
    const anyNeed = fc.record({
      batchId: fc.uuid(),
      benchId: fc.constantFrom('1', '2', '3'),
      pots: fc.integer({ min: 1, max: 200 }),
      leastPct: fc.integer({ min: 0, max: 90 }),
      lowDli: fc.option(fc.integer({ min: 4, max: 14 }), { nil: undefined }),
    }) as fc.Arbitrary<ShadeNeed>;
    fc.assert(
      fc.property(fc.array(anyNeed, { maxLength: 8 }), fc.integer({ min: 2, max: 45 }), (needs, bareDli) => {
        const advice = adviseShade(STORE, null, needs, bareDli);
        const pctOf = (id: string | null): number => STORE.find((cloth) => cloth.id === id)?.shadePct ?? 0;
        for (const one of needs) {
          const over = advice.benches.find(({ benchId }) => benchId === one.benchId)?.clothId ?? null;
          const got = Math.max(pctOf(advice.clothId), pctOf(over));
          if (!advice.unmetBatchIds.includes(one.batchId)) expect(got + 2).toBeGreaterThanOrEqual(one.leastPct);
        }
        if (advice.clothId !== null) {
          const lighter = STORE.filter(({ shadePct }) => shadePct < pctOf(advice.clothId));
          const enough = lighter.some(({ shadePct }) => needs.every(({ leastPct }) => leastPct <= shadePct + 2));
          expect(enough).toBe(false);
        }
      }),
      { numRuns: 1000, seed: 7 },
    );
  });
});

describe('when a cloth must hang', () => {
  const hours = [300, 700, 1200, 900, 400].map((ppfdUmol, index) => ({ at: index * 3_600_000, ppfdUmol }));

  it('from the first hour that is too bright to the end of the last', () => {
    expect(hangingTime(hours, 600)).toEqual({ fromMs: 3_600_000, untilMs: 4 * 3_600_000 });
    expect(hangingTime(hours, 1500)).toBeUndefined();
    expect(hangingTime([], 0)).toBeUndefined();
  });

  it('mean light leaves out days that are not known', () => {
    expect(meanDli([20, Number.NaN, 10])).toBe(15);
    expect(meanDli([Number.NaN])).toBeUndefined();
    expect(meanDli([])).toBeUndefined();
  });
});
