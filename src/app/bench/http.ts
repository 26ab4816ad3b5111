import { mkdtemp, rm } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import Fastify, { type FastifyInstance } from 'fastify';
import { pino } from 'pino';
import { createAlerts } from '../../advice/alerts/service.js';
import { createHouseSettings } from '../../advice/house-settings.js';
import { createKeeper, type Keeper } from '../../advice/keeper.js';
import { createLimitsDesk } from '../../advice/limits-desk.js';
import { createRounds } from '../../advice/rounds.js';
import type { Catalogue } from '../../domain/catalogue.js';
import { type Site, siteSchema } from '../../domain/site.js';
import { createForecasts } from '../../forecast/forecasts.js';
import { buildApp } from '../../http/app.js';
import { createNotifications } from '../../notify/notifications.js';
import { openSqliteStorage } from '../../storage/sqlite.js';
import { loadCatalogue } from '../config/catalogue.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import { loadRulebook } from '../config/rulebook.js';
import type { LoadOrder, LoadResult } from './http-load.js';
import type { BenchResult } from './storage.js';

export interface HttpBenchOptions {
  readonly batches?: number;
  readonly connections?: number;
  readonly turns?: number;
  readonly millisecondsPerTurn?: number;
}

const NOW_MS = Date.UTC(2026, 9, 12, 4);
const SITE: Site = siteSchema.parse({
  id: 'bench',
  name: 'Bench',
  latitude: 50,
  longitude: 10,
  zone: 'Europe/Berlin',
  houses: [{ id: 'house', name: 'House', lines: [{ id: 'line', name: 'Line' }] }],
});

/**
 * The lists of the interface beside a bare route of the same framework that returns the same bytes: access, limits,
 * headers, tags and the log are what the ratio pays for. Turn by turn in one run, load from a thread of its own.
 */
export async function benchHttp(options: HttpBenchOptions = {}): Promise<BenchResult[]> {
  const { batches = 1000, connections = 16, turns = 7, millisecondsPerTurn = 1500 } = options;
  const folder = await mkdtemp(join(tmpdir(), 'leafturn-bench-'));
  const storage = await openSqliteStorage({ path: join(folder, 'http.sqlite'), zoneOf: () => SITE.zone });
  const worker = new Worker(new URL('./http-load.js', import.meta.url));
  const servers: FastifyInstance[] = [];
  try {
    const catalogue = loadCatalogue(join(PACKAGE_CONFIG, 'catalogue'));
    const rulebook = loadRulebook(join(PACKAGE_CONFIG, 'rulebook'));
    const sites = () => [SITE];
    const now = () => NOW_MS;
    const keeper = createKeeper({ storage, sites, ids: () => idsOf(catalogue), now });
    await plantBatches(keeper, catalogue, batches);
    const rounds = createRounds({
      storage,
      keeper,
      sites,
      catalogue: () => catalogue,
      rulebook: () => rulebook,
      looksAtMost: () => 20,
      now,
    });
    const words = { rulebook: () => rulebook, catalogue: () => catalogue };
    const settings = await createHouseSettings({ store: storage.settings, now, ...words });
    await rounds.make(SITE.id, rounds.today(SITE.id));
    const app = await buildApp({
      sites,
      catalogue: () => catalogue,
      storage,
      keeper,
      rounds,
      houseLimits: createLimitsDesk({ settings, rounds, ...words }),
      alerts: createAlerts({
        storage,
        keeper,
        rounds,
        sites,
        catalogue: () => catalogue,
        alertLimits: () => ({}),
        now,
      }),
      whatIf: async () => ({}),
      forecasts: await createForecasts({
        storage,
        sites,
        sources: () => [],
        clock: { now, waitUntil: async () => {} },
        random: () => 0,
        program: 'leafturn/bench',
      }),
      notifications: createNotifications({
        storage,
        sites,
        channels: () => [],
        quietHours: () => undefined,
        now,
        random: () => 0,
        newId: () => 'msg_bench',
      }),
      calendarKey: Buffer.alloc(32),
      brokerStatus: () => ({ kind: 'embedded', connected: true, since: NOW_MS }),
      now,
      access: { tokens: () => [] },
      logger: pino({ level: 'info' }, pino.destination('/dev/null')),
      version: 'bench',
      limits: { readsPerMinute: Number.MAX_SAFE_INTEGER },
    });
    servers.push(app);
    const port = await portOf(app);

    const results: BenchResult[] = [];
    for (const [name, path] of [
      [`list of the day, ${batches} batches`, `/api/v1/sites/${SITE.id}/rounds/today`],
      ['page of 100 batches', `/api/v1/sites/${SITE.id}/batches?limit=100`],
    ] as const) {
      const bare = await bareServer((await app.inject(path)).rawPayload);
      servers.push(bare);
      const barePort = await portOf(bare);
      const run = async (order: Pick<LoadOrder, 'port' | 'path'>) =>
        loadFrom(worker, { ...order, connections, milliseconds: millisecondsPerTurn });
      const pairs: { ours: LoadResult; bare: LoadResult }[] = [];
      // The first turn only warms up.
      for (let turn = 0; turn <= turns; turn += 1) {
        const ours = await run({ port, path });
        const plain = await run({ port: barePort, path: '/' });
        if (turn > 0) pairs.push({ ours, bare: plain });
      }
      results.push(...resultsOf(name, pairs));
    }
    return results;
  } finally {
    await worker.terminate();
    for (const server of servers) await server.close();
    await storage.close();
    await rm(folder, { recursive: true, force: true });
  }
}

function resultsOf(name: string, pairs: readonly { ours: LoadResult; bare: LoadResult }[]): BenchResult[] {
  const kilobytes = Math.round((pairs[0]?.ours.bytes ?? 0) / 1000);
  const of = (pick: (pair: { ours: LoadResult; bare: LoadResult }) => number) => median(pairs.map(pick));
  const yardstick = `a bare route returning the same ${kilobytes} kB`;
  return [
    {
      name: `${name}: answers per second`,
      ratio: of(({ ours, bare }) => ours.perSecond / bare.perSecond),
      yardstick,
      detail: `${of(({ ours }) => ours.perSecond).toFixed(0)}/s, bare ${of(({ bare }) => bare.perSecond).toFixed(0)}/s, median of ${pairs.length} turns`,
    },
    {
      name: `${name}: slowest of a hundred`,
      ratio: of(({ ours, bare }) => bare.p99Ms / ours.p99Ms),
      yardstick,
      detail: `${of(({ ours }) => ours.p99Ms).toFixed(1)} ms, bare ${of(({ bare }) => bare.p99Ms).toFixed(1)} ms, median of ${pairs.length} turns`,
    },
  ];
}

const idsOf = ({ speciesGroups, pots, mixes }: Catalogue) => {
  const ids = (entries: readonly { readonly id: string }[]) => entries.map(({ id }) => id);
  return { groups: ids(speciesGroups), pots: ids(pots), mixes: ids(mixes) };
};

async function plantBatches(keeper: Keeper, catalogue: Catalogue, count: number): Promise<void> {
  const { groups } = idsOf(catalogue);
  const benches = Array.from({ length: 20 }, (_, index) => `bench-${index}`);
  await keeper.record(
    SITE.id,
    [
      ...benches.map((benchId) => ({
        kind: 'bench-added' as const,
        benchId,
        houseId: 'house',
        name: benchId,
        lineId: 'line',
      })),
      ...Array.from({ length: count }, (_, index) => ({
        kind: 'batch-created' as const,
        batchId: `batch-${index}`,
        name: `Batch ${index}`,
        group: groups[index % groups.length] ?? '',
        benchId: benches[index % benches.length] ?? '',
        potCount: 20 + (index % 30),
      })),
    ],
    { by: 'bench' },
  );
}

async function bareServer(bytes: Buffer): Promise<FastifyInstance> {
  const bare = Fastify();
  bare.get('/', async (_request, reply) => reply.type('application/json; charset=utf-8').send(bytes));
  return bare;
}

async function portOf(app: FastifyInstance): Promise<number> {
  await app.listen({ host: '127.0.0.1', port: 0 });
  return (app.server.address() as AddressInfo).port;
}

function loadFrom(worker: Worker, order: LoadOrder): Promise<LoadResult> {
  return new Promise((resolve, reject) => {
    worker.once('message', ({ result, error }: { result?: LoadResult; error?: string }) =>
      result ? resolve(result) : reject(new Error(error)),
    );
    worker.postMessage(order);
  });
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? Number.NaN;
};
