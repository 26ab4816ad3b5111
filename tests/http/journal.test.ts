import { expect, test } from 'vitest';
import { plant, START } from '../support/garden.js';
import { openService } from './support.js';

const WATERING = { batchIds: ['stones'], amount: 'light', mlPerPot: 12 };
const at = '/sites/home';

async function planted(settings = {}) {
  const service = await openService(settings);
  await plant(service.garden);
  return service;
}

test('a watering is entered and answered with its entry', async () => {
  const service = await planted();
  const answer = await service.post(`${at}/waterings`, { ...WATERING, happenedAt: '2026-02-25T07:30', note: 'by can' });
  expect(answer.statusCode).toBe(201);
  expect(answer.json()).toEqual({
    entries: [
      {
        id: 7,
        siteId: 'home',
        // Half past seven on a Berlin clock in winter is half past six UTC.
        happenedAt: Date.UTC(2026, 1, 25, 6, 30),
        enteredAt: START,
        by: 'this machine',
        note: 'by can',
        event: { kind: 'watering', answer: 'unasked', ...WATERING },
      },
    ],
  });
});

test('events come one or many, in the words of the journal', async () => {
  const service = await planted();
  expect((await service.post(`${at}/journal`, { kind: 'watering', ...WATERING })).statusCode).toBe(201);
  const many = await service.post(`${at}/journal`, [
    { kind: 'signs', batchIds: ['cones'], firmness: 'soft', happenedAt: START - 60_000 },
    { kind: 'loss', batchId: 'cones', potCount: 2, cause: 'rot' },
  ]);
  expect(many.json().entries.map((entry: { id: number }) => entry.id)).toEqual([8, 9]);
  const cones = (await service.get(`${at}/batches/cones`)).json();
  expect(cones).toMatchObject({ potCount: 10, lostPots: 2, firmness: { value: 'soft', at: START - 60_000 } });
});

test.each<[string, string, unknown, string, object]>([
  ['unknown kind', '/journal', { kind: 'waterin', batchIds: ['x'] }, '#/kind', { got: '"waterin"' }],
  ['unknown key', '/waterings', { ...WATERING, mlPerPott: 3 }, '#/mlPerPott', { got: 'the unknown key mlPerPott' }],
  ['wrong word', '/waterings', { ...WATERING, amount: 'lots' }, '#/amount', { expected: 'one of none, light, full' }],
  ['missing field', '/waterings', { amount: 'full' }, '#/batchIds', { got: 'nothing' }],
  ['wrong type', '/waterings', { ...WATERING, mlPerPot: '12' }, '#/mlPerPot', { got: '"12"' }],
  [
    'in a list',
    '/journal',
    [
      { kind: 'note', text: 'fine' },
      { kind: 'note', text: '' },
    ],
    '#/1/text',
    { got: '""' },
  ],
  ['not a moment', '/waterings', { ...WATERING, happenedAt: 'yesterday' }, '#/happenedAt', { got: '"yesterday"' }],
  [
    'moment in a list',
    '/journal',
    [{ kind: 'note', text: 'x', happenedAt: 'soon' }],
    '#/0/happenedAt',
    { got: '"soon"' },
  ],
  ['nothing', '/waterings', undefined, '#', { got: 'nothing' }],
  ['a list where one belongs', '/waterings', [WATERING], '#', {}],
])('a body that is not in form points at the field: %s', async (_what, path, body, pointer, more) => {
  const service = await planted();
  const answer = await service.post(`${at}${path}`, body);
  expect(answer.statusCode).toBe(400);
  expect(answer.headers['content-type']).toBe('application/problem+json; charset=utf-8');
  expect(answer.json()).toMatchObject({ type: '/api/v1/problems/invalid-request', status: 400 });
  expect(answer.json().errors).toContainEqual(expect.objectContaining({ pointer, ...more }));
});

test('a body that cannot be true points at the field, for one event and for many', async () => {
  const service = await planted();
  const one = await service.post(`${at}/waterings`, { ...WATERING, batchIds: ['stones', 'conez'] });
  expect(one.statusCode).toBe(422);
  expect(one.json()).toMatchObject({
    type: '/api/v1/problems/invalid-input',
    title: 'The request is in good form, but cannot be true.',
    detail: 'One thing is wrong; nothing was entered.',
    instance: '/api/v1/sites/home/waterings',
    errors: [
      {
        pointer: '#/batchIds/1',
        expected: 'a batch of Home',
        got: 'conez',
        detail: '/batchIds/1: expected a batch of Home, got conez. Did you mean cones?',
      },
    ],
  });
  const many = await service.post(`${at}/journal`, [
    { kind: 'note', text: 'x' },
    { kind: 'watering', ...WATERING, batchIds: ['no'] },
  ]);
  expect(many.json().errors).toMatchObject([{ pointer: '#/1/batchIds/0' }]);
});

test('JSON that is none says so', async () => {
  const service = await planted();
  const answer = await service.post(`${at}/waterings`, undefined, {
    payload: '{"batchIds": [',
    headers: { 'content-type': 'application/json' },
  });
  expect(answer.statusCode).toBe(400);
  expect(answer.json().errors).toMatchObject([{ pointer: '#', expected: 'JSON' }]);
});

test('other media types and large bodies are refused', async () => {
  const service = await planted();
  const text = await service.post(`${at}/waterings`, undefined, {
    payload: 'a=1',
    headers: { 'content-type': 'text/csv' },
  });
  expect([text.statusCode, text.json().type]).toEqual([415, '/api/v1/problems/media-type']);
  const large = await service.post(`${at}/notes`, { text: 'x'.repeat(300_000) });
  expect([large.statusCode, large.json().type]).toEqual([413, '/api/v1/problems/body-too-large']);
});

test('a key in the body that could reach into objects is refused', async () => {
  const service = await planted();
  const answer = await service.post(`${at}/notes`, undefined, {
    payload: '{"text":"x","__proto__":{"by":"someone else"}}',
    headers: { 'content-type': 'application/json' },
  });
  expect(answer.statusCode).toBe(400);
});

test('an entry is taken back by another entry, and says so', async () => {
  const service = await planted();
  await service.post(`${at}/waterings`, WATERING);
  const undo = await service.post(`${at}/journal/7/undo`, { reason: 'wrong bench' });
  expect(undo.statusCode).toBe(201);
  expect(undo.json().entries[0].event).toEqual({ kind: 'undo', entryId: 7, reason: 'wrong bench' });
  expect((await service.get(`${at}/journal/7`)).json()).toMatchObject({ id: 7, undoneBy: 8 });
  const again = await service.post(`${at}/journal/7/undo`, undefined);
  expect([again.statusCode, again.json().type]).toEqual([409, '/api/v1/problems/conflict']);
  expect((await service.post(`${at}/journal/99/undo`, undefined)).statusCode).toBe(404);
});

test('a task that was done is entered, told of the batch, and taken back', async () => {
  const service = await planted();
  const fed = await service.post(`${at}/tasks-done`, { task: 'feed', batchIds: ['stones'] });
  expect(fed.statusCode).toBe(201);
  const looked = await service.post(`${at}/journal`, { kind: 'task-done', task: 'inspect-mites', houseId: 'north' });
  expect(looked.json().entries[0].event).toEqual({ kind: 'task-done', task: 'inspect-mites', houseId: 'north' });
  const done = async () => (await service.get(`${at}/batches/stones`)).json().tasksDone;
  expect(await done()).toEqual([
    { task: 'feed', at: START, by: 'this machine', entryId: 7 },
    { task: 'inspect-mites', at: START, by: 'this machine', entryId: 8 },
  ]);
  await service.post(`${at}/journal/8/undo`, undefined);
  expect(await done()).toHaveLength(1);
  const unknown = await service.post(`${at}/tasks-done`, { task: 'wash', batchIds: ['stones'] });
  expect(unknown.statusCode).toBe(400);
  expect(unknown.json().errors).toMatchObject([{ pointer: '#/task', got: '"wash"' }]);
});

test('the journal is paged both ways and filtered', async () => {
  const service = await planted();
  for (let i = 0; i < 5; i++) await service.post(`${at}/waterings`, { ...WATERING, mlPerPot: i + 1 });
  await service.post(`${at}/notes`, { text: 'quiet day' });
  const ids = (answer: { json(): { items: { id: number }[] } }) => answer.json().items.map(({ id }) => id);

  const walked: number[] = [];
  let next: string | null = `${at}/journal?limit=5&kind=watering&kind=note`;
  while (next) {
    const page = await service.get(next);
    walked.push(...ids(page));
    next = page.json().next?.replace('/api/v1', '') ?? null;
    expect(page.headers.link !== undefined).toBe(next !== null);
  }
  expect(walked).toEqual([12, 11, 10, 9, 8, 7]);
  expect(ids(await service.get(`${at}/journal?order=oldest&limit=3`))).toEqual([1, 2, 3]);
  expect(ids(await service.get(`${at}/batches/stones/history?limit=2`))).toEqual([11, 10]);
  expect(ids(await service.get(`${at}/journal?batch=cones`))).toEqual([5]);
  expect(ids(await service.get(`${at}/journal?to=2026-02-25T07:30`))).toEqual([6, 5, 4, 3, 2, 1]);
});

test('a cursor of somebody’s own making is refused', async () => {
  const service = await planted();
  const answer = await service.get(`${at}/journal?after=abc`);
  expect(answer.statusCode).toBe(400);
  expect(answer.json().errors).toMatchObject([{ parameter: 'after', expected: 'the value out of a `next` link' }]);
});
