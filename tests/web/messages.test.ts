import { type AddressInfo, createServer } from 'node:net';
import { afterEach, beforeEach, expect, it, onTestFinished } from 'vitest';
import { createMail } from '../../src/notify/mail.js';
import { createMqtt } from '../../src/notify/mqtt.js';
import { createNotifications } from '../../src/notify/notifications.js';
import { createWebhook } from '../../src/notify/webhook.js';
import type { Delivery } from '../../src/storage/repositories.js';
import { NOW, otherSite, site } from './fixtures/scenario.js';
import { type PageService, pageService } from './fixtures/service.js';

let service: PageService;
beforeEach(async () => {
  service = await pageService([], true);
  service.state.channels = [
    {
      name: 'evening-mail',
      kind: 'mail',
      address: 'mail.example',
      lastSentAt: NOW,
      lastTrouble: 'The server is full.',
      lastTroubleAt: NOW,
      waiting: 2,
      dead: 1,
    },
  ];
  service.state.dead = [dead(7, site.id), dead(8, 'elsewhere')];
});
afterEach(() => service.close());

const dead = (id: number, siteId: string): Delivery =>
  ({
    id,
    channel: 'evening-mail',
    recipient: 'ada@example.org',
    tries: 9,
    trouble: 'The address is not known.',
    message: { siteId, title: `Frost coming, number ${id}`, at: NOW },
  }) as unknown as Delivery;
const path = `/sites/${site.id}/messages`;
const get = async () => (await service.app.inject({ url: path })).body;
const post = (what: string, payload: string, { app } = service) =>
  app.inject({
    method: 'POST',
    url: `${path}/${what}`,
    payload,
    headers: { 'content-type': 'application/x-www-form-urlencoded' },
  });

it('tells each way, its trouble, what waits, and what did not arrive for this site alone', async () => {
  const body = (await get()).replace(/<!-- -->/g, '');
  for (const words of [
    'evening-mail',
    'by e-mail',
    'The server is full.',
    '2 messages waiting',
    'number 7',
    'The address is not known.',
  ])
    expect(body).toContain(words);
  expect(body).not.toContain('number 8');
  service.state.channels = [];
  expect(await get()).toContain('no way to send one is set up');
});

it('sends a test, and tries again what was given up', async () => {
  expect((await post('test', 'channel=evening-mail')).headers.location).toBe(`${path}?said=sent`);
  expect(service.state.sent).toEqual(['evening-mail']);
  expect((await post('again', 'id=7')).statusCode).toBe(303);
  expect(service.state.dead.map(({ id }) => id)).toEqual([8]);
});

it('refuses a way that is not, a message of another site, nonsense, and readers', async () => {
  expect((await post('test', 'channel=nowhere')).statusCode).toBe(404);
  expect((await post('again', 'id=8')).statusCode).toBe(404);
  expect((await post('again', 'id=x')).statusCode).toBe(422);
  service.state.reader = { name: 'Ben', mayWrite: false, isOwner: false };
  expect((await post('test', 'channel=evening-mail')).statusCode).toBe(403);
  expect(await get()).not.toContain('Send a test');
  // Addresses of people are not for everybody who may look.
  expect(await get()).not.toContain('What did not arrive');
  expect(await get()).not.toContain('ada@example.org');
});

it('shows what did not arrive here, though much more did not arrive elsewhere since', async () => {
  const others = Array.from({ length: 60 }, (_, index) => dead(100 + index, 'elsewhere'));
  service.state.dead = [dead(7, site.id), ...others];
  expect(await get()).toContain('number 7');
  expect((await post('again', 'id=7')).statusCode).toBe(303);
});

/** The page over the real channels, each of a server that takes the connection and never answers. */
async function hanging() {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  const timeoutMs = 200;
  const channels = [
    createMail({
      name: 'mail',
      host: '127.0.0.1',
      port,
      security: 'none',
      from: 'a@example.org',
      to: ['b@example.org'],
      timeoutMs,
    }),
    createWebhook({
      name: 'hook',
      url: `http://127.0.0.1:${port}/`,
      keys: [Buffer.alloc(32)],
      program: 'x',
      timeoutMs,
    }),
    createMqtt({ publish: () => new Promise(() => {}) }, 'leafturn', timeoutMs),
    createMail({
      name: 'far-mail',
      host: '127.0.0.1',
      port,
      security: 'none',
      from: 'a@example.org',
      to: ['b@example.org'],
      sites: [otherSite.id],
    }),
  ];
  const page = await pageService([], true, (deps, storage) => ({
    ...deps,
    notifications: createNotifications({
      storage,
      sites: deps.sites,
      channels: () => channels,
      quietHours: () => undefined,
      now: deps.now,
      random: () => 0,
      newId: () => 'msg_1',
    }),
  }));
  onTestFinished(async () => {
    await page.close();
    server.close();
  });
  return page;
}

it('says of a server that does not answer that it did not, and why', async () => {
  const page = await hanging();
  for (const name of ['mail', 'hook', 'mqtt'])
    expect((await post('test', `channel=${name}`, page)).headers.location).toBe(`${path}?said=failed`);
  const { body } = await page.app.inject({ url: path });
  expect(body.match(/127\.0\.0\.1:\d+ did not answer within 0\.2 seconds\./g)).toHaveLength(2);
  expect(body).toContain('The broker did not take it within 0.2 seconds.');
});

it('neither shows nor tests a way that is for another site', async () => {
  const page = await hanging();
  expect((await page.app.inject({ url: path })).body).not.toContain('far-mail');
  expect((await post('test', 'channel=far-mail', page)).statusCode).toBe(404);
});
