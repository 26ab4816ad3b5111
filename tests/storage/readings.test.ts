import { describe, expect, it } from 'vitest';
import { addDays, localDayBounds } from '../../src/domain/time.js';
import type { CheckedReading, Retention, Storage } from '../../src/storage/repositories.js';
import { batchOf, openTemp, reading, T0 } from './support.js';

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;
const DAY_MS = 24 * HOUR_MS;
const keepRawDays = (readingsDays: number): Retention => ({
  readingsDays,
  hourlyDays: 3650,
  refusalsKept: 1000,
  idempotencyHours: 48,
  roundRevisionsDays: 30,
  forecastsDays: 400,
});
const everyTenMinutes = (fromMs: number, toMs: number, more: Partial<CheckedReading> = {}): CheckedReading[] =>
  Array.from({ length: Math.ceil((toMs - fromMs) / (10 * MINUTE_MS)) }, (_, index) =>
    reading(fromMs + index * 10 * MINUTE_MS, 20, more),
  );
const onlySeries = async (storage: Storage) => (await storage.readings.series({ siteId: 'hill' }))[0];

describe('the same reading twice', () => {
  it('is one reading, in one batch, over two, and after opening again', async () => {
    const storage = await openTemp();
    const first = reading(T0, 20);
    expect(await storage.readings.commit(batchOf([first, first]))).toEqual({ stored: 1, duplicates: 1, refused: 0 });
    expect(await storage.readings.commit(batchOf([first]))).toEqual({ stored: 0, duplicates: 1, refused: 0 });
    await storage.readings.commit(batchOf([reading(T0 + MINUTE_MS, 22)]));
    // Late and there already.
    expect(await storage.readings.commit(batchOf([first]))).toEqual({ stored: 0, duplicates: 1, refused: 0 });
    const [found] = await storage.readings.hourly({ siteId: 'hill' }, T0, T0 + 1);
    expect(found?.rollUps[0]).toMatchObject({ count: 2, mean: 21 });
    expect(await onlySeries(storage)).toMatchObject({ stored: 2, duplicates: 3 });
    expect(await storage.readings.totals()).toEqual({ messages: 5, stored: 2, duplicates: 3, refused: 0 });
  });

  it('with another value keeps the first', async () => {
    const storage = await openTemp();
    await storage.readings.commit(batchOf([reading(T0, 20), reading(T0, 25)]));
    expect(await storage.readings.raw(1, T0 - 1, T0 + 1, 9)).toEqual([{ at: T0, value: 20, flagMask: 0 }]);
  });
});

describe('a series', () => {
  it('is one per site, sensor and quantity, found by place', async () => {
    const storage = await openTemp();
    await storage.readings.commit(
      batchOf([
        reading(T0, 20),
        reading(T0, 55, { quantity: 'relHumidityPct' }),
        reading(T0, 30, { sensorId: 'p1', quantity: 'substrateMoisturePct', benchId: 'b1' }),
        reading(T0, 4, { sensorId: 'w1', houseId: null, placement: 'outside' }),
        reading(T0, 9, { siteId: 'valley' }),
      ]),
    );
    const sensors = async (filter: object) =>
      (await storage.readings.series({ siteId: 'hill', ...filter })).map(
        (found) => `${found.sensorId} ${found.quantity}`,
      );
    expect(await sensors({})).toEqual(['a1 airTempC', 'a1 relHumidityPct', 'p1 substrateMoisturePct', 'w1 airTempC']);
    expect(await sensors({ houseId: null })).toEqual(['w1 airTempC']);
    expect(await sensors({ houseId: 'north-house', benchId: null })).toEqual(['a1 airTempC', 'a1 relHumidityPct']);
    expect(await sensors({ benchId: 'b1' })).toEqual(['p1 substrateMoisturePct']);
    expect(await sensors({ placement: 'outside' })).toEqual(['w1 airTempC']);
    expect(await sensors({ quantities: ['airTempC'] })).toEqual(['a1 airTempC', 'w1 airTempC']);
    expect(await sensors({ quantities: [] })).toEqual([]);
    expect(await storage.readings.hourly({ siteId: 'nowhere' }, 0, T0 * 2)).toEqual([]);
  });

  it('follows its sensor to another bench', async () => {
    const storage = await openTemp();
    await storage.readings.commit(batchOf([reading(T0, 20)]));
    await storage.readings.commit(batchOf([reading(T0 + MINUTE_MS, 20, { houseId: 'south-house', benchId: 'b7' })]));
    expect(await storage.readings.series({ siteId: 'hill', houseId: 'north-house' })).toEqual([]);
    expect(await onlySeries(storage)).toMatchObject({ houseId: 'south-house', benchId: 'b7', stored: 2 });
  });

  it('tells its newest reading by the time of the reading, and when it was last heard by the time of arrival', async () => {
    const storage = await openTemp();
    await storage.readings.commit(batchOf([reading(T0 + HOUR_MS, 25, { receivedAt: T0 + HOUR_MS })]));
    await storage.readings.commit(batchOf([reading(T0, 20, { receivedAt: T0 + 2 * HOUR_MS })]));
    expect(await onlySeries(storage)).toMatchObject({
      lastAt: T0 + HOUR_MS,
      lastValue: 25,
      lastReceivedAt: T0 + 2 * HOUR_MS,
    });
  });
});

describe('raw points', () => {
  it('of one series come by rising time, a page at a time, through silent weeks', async () => {
    const storage = await openTemp('Europe/Berlin');
    const times = [T0, T0 + 1, T0 + 9 * MINUTE_MS, T0 + 50 * DAY_MS, T0 + 50 * DAY_MS + 1, T0 + 51 * DAY_MS];
    await storage.readings.commit(batchOf(times.map((at, index) => reading(at, index, { flagMask: index }))));
    await storage.readings.commit(batchOf(times.map((at) => reading(at, 50, { quantity: 'relHumidityPct' }))));
    const pages: number[][] = [];
    let after = 0;
    for (;;) {
      const page = await storage.readings.raw(1, after, T0 + 51 * DAY_MS, 2);
      if (page.length === 0) break;
      pages.push(page.map((point) => point.value));
      after = page.at(-1)?.at ?? 0;
    }
    // The last lies at the end, which does not belong to it.
    expect(pages).toEqual([[0, 1], [2, 3], [4]]);
    expect((await storage.readings.raw(1, T0, T0 + HOUR_MS, 10)).map((point) => point.flagMask)).toEqual([1, 2]);
    expect(await storage.readings.raw(99, 0, T0 * 2, 10)).toEqual([]);
  });

  it('are all there on a day of 25 hours', async () => {
    const storage = await openTemp('Europe/Berlin');
    const { startMs, endMs } = localDayBounds('Europe/Berlin', '2026-10-25');
    await storage.readings.commit(batchOf(everyTenMinutes(startMs - DAY_MS, endMs + DAY_MS)));
    const points = await storage.readings.raw(1, startMs - 1, endMs, 1000);
    expect(points.map((point) => point.at)).toEqual(everyTenMinutes(startMs, endMs).map((one) => one.at));
  });
});

describe('what cannot be kept', () => {
  it.each([
    ['a value that is no number', { value: Number.NaN }],
    ['a value without end', { value: Number.POSITIVE_INFINITY }],
    ['a time in parts of a millisecond', { at: T0 + 0.5 }],
  ])('%s is told by name and nothing of the batch is kept', async (_, wrong) => {
    const storage = await openTemp();
    await expect(storage.readings.commit(batchOf([reading(T0, 20), reading(T0, 20, wrong)]))).rejects.toMatchObject({
      code: 'invalid-input',
      problems: [{ path: 'hill/a1/airTempC' }],
    });
    expect(await storage.readings.series({ siteId: 'hill' })).toEqual([]);
  });
});

describe('after raw readings were pruned', () => {
  const now = T0 + 10 * DAY_MS;
  async function pruned() {
    const storage = await openTemp();
    await storage.readings.commit(batchOf(everyTenMinutes(T0, now)));
    const before = await storage.readings.daily({ siteId: 'hill' }, '2026-06-01', '2026-06-30');
    while (await storage.upkeep.pruneStep(keepRawDays(4), now));
    return { storage, before };
  }
  const hourAt = async (storage: Storage, at: number) =>
    (await storage.readings.hourly({ siteId: 'hill' }, at, at + 1))[0]?.rollUps[0];

  it('the roll-ups stand', async () => {
    const { storage, before } = await pruned();
    expect(await storage.readings.raw(1, 0, T0 + 5 * DAY_MS, 10)).toEqual([]);
    expect(await storage.readings.daily({ siteId: 'hill' }, '2026-06-01', '2026-06-30')).toEqual(before);
  });

  it('a late reading counts, and the integral still speaks only for the time it did', async () => {
    const { storage } = await pruned();
    const at = T0 + 2 * DAY_MS;
    const before = await hourAt(storage, at);
    expect(before).toMatchObject({ count: 6, mean: 20, integral: 20 * 3600, coveredSeconds: 3600 });
    await storage.readings.commit(batchOf([reading(at + 5 * MINUTE_MS, 27)]));
    expect(await hourAt(storage, at)).toEqual({
      startMs: at,
      count: 7,
      min: 20,
      mean: 21,
      max: 27,
      integral: 20 * 3600,
      coveredSeconds: 3600,
    });
  });

  it('a late reading just after the pruned time, whose neighbour may be gone, draws no line twice', async () => {
    const { storage } = await pruned();
    const first = (await storage.readings.raw(1, 0, now, 1))[0]?.at ?? 0;
    await storage.readings.commit(batchOf([reading(first + 5 * MINUTE_MS, 20)]));
    // Its neighbour before is there: the line is replaced by two, and no second is covered twice.
    await storage.readings.commit(batchOf([reading(first - 5 * MINUTE_MS, 20)]));
    const [day] = await storage.readings.daily({ siteId: 'hill' }, '2026-06-06', '2026-06-08');
    for (const roll of day?.days ?? []) expect(roll).toMatchObject({ coveredSeconds: 86_400, integral: 20 * 86_400 });
  });

  it('a late reading among kept ones corrects the integral as ever', async () => {
    const { storage } = await pruned();
    const at = now - DAY_MS;
    await storage.readings.commit(batchOf([reading(at + 5 * MINUTE_MS, 32)]));
    // A triangle 12 high over the ten minutes around it.
    expect(await hourAt(storage, at)).toMatchObject({ coveredSeconds: 3600, integral: 20 * 3600 + (12 * 600) / 2 });
  });

  it('a sensor that brings its whole memory for the first time gets its integrals', async () => {
    const { storage } = await pruned();
    await storage.readings.commit(batchOf(everyTenMinutes(T0, T0 + DAY_MS + 1, { sensorId: 'logger' })));
    const days = await storage.readings.daily({ siteId: 'hill' }, '2026-06-01', '2026-06-01');
    expect(days.find((found) => found.series.sensorId === 'logger')?.days[0]).toMatchObject({
      count: 144,
      coveredSeconds: 86_400,
    });
  });
});

describe('the hour and the day that are not over yet', () => {
  it('are read like those that are, after each commit and after opening again', async () => {
    const storage = await openTemp('Australia/Sydney');
    const day = '2026-06-02';
    const { startMs } = localDayBounds('Australia/Sydney', day);
    for (let step = 1; step <= 12; step += 1) {
      await storage.readings.commit(batchOf([reading(startMs + step * 5 * MINUTE_MS, step)]));
      const [found] = await storage.readings.daily({ siteId: 'hill' }, day, addDays(day, 5));
      expect(found?.days).toMatchObject([{ day, startMs, count: step, max: step, coveredSeconds: (step - 1) * 300 }]);
    }
  });
});
