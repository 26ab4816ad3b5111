import { describe, expect, test } from 'vitest';
import { LeafturnError } from '../../src/domain/errors.js';
import { RECEIVE_MAXIMUM } from '../../src/ingest/external-broker.js';
import { startIngest } from '../../src/ingest/start.js';
import { hasMosquitto, startMosquitto, testClient, until } from '../support/broker.js';
import { AIR, mappingOf, openStorage } from './support.js';

const T0 = Date.UTC(2026, 5, 1);
const payload = (n: number) => JSON.stringify({ t: 20 + (n % 50) / 10, at: T0 + n * 1000 });

describe.runIf(hasMosquitto)('an external broker', () => {
  test('a broker that goes away is told of with its time, and comes back by itself', async () => {
    const broker = await startMosquitto(
      'allow_anonymous true\nmax_queued_messages 0\npersistence true\nautosave_interval 1\n',
    );
    const storage = await openStorage();
    const states: string[] = [];
    const lost: (number | null)[] = [];
    const ingest = await startIngest({
      mappings: [AIR],
      knowsHouse: () => true,
      store: storage.readings,
      now: () => Date.now(),
      broker: {
        kind: 'external',
        url: broker.url.replace('//', '//someone:secret@'),
        clientId: 'svc',
        firstReconnectMs: 20,
        longestReconnectMs: 100,
        onSessionLost: ({ goneSince }) => lost.push(goneSince),
      },
      onLinkStatus: (status) => states.at(-1) !== status.state && states.push(status.state),
    });
    await until('connected', () => ingest.link.status().state === 'connected');
    const before = Date.now();
    await broker.kill();
    await until('gone', () => ingest.link.status().state === 'gone');
    const gone = ingest.link.status();
    expect(gone.since).toBeGreaterThanOrEqual(before);
    expect(gone.address).toBe(broker.url);
    // What is retained waits, the newest of each topic; the rest is refused at once.
    await expect(ingest.link.publish('leafturn/x', 'now')).rejects.toMatchObject({ code: 'broker-failed' });
    const waiting = [
      ingest.link.publish('leafturn/list', 'old', { retain: true }),
      ingest.link.publish('leafturn/list', 'new', { retain: true }),
    ];
    await until('a reason', () => ingest.link.status().trouble === 'Nothing answers at the address of the broker.');
    expect(ingest.link.status().since).toBe(gone.since);

    await broker.start();
    await until('connected again', () => ingest.link.status().state === 'connected');
    await Promise.all(waiting);
    expect(ingest.link.status()).toMatchObject({ reconnects: 1, sessionsLost: 1, trouble: null });
    // Killed before it had saved anything, the broker has forgotten the session: messages may be missing since then.
    expect(lost).toEqual([gone.since]);
    expect(states).toEqual(['connected', 'gone', 'connected']);
    const phone = await testClient(broker.url);
    const seen: string[] = [];
    phone.on('message', (topic, text) => seen.push(`${topic} ${text}`));
    await phone.subscribeAsync('leafturn/#', { qos: 1 });
    await phone.publishAsync('gh/north/a/air', payload(1), { qos: 1 });
    await until('stored and seen', () => ingest.pipeline.status().stored === 1 && seen.length > 0);
    expect(seen).toEqual(['leafturn/list new']);
    await ingest.close();
  });

  test('while the database refuses, nothing is acknowledged and the broker keeps it all', async () => {
    const broker = await startMosquitto();
    const storage = await openStorage();
    let full = true;
    const ingest = await startIngest({
      mappings: [AIR],
      knowsHouse: () => true,
      store: {
        commit: (batch) =>
          full ? Promise.reject(new LeafturnError('database-full', 'no room')) : storage.readings.commit(batch),
      },
      now: () => Date.now(),
      broker: { kind: 'external', url: broker.url, clientId: 'svc' },
    });
    await until('connected', () => ingest.link.status().state === 'connected');
    const device = await testClient(broker.url);
    await Promise.all(
      Array.from({ length: 5000 }, (_, n) => device.publishAsync('gh/north/a/air', payload(n), { qos: 1 })),
    );
    await until('waiting', () => ingest.pipeline.status().state === 'waiting');
    expect(ingest.pipeline.status()).toMatchObject({ stored: 0, trouble: 'no room' });
    // No more than the window is ever here; the rest stays with the broker.
    expect(ingest.pipeline.status().pendingMessages).toBeLessThanOrEqual(RECEIVE_MAXIMUM);
    full = false;
    ingest.pipeline.resume();
    await until('all stored', () => ingest.pipeline.status().stored === 5000);
    expect(ingest.pipeline.status()).toMatchObject({ duplicates: 0, state: 'running', trouble: null });
    await ingest.close();
  });

  test('a changed configuration changes what is subscribed to', async () => {
    const broker = await startMosquitto();
    const storage = await openStorage();
    const ingest = await startIngest({
      mappings: [AIR],
      knowsHouse: () => true,
      store: storage.readings,
      now: () => Date.now(),
      broker: { kind: 'external', url: broker.url, clientId: 'svc' },
    });
    await until('connected', () => ingest.link.status().state === 'connected');
    await ingest.configure([mappingOf({ ...AIR, topic: 'new/+/+/air' })], () => true);
    const device = await testClient(broker.url);
    await device.publishAsync('gh/north/a/air', payload(1), { qos: 1 });
    await device.publishAsync('new/north/a/air', payload(2), { qos: 1 });
    await until('stored', () => ingest.pipeline.status().stored === 1);
    await ingest.pipeline.idle();
    expect(ingest.pipeline.status()).toMatchObject({ messages: 1, refused: 0 });
    await ingest.close();
  });

  test('messages sent while the service is away arrive when it is back', async () => {
    const broker = await startMosquitto();
    const storage = await openStorage();
    const start = () =>
      startIngest({
        mappings: [AIR],
        knowsHouse: () => true,
        store: storage.readings,
        now: () => Date.now(),
        broker: { kind: 'external', url: broker.url, clientId: 'svc' },
      });
    let ingest = await start();
    await until('connected', () => ingest.link.status().state === 'connected');
    const device = await testClient(broker.url);
    for (let n = 0; n < 100; n++) await device.publishAsync('gh/north/a/air', payload(n), { qos: 1 });
    await until('100 stored', () => ingest.pipeline.status().stored === 100);
    await ingest.close();
    expect(ingest.link.status().state).toBe('closed');

    await Promise.all(
      Array.from({ length: 3000 }, (_, n) => device.publishAsync('gh/north/a/air', payload(n + 100), { qos: 1 })),
    );
    ingest = await start();
    await until('the rest stored', () => ingest.pipeline.status().stored === 3000);
    expect(ingest.pipeline.status()).toMatchObject({ refused: 0, duplicates: 0, state: 'running' });
    await ingest.close();
  });
});
