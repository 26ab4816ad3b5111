import { expect, test } from 'vitest';
import type { AlertMachine } from '../../src/models/alert-machine.js';
import { HOUR, MINUTE } from '../support/garden.js';
import { firing, keep } from './alert-support.js';
import { newKey, openService } from './support.js';

const over = (from: number, at: number): AlertMachine => firing(from, { state: 'resolved', level: 0, resolvedAt: at });

test('open alerts of a site, those that were told', async () => {
  const service = await openService();
  const id = await keep(service);
  await keep(service, { kind: 'wet-night', machine: firing(service.garden.now, { state: 'pending', toldLevel: 0 }) });
  await keep(service, { kind: 'hot-spell', machine: over(service.garden.now - HOUR, service.garden.now) });
  const { items, next } = (await service.get('/sites/home/alerts')).json();
  expect(next).toBeNull();
  expect(items).toEqual([
    {
      id,
      siteId: 'home',
      houseId: 'north',
      subject: '',
      kind: 'frost',
      state: 'firing',
      level: 'warning',
      text: { title: 'Frost coming', reason: 'Cold.', whatToDo: 'Heat.' },
      batchIds: ['stones'],
      probability: 0.7,
      pendingSince: service.garden.now,
      firedAt: service.garden.now,
    },
  ]);
  expect((await service.get('/sites/far/alerts')).json().items).toEqual([]);
});

test('past alerts come newest first, page by page, with how they turned out', async () => {
  const service = await openService();
  const { now } = service.garden;
  for (let hour = 1; hour <= 5; hour += 1)
    await keep(service, { machine: over(now - 10 * HOUR, now - hour * HOUR), outcome: `It fell to ${hour}.0 °C.` });
  const outcomes: string[] = [];
  let address: string | null = '/api/v1/sites/home/alerts?state=past&limit=2';
  while (address) {
    const answer = await service.get(`/${address}`);
    expect(answer.statusCode).toBe(200);
    const page = answer.json();
    outcomes.push(...page.items.map((alert: { outcome: string }) => alert.outcome));
    address = page.next;
  }
  expect(outcomes).toEqual([1, 2, 3, 4, 5].map((hour) => `It fell to ${hour}.0 °C.`));
});

test('one alert with what happened to it', async () => {
  const service = await openService({ tokens: { 'staff-token': 'staff' } });
  const headers = { authorization: 'Bearer staff-token' };
  const id = await keep(service);
  service.garden.now += 5 * MINUTE;
  await service.post(`/alerts/${id}/acknowledge`, {}, { headers });
  const { now } = service.garden;
  expect((await service.get(`/alerts/${id}`, { headers })).json()).toMatchObject({
    id,
    acknowledged: { at: now, by: 'staff' },
    history: [
      { at: now - 5 * MINUTE, what: 'new', by: null },
      { at: now, what: 'acknowledged', by: 'staff' },
    ],
  });
});

test('is acknowledged under the name of the token, once, whoever comes after', async () => {
  const service = await openService({ tokens: { 'staff-token': 'staff', 'owner-token': 'owner' } });
  const id = await keep(service);
  const by = (token: string) => ({ headers: { authorization: `Bearer ${token}` } });
  const first = await service.post(`/alerts/${id}/acknowledge`, {}, by('staff-token'));
  expect(first.statusCode).toBe(200);
  expect(first.json()).toMatchObject({ id, acknowledged: { by: 'staff' } });
  service.garden.now += MINUTE;
  const second = await service.post(`/alerts/${id}/acknowledge`, undefined, by('owner-token'));
  expect(second.json().acknowledged).toEqual(first.json().acknowledged);
});

test('is put off until a time on the wall clock of the site, and no longer put off', async () => {
  const service = await openService();
  const id = await keep(service);
  // 08:00 in Berlin.
  const snoozed = await service.post(`/alerts/${id}/snooze`, { until: '2026-02-25T17:00' });
  expect(snoozed.json().snoozedUntil).toBe(Date.UTC(2026, 1, 25, 16));
  const again = await service.post(`/alerts/${id}/snooze`, { until: null });
  expect(again.json()).not.toHaveProperty('snoozedUntil');
});

test.each([
  ['2026-02-25T07:00', 'before now'],
  ['2026-03-05T08:00', 'more than a week ahead'],
])('is not put off until %s, %s', async (until) => {
  const service = await openService();
  const id = await keep(service);
  const answer = await service.post(`/alerts/${id}/snooze`, { until });
  expect(answer.statusCode).toBe(422);
  expect(answer.headers['content-type']).toContain('application/problem+json');
  expect(answer.json()).toMatchObject({
    type: '/api/v1/problems/invalid-input',
    detail: 'An alert can be put off for up to a week.',
    errors: [{ pointer: '#/until' }],
  });
});

test('bodies that are not understood are refused with the field that is wrong', async () => {
  const service = await openService();
  const id = await keep(service);
  for (const [body, pointer] of [
    [{}, '#/until'],
    [{ until: 'tomorrow' }, '#/until'],
    [{ until: null, why: 'later' }, '#/why'],
  ] as const) {
    const answer = await service.post(`/alerts/${id}/snooze`, body);
    expect(answer.statusCode).toBe(400);
    expect(answer.json().errors[0].pointer).toBe(pointer);
  }
  expect((await service.get('/sites/home/alerts?state=closed')).statusCode).toBe(400);
  expect((await service.get('/sites/home/alerts?state=past&after=nonsense')).statusCode).toBe(400);
});

test('what is over, pending or not there cannot be acknowledged', async () => {
  const service = await openService();
  const { now } = service.garden;
  const ended = await keep(service, { machine: over(now - HOUR, now) });
  const pending = await keep(service, { kind: 'wet-night', machine: firing(now, { state: 'pending' }) });
  const closed = await service.post(`/alerts/${ended}/acknowledge`, {});
  expect([closed.statusCode, closed.json().type]).toEqual([409, '/api/v1/problems/conflict']);
  for (const id of [pending, 999]) {
    const answer = await service.post(`/alerts/${id}/acknowledge`, {});
    expect([answer.statusCode, answer.json().detail]).toEqual([404, `There is no alert ${id}.`]);
  }
  expect((await service.get(`/alerts/${pending}`)).statusCode).toBe(404);
  expect((await service.get('/sites/nowhere/alerts')).statusCode).toBe(404);
});

test('a token that may only read looks, and changes nothing', async () => {
  const service = await openService({ tokens: { 'read-token': 'read' } });
  const id = await keep(service);
  const headers = { authorization: 'Bearer read-token' };
  expect((await service.get('/sites/home/alerts', { headers })).json().items).toHaveLength(1);
  for (const path of [`/alerts/${id}/acknowledge`, `/alerts/${id}/snooze`])
    expect((await service.post(path, { until: null }, { headers })).statusCode).toBe(403);
  expect((await service.get('/sites/home/alerts')).statusCode).toBe(401);
});

test('a write that is repeated with its key is done once', async () => {
  const service = await openService();
  const id = await keep(service);
  const headers = { 'idempotency-key': newKey() };
  const body = { until: '2026-02-25T17:00' };
  const first = await service.post(`/alerts/${id}/snooze`, body, { headers });
  const second = await service.post(`/alerts/${id}/snooze`, body, { headers });
  expect(second.json()).toEqual(first.json());
  expect(second.headers['idempotency-replayed']).toBe('true');
  const { history } = (await service.get(`/alerts/${id}`)).json();
  expect(history.map(({ what }: { what: string }) => what)).toEqual(['new', 'snoozed']);
});

test('answers carry a tag, and an unchanged list is not sent again', async () => {
  const service = await openService();
  await keep(service);
  const first = await service.get('/sites/home/alerts');
  const again = await service.get('/sites/home/alerts', { headers: { 'if-none-match': String(first.headers.etag) } });
  expect(again.statusCode).toBe(304);
});
