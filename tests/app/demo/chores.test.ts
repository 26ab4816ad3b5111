import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { createKeeper } from '../../../src/advice/keeper.js';
import { createRounds } from '../../../src/advice/rounds.js';
import { zoneOfSite } from '../../../src/app/commands/storage.js';
import { DEMO_CONFIG } from '../../../src/app/config/paths.js';
import { createDemo } from '../../../src/app/demo/demo.js';
import { appendThrough } from '../../../src/app/demo/feed.js';
import { loadConfig } from '../../../src/config.js';
import { openSqliteStorage } from '../../../src/storage/sqlite.js';

const folder = mkdtempSync(join(tmpdir(), 'leafturn-chores-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const config = loadConfig(DEMO_CONFIG, { env: { LEAFTURN_DATA: folder } });
const daily = { ...config, demo: { seed: 20, historyDays: 120, readingMinutes: 720 } };

/** The journal of the demo in a real database, without its readings. */
async function told(now: number) {
  const storage = await openSqliteStorage({ path: ':memory:', zoneOf: zoneOfSite(config) });
  const { catalogue } = config;
  const keeper = createKeeper({
    storage,
    sites: () => config.sites,
    ids: () => ({
      groups: catalogue.speciesGroups.map(({ id }) => id),
      pots: catalogue.pots.map(({ id }) => id),
      mixes: catalogue.mixes.map(({ id }) => id),
    }),
    now: () => now,
  });
  await createDemo({ config: daily, now }).history(async () => {}, appendThrough(keeper));
  const rounds = createRounds({
    storage,
    keeper,
    sites: () => config.sites,
    catalogue: () => catalogue,
    rulebook: () => config.rulebook,
    looksAtMost: () => 10,
    now: () => now,
  });
  return { storage, keeper, rounds };
}

describe('the other work of the demo', () => {
  it.each([
    ['February', Date.UTC(2026, 1, 10, 9)],
    ['May', Date.UTC(2026, 4, 20, 9)],
    ['August', Date.UTC(2026, 7, 20, 9)],
    ['November', Date.UTC(2026, 10, 20, 9)],
  ])('was mostly done, and some of it was left, in %s', async (_month, now) => {
    const { storage, rounds } = await told(now);
    const kinds = new Set<string>();
    for (const site of config.sites) {
      for (const { event } of await storage.journal.all(site.id)) if (event.kind === 'task-done') kinds.add(event.task);
      const { tasks } = await rounds.make(site.id, rounds.today(site.id));
      expect(tasks.length).toBeGreaterThanOrEqual(3);
      expect(tasks.length).toBeLessThanOrEqual(12);
      // One house was forgotten, the others were looked at: its looks are due, and none was never made.
      const looks = tasks.filter(({ kind }) => kind === 'inspect-mites' || kind === 'inspect-mealybugs');
      expect(new Set(looks.map(({ houseId }) => houseId))).toEqual(new Set([site.houses.at(-1)?.id]));
      expect(looks.every(({ dueSince }) => dueSince !== undefined)).toBe(true);
    }
    for (const kind of ['feed', 'inspect-mealybugs', 'inspect-mites', 'inspect-gnats', 'pollinate'])
      expect(kinds).toContain(kind);
    await storage.close();
  });
});
