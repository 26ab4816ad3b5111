import { pino } from 'pino';
import { expect, it, onTestFinished } from 'vitest';
import { createAlerts } from '../../../src/advice/alerts/service.js';
import { keepDelivering } from '../../../src/app/service/deliveries.js';
import { openTemp } from '../../storage/support.js';

const NOW = Date.UTC(2026, 1, 25, 7);

/** Everything that waits for nothing outside is done. */
const through = () => new Promise((resolve) => setImmediate(resolve));

/** A loop whose every turn the test gives, and what the broker was given. */
async function start(hangs = false) {
  const storage = await openTemp();
  const stopping = new AbortController();
  onTestFinished(() => stopping.abort());
  const broker = { state: 'connected' as 'connected' | 'gone', since: NOW };
  const published: { topic: string; payload: string; options: object | undefined }[] = [];
  const delivered: number[] = [];
  let now = NOW;
  let turn = () => {};
  let waits: () => void = () => {};
  let waiting = new Promise<void>((resolve) => {
    waits = resolve;
  });
  const done = keepDelivering({
    notifications: { takeIn: async () => {}, deliver: async () => void delivered.push(now) },
    // Only what is kept is asked for here.
    alerts: createAlerts({ storage } as never),
    sites: () => [{ id: 'home' }],
    topicBase: () => 'leafturn',
    link: {
      publish: async (topic, payload, options) => {
        published.push({ topic, payload: String(payload), options });
        if (hangs) await new Promise(() => {});
      },
      status: () => ({
        ...broker,
        kind: 'external',
        address: '',
        trouble: null,
        reconnects: 0,
        sessionsLost: 0,
        clients: 0,
      }),
    },
    clock: {
      speed: 1,
      now: () => now,
      waitUntil: (at, signal) =>
        new Promise((resolve, reject) => {
          signal?.addEventListener('abort', () => reject(signal.reason), { once: true });
          turn = () => {
            now = at;
            resolve();
          };
          waits();
        }),
    },
    logger: pino({ level: 'silent' }),
    signal: stopping.signal,
  });
  done.catch(() => {});
  const next = async () => {
    await waiting;
    waiting = new Promise((resolve) => {
      waits = resolve;
    });
    turn();
    await waiting;
    await through();
  };
  await waiting;
  await through();
  const stop = async () => {
    stopping.abort();
    await done.catch(() => {});
  };
  return { storage, broker, published, delivered, next, stop };
}

it('the broker keeps the open alerts: given when they change, and again when it is back', async () => {
  const { storage, broker, published, next } = await start();
  expect(published).toEqual([
    {
      topic: 'leafturn/home/alerts',
      payload: JSON.stringify({ site: 'home', at: new Date(NOW).toISOString(), alerts: [] }),
      options: { retain: true, qos: 1 },
    },
  ]);
  await next();
  expect(published).toHaveLength(1);
  const kept = (subject: string, machine: object) => ({
    alert: {
      siteId: 'home',
      kind: 'frost',
      houseId: 'north',
      subject,
      outcome: null,
      machine: { pendingSince: NOW, toldLevel: 2, ...machine },
      detail: { text: { title: 'Frost', reason: 'Cold.', whatToDo: 'Heat.' }, batchIds: ['stones'] },
    } as never,
    events: [],
  });
  // What is pending is not told yet.
  await storage.alerts.save([
    kept('', { state: 'firing', firedAt: NOW }),
    kept('door', { state: 'held', firedAt: NOW }),
    kept('roof', { state: 'pending' }),
  ]);
  await next();
  expect(published).toHaveLength(2);
  expect(JSON.parse(published[1]?.payload ?? '').alerts).toMatchObject([
    { kind: 'frost', subject: '', state: 'firing', batchIds: ['stones'] },
    { kind: 'frost', subject: 'door', state: 'held' },
  ]);
  broker.state = 'gone';
  await next();
  expect(published).toHaveLength(2);
  Object.assign(broker, { state: 'connected', since: NOW + 60_000 });
  await next();
  expect(published).toHaveLength(3);
  expect(JSON.parse(published[2]?.payload ?? '').alerts).toHaveLength(2);
});

it('a broker that hangs keeps no mail back, is not asked again meanwhile, and does not hold up the end', async () => {
  const { published, delivered, next, stop } = await start(true);
  await next();
  await next();
  expect(delivered).toHaveLength(3);
  expect(published).toHaveLength(1);
  await stop();
});
