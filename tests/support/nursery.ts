import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { InForce } from '../../src/advice/house-settings.js';
import { createKeeper, type Keeper } from '../../src/advice/keeper.js';
import { createRounds, type Rounds } from '../../src/advice/rounds.js';
import { loadCatalogue } from '../../src/app/config/catalogue.js';
import { PACKAGE_CONFIG } from '../../src/app/config/paths.js';
import { loadRulebook } from '../../src/app/config/rulebook.js';
import type { JournalEventInput } from '../../src/domain/journal.js';
import type { Quantity } from '../../src/domain/quantities.js';
import { type Site, siteSchema } from '../../src/domain/site.js';
import { addDays, civilNoon, instantOnDay, type LocalDay, localDayBounds } from '../../src/domain/time.js';
import type { BatchAdvice, Round } from '../../src/domain/verdict.js';
import type { CheckedReading, Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';

/** The catalogue and the rulebook that come with the service: what is tested is what growers get. */
export const CATALOGUE = loadCatalogue(join(PACKAGE_CONFIG, 'catalogue'));
export const RULEBOOK = loadRulebook(join(PACKAGE_CONFIG, 'rulebook'));

export interface Weather {
  readonly nightC: number;
  readonly dayC: number;
  readonly relHumidityPct: number;
  readonly noonPpfdUmol: number;
}
/** A mild spell of early summer under glass. */
export const MILD: Weather = { nightC: 13, dayC: 23, relHumidityPct: 55, noonPpfdUmol: 900 };

export interface Nursery {
  readonly site: Site;
  readonly storage: Storage;
  readonly keeper: Keeper;
  readonly rounds: Rounds;
  now: number;
  /** What is set for the house. */
  settings: InForce;
  /** Hourly readings of one house for whole local days, `keep` says which come. */
  readings(
    from: LocalDay,
    to: LocalDay,
    weather: Weather,
    keep?: (at: number, quantity: Quantity) => boolean,
  ): Promise<void>;
  enter(day: LocalDay, clock: string, ...events: JournalEventInput[]): Promise<number>;
  close(): Promise<void>;
}

export async function openNursery(
  place: { zone?: string; latitude?: number; longitude?: number } = {},
): Promise<Nursery> {
  const site = siteSchema.parse({
    id: 'home',
    name: 'Home',
    latitude: place.latitude ?? 51,
    longitude: place.longitude ?? 10,
    zone: place.zone ?? 'Europe/Berlin',
    houses: [
      {
        id: 'north',
        name: 'North house',
        fans: true,
        lines: [
          { id: 'line-a', name: 'Line A', flowLPerMinute: 2 },
          { id: 'line-m', name: 'Mist', fromAbove: true },
        ],
      },
    ],
  });
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-'));
  const storage = await openSqliteStorage({ path: join(folder, 'nursery.db'), zoneOf: () => site.zone });
  const keeper = createKeeper({
    storage,
    sites: () => [site],
    ids: () => ({
      groups: CATALOGUE.speciesGroups.map(({ id }) => id),
      pots: CATALOGUE.pots.map(({ id }) => id),
      mixes: CATALOGUE.mixes.map(({ id }) => id),
    }),
    now: () => nursery.now,
  });
  const nursery: Nursery = {
    site,
    storage,
    keeper,
    now: 0,
    settings: { revision: 0, limits: [] },
    rounds: createRounds({
      settings: () => nursery.settings,
      storage,
      keeper,
      sites: () => [site],
      catalogue: () => CATALOGUE,
      rulebook: () => RULEBOOK,
      looksAtMost: () => 10,
      now: () => nursery.now,
    }),
    async readings(from, to, weather, keep = () => true) {
      for (let day = from; day <= to; day = addDays(day, 1)) {
        const readings = readingsOf(site, day, weather).filter(({ at, quantity }) => keep(at, quantity));
        await storage.readings.commit({ readings, refusals: [], messages: readings.length });
      }
    },
    async enter(day, clock, ...events) {
      const happenedAt = instantOnDay(site.zone, day, clock);
      const [first] = await keeper.record('home', events, { by: 'Ada', happenedAt, enteredAt: happenedAt });
      return first?.id ?? 0;
    },
    async close() {
      await storage.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
  return nursery;
}

/** A reading of the sensor that hangs in the house `north`. */
export const northReading = (siteId: string, quantity: Quantity, value: number, at: number): CheckedReading => ({
  siteId,
  sensorId: 'north-air',
  quantity,
  houseId: 'north',
  benchId: null,
  placement: 'inside',
  at,
  value,
  flagMask: 0,
  timeSource: 'payload',
  receivedAt: at,
});

function readingsOf(site: Site, day: LocalDay, weather: Weather): CheckedReading[] {
  const { startMs, endMs } = localDayBounds(site.zone, day);
  const noonMs = civilNoon(site.zone, day);
  const readings: CheckedReading[] = [];
  for (let at = startMs; at < endMs; at += 1_800_000) {
    const sun = Math.max(0, Math.cos(((at - noonMs) / (8 * 3_600_000)) * (Math.PI / 2)));
    const lit = Math.abs(at - noonMs) < 8 * 3_600_000 ? sun : 0;
    for (const [quantity, value] of [
      ['airTempC', weather.nightC + (weather.dayC - weather.nightC) * lit],
      ['relHumidityPct', weather.relHumidityPct],
      ['ppfdUmol', weather.noonPpfdUmol * lit],
    ] as const)
      readings.push(northReading(site.id, quantity, value, at));
  }
  return readings;
}

export const bench = (benchId: string, lineId?: string): JournalEventInput => ({
  kind: 'bench-added',
  benchId,
  houseId: 'north',
  name: `Bench ${benchId}`,
  ...(lineId !== undefined && { lineId }),
});
export const batch = (batchId: string, benchId: string, group: string, more: object = {}): JournalEventInput => ({
  kind: 'batch-created',
  batchId,
  name: `Batch ${batchId}`,
  group,
  benchId,
  potCount: 20,
  sownOn: '2022-05-01',
  ...more,
});

/** Soft and firm plants, all in pots that had their last full drink 25 days ago. */
export async function plantSoft(where: Nursery, day: LocalDay): Promise<void> {
  where.now = instantOnDay(where.site.zone, day, '05:30');
  await where.enter(
    addDays(day, -90),
    '09:00',
    bench('1', 'line-a'),
    bench('2'),
    batch('thirsty', '1', 'echeveria'),
    batch('firm', '2', 'echeveria'),
    batch('stones', '2', 'lithops-summer-rain'),
  );
  await where.enter(addDays(day, -25), '08:00', {
    kind: 'watering',
    batchIds: ['thirsty', 'firm', 'stones'],
    amount: 'full',
  });
  await where.enter(
    addDays(day, -1),
    '18:00',
    { kind: 'signs', batchIds: ['thirsty', 'stones'], phase: 'growing', firmness: 'soft' },
    { kind: 'signs', batchIds: ['firm'], phase: 'growing', firmness: 'firm' },
  );
}

export function adviceOn(round: Round, batchId: string): BatchAdvice {
  for (const house of round.houses)
    for (const line of house.lines) for (const advice of line.batches) if (advice.batchId === batchId) return advice;
  throw new Error(`${batchId} is not on the list`);
}
