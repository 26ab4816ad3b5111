import { describe, expect, it } from 'vitest';
import type { Channel, Outcome } from '../../src/notify/channel.js';
import { START } from '../support/garden.js';
import { openService } from './support.js';

const channel = (outcome: Outcome): Channel => ({
  name: 'hook',
  kind: 'webhook',
  address: 'https://hooks.example',
  recipients: [''],
  takes: () => true,
  send: async () => outcome,
});
const by = (token: string) => ({ headers: { authorization: `Bearer ${token}` } });
const message = {
  id: 'msg_9',
  siteId: 'home',
  kind: 'alert-new',
  title: 'Home: Frost',
  text: 'Cold.',
  dangerous: true,
  at: START,
} as const;

describe('channels', () => {
  it('are tested, and say how they are', async () => {
    const service = await openService({ channels: [channel({ kind: 'failed', trouble: 'Nobody there.' })] });
    const test = await service.post('/notifications/hook/test', undefined);
    expect([test.statusCode, test.json()]).toEqual([
      201,
      { results: [{ recipient: '', sent: false, trouble: 'Nobody there.' }] },
    ]);
    expect((await service.get('/notifications/channels')).json().items).toEqual([
      {
        name: 'hook',
        kind: 'webhook',
        address: 'https://hooks.example',
        lastSentAt: null,
        lastTrouble: 'Nobody there.',
        lastTroubleAt: START,
        waiting: 0,
        dead: 0,
      },
    ]);
    expect((await service.post('/notifications/hok/test', undefined)).json().detail).toContain('Did you mean hook?');
  });

  it('are tested by staff', async () => {
    const service = await openService({
      tokens: { see: 'read', work: 'staff' },
      channels: [channel({ kind: 'sent' })],
    });
    expect((await service.post('/notifications/hook/test', undefined, by('see'))).statusCode).toBe(403);
    const answer = await service.post('/notifications/hook/test', undefined, by('work'));
    expect(answer.json()).toEqual({ results: [{ recipient: '', sent: true, trouble: null }] });
  });
});

it('what was given up is listed and sent again, once', async () => {
  const service = await openService({ channels: [channel({ kind: 'sent' })] });
  const { notifications } = service.garden.storage;
  await notifications.takeIn([{ channel: 'hook', recipient: '', message, at: START }], { from: 0, until: 1 });
  await notifications.failed({ id: 1, channel: 'hook' }, { at: START, trouble: 'Down.', nextAt: null });
  const list = (await service.get('/notifications/dead?channel=hook')).json();
  expect(list).toMatchObject({ items: [{ id: 1, messageId: 'msg_9', state: 'dead', trouble: 'Down.' }], next: null });
  expect((await service.get('/notifications/dead?siteId=home')).json().items).toHaveLength(1);
  expect((await service.get('/notifications/dead?siteId=away')).json().items).toEqual([]);
  const again = await service.post('/notifications/dead/1/retry', undefined);
  expect([again.statusCode, again.json().state]).toEqual([201, 'waiting']);
  expect((await service.get('/notifications/dead')).json().items).toEqual([]);
  expect((await service.post('/notifications/dead/1/retry', undefined)).statusCode).toBe(409);
  expect((await service.post('/notifications/dead/7/retry', undefined)).statusCode).toBe(404);
});

describe('the calendar', () => {
  it('is read with a token, or at the address that the owner is told', async () => {
    const service = await openService({ tokens: { see: 'read', own: 'owner' } });
    const feed = await service.get('/sites/home/calendar.ics', by('see'));
    expect([feed.statusCode, feed.headers['content-type']]).toEqual([200, 'text/calendar; charset=utf-8']);
    expect((await service.get('/sites/home/calendar.ics')).statusCode).toBe(401);
    expect((await service.get('/sites/home/calendar', by('see'))).statusCode).toBe(403);
    const { address } = (await service.get('/sites/home/calendar', by('own'))).json();
    const open = await service.app.inject(address);
    expect([open.statusCode, open.body]).toEqual([200, feed.body]);
    expect((await service.app.inject(address.replace('/home/', '/far/'))).statusCode).toBe(404);
    expect((await service.app.inject(address.replace(/\.ics$/, 'x.ics'))).statusCode).toBe(404);
    // No route at all: a calendar tries what else there is, and an address is copied wrongly.
    expect((await service.app.inject({ method: 'PROPFIND' as 'GET', url: address })).statusCode).toBe(401);
    for (const wrong of [`${address}/`, address.replace('.ics', ''), address.replace('r/', 'r//')])
      expect((await service.app.inject(wrong)).statusCode).toBe(401);
    // The address is as good as a token, so it must not stand in the log.
    const token = address.split('/').at(-1).replace('.ics', '');
    expect(service.log.length).toBeGreaterThan(5);
    expect(JSON.stringify(service.log)).not.toContain(token);
    expect(service.log.map(({ url }) => url)).toContain('/api/v1/sites/home/calendar/…');
  });

  it('has the alerts that were told, and not what is pending', async () => {
    const service = await openService();
    const expected = (subject: string, machine: object) => ({
      alert: {
        siteId: 'home',
        kind: 'frost',
        houseId: 'north',
        subject,
        outcome: null,
        machine: { pendingSince: START, toldLevel: 2, ...machine },
        detail: { text: { title: `Frost ${subject}`, reason: '', whatToDo: '' }, batchIds: [], expectedAt: START },
      } as never,
      events: [],
    });
    await service.garden.storage.alerts.save([
      expected('told', { state: 'firing', firedAt: START }),
      expected('held', { state: 'held', firedAt: START }),
      expected('pending', { state: 'pending' }),
    ]);
    const { body } = await service.get('/sites/home/calendar.ics');
    expect(body.match(/SUMMARY:Frost \w+/g)).toEqual(['SUMMARY:Frost told', 'SUMMARY:Frost held']);
  });
});
