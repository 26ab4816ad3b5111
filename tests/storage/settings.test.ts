import { join } from 'node:path';
import BetterSqlite from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import type { HouseSettings } from '../../src/domain/house-settings.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { openTemp, T0, tempFolder } from './support.js';

const HOUR = 3_600_000;
const settings = (revision: number, more: Partial<HouseSettings> = {}): HouseSettings => ({
  siteId: 'hill',
  houseId: 'north',
  revision,
  at: T0 + revision * HOUR,
  by: 'Ada',
  why: `reason ${revision}`,
  limits: [{ name: 'drink-gap', group: 'conophytum', phase: 'growing', drink: 'light', value: revision }],
  alertLimits: { frostBelowC: 2.5 },
  tasksOff: ['feeding'],
  ...more,
});

describe('settings of houses', () => {
  it('come back whole after opening again, every kind of value as it was', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
    const all = settings(1, {
      limits: [
        { name: 'a', value: 0.1 + 0.2 },
        { name: 'b', value: 'soft' },
        { name: 'c', value: false },
        { name: 'd', value: [30, 50] },
        { name: 'e', value: [[330, 60]] },
        { name: 'f', value: null },
      ],
    });
    expect(await storage.settings.append(all)).toBe(true);
    await storage.close();
    const again = await openTemp('UTC', path);
    expect(await again.settings.get('hill', 'north', 1)).toEqual(all);
    expect(await again.settings.get('hill', 'north', 2)).toBeUndefined();
  });

  it('are a row of revisions without gaps: whoever comes second with the same number gets nothing in', async () => {
    const storage = await openTemp();
    const both = await Promise.all([
      storage.settings.append(settings(1)),
      storage.settings.append(settings(1, { by: 'Ben' })),
    ]);
    expect(both).toEqual([true, false]);
    expect(await storage.settings.append(settings(3))).toBe(false);
    expect(await storage.settings.append(settings(0))).toBe(false);
    expect(await storage.settings.append(settings(2))).toBe(true);
    expect(await storage.settings.append(settings(1, { houseId: 'south' }))).toBe(true);
    expect((await storage.settings.history('hill', 'north')).map(({ revision, by }) => [revision, by])).toEqual([
      [2, 'Ada'],
      [1, 'Ada'],
    ]);
  });

  it('are found by house, by instant and page by page', async () => {
    const storage = await openTemp();
    for (const revision of [1, 2, 3]) await storage.settings.append(settings(revision));
    await storage.settings.append(settings(1, { siteId: 'valley' }));
    expect((await storage.settings.newest()).map(({ siteId, revision }) => [siteId, revision])).toEqual([
      ['hill', 3],
      ['valley', 1],
    ]);
    const inForce = async (at: number) => (await storage.settings.at('hill', 'north', at))?.revision;
    expect(await inForce(T0)).toBeUndefined();
    expect(await inForce(T0 + HOUR)).toBe(1);
    expect(await inForce(T0 + 3 * HOUR - 1)).toBe(2);
    expect(await inForce(T0 + 90 * HOUR)).toBe(3);
    const page = await storage.settings.history('hill', 'north', { beforeRevision: 3, limit: 1 });
    expect(page.map(({ revision }) => revision)).toEqual([2]);
    expect(await storage.settings.history('hill', 'south')).toEqual([]);
  });

  it('cannot be changed or taken away, not even past the service', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    await storage.settings.append(settings(1));
    const db = new BetterSqlite(path);
    expect(() => db.exec("UPDATE house_settings SET why = 'x'")).toThrow(/never changed in place/);
    expect(() => db.exec('DELETE FROM house_settings')).toThrow(/never taken away/);
    db.close();
  });

  it('are there for another program that has the database open', async () => {
    const path = join(tempFolder(), 'test.db');
    const [one, other] = [await openTemp('UTC', path), await openTemp('UTC', path)];
    await one.settings.append(settings(1));
    expect(await other.settings.append(settings(1))).toBe(false);
    expect(await other.settings.append(settings(2))).toBe(true);
  });
});
