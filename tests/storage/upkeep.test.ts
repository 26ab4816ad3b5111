import { closeSync, existsSync, openSync, readdirSync, writeFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import BetterSqlite from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import type { CheckedReading, Retention } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { dump } from './faults.js';
import { batchOf, openTemp, reading, T0, tempFolder } from './support.js';

const MINUTE_MS = 60_000;
const DAY_MS = 24 * 60 * MINUTE_MS;
const retention: Retention = {
  readingsDays: 2,
  hourlyDays: 5,
  refusalsKept: 10,
  idempotencyHours: 48,
  roundRevisionsDays: 30,
  forecastsDays: 400,
};
const minutes = (from: number, count: number, sensorId = 'a1'): CheckedReading[] =>
  Array.from({ length: count }, (_, index) => reading(T0 + (from + index) * MINUTE_MS, index % 40, { sensorId }));

describe('pruning', () => {
  it('goes in small steps, says when more is left, and stops at the age given', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    const days = 12;
    for (let day = 0; day < days; day += 1) await storage.readings.commit(batchOf(minutes(day * 1440, 1440)));
    const at = T0 + days * DAY_MS;
    const counts = () => {
      const { readings, hourly, daily } = dump(path);
      return { readings: readings?.length ?? 0, hourly: hourly?.length ?? 0, daily: daily?.length ?? 0 };
    };
    let before = counts();
    // The last hour and the last day are still open: not yet in their tables.
    expect(before).toEqual({ readings: 12 * 1440, hourly: 12 * 24 - 1, daily: 11 });
    let steps = 0;
    for (let more = true; more; steps += 1) {
      more = await storage.upkeep.pruneStep(retention, at);
      const after = counts();
      expect(before.readings - after.readings).toBeLessThanOrEqual(5000);
      before = after;
    }
    expect(steps).toBe(3);
    // Back from the newest arrival, 11:59:00.5 pm, to whole slots of ten minutes.
    expect(before).toEqual({ readings: 2 * 1440 + 10, hourly: 5 * 24 - 1, daily: 11 });
    expect(await storage.upkeep.pruneStep(retention, at)).toBe(false);
    expect(counts()).toEqual(before);
  });

  it('takes hours of many series in small steps too', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    for (let sensor = 0; sensor < 30; sensor += 1) {
      const hours = Array.from({ length: 400 }, (_, hour) =>
        reading(T0 + hour * 60 * MINUTE_MS, 20, { sensorId: `s${sensor}` }),
      );
      await storage.readings.commit(batchOf(hours));
    }
    const left: number[] = [];
    for (let more = true; more; ) {
      more = await storage.upkeep.pruneStep(retention, T0 + 400 * 60 * MINUTE_MS);
      left.push(dump(path).hourly?.length ?? 0);
    }
    const wanted = 30 * 119;
    expect(left.at(-1)).toBe(wanted);
    expect(left[0]).toBe(30 * 399 - 5000);
  });

  it('is not fooled by a clock that jumped ahead', async () => {
    const storage = await openTemp();
    await storage.readings.commit(batchOf(minutes(0, 1000)));
    await storage.upkeep.pruneStep(retention, T0 + 3650 * DAY_MS);
    expect(await storage.readings.raw(1, 0, T0 + DAY_MS, 2000)).toHaveLength(1000);
  });
});

describe('a backup', () => {
  it('is a sound database of one file that opens and holds everything, while readings go on', async () => {
    const folder = tempFolder();
    const path = join(folder, 'test.db');
    const storage = await openTemp('UTC', path);
    for (let day = 0; day < 5; day += 1) {
      for (let sensor = 0; sensor < 10; sensor += 1) {
        await storage.readings.commit(batchOf(minutes(day * 1440, 1440, `s${sensor}`)));
      }
    }
    const target = join(folder, 'backup.db');
    let running = true;
    const backup = storage.upkeep.backup(target).finally(() => {
      running = false;
    });
    let during = 0;
    while (running) {
      during += (await storage.readings.commit(batchOf(minutes(during, 10, 'live')))).stored;
      await storage.journal.append([
        { siteId: 'hill', happenedAt: T0, enteredAt: T0, by: 'Ada', event: { kind: 'note', text: `n${during}` } },
      ]);
      await new Promise((turn) => setImmediate(turn));
    }
    await backup;
    expect(during).toBeGreaterThan(0);
    expect(readdirSync(folder).filter((name) => name.startsWith('backup'))).toEqual(['backup.db']);

    const copy = await openSqliteStorage({ path: target, zoneOf: () => 'UTC' });
    expect(await copy.upkeep.check()).toEqual({ ok: true, detail: 'sound' });
    const series = await copy.readings.series({ siteId: 'hill' });
    expect(series.filter((one) => one.sensorId !== 'live').map((one) => one.stored)).toEqual(Array(10).fill(5 * 1440));
    // What came during the copy is in it whole or not at all: each series has as many rows as it says.
    for (const one of series) {
      expect(await copy.readings.raw(one.seriesId, 0, T0 + 400 * DAY_MS, 100_000)).toHaveLength(one.stored);
    }
    // The copy lives on: the next commit follows where the last one ended.
    expect((await copy.readings.commit(batchOf(minutes(5 * 1440, 1, 's0')))).stored).toBe(1);
    await copy.close();
  });

  it('replaces the one before only when it is whole', async () => {
    const folder = tempFolder();
    const storage = await openTemp('UTC', join(folder, 'test.db'));
    await storage.readings.commit(batchOf(minutes(0, 10)));
    const target = join(folder, 'backup.db');
    await storage.upkeep.backup(target);
    await storage.readings.commit(batchOf(minutes(10, 10)));
    // A stale log of another file of this name must not be played into the new one.
    writeFileSync(`${target}-wal`, 'stale');
    await storage.upkeep.backup(target);
    expect(existsSync(`${target}-wal`)).toBe(false);
    expect(dump(target).readings).toHaveLength(20);

    await expect(storage.upkeep.backup(join(folder, 'no-such-folder', 'x.db'))).rejects.toMatchObject({
      name: 'LeafturnError',
    });
    await expect(storage.upkeep.backup(join(folder, 'test.db'))).rejects.toMatchObject({ code: 'invalid-input' });
    expect(dump(target).readings).toHaveLength(20);
  });
});

describe('the check', () => {
  it('finds a damaged page and says so', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
    await storage.readings.commit(batchOf(minutes(0, 5000)));
    await storage.close();
    const root = new BetterSqlite(path, { readonly: true });
    const page = root.prepare(`SELECT rootpage FROM sqlite_schema WHERE name = 'readings'`).pluck().get() as number;
    root.close();
    const file = openSync(path, 'r+');
    writeSync(file, Buffer.alloc(64, 0xff), 0, 64, (page - 1) * 4096);
    closeSync(file);
    const damaged = await openTemp('UTC', path);
    const found = await damaged.upkeep.check();
    expect(found).toEqual({ ok: false, detail: expect.stringMatching(/malformed|page/i) });
  });

  it('works in memory too, and sizes are told', async () => {
    const storage = await openTemp('UTC', ':memory:');
    expect(await storage.upkeep.check()).toEqual({ ok: true, detail: 'sound' });
    expect(await storage.upkeep.sizes()).toEqual({ databaseBytes: expect.any(Number), walBytes: 0 });
  });

  it('of a file tells the size of its log', async () => {
    const storage = await openTemp();
    await storage.readings.commit(batchOf(minutes(0, 100)));
    const { databaseBytes, walBytes } = await storage.upkeep.sizes();
    expect(databaseBytes).toBeGreaterThan(50_000);
    expect(walBytes).toBeGreaterThan(0);
  });
});
