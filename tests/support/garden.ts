import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createKeeper, type Keeper } from '../../src/advice/keeper.js';
import type { JournalEventInput } from '../../src/domain/journal.js';
import { type Site, siteSchema } from '../../src/domain/site.js';
import type { Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';

/** Two invented sites, one in each hemisphere, on a real database file in a folder of its own. */
export const SITES: readonly Site[] = [
  siteSchema.parse({
    id: 'home',
    name: 'Home',
    latitude: 51,
    longitude: 7,
    zone: 'Europe/Berlin',
    houses: [
      {
        id: 'north',
        name: 'North house',
        cloths: [{ id: 'thin', name: 'Thin cloth', shadePct: 30 }],
        lines: [
          { id: 'line-a', name: 'Line A' },
          { id: 'line-b', name: 'Line B' },
        ],
      },
      { id: 'frame', name: 'Cold frame' },
    ],
  }),
  siteSchema.parse({
    id: 'far',
    name: 'Far side',
    latitude: -33,
    longitude: 19,
    zone: 'Africa/Johannesburg',
    houses: [{ id: 'tunnel', name: 'Tunnel' }],
  }),
];

export const IDS = {
  groups: ['lithops-summer', 'conophytum'],
  pots: ['square-7cm-plastic', 'round-9cm-clay'],
  mixes: ['mineral-80-20', 'mineral-pure'],
};

/** Wednesday 25 February 2026, 08:00 in Berlin. */
export const START = Date.UTC(2026, 1, 25, 7);
export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

export interface Garden {
  readonly storage: Storage;
  readonly keeper: Keeper;
  readonly path: string;
  /** Instant of the garden's clock. */
  now: number;
  /** Another keeper on the same journal, as after a restart. */
  again(): Keeper;
  close(): Promise<void>;
}

export async function openGarden(): Promise<Garden> {
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-'));
  const path = join(folder, 'garden.db');
  const storage = await openSqliteStorage({
    path,
    zoneOf: (siteId) => SITES.find(({ id }) => id === siteId)?.zone ?? 'UTC',
  });
  const again = () => createKeeper({ storage, sites: () => SITES, ids: () => IDS, now: () => garden.now });
  const garden: Garden = {
    storage,
    keeper: createKeeper({ storage, sites: () => SITES, ids: () => IDS, now: () => garden.now }),
    path,
    now: START,
    again,
    close: async () => {
      await storage.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
  return garden;
}

export const bench = (benchId: string, lineId?: string, houseId = 'north'): JournalEventInput => ({
  kind: 'bench-added',
  benchId,
  houseId,
  name: `Bench ${benchId}`,
  ...(lineId !== undefined && { lineId }),
});

export const batch = (batchId: string, benchId: string, more: object = {}): JournalEventInput => ({
  kind: 'batch-created',
  batchId,
  name: `Batch ${batchId}`,
  group: 'lithops-summer',
  benchId,
  potCount: 40,
  ...more,
});

/** Two benches on line A, one by hand, and three batches, all of an hour before the garden's now. */
export async function plant(garden: Garden): Promise<void> {
  await garden.keeper.record(
    'home',
    [
      bench('b1', 'line-a'),
      bench('b2', 'line-a'),
      bench('b3'),
      batch('stones', 'b1'),
      batch('cones', 'b2', { group: 'conophytum', potCount: 12 }),
      batch('seedlings', 'b3', { potCount: 200 }),
    ],
    { by: 'Ada', happenedAt: garden.now - HOUR },
  );
}
