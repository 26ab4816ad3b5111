import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fairLevel } from '../../src/storage/refusals.js';
import type { Refusal, Retention } from '../../src/storage/repositories.js';
import { batchOf, openTemp, reading, T0 } from './support.js';

const refusal = (more: Partial<Refusal> = {}): Refusal => ({
  at: T0,
  topic: 'house/a1',
  siteId: 'hill',
  sensorId: 'a1',
  quantity: 'airTempC',
  reason: 'out-of-range',
  sentence: 'Expected -40 to 70 °C, got 999 °C.',
  excerpt: '{"t":999}',
  ...more,
});
const keep = (refusalsKept: number): Retention => ({
  readingsDays: 90,
  hourlyDays: 900,
  refusalsKept,
  idempotencyHours: 48,
  roundRevisionsDays: 30,
  forecastsDays: 400,
});

describe('refusals', () => {
  it('are kept whole, newest first, and found by site and sensor', async () => {
    const storage = await openTemp();
    const nobody = refusal({ siteId: null, sensorId: null, quantity: null, reason: 'malformed', topic: 'x' });
    const result = await storage.readings.commit(
      batchOf([], { refusals: [refusal(), refusal({ sensorId: 'a2' }), nobody], messages: 3 }),
    );
    expect(result).toEqual({ stored: 0, duplicates: 0, refused: 3 });
    const all = await storage.refusals.list({ limit: 10 });
    expect(all).toEqual([
      { id: 3, ...nobody },
      { id: 2, ...refusal({ sensorId: 'a2' }) },
      { id: 1, ...refusal() },
    ]);
    expect((await storage.refusals.list({ limit: 1, beforeId: 3 })).map((one) => one.id)).toEqual([2]);
    expect((await storage.refusals.list({ siteId: 'hill', sensorId: 'a1', limit: 9 })).map((one) => one.id)).toEqual([
      1,
    ]);
  });

  it('are counted by sensor and reason with the newest sentence, and per series', async () => {
    const storage = await openTemp();
    await storage.readings.commit(
      batchOf([reading(T0, 20)], {
        refusals: [
          refusal({ at: T0 + 5, sentence: 'newest' }),
          refusal({ at: T0 + 1, sentence: 'older' }),
          refusal({ at: T0 + 2, quantity: 'relHumidityPct', sentence: 'in between' }),
          refusal({ siteId: null, sensorId: null, quantity: null, reason: 'malformed' }),
        ],
      }),
    );
    expect(await storage.refusals.counts('hill')).toEqual([
      { siteId: 'hill', sensorId: 'a1', reason: 'out-of-range', count: 3, lastAt: T0 + 5, lastSentence: 'newest' },
    ]);
    expect((await storage.refusals.counts()).map((row) => [row.siteId, row.reason, row.count])).toEqual([
      ['hill', 'out-of-range', 3],
      [null, 'malformed', 1],
    ]);
    expect((await storage.readings.series({ siteId: 'hill' }))[0]).toMatchObject({ quantity: 'airTempC', refused: 2 });
  });

  it('are counted since an instant by sensor, quantity and reason, with the newest sentence', async () => {
    const storage = await openTemp();
    await storage.readings.commit(
      batchOf([], {
        refusals: [
          refusal({ at: T0 - 1, sentence: 'before' }),
          refusal({ at: T0, sentence: 'first' }),
          refusal({ at: T0 + 2, sentence: 'last' }),
          refusal({ at: T0 + 1, quantity: 'relHumidityPct', sentence: 'other quantity' }),
          refusal({ at: T0 + 1, quantity: null, reason: 'malformed', sentence: 'no quantity' }),
          refusal({ at: T0 + 1, siteId: 'valley' }),
        ],
      }),
    );
    const since = await storage.refusals.since('hill', T0);
    expect(since).toEqual([
      { sensorId: 'a1', quantity: 'airTempC', reason: 'out-of-range', count: 2, lastAt: T0 + 2, lastSentence: 'last' },
      {
        sensorId: 'a1',
        quantity: 'relHumidityPct',
        reason: 'out-of-range',
        count: 1,
        lastAt: T0 + 1,
        lastSentence: 'other quantity',
      },
      {
        sensorId: 'a1',
        quantity: null,
        reason: 'malformed',
        count: 1,
        lastAt: T0 + 1,
        lastSentence: 'no quantity',
      },
    ]);
  });

  it('are pruned oldest first, a flood of one reason before the few of another; the counts stay', async () => {
    const storage = await openTemp();
    const flood = Array.from({ length: 300 }, (_, index) => refusal({ at: T0 + index, reason: 'malformed' }));
    await storage.readings.commit(batchOf([], { refusals: [refusal(), refusal(), ...flood] }));
    while (await storage.upkeep.pruneStep(keep(50), T0));
    const left = await storage.refusals.list({ limit: 1000 });
    expect(left.filter((one) => one.reason === 'out-of-range')).toHaveLength(2);
    expect(left.filter((one) => one.reason === 'malformed').map((one) => one.at)).toEqual(
      Array.from({ length: 48 }, (_, index) => T0 + 299 - index),
    );
    expect((await storage.refusals.counts())[0]).toMatchObject({ reason: 'malformed', count: 300 });
  });

  it('stay bounded in a flood without any pruning', async () => {
    const storage = await openTemp();
    const flood = Array.from({ length: 3000 }, (_, index) => refusal({ at: index, reason: 'malformed' }));
    for (let round = 0; round < 9; round += 1) await storage.readings.commit(batchOf([], { refusals: flood }));
    expect((await storage.refusals.list({ limit: 100_000 })).length).toBeLessThanOrEqual(20_000);
    expect(await storage.readings.totals()).toMatchObject({ refused: 27_000 });
  });
});

describe('the fair level', () => {
  it('keeps as many as there is room for and takes only from those above it', () => {
    fc.assert(
      fc.property(fc.array(fc.nat({ max: 500 }), { maxLength: 8 }), fc.nat({ max: 1000 }), (counts, kept) => {
        const level = fairLevel(counts, kept);
        const left = counts.reduce((sum, count) => sum + Math.min(count, level), 0);
        const all = counts.reduce((sum, count) => sum + count, 0);
        expect(left).toBeLessThanOrEqual(Math.min(kept, all));
        // Less than one more per reason would have fitted.
        if (all > kept) expect(left).toBeGreaterThan(kept - Math.max(1, counts.length));
      }),
    );
  });
});
