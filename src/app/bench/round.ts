import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { createKeeper } from '../../advice/keeper.js';
import { createRounds } from '../../advice/rounds.js';
import type { JournalEvent } from '../../domain/journal.js';
import type { Site } from '../../domain/site.js';
import type { Facts } from '../../domain/verdict.js';
import { limitsFor } from '../../rules/limits.js';
import { decide } from '../../rules/verdict.js';
import type { CheckedReading, NewJournalEntry } from '../../storage/repositories.js';
import { openSqliteStorage } from '../../storage/sqlite.js';
import { loadCatalogue } from '../config/catalogue.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import { loadRulebook } from '../config/rulebook.js';
import type { BenchResult } from './storage.js';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
const NOW_MS = Date.UTC(2026, 9, 12, 4);
const HISTORY_DAYS = 62;
/** Mornings that follow the one on which the service began. */
const MORNINGS = 3;
const HOUSES = 10;
const BENCHES_PER_HOUSE = 20;

/**
 * A whole morning for many batches, database and all: climate of ten houses, pots, phases, rules with traces, nearest
 * change, stored. Beside it the bare decision of the same batches, without their facts being gathered or anything kept.
 */
export async function benchRound(
  options: { readonly batches?: number; readonly rounds?: number } = {},
): Promise<BenchResult> {
  const count = options.batches ?? 10_000;
  const mornings = options.rounds ?? MORNINGS;
  let now = NOW_MS;
  const folder = await mkdtemp(join(tmpdir(), 'leafturn-bench-'));
  const site = benchSite();
  const catalogue = loadCatalogue(join(PACKAGE_CONFIG, 'catalogue'));
  const rulebook = loadRulebook(join(PACKAGE_CONFIG, 'rulebook'));
  const storage = await openSqliteStorage({ path: join(folder, 'round.sqlite'), zoneOf: () => site.zone });
  try {
    for (const readings of readingsOf(mornings))
      await storage.readings.commit({ readings, refusals: [], messages: readings.length });
    const groups = catalogue.speciesGroups.map(({ id }) => id);
    const entries = journalOf(count, groups, catalogue.pots[0]?.id ?? '', catalogue.mixes[0]?.id ?? '');
    for (let from = 0; from < entries.length; from += 5000)
      await storage.journal.append(entries.slice(from, from + 5000));
    const keeper = createKeeper({
      storage,
      sites: () => [site],
      ids: () => ({ groups, pots: catalogue.pots.map(({ id }) => id), mixes: catalogue.mixes.map(({ id }) => id) }),
      now: () => now,
    });
    const rounds = createRounds({
      storage,
      keeper,
      sites: () => [site],
      catalogue: () => catalogue,
      rulebook: () => rulebook,
      looksAtMost: () => 20,
      now: () => now,
    });
    const timed = async (): Promise<number> => {
      const started = performance.now();
      await rounds.make(site.id, rounds.today(site.id));
      return (performance.now() - started) / 1000;
    };
    const atStart = await timed();
    const firsts: number[] = [];
    const agains: number[] = [];
    for (let morning = 0; morning < mornings; morning += 1) {
      now += DAY_MS;
      firsts.push(await timed());
      agains.push(await timed());
    }
    const day = rounds.today(site.id);
    const bare = await bareDecisions(storage, site.id, day, (facts) => {
      const group = catalogue.speciesGroups.find(({ id }) => id === facts.group?.value);
      if (group) decide(rulebook, facts, limitsOf(group.id), { withoutNearest: true });
    });
    const seconds = median(firsts);
    const told = (times: readonly number[]): string => times.map((time) => time.toFixed(2)).join(', ');
    return {
      name: `round for ${count} batches`,
      ratio: bare / seconds,
      yardstick: 'the bare decision of the same facts',
      detail:
        `${seconds.toFixed(2)} s for the first list of a morning (${told(firsts)}), ${median(agains).toFixed(2)} s for a later one ` +
        `(${told(agains)}), ${atStart.toFixed(2)} s for the very first after the service began; ${bare.toFixed(2)} s for the bare decisions`,
    };
  } finally {
    await storage.close();
    await rm(folder, { recursive: true, force: true });
  }

  function limitsOf(groupId: string) {
    const known = limits.get(groupId);
    if (known) return known;
    const group = catalogue.speciesGroups.find(({ id }) => id === groupId);
    if (!group) throw new Error(`no group ${groupId}`);
    const made = limitsFor(rulebook, group, catalogue.general);
    limits.set(groupId, made);
    return made;
  }
}

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1] as number;

const limits = new Map<string, ReturnType<typeof limitsFor>>();

async function bareDecisions(
  storage: Awaited<ReturnType<typeof openSqliteStorage>>,
  siteId: string,
  day: string,
  decideOne: (facts: Facts) => void,
): Promise<number> {
  const stored = await storage.rounds.get(siteId, day, 1);
  const facts = Object.values(stored?.facts ?? {}) as Facts[];
  const started = performance.now();
  for (const one of facts) decideOne(one);
  return (performance.now() - started) / 1000;
}

function benchSite(): Site {
  return {
    id: 'bench',
    name: 'Bench',
    latitude: 50,
    longitude: 10,
    elevationM: 200,
    zone: 'Europe/Berlin',
    roundAt: '05:00',
    houses: Array.from({ length: HOUSES }, (_, house) => ({
      id: `house-${house}`,
      name: `House ${house}`,
      cover: 'single-glass',
      fans: false,
      cloths: [],
      lines: [{ id: `line-${house}`, name: `Line ${house}` }],
    })),
  };
}

/** Two sensors a house, hourly, with a day and a night. */
function* readingsOf(mornings: number): Generator<CheckedReading[]> {
  for (let day = HISTORY_DAYS; day > -mornings; day -= 1) {
    const batch: CheckedReading[] = [];
    for (let hour = 0; hour < 24; hour += 1) {
      const at = NOW_MS - day * DAY_MS + hour * HOUR_MS;
      const sun = Math.max(0, Math.sin(((new Date(at).getUTCHours() - 6) / 12) * Math.PI));
      for (let house = 0; house < HOUSES; house += 1)
        for (const [quantity, value] of [
          ['airTempC', 9 + 14 * sun + house / 5],
          ['relHumidityPct', 85 - 40 * sun],
          ['ppfdUmol', 900 * sun],
        ] as const)
          batch.push({
            siteId: 'bench',
            sensorId: `house-${house}-air`,
            quantity,
            houseId: `house-${house}`,
            benchId: null,
            placement: 'inside',
            at,
            value,
            flagMask: 0,
            timeSource: 'payload',
            receivedAt: at,
          });
    }
    yield batch;
  }
}

/**
 * Two months of a large nursery: lines ran for all that hang on them, benches without a line were watered one by one,
 * every bench was looked at as a whole twice, and every tenth batch by itself.
 */
function journalOf(count: number, groups: readonly string[], potId: string, mixId: string): NewJournalEntry[] {
  const entries: NewJournalEntry[] = [];
  const enter = (daysAgo: number, event: JournalEvent) => {
    const at = Math.round(NOW_MS - daysAgo * DAY_MS) + entries.length;
    entries.push({ siteId: 'bench', happenedAt: at, enteredAt: at, by: 'bench', event });
  };
  const benches = Array.from({ length: HOUSES * BENCHES_PER_HOUSE }, (_, index) => ({
    benchId: `bench-${index}`,
    houseId: `house-${index % HOUSES}`,
    // Every fourth bench hangs on no line.
    lineId: index % 4 === 0 ? undefined : `line-${index % HOUSES}`,
    batchIds: [] as string[],
  }));
  for (const { benchId, houseId, lineId } of benches)
    enter(400, { kind: 'bench-added', benchId, houseId, name: benchId, exposure: 'open', ...(lineId && { lineId }) });
  for (let index = 0; index < count; index += 1) {
    const bench = benches[index % benches.length] as (typeof benches)[number];
    bench.batchIds.push(`batch-${index}`);
    enter(399, {
      kind: 'batch-created',
      batchId: `batch-${index}`,
      name: `Batch ${index}`,
      // A bench holds three groups.
      group:
        groups[(index % benches.length) * 3 + (Math.floor(index / benches.length) % 3)] ??
        (groups[index % groups.length] as string),
      benchId: bench.benchId,
      potCount: 5 + (index % 40),
      sownOn: `202${index % 4}-05-01`,
      potId,
      mixId,
      topDressing: 'grit',
      worth: 1,
    });
  }
  const firmness = ['firm', 'slightly-soft', 'soft', 'very-soft'] as const;
  for (const [index, { batchIds, lineId }] of benches.entries()) {
    for (let drink = 6; drink > 0; drink -= 1) {
      const amount = drink % 2 ? 'light' : 'full';
      if (lineId) enter(drink * 9, { kind: 'watering', batchIds, lineId, amount, answer: 'unasked' });
      else
        for (const [place, batchId] of batchIds.entries())
          enter(drink * 9 + (place % 5), { kind: 'watering', batchIds: [batchId], amount, answer: 'unasked' });
    }
    const look = { kind: 'signs' as const, newPair: 'hidden' as const, signs: [], gone: [] };
    enter(35, { ...look, batchIds });
    enter(4, { ...look, batchIds, firmness: firmness[index % 4] as (typeof firmness)[number] });
    for (const [place, batchId] of batchIds.entries())
      if (place % 10 === 0)
        enter(2, { ...look, batchIds: [batchId], firmness: firmness[place % 4] as (typeof firmness)[number] });
  }
  return entries;
}
