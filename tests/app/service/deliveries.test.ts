import { pino } from 'pino';
import { expect, it, onTestFinished } from 'vitest';
import { keepDelivering } from '../../../src/app/service/deliveries.js';
import { openTemp } from '../../storage/support.js';

const NOW = Date.UTC(2026, 1, 25, 7);

/** A loop whose every turn the test gives, and what the broker was given. */
async function start() {
  const storage = await openTemp();
  const stopping = new AbortController();
  onTestFinished(() => stopping.abort());
  const broker = { state: 'connected' as 'connected' | 'gone', since: NOW };
  const published: { topic: string; payload: string; options: object | undefined }[] = [];
  let now = NOW;
  let turn = () => {};
  let waits: () => void = () => {};
  let waiting = new Promise<void>((resolve) => {
    waits = resolve;
  });
  const done = keepDelivering({
    notifications: { takeIn: async () => {}, deliver: async () => undefined },
    storage,
    sites: () => [{ id: 'home' }],
    topicBase: () => 'leafturn',
    link: {
      publish: async (topic, payload, options) => void published.push({ topic, payload: String(payload), options }),
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
  };
  await waiting;
  return { storage, broker, published, next };
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
  await storage.alerts.save([
    {
      alert: {
        siteId: 'home',
        kind: 'frost',
        houseId: 'north',
        subject: '',
        outcome: null,
        machine: { state: 'firing', pendingSince: NOW, firedAt: NOW, toldLevel: 2 },
        detail: { text: { title: 'Frost', reason: 'Cold.', whatToDo: 'Heat.' }, batchIds: ['stones'] },
      } as never,
      events: [],
    },
  ]);
  await next();
  expect(published).toHaveLength(2);
  expect(JSON.parse(published[1]?.payload ?? '').alerts).toMatchObject([{ kind: 'frost', batchIds: ['stones'] }]);
  broker.state = 'gone';
  await next();
  expect(published).toHaveLength(2);
  Object.assign(broker, { state: 'connected', since: NOW + 60_000 });
  await next();
  expect(published).toHaveLength(3);
  expect(JSON.parse(published[2]?.payload ?? '').alerts).toHaveLength(1);
});
