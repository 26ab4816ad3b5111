import { request as httpRequest, type IncomingMessage } from 'node:http';
import type { AddressInfo } from 'node:net';
import { expect, onTestFinished, test, vi } from 'vitest';
import { bench, plant } from '../support/garden.js';
import { openService, type Service, type Settings } from './support.js';

interface Heard {
  readonly event: string;
  readonly id: string;
  readonly data: Record<string, unknown>;
}
interface Listener {
  readonly events: Heard[];
  readonly comments: string[];
  readonly response: IncomingMessage;
  ended: boolean;
  close(): void;
}

async function serving(settings: Settings = {}): Promise<Service> {
  const service = await openService(settings);
  await plant(service.garden);
  await service.app.listen({ host: '127.0.0.1', port: 0 });
  return service;
}

/** Listens as a browser would: over a real connection, reading frames as they come. */
function listen(service: Service, query = '', headers: Record<string, string> = {}): Promise<Listener> {
  const { port } = service.app.server.address() as AddressInfo;
  return new Promise((resolve, reject) => {
    const sent = httpRequest({ host: '127.0.0.1', port, path: `/api/v1/events${query}`, headers }, (response) => {
      const listener: Listener = { events: [], comments: [], response, ended: false, close: () => sent.destroy() };
      let text = '';
      response.setEncoding('utf8').on('data', (part: string) => {
        text += part;
        const frames = text.split('\n\n');
        text = frames.pop() ?? '';
        for (const frame of frames) take(listener, frame);
      });
      response.on('close', () => {
        listener.ended = true;
      });
      resolve(listener);
    });
    sent.on('error', reject).end();
    onTestFinished(() => void sent.destroy());
  });
}

function take(listener: Listener, frame: string): void {
  if (frame.startsWith(':')) listener.comments.push(frame);
  const field = (name: string) => frame.match(new RegExp(`^${name}: (.*)$`, 'm'))?.[1];
  const event = field('event');
  if (event) listener.events.push({ event, id: field('id') ?? '', data: JSON.parse(field('data') ?? 'null') });
}
const heard = (listener: Listener, count: number) =>
  vi.waitFor(() => expect(listener.events).toHaveLength(count), { timeout: 5000, interval: 10 });
const note = (service: Service, text: string, site = 'home') => service.post(`/sites/${site}/notes`, { text });

test('entries and rounds are told as they come, with ids to go on from', async () => {
  const service = await serving();
  const listener = await listen(service);
  expect(listener.response.headers).toMatchObject({
    'content-type': 'text/event-stream; charset=utf-8',
    'cache-control': 'no-store',
    'x-content-type-options': 'nosniff',
  });
  await note(service, 'first');
  await service.post('/sites/home/rounds', {});
  await heard(listener, 2);
  const madeAt = service.garden.now;
  expect(listener.events).toMatchObject([
    { event: 'journal', id: '7-0-0', data: { id: 7, event: { kind: 'note', text: 'first' } } },
    { event: 'round', id: `7-${madeAt}-0`, data: { siteId: 'home', day: '2026-02-25', revision: 1 } },
  ]);
});

test('a listener that comes back is sent what it missed, once and in order', async () => {
  const service = await serving();
  const first = await listen(service);
  await note(service, 'heard');
  await heard(first, 1);
  const lastId = first.events[0]?.id ?? '';
  first.close();
  await note(service, 'missed one');
  await note(service, 'missed two', 'far');
  await service.post('/sites/home/rounds', {});
  const second = await listen(service, '', { 'last-event-id': lastId });
  await note(service, 'new');
  await heard(second, 4);
  expect(second.events.map(({ event, data }) => (event === 'round' ? event : data['id']))).toEqual([8, 9, 'round', 10]);
});

test('an entry made while missed ones are read is told once', async () => {
  let enterWhileReading = async () => {};
  const service = await serving({
    change: (deps) => ({
      ...deps,
      storage: {
        ...deps.storage,
        journal: {
          ...deps.storage.journal,
          list: async (query) => {
            await enterWhileReading();
            return deps.storage.journal.list(query);
          },
        },
      },
    }),
  });
  enterWhileReading = async () => {
    enterWhileReading = async () => {};
    await note(service, 'in between');
  };
  const listener = await listen(service, '', { 'last-event-id': '6-0' });
  await heard(listener, 1);
  await note(service, 'after');
  await heard(listener, 2);
  expect(listener.events.map(({ data }) => data['id'])).toEqual([7, 8]);
});

test('a listener of one site hears of that site alone', async () => {
  const service = await serving();
  const listener = await listen(service, '?site=far');
  await note(service, 'home');
  await note(service, 'far', 'far');
  await heard(listener, 1);
  expect(listener.events[0]?.data).toMatchObject({ siteId: 'far' });
});

test('who missed too much is told to read anew', async () => {
  const service = await serving();
  await service.garden.keeper.record(
    'home',
    Array.from({ length: 501 }, (_, i) => bench(`many-${i}`)),
    { by: 'Ada' },
  );
  const listener = await listen(service, '', { 'last-event-id': '6-0' });
  await heard(listener, 1);
  expect(listener.events[0]).toMatchObject({ event: 'reset', id: '507-0-0' });
  await note(service, 'goes on');
  await heard(listener, 2);
  expect(listener.events[1]?.data).toMatchObject({ id: 508 });
});

test('silence is filled with heartbeats', async () => {
  const service = await serving({ limits: { heartbeatMs: 20 } });
  const listener = await listen(service);
  await vi.waitFor(() => expect(listener.comments.length).toBeGreaterThan(1), { timeout: 5000, interval: 10 });
});

test('no more listeners than the limit; a place that is left is free again', async () => {
  const service = await serving({ limits: { eventClients: 2 } });
  const first = await listen(service);
  await listen(service);
  const third = await listen(service);
  expect(third.response.statusCode).toBe(503);
  expect(third.response.headers['retry-after']).toBe('30');
  first.close();
  await vi.waitFor(async () => expect((await listen(service)).response.statusCode).toBe(200), {
    timeout: 5000,
    interval: 20,
  });
});

test('an unknown site is refused, and takes no place', async () => {
  const service = await serving({ limits: { eventClients: 1 } });
  expect((await listen(service, '?site=nowhere')).response.statusCode).toBe(404);
  expect((await listen(service)).response.statusCode).toBe(200);
});

test('closing the service ends the streams', async () => {
  const service = await serving();
  const listener = await listen(service);
  await service.app.close();
  await vi.waitFor(() => expect(listener.ended).toBe(true), { timeout: 5000, interval: 10 });
});

test('what happens to an alert is told as it comes, and again to a listener that missed it', async () => {
  const service = await serving();
  const { now } = service.garden;
  const machine = {
    level: 1,
    toldLevel: 1,
    pendingSince: now,
    firedAt: now,
    countedMs: 0,
    seenAt: now,
    knew: true,
  } as const;
  const [told] =
    (await service.garden.storage.alerts.save([
      {
        alert: {
          siteId: 'home',
          houseId: 'north',
          subject: '',
          kind: 'frost',
          machine: { state: 'firing', ...machine },
          detail: { text: { title: 'Frost', reason: 'Cold.', whatToDo: 'Heat.' }, batchIds: [] },
          outcome: null,
        },
        events: [{ at: now, what: 'new', by: null }],
      },
    ])) ?? [];
  const listener = await listen(service, '?site=home');
  const other = await listen(service, '?site=far');
  await service.post(`/alerts/${told?.alertId}/acknowledge`, {});
  await heard(listener, 1);
  expect(listener.events[0]).toMatchObject({
    event: 'alert',
    id: '6-0-2',
    data: { what: 'acknowledged', by: 'this machine', alert: { kind: 'frost', state: 'firing' } },
  });
  const late = await listen(service, '', { 'last-event-id': '6-0-1' });
  await heard(late, 1);
  expect(late.events[0]).toMatchObject({ event: 'alert', id: '6-0-2' });
  expect(other.events).toEqual([]);
});
