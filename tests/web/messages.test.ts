import { afterEach, beforeEach, expect, it } from 'vitest';
import type { Delivery } from '../../src/storage/repositories.js';
import { NOW, site } from './fixtures/scenario.js';
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
const post = (what: string, payload: string) =>
  service.app.inject({
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
});
