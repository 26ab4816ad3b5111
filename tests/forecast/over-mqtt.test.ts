import { type AddressInfo, connect, createServer, type Socket } from 'node:net';
import { describe, expect, onTestFinished, test } from 'vitest';
import { createForecasts } from '../../src/forecast/forecasts.js';
import { listenForForecasts } from '../../src/forecast/over-mqtt.js';
import { type IngestOptions, startIngest } from '../../src/ingest/start.js';
import type { ForecastStore } from '../../src/storage/repositories.js';
import { openStorage } from '../ingest/support.js';
import { hasMosquitto, startMosquitto, testClient, until } from '../support/broker.js';
import { HOUR_MS, HOUR_NOW, NOW, SITE, TestClock } from './support.js';

const EMBEDDED = {
  kind: 'embedded',
  host: '127.0.0.1',
  port: 0,
  users: [],
  reserved: ['leafturn/#'],
  openWithin: ['leafturn/+/forecast'],
} as const;
const TOPIC = 'leafturn/+/forecast';

const BODY = JSON.stringify({
  hours: [0, 1, 2].map((after) => ({ at: HOUR_NOW + after * HOUR_MS, airTempC: 12 + after })),
});

async function start(
  broker: IngestOptions['broker'],
  spoil: (store: ForecastStore) => Partial<ForecastStore> = () => ({}),
) {
  const storage = await openStorage();
  const ingest = await startIngest({
    mappings: [],
    knowsHouse: () => true,
    store: storage.readings,
    now: () => NOW,
    broker,
  });
  onTestFinished(() => ingest.close());
  const store = { ...storage.forecasts, ...spoil(storage.forecasts) };
  const forecasts = await createForecasts({
    storage: { readings: storage.readings, forecasts: store },
    clock: new TestClock(),
    sites: () => [SITE],
    sources: () => [],
    random: () => 0,
    program: 'leafturn/test',
  });
  const refuse = ingest.pipeline.offerRefusal.bind(ingest.pipeline);
  await listenForForecasts({ link: ingest.link, forecasts, topic: TOPIC, refuse });
  return {
    storage,
    ingest,
    url: ingest.link.status().address,
    refusals: () => storage.refusals.list({ limit: 10 }),
  };
}

describe('the broker inside', () => {
  test('a forecast is on disk when its sender is answered', async () => {
    const { storage, url } = await start(EMBEDDED);
    const sender = await testClient(url);
    await sender.publishAsync('leafturn/hill/forecast', BODY, { qos: 1 });
    expect(await storage.forecasts.latestBefore('hill', NOW)).toMatchObject({
      source: 'over MQTT',
      issuedAt: NOW,
      hours: [{ airTempC: 12 }, { airTempC: 13 }, { airTempC: 14 }],
    });
  });

  test('what cannot be used is refused with the reason, kept for a look, and holds nobody up', async () => {
    const { storage, url, refusals } = await start(EMBEDDED);
    const sender = await testClient(url);
    for (const [topic, payload] of [
      ['leafturn/hill/forecast', 'sunny'],
      ['leafturn/hill/forecast', JSON.stringify({ hours: [{ at: HOUR_NOW, airTempC: 294 }] })],
      ['leafturn/hill/forecast', JSON.stringify({ hours: [{ at: HOUR_NOW - 90 * HOUR_MS, airTempC: 9 }] })],
      ['leafturn/dale/forecast', BODY],
      ['leafturn/hill/forecast', ''],
    ] as const)
      await sender.publishAsync(topic, payload, { qos: 1 });
    await until('four refusals', async () => (await refusals()).length >= 4);
    expect(
      (await refusals()).map(({ reason, siteId, sentence, excerpt }) => [
        reason,
        siteId,
        sentence,
        excerpt.slice(0, 8),
      ]),
    ).toEqual([
      ['forecast-refused', null, 'There is no site dale.', '{"hours"'],
      ['forecast-refused', 'hill', expect.stringContaining('It holds no hour to come'), '{"hours"'],
      [
        'forecast-refused',
        'hill',
        'The message is no forecast. hours[0].airTempC: expected at most 57, got 294.',
        '{"hours"',
      ],
      ['forecast-refused', 'hill', 'The message is not JSON; it begins with "sunny".', 'sunny'],
    ]);
    expect(await storage.forecasts.latestBefore('hill', NOW)).toBeUndefined();
    await sender.publishAsync('leafturn/hill/forecast', BODY, { qos: 1 });
    expect(await storage.forecasts.latestBefore('hill', NOW)).toBeDefined();
  });
});

/** A way to the broker that the test can cut. */
async function cuttableWay(port: number): Promise<{ readonly url: string; cut(): void }> {
  const open = new Set<Socket>();
  const server = createServer((near) => {
    const far = connect(port, '127.0.0.1');
    for (const socket of [near, far]) {
      open.add(socket);
      socket.on('error', () => {});
      socket.on('close', () => {
        open.delete(socket);
        near.destroy();
        far.destroy();
      });
    }
    near.pipe(far).pipe(near);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const cut = (): void => {
    for (const socket of open) socket.destroy();
  };
  onTestFinished(() => {
    server.close();
    cut();
  });
  return { url: `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`, cut };
}

describe.runIf(hasMosquitto)('a broker of the grower’s own', () => {
  test('a forecast that could not be kept comes again with the next connection', async () => {
    const broker = await startMosquitto('allow_anonymous true\n');
    const way = await cuttableWay(broker.port);
    let tries = 0;
    const { storage, ingest } = await start(
      { kind: 'external', url: way.url, clientId: 'leafturn-test', firstReconnectMs: 50 },
      (store) => ({
        save: (one) => {
          tries += 1;
          return tries === 1 ? Promise.reject(new Error('the disk is full')) : store.save(one);
        },
      }),
    );
    await until('the subscription', () => ingest.link.status().state === 'connected');
    const sender = await testClient(broker.url);
    await sender.publishAsync('leafturn/hill/forecast', BODY, { qos: 1 });
    await until('the first try', () => tries === 1);
    way.cut();
    await until('the forecast', async () => (await storage.forecasts.latestBefore('hill', NOW)) !== undefined);
    expect(tries).toBe(2);
  });

  test('one that the broker had kept is as old as it says; without a word of that it is refused', async () => {
    const broker = await startMosquitto('allow_anonymous true\n');
    const sender = await testClient(broker.url);
    await sender.publishAsync('leafturn/hill/forecast', BODY, { qos: 1, retain: true });
    const { storage, refusals } = await start({ kind: 'external', url: broker.url, clientId: 'leafturn-test' });
    await until('the refusal', async () => (await refusals()).length === 1);
    expect((await refusals())[0]).toMatchObject({
      reason: 'forecast-refused',
      siteId: 'hill',
      sentence: expect.stringContaining('does not say when it was made. /issuedAt: expected'),
    });
    // The same message fresh from its sender needs no time, and with a time a kept one will do.
    await sender.publishAsync('leafturn/hill/forecast', BODY, { qos: 1, retain: true });
    await until('the forecast', async () => (await storage.forecasts.latestBefore('hill', NOW)) !== undefined);
    const issuedAt = new Date(NOW - HOUR_MS).toISOString();
    const dated = JSON.stringify({ ...JSON.parse(BODY), issuedAt });
    await sender.publishAsync('leafturn/hill/forecast', dated, { qos: 1, retain: true });
    const later = await start({ kind: 'external', url: broker.url, clientId: 'leafturn-later' });
    await until('the kept one', async () => (await later.storage.forecasts.latestBefore('hill', NOW)) !== undefined);
    expect(await later.storage.forecasts.latestBefore('hill', NOW)).toMatchObject({ issuedAt: Date.parse(issuedAt) });
  });
});
