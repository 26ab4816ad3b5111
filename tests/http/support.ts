import type { FastifyInstance, InjectOptions, LightMyRequestResponse } from 'fastify';
import { pino } from 'pino';
import { onTestFinished } from 'vitest';
import { createAlerts } from '../../src/advice/alerts/service.js';
import { createHouseSettings } from '../../src/advice/house-settings.js';
import { createLimitsDesk } from '../../src/advice/limits-desk.js';
import { createRounds } from '../../src/advice/rounds.js';
import { loadCatalogue } from '../../src/app/config/catalogue.js';
import { loadRulebook } from '../../src/app/config/rulebook.js';
import { LeafturnError } from '../../src/domain/errors.js';
import { localDayOf } from '../../src/domain/time.js';
import type { BatchAdvice, Round } from '../../src/domain/verdict.js';
import { createForecasts } from '../../src/forecast/forecasts.js';
import { buildApp } from '../../src/http/app.js';
import type { BrokerState, ConfiguredToken, HttpLimits, Role, ServiceDeps } from '../../src/http/deps.js';
import { hashToken } from '../../src/http/tokens.js';
import type { Channel } from '../../src/notify/channel.js';
import { createNotifications } from '../../src/notify/notifications.js';
import { type Garden, openGarden, SITES } from '../support/garden.js';

const catalogue = loadCatalogue(new URL('../../config/catalogue', import.meta.url).pathname);
const rulebook = loadRulebook(new URL('../../config/rulebook', import.meta.url).pathname);

export interface Service {
  readonly app: FastifyInstance;
  readonly garden: Garden;
  readonly deps: ServiceDeps;
  /** Lines of the log, parsed. */
  readonly log: Record<string, unknown>[];
  broker: BrokerState;
  get(path: string, more?: InjectOptions): Promise<LightMyRequestResponse>;
  /** A write with a new key each time, unless a key is given. */
  post(path: string, body: unknown, more?: InjectOptions): Promise<LightMyRequestResponse>;
}

export interface Settings {
  readonly tokens?: Readonly<Record<string, Role>>;
  readonly limits?: Partial<HttpLimits>;
  readonly channels?: readonly Channel[];
  readonly change?: (deps: ServiceDeps) => ServiceDeps;
}

let keys = 0;
export const newKey = (): string => `key-${++keys}`;

/** The service on a real database, without a broker and with rounds made by hand. Ends with the test. */
export async function openService({
  tokens = {},
  limits,
  channels = [],
  change = (deps) => deps,
}: Settings = {}): Promise<Service> {
  const garden = await openGarden();
  const log: Record<string, unknown>[] = [];
  const state = { broker: { kind: 'embedded', connected: true, since: garden.now } as BrokerState };
  const words = { rulebook: () => rulebook, catalogue: () => catalogue };
  const { storage, keeper } = garden;
  const settings = await createHouseSettings({ store: storage.settings, now: () => garden.now, ...words });
  const real = createRounds({
    storage,
    keeper,
    sites: () => SITES,
    looksAtMost: () => 10,
    now: () => garden.now,
    ...words,
  });
  const deps = change({
    sites: () => SITES,
    catalogue: () => catalogue,
    storage: garden.storage,
    keeper: garden.keeper,
    rounds: roundsOf(garden),
    houseLimits: createLimitsDesk({ settings, rounds: real, ...words }),
    alerts: createAlerts({
      storage,
      keeper,
      rounds: real,
      sites: () => SITES,
      catalogue: () => catalogue,
      alertLimits: () => ({}),
      now: () => garden.now,
    }),
    whatIf: async (body) => {
      if ((body as { facts?: unknown }).facts === undefined)
        throw new LeafturnError('invalid-input', 'There are no facts.', [
          { path: '/facts', expected: 'facts by name', got: 'nothing' },
        ]);
      return { amount: 'none', echo: body };
    },
    forecasts: await createForecasts({
      storage,
      sites: () => SITES,
      sources: () => [],
      clock: { now: () => garden.now, waitUntil: () => Promise.reject(new Error('nobody waits here')) },
      random: () => 0,
      program: 'leafturn/test',
    }),
    notifications: createNotifications({
      storage,
      sites: () => SITES,
      channels: () => channels,
      quietHours: () => undefined,
      now: () => garden.now,
      random: () => 0,
      newId: () => 'msg_1',
    }),
    calendarKey: Buffer.alloc(32, 9),
    brokerStatus: () => state.broker,
    now: () => garden.now,
    access: {
      tokens: () =>
        Object.entries(tokens).map(
          ([token, role]): ConfiguredToken => ({ name: role, role, tokenHash: hashToken(token) }),
        ),
      sessionKey: Buffer.alloc(32, 7),
    },
    logger: pino({ level: 'info' }, { write: (line: string) => log.push(JSON.parse(line)) }),
    version: '0.0.0-test',
    limits: { readsPerMinute: 100_000, writesPerMinute: 100_000, ...limits },
  });
  const app = await buildApp(deps);
  await app.ready();
  onTestFinished(async () => {
    await app.close();
    await garden.close();
  });
  const address = (path: string) => (path.startsWith('//') ? path.slice(1) : `/api/v1${path}`);
  return {
    app,
    garden,
    deps,
    log,
    get broker() {
      return state.broker;
    },
    set broker(broker) {
      state.broker = broker;
    },
    get: (path, more = {}) => app.inject({ method: 'GET', url: address(path), ...more }),
    post: (path, body, { headers, ...more } = {}) =>
      app.inject({
        method: 'POST',
        url: address(path),
        headers: { 'idempotency-key': newKey(), ...headers },
        ...(body !== undefined && { payload: body as object }),
        ...more,
      }),
  };
}

/** The keeping of rounds with a decision made by hand: it is the keeping that is tried here. */
function roundsOf(garden: Garden): ServiceDeps['rounds'] {
  const listeners = new Set<(round: Round) => void>();
  return {
    latest: (siteId, day) => garden.storage.rounds.latest(siteId, day),
    make: async (siteId, day) => {
      const collection = await garden.keeper.collection(siteId);
      const batches = [...collection.batches.keys()].map((batchId) => adviceFor(batchId));
      const round = await garden.storage.rounds.save(
        roundOf(siteId, day, garden.now, collection.journalId, batches),
        Object.fromEntries(batches.map(({ batchId }) => [batchId, { potDepletion: { value: 0.4 } }])),
      );
      for (const listener of listeners) listener(round);
      return round;
    },
    today: (siteId) => localDayOf(SITES.find(({ id }) => id === siteId)?.zone ?? 'UTC', garden.now),
    onRound: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

export const adviceFor = (batchId: string): BatchAdvice => ({
  batchId,
  name: `Batch ${batchId}`,
  group: 'lithops-summer',
  groupName: 'Summer-rain Lithops',
  benchId: 'b1',
  benchName: 'Bench 1',
  potCount: 40,
  phase: { phase: 'growing', probability: 0.8, from: 'calendar at this season' },
  litres: 1.2,
  verdict: {
    amount: 'full',
    postponed: false,
    inspect: false,
    lightRamp: false,
    alerts: [],
    mlPerPot: 30,
    sentence: 'Full drink: the pot is dry and the plant is soft.',
    decidedBy: { table: 'phase', row: 'growing-dry-soft' },
    vetoes: [],
    trace: [
      {
        table: 'phase',
        row: 'growing-dry-soft',
        met: 'yes',
        conditions: [{ fact: 'potDepletion', op: 'at-least', limit: 0.9, unit: '', actual: 0.95, met: 'yes' }],
        effect: 'amount full',
        because: 'The pot is dry.',
        source: 'common practice, no published source',
      },
    ],
  },
});

export const roundOf = (
  siteId: string,
  day: string,
  madeAt: number,
  journalId: number,
  batches: readonly BatchAdvice[],
): Omit<Round, 'revision'> => ({
  siteId,
  day,
  madeAt,
  journalId,
  rulebookRevision: 'r1',
  dayHours: 24,
  seasonAngleDeg: 150,
  houses: [
    {
      houseId: 'north',
      name: 'North house',
      climate: {
        nightMinC: 8.4,
        dayMaxC: null,
        meanVpdKPa: null,
        dli: null,
        peakPpfdUmol: null,
        dewPointMarginMinC: null,
        sensorsHeard: 1,
        lastReadingAt: null,
        sentence: 'Night minimum 8.4 °C.',
      },
      lines: [
        {
          lineId: 'line-a',
          name: 'Line A',
          action: 'run',
          amount: 'full',
          litres: 1.2,
          sentence: 'Run the line.',
          potsKeptDry: 0,
          batches,
        },
      ],
    },
  ],
  look: [],
  tasks: [],
  counts: { none: 0, light: 0, full: batches.length, postponed: 0, inspect: 0 },
  changes: [],
});
