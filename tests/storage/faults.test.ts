import { join } from 'node:path';
import type { Database } from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import { LeafturnError } from '../../src/domain/errors.js';
import type { IngestBatch, Refusal, Retention, Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { dump, failAtCall, watchConnections } from './faults.js';
import { batchOf, openTemp, reading, T0, tempFolder } from './support.js';

const MINUTE_MS = 60_000;
const refusal: Refusal = {
  at: T0,
  topic: 'a/b',
  siteId: 'hill',
  sensorId: 'a1',
  quantity: 'airTempC',
  reason: 'out-of-range',
  sentence: 'Expected -40 to 70 °C, got 999.',
  excerpt: '{"t":999}',
};
const before = batchOf([reading(T0, 10), reading(T0 + 30 * MINUTE_MS, 12)]);
/** Something of everything: in order over the end of an hour and a day, late, twice, a new series, a moved sensor, refusals. */
const mixed: IngestBatch = {
  readings: [
    reading(T0 + 10 * MINUTE_MS, 11),
    reading(T0 + 70 * MINUTE_MS, 14),
    reading(T0 + 70 * MINUTE_MS, 14),
    reading(T0 + 25 * 60 * MINUTE_MS, 9, { houseId: 'south-house' }),
    reading(T0 + 20 * MINUTE_MS, 60, { quantity: 'relHumidityPct' }),
  ],
  refusals: [refusal, { ...refusal, siteId: null, sensorId: null, quantity: null, reason: 'malformed' }],
  messages: 6,
};

async function thrown(work: () => Promise<unknown>): Promise<unknown> {
  try {
    await work();
    return undefined;
  } catch (error) {
    return error;
  }
}

/**
 * Runs the work with a fault at the first statement, then at the second and so on until it gets through. After each
 * fault the database must be as before, and the work done again must give what it gives without any fault.
 */
async function sweep(
  code: string,
  expectedCode: string,
  prepare: (storage: Storage) => Promise<unknown>,
  work: (storage: Storage) => Promise<unknown>,
): Promise<number> {
  const wantedPath = join(tempFolder(), 'wanted.db');
  const wantedStorage = await openTemp('UTC', wantedPath);
  await prepare(wantedStorage);
  await work(wantedStorage);
  const wanted = dump(wantedPath);

  for (let nth = 1; ; nth += 1) {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    await prepare(storage);
    const untouched = dump(path);
    const fault = failAtCall(nth, code);
    const error = await thrown(() => work(storage)).finally(() => fault.end());
    if (!fault.fired) {
      expect(error).toBeUndefined();
      return nth - 1;
    }
    if (error === undefined) {
      // It came after the transaction, in what is done on the side: nothing of the work may be missing.
      expect(dump(path), `after a fault at statement ${nth}`).toEqual(wanted);
      continue;
    }
    expect(error, `fault at statement ${nth}`).toBeInstanceOf(LeafturnError);
    expect((error as LeafturnError).code).toBe(expectedCode);
    expect(dump(path), `after a fault at statement ${nth}`).toEqual(untouched);
    await work(storage);
    expect(dump(path), `tried again after a fault at statement ${nth}`).toEqual(wanted);
  }
}

describe('a failure at any statement leaves nothing half', () => {
  it('of a commit', async () => {
    const points = await sweep(
      'SQLITE_FULL',
      'database-full',
      (storage) => storage.readings.commit(before),
      (storage) => storage.readings.commit(mixed),
    );
    // 5 inserts, the series and states, the closed hours and days, refusals and their counts: many, or the sweep sees nothing.
    expect(points).toBeGreaterThan(20);
  });

  it.each([
    ['SQLITE_BUSY', 'database-busy'],
    ['SQLITE_IOERR_WRITE', 'database-failed'],
    ['SQLITE_CORRUPT', 'database-failed'],
  ])('and %s is told as %s, by a commit and by a query', async (code, expectedCode) => {
    const storage = await openTemp();
    for (const work of [() => storage.readings.commit(mixed), () => storage.journal.all('hill')]) {
      const fault = failAtCall(1, code);
      expect(await thrown(work).finally(() => fault.end())).toMatchObject({
        name: 'LeafturnError',
        code: expectedCode,
      });
    }
  });

  it('of a journal entry with its batches', async () => {
    const entry = {
      siteId: 'hill',
      happenedAt: T0,
      enteredAt: T0,
      by: 'Ada',
      event: { kind: 'watering', batchIds: ['b1', 'b2'], amount: 'light', answer: 'unasked' },
    } as const;
    const points = await sweep(
      'SQLITE_FULL',
      'database-full',
      async () => undefined,
      (storage) => storage.journal.append([{ ...entry, event: { ...entry.event, batchIds: ['b1', 'b2'] } }]),
    );
    expect(points).toBeGreaterThanOrEqual(4);
  });

  it('of opening: an empty file is either untouched or complete', async () => {
    let troubles = 0;
    for (let nth = 1; ; nth += 1) {
      const path = join(tempFolder(), 'new.db');
      const told: unknown[] = [];
      const fault = failAtCall(nth, 'SQLITE_FULL');
      const error = await thrown(async () => {
        await (
          await openSqliteStorage({ path, zoneOf: () => 'UTC', onTrouble: (trouble) => told.push(trouble) })
        ).close();
      }).finally(() => fault.end());
      if (!fault.fired) break;
      // Once the tables are there a full disk does not keep the service from opening: it is only told.
      expect(error ?? told[0]).toMatchObject({ code: 'database-full' });
      troubles += told.length;
      const storage = await openTemp('UTC', path);
      expect((await storage.readings.commit(before)).stored).toBe(2);
    }
    expect(troubles).toBe(1);
  });

  it('of pruning: what is gone is gone from the raw table alone, and the next step goes on', async () => {
    const retention: Retention = {
      readingsDays: 1,
      hourlyDays: 3650,
      refusalsKept: 1,
      idempotencyHours: 1,
      roundRevisionsDays: 1,
      forecastsDays: 400,
    };
    const days = 3;
    const readings = Array.from({ length: days * 144 }, (_, index) => reading(T0 + index * 10 * MINUTE_MS, index % 30));
    const at = T0 + days * 24 * 60 * MINUTE_MS;
    for (let nth = 1; ; nth += 1) {
      const path = join(tempFolder(), 'test.db');
      const storage = await openTemp('UTC', path);
      await storage.readings.commit(batchOf(readings, { refusals: [refusal, refusal, refusal] }));
      const full = dump(path);
      const fault = failAtCall(nth, 'SQLITE_FULL');
      const error = await thrown(() => storage.upkeep.pruneStep(retention, at)).finally(() => fault.end());
      const left = dump(path);
      expect(left.hourly).toEqual(full.hourly);
      expect(left.daily).toEqual(full.daily);
      const pruned = (left.readings as unknown[]).length < readings.length;
      const marked = (left.totals as { name: string }[]).some((row) => row.name === 'readings-pruned-before');
      expect(pruned, `fault at statement ${nth}`).toBe(marked);
      await storage.upkeep.pruneStep(retention, at);
      // A day back from the newest, which lies on a bound of ten minutes itself.
      expect((dump(path).readings as unknown[]).length).toBe(145);
      expect(dump(path).refusals).toHaveLength(1);
      if (!fault.fired) break;
      // Only the checkpoint at the end may fail without a word about the data.
      expect(error).toBeDefined();
    }
  });
});

describe('a full disk', () => {
  async function filled() {
    const seen = watchConnections();
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    const db = [...seen].find((one) => one.name === path) as Database;
    const pages = db.pragma('page_count', { simple: true }) as number;
    db.pragma(`max_page_count = ${pages + 20}`);
    return { path, storage, db };
  }

  it('refuses the commit whole, keeps what was there, and goes on when there is room again', async () => {
    const { path, storage, db } = await filled();
    let minute = 0;
    let stored = 0;
    const next = () =>
      batchOf(
        Array.from({ length: 500 }, (_, index) => reading(T0 + (minute + index) * MINUTE_MS, (minute + index) % 40)),
      );
    let error: unknown;
    while (error === undefined) {
      error = await thrown(async () => {
        stored += (await storage.readings.commit(next())).stored;
      });
      if (error === undefined) minute += 500;
    }
    expect(error).toMatchObject({ code: 'database-full' });
    expect(stored).toBeGreaterThan(0);
    expect((dump(path).readings as unknown[]).length).toBe(stored);
    expect((await storage.readings.totals()).stored).toBe(stored);
    // Still full, still no half: and reading goes on.
    expect(await thrown(() => storage.readings.commit(next()))).toMatchObject({ code: 'database-full' });
    expect((await storage.readings.series({ siteId: 'hill' }))[0]?.stored).toBe(stored);

    db.pragma('max_page_count = 1000000');
    expect((await storage.readings.commit(next())).stored).toBe(500);

    const plain = await openTemp();
    await plain.readings.commit(
      batchOf(Array.from({ length: stored + 500 }, (_, index) => reading(T0 + index * MINUTE_MS, index % 40))),
    );
    const range = [{ siteId: 'hill' }, T0, T0 + 1e9] as const;
    expect(await storage.readings.hourly(...range)).toEqual(
      (await plain.readings.hourly(...range)).map((found) => ({
        ...found,
        series: { ...found.series, seriesId: expect.any(Number) },
      })),
    );
  });

  it('refuses a journal entry whole, inside a transaction that the database ended by itself', async () => {
    const { path, storage } = await filled();
    const entry = (index: number) => ({
      siteId: 'hill',
      happenedAt: T0,
      enteredAt: T0,
      by: 'Ada',
      event: {
        kind: 'watering' as const,
        batchIds: Array.from({ length: 400 }, (_, batch) => `batch-${index}-${batch}`),
        amount: 'full' as const,
        answer: 'unasked' as const,
      },
    });
    let error: unknown;
    let kept = 0;
    while (error === undefined) {
      error = await thrown(() => storage.journal.append([entry(kept)]));
      if (error === undefined) kept += 1;
    }
    expect(error).toMatchObject({ code: 'database-full' });
    expect(dump(path).journal).toHaveLength(kept);
    expect(dump(path).journal_batch).toHaveLength(kept * 400);
    expect(await storage.journal.all('hill')).toHaveLength(kept);
  });
});
