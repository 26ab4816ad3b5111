import { setMaxListeners } from 'node:events';
import { readFileSync } from 'node:fs';
import type { FastifyInstance } from 'fastify';
import type { Logger } from 'pino';
import { type Alerts, createAlerts } from './advice/alerts/service.js';
import { createHouseNow } from './advice/house-now.js';
import { createHouseSettings } from './advice/house-settings.js';
import { createKeeper, type Keeper } from './advice/keeper.js';
import { createLimitsDesk } from './advice/limits-desk.js';
import { createRounds, type Rounds } from './advice/rounds.js';
import { whatIf } from './advice/what-if.js';
import type { Clock } from './app/clock.js';
import { packageVersion } from './app/commands/program.js';
import { zoneOfSite } from './app/commands/storage.js';
import { watchAlerts } from './app/service/alerts.js';
import { keepDelivering, openNotifications } from './app/service/deliveries.js';
import { speakAsDemoSensors, tellDemoPast } from './app/service/demo-run.js';
import { houseOutlooks } from './app/service/house-outlooks.js';
import { keepMornings } from './app/service/mornings.js';
import { hearForecasts, openForecasts } from './app/service/outdoor-forecast.js';
import { pageDeps } from './app/service/page-deps.js';
import { publishList } from './app/service/retained-list.js';
import { calendarKey, sessionKey } from './app/service/session-key.js';
import { diskCheck, freeBytes, keepUp } from './app/service/upkeep.js';
import { type Config, type LoadOptions, watchConfig } from './config.js';
import { LeafturnError, problemLine } from './domain/errors.js';
import { pointerText } from './domain/problems.js';
import { findHouse } from './domain/site.js';
import { buildApp } from './http/app.js';
import type { BrokerState } from './http/deps.js';
import { refuseOpenHost } from './http/origin.js';
import type { LinkStatus } from './ingest/link.js';
import type { KnowsHouse } from './ingest/place.js';
import { type Ingest, type IngestOptions, startIngest } from './ingest/start.js';
import type { Storage } from './storage/repositories.js';
import { openSqliteStorage } from './storage/sqlite.js';
import { registerPages } from './web/pages.js';

export interface ServiceOptions {
  readonly clock: Clock;
  readonly logger: Logger;
  /** Where the site file was found, to read it again at SIGHUP; left out: SIGHUP is not listened to. */
  readonly watch?: LoadOptions;
  readonly onDemoProgress?: (done: number, total: number) => void;
}

export interface Service {
  /** Where the pages and the API are. */
  readonly address: string;
  readonly app: FastifyInstance;
  readonly storage: Storage;
  readonly keeper: Keeper;
  readonly rounds: Rounds;
  readonly alerts: Alerts;
  readonly ingest: Ingest;
  /** Resolves when today's lists are there. */
  readonly ready: Promise<void>;
  close(): Promise<void>;
}

/**
 * Puts the service together and starts it: database, journal, lists, sensors, pages, in the order in which each needs
 * the one before.
 */
export async function startService(first: Config, options: ServiceOptions): Promise<Service> {
  const { clock, logger } = options;
  const stopping = new AbortController();
  const { signal } = stopping;
  // Every part that waits for something also waits for the end, for each site.
  setMaxListeners(0, signal);
  let config = first;
  const warnings = new Map<string, string>();
  const now = clock.now;
  const sites = () => config.sites;

  const storage = await openSqliteStorage({
    path: config.storage.path,
    zoneOf: (siteId) => zoneOfSite(config)(siteId),
    onTrouble: (error) => logger.warn({ err: error }, 'a minor task of the database failed'),
  });
  const keeper = createKeeper({
    storage,
    sites,
    ids: () => ({
      groups: config.catalogue.speciesGroups.map(({ id }) => id),
      pots: config.catalogue.pots.map(({ id }) => id),
      mixes: config.catalogue.mixes.map(({ id }) => id),
    }),
    now,
    onTrouble: (error) => logger.error({ err: error }, 'an entry stands, but what follows from it failed'),
  });
  const settings = await createHouseSettings({
    store: storage.settings,
    rulebook: () => config.rulebook,
    catalogue: () => config.catalogue,
    now,
  });
  const forecasts = await openForecasts(() => config, storage, clock, logger);
  const outlooks = houseOutlooks({
    storage,
    keeper,
    sites,
    catalogue: () => config.catalogue,
    forecastFor: (siteId, at) => forecasts.corrected(siteId, at),
    now,
    logger,
    signal,
  });
  const rounds: Rounds = createRounds({
    outlook: outlooks.outlook,
    airUnder: outlooks.airUnder,
    settings: settings.inForce,
    storage,
    keeper,
    sites,
    catalogue: () => config.catalogue,
    rulebook: () => config.rulebook,
    looksAtMost: () => config.round.looksAtMost,
    now,
  });
  const houseLimits = createLimitsDesk({
    settings,
    rounds,
    rulebook: () => config.rulebook,
    catalogue: () => config.catalogue,
  });
  const alerts = createAlerts({
    storage,
    keeper,
    rounds,
    sites,
    catalogue: () => config.catalogue,
    alertLimits: (siteId, houseId) => settings.current(siteId, houseId).alertLimits,
    outlook: outlooks.outlook,
    buys: outlooks.buys,
    forecast: (siteId) => forecasts.latest(siteId, now()),
    freeBytes: () => freeBytes(config.storage.path),
    now,
    onTrouble: (error) => logger.error({ err: error }, 'a part of the alerts failed; the rest goes on'),
  });
  const knowsHouse: KnowsHouse = (siteId, houseId) => {
    const site = config.sites.find(({ id }) => id === siteId);
    return site !== undefined && findHouse(site, houseId) !== undefined;
  };

  const demo = config.demo
    ? await tellDemoPast(config, storage, keeper, forecasts, knowsHouse, now(), options.onDemoProgress ?? (() => {}))
    : undefined;
  const lastReadingAt = new Map<string, number>();
  for (const { id } of config.sites)
    for (const { lastAt } of await storage.readings.series({ siteId: id })) noteReading(lastReadingAt, id, lastAt);

  const ingest = await startIngestOf(config, {
    mappings: config.sensors,
    knowsHouse,
    store: storage.readings,
    series: (await Promise.all(config.sites.map(({ id }) => storage.readings.series({ siteId: id })))).flat(),
    now,
    onCommitted: ({ readings }) => {
      for (const { siteId, at } of readings) noteReading(lastReadingAt, siteId, at);
    },
    onNotice: (notice) => logger.info(notice, 'a sensor needs looking at'),
    onPipelineState: (status) => logger.warn(status, 'taking in of readings changed its state'),
    onLinkStatus: (status) => logger.info(status, 'broker'),
  });

  await hearForecasts(config.forecast.pushedTopic, forecasts, ingest);

  const notifications = openNotifications(
    () => config,
    storage,
    () => ingest.link,
    clock,
    logger,
  );
  const brokerStatus = (): BrokerState => brokerState(ingest.link.status());
  const app = await buildApp({
    sites,
    catalogue: () => config.catalogue,
    storage,
    keeper,
    rounds,
    houseLimits,
    alerts,
    whatIf: async (body) =>
      whatIf(body, { rulebook: config.rulebook, catalogue: config.catalogue, pathForm: pointerText }),
    forecasts,
    notifications,
    calendarKey: calendarKey(config.dataFolder),
    brokerStatus,
    readiness: async () => [await diskCheck(config.storage.path)],
    now,
    access: {
      tokens: () => config.access.tokens.map(({ name, role, sha256 }) => ({ name, role, tokenHash: sha256 })),
      sessionKey: sessionKey(config.dataFolder),
    },
    logger,
    version: packageVersion(),
  });
  registerPages(
    app,
    pageDeps({
      sites,
      rounds,
      keeper,
      storage,
      limits: houseLimits,
      alerts,
      notifications,
      catalogue: () => config.catalogue,
      houseNow: createHouseNow({ storage, keeper, catalogue: () => config.catalogue, today: rounds.today, now }),
      outlook: outlooks.outlook,
      status: (siteId) => ({
        broker: brokerStatus(),
        lastReadingAt: lastReadingAt.get(siteId) ?? null,
        warnings: [...warnings.values(), forecasts.status(siteId).warning].filter((one) => one !== null),
      }),
      now,
    }),
  );
  const tokensExist =
    config.access.tokens.length > 0 || (await storage.access.tokens()).some(({ revokedAt }) => revokedAt === null);
  refuseOpenHost(config.server.host, tokensExist);
  const address = await listen(app, config);

  rounds.onRound((round) => {
    const base = config.notifications.mqtt?.topicBase;
    if (base !== undefined && round.day === rounds.today(round.siteId))
      void publishList(ingest.link, base, round, logger);
  });
  const mornings = keepMornings({
    outlooks,
    rounds,
    keeper,
    settings,
    forecasts,
    sites,
    clock,
    settleSeconds: () => config.round.settleSeconds,
    renewMinutes: () => config.round.renewMinutes,
    logger,
    signal,
  });
  const { ready } = mornings;
  const background: Promise<unknown>[] = [
    ready,
    keepUp(storage, () => config.storage, clock, logger, signal),
    forecasts.run(signal),
    keepDelivering({
      notifications,
      alerts,
      sites,
      topicBase: () => config.notifications.mqtt?.topicBase,
      link: ingest.link,
      clock,
      logger,
      signal,
    }),
    ready.then(() => watchAlerts({ alerts, rounds, sites, clock, logger, signal })),
  ];
  if (demo) background.push(speakAsDemoSensors(demo, ingest.link.status().address, clock, signal));
  for (const work of background)
    work.catch((error) => {
      if (!signal.aborted) logger.error({ err: error }, 'a part of the service stopped');
    });

  const stopWatching = options.watch
    ? watchConfig(config.file, options.watch, {
        onConfig: async (next) => {
          config = next;
          await ingest.configure(next.sensors, knowsHouse);
          warnings.delete('configuration');
          logger.info({ file: next.file }, 'the changed site file is in force');
          for (const { id } of next.sites) await rounds.make(id, rounds.today(id));
        },
        onProblems: (problems) => {
          warnings.set(
            'configuration',
            `A changed site file has ${problems.length} ${problems.length === 1 ? 'mistake' : 'mistakes'} and was not taken over: ${problems[0] ? problemLine(problems[0]) : ''}`,
          );
          logger.error({ problems }, 'the changed site file has mistakes; the last good one stays in force');
        },
      })
    : () => {};

  return {
    address,
    app,
    storage,
    keeper,
    rounds,
    alerts,
    ingest,
    ready,
    close: async () => {
      stopWatching();
      stopping.abort();
      await Promise.allSettled(background);
      await mornings.settled();
      await outlooks.settled();
      await app.close();
      await ingest.close();
      await storage.close();
    },
  };
}

async function listen(app: FastifyInstance, { server }: Config): Promise<string> {
  try {
    return await app.listen({ host: server.host, port: server.port });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EADDRINUSE') throw error;
    throw new LeafturnError('invalid-input', `Port ${server.port} is taken, perhaps by another Leafturn.`, [
      {
        path: 'server.port',
        expected: 'a free port',
        got: String(server.port),
        mend: 'End the other program, or start with --port 8081.',
      },
    ]);
  }
}

/** The demo takes any free port where its own is taken; a real site's sensors would not find another one. */
async function startIngestOf(config: Config, options: Omit<IngestOptions, 'broker'>): Promise<Ingest> {
  const broker = brokerOptions(config);
  try {
    return await startIngest({ ...options, broker });
  } catch (error) {
    const taken = error instanceof LeafturnError && error.code === 'broker-failed';
    if (!config.demo || broker.kind !== 'embedded' || !taken) throw error;
    return startIngest({ ...options, broker: { ...broker, port: 0 } });
  }
}

function noteReading(lastReadingAt: Map<string, number>, siteId: string, at: number | null): void {
  if (at !== null && at > (lastReadingAt.get(siteId) ?? 0)) lastReadingAt.set(siteId, at);
}

function brokerOptions({ broker, notifications, forecast }: Config): IngestOptions['broker'] {
  if (broker.kind === 'external') {
    const { sessionExpiryDays, caFile, ...rest } = broker;
    return {
      ...rest,
      sessionExpirySeconds: Math.round(sessionExpiryDays * 86_400),
      ...(caFile !== undefined && { ca: readFileSync(caFile) }),
    };
  }
  const base = notifications.mqtt?.topicBase;
  return {
    ...broker,
    reserved: base === undefined ? [] : [`${base}/#`],
    openWithin: forecast.pushedTopic === undefined ? [] : [forecast.pushedTopic],
  };
}

function brokerState(status: LinkStatus): BrokerState {
  return {
    kind: status.kind,
    connected: status.state === 'connected',
    since: status.since,
    ...(status.trouble !== null && { detail: status.trouble }),
  };
}
