import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import BetterSqlite from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import { checkDurable, checkSqliteVersion, openConnection } from '../../src/storage/sqlite/connection.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { watchConnections } from './faults.js';
import { batchOf, openTemp, reading, T0, tempFolder } from './support.js';

describe('durability', () => {
  it('is full on every connection, after writing and after opening again', async () => {
    const path = join(tempFolder(), 'test.db');
    const seen = watchConnections();
    for (let opening = 0; opening < 3; opening += 1) {
      const storage = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
      await storage.readings.commit(batchOf([reading(T0 + opening * 60_000, 20)]));
      await storage.upkeep.pruneStep(
        {
          readingsDays: 90,
          hourlyDays: 900,
          refusalsKept: 100,
          idempotencyHours: 48,
          roundRevisionsDays: 30,
          forecastsDays: 400,
        },
        T0,
      );
      for (const db of seen) {
        if (!db.open) continue;
        expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
        expect(db.pragma('synchronous', { simple: true })).toBe(2);
        expect(db.pragma('journal_size_limit', { simple: true })).toBe(64 * 1024 * 1024);
      }
      await storage.close();
    }
    expect(seen.size).toBe(3);
  });

  it('is noticed when it is missing: the library falls back to normal by itself', () => {
    const path = join(tempFolder(), 'test.db');
    openConnection(path).close();
    const db = new BetterSqlite(path);
    db.exec('CREATE TABLE t (x)');
    expect(db.pragma('synchronous', { simple: true })).toBe(1);
    expect(() => checkDurable(db)).toThrow(/expected synchronous 2/);
    db.close();
  });
});

describe('the version of SQLite', () => {
  // Fixed in 3.51.3: sqlite.org/wal.html#walresetbug.
  it.each(['3.51.2', '3.50.4', '3.7.0', '2.99.99', '3.9.3'])('%s is refused', (version) => {
    expect(() => checkSqliteVersion(version)).toThrow(expect.objectContaining({ code: 'database-too-old' }));
  });
  it.each(['3.51.3', '3.51.10', '3.53.2', '4.0.0'])('%s is taken', (version) => {
    expect(() => checkSqliteVersion(version)).not.toThrow();
  });
});

describe('a file that is no database of ours', () => {
  it('is told apart from a broken one and left alone', async () => {
    const path = join(tempFolder(), 'notes.txt');
    writeFileSync(path, 'these are only my notes on sowing, nothing else. '.repeat(40));
    await expect(openSqliteStorage({ path, zoneOf: () => 'UTC' })).rejects.toMatchObject({
      code: 'database-failed',
      message: expect.stringContaining('cannot be opened'),
    });
  });

  it('in a folder that cannot be made is named', async () => {
    const blocked = join(tempFolder(), 'file');
    writeFileSync(blocked, '');
    await expect(openSqliteStorage({ path: join(blocked, 'x', 'test.db'), zoneOf: () => 'UTC' })).rejects.toMatchObject(
      {
        code: 'file-failed',
      },
    );
  });
});

describe('two programs on one database', () => {
  it('see each other: what one committed the other takes into account', async () => {
    const path = join(tempFolder(), 'test.db');
    const [one, other] = [await openTemp('UTC', path), await openTemp('UTC', path)];
    const minute = 60_000;
    await one.readings.commit(batchOf([reading(T0, 10)]));
    await other.readings.commit(batchOf([reading(T0 + minute, 20)]));
    await one.readings.commit(batchOf([reading(T0 + 2 * minute, 30), reading(T0 + minute, 20)]));
    const [found] = await other.readings.hourly({ siteId: 'hill' }, T0, T0 + 1);
    expect(found?.series).toMatchObject({ stored: 3, duplicates: 1, lastValue: 30 });
    expect(found?.rollUps[0]).toMatchObject({ count: 3, mean: 20, integral: 2 * 20 * 60, coveredSeconds: 120 });
  });

  it('a write that waits too long for the other is told as busy and keeps nothing', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    const other = new BetterSqlite(path);
    other.exec('BEGIN IMMEDIATE');
    await expect(storage.readings.commit(batchOf([reading(T0, 10)]))).rejects.toMatchObject({ code: 'database-busy' });
    other.exec('ROLLBACK');
    other.close();
    expect(await storage.readings.commit(batchOf([reading(T0, 10)]))).toMatchObject({ stored: 1 });
  });
});
