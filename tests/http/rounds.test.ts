import { gunzipSync } from 'node:zlib';
import { expect, test } from 'vitest';
import { plant, START } from '../support/garden.js';
import { dueList } from '../web/fixtures/tasks.js';
import { adviceFor, openService, roundOf } from './support.js';

const at = '/sites/home/rounds';
async function planted() {
  const service = await openService();
  await plant(service.garden);
  return service;
}

test('before there is a list the answer says how to make one', async () => {
  const service = await planted();
  const answer = await service.get(`${at}/today`);
  expect([answer.statusCode, answer.json().detail]).toEqual([
    404,
    'There is no list of 2026-02-25. The list of today is made with POST on the address of the lists.',
  ]);
});

test('the list of today is made, read by name or by day, and tagged by its revision', async () => {
  const service = await planted();
  const made = await service.post(at, {});
  expect([made.statusCode, made.json().revision]).toEqual([201, 1]);
  expect(made.json().houses[0].lines[0].batches[0].verdict.trace).toBeUndefined();
  const today = await service.get(`${at}/today?trace=true`);
  expect(today.json().houses[0].lines[0].batches[0].verdict.trace).toHaveLength(1);
  expect((await service.get(`${at}/2026-02-25?trace=true`)).body).toBe(today.body);

  const etag = String(today.headers.etag);
  expect((await service.get(`${at}/today`, { headers: { 'if-none-match': etag } })).statusCode).toBe(304);
  service.garden.now += 60_000;
  await service.post(at, undefined);
  const second = await service.get(`${at}/today`, { headers: { 'if-none-match': etag } });
  expect([second.statusCode, second.json().revision]).toEqual([200, 2]);
  expect((await service.get(`${at}/today?revision=1`)).json()).toMatchObject({ revision: 1 });
  expect((await service.get(`${at}/today?revision=9`)).statusCode).toBe(404);
});

test('a list packed on the way has a tag of its own and the same content', async () => {
  const service = await planted();
  await service.post(at, {});
  const plain = await service.get(`${at}/today`);
  const packed = await service.get(`${at}/today`, { headers: { 'accept-encoding': 'br, gzip' } });
  expect(packed.headers['content-encoding']).toBe('gzip');
  expect(gunzipSync(packed.rawPayload).toString()).toBe(plain.body);
  expect(packed.headers.etag).not.toBe(plain.headers.etag);
  const again = await service.get(`${at}/today`, {
    headers: { 'accept-encoding': 'gzip', 'if-none-match': String(packed.headers.etag) },
  });
  expect(again.statusCode).toBe(304);
  const refused = await service.get(`${at}/today`, { headers: { 'accept-encoding': 'gzip;q=0' } });
  expect(refused.headers['content-encoding']).toBeUndefined();
});

test('without traces the list is smaller and otherwise the same', async () => {
  const service = await planted();
  await service.post(at, {});
  const full = (await service.get(`${at}/today?trace=true`)).json();
  const short = (await service.get(`${at}/today`)).json();
  for (const batch of full.houses[0].lines[0].batches) delete batch.verdict.trace;
  expect(short).toEqual(full);
});

test('what else is due comes with the list', async () => {
  const service = await openService();
  const tasks = dueList();
  const done = { entryIds: [7], at: START, by: 'Ada' };
  const round = {
    ...roundOf('home', '2026-02-25', START, 0, [adviceFor('stones')]),
    tasks: [{ ...tasks[1], done }, ...tasks],
  };
  await service.garden.storage.rounds.save(round as Parameters<typeof service.garden.storage.rounds.save>[0], {});
  const answer = await service.get(`${at}/today`);
  expect(answer.statusCode).toBe(200);
  expect(answer.json().tasks).toEqual(JSON.parse(JSON.stringify(round.tasks)));
});

test('the traces of very many batches are not written out at once', async () => {
  const service = await openService();
  const batches = Array.from({ length: 1001 }, (_, index) => adviceFor(`b-${index}`));
  await service.garden.storage.rounds.save(roundOf('home', '2026-02-25', START, 0, batches), {});
  expect((await service.get(`${at}/today`)).statusCode).toBe(200);
  const traced = await service.get(`${at}/today?trace=true`);
  expect([traced.statusCode, traced.json().detail]).toEqual([
    422,
    'The traces of 1001 batches are too much for one answer; 1000 are the most. Ask for them batch by batch.',
  ]);
});

test('one batch of a list comes with the facts it was decided on', async () => {
  const service = await planted();
  await service.post(at, {});
  expect((await service.get(`${at}/today/batches/cones`)).json()).toMatchObject({
    revision: 1,
    rulebookRevision: 'r1',
    advice: { batchId: 'cones', verdict: { amount: 'full' } },
    facts: { potDepletion: { value: 0.4 } },
  });
  expect((await service.get(`${at}/today/batches/nobody`)).statusCode).toBe(404);
});

test('past days are listed and read, not decided again', async () => {
  const service = await planted();
  for (const day of ['2026-02-23', '2026-02-24', '2026-02-25']) await service.deps.rounds.make('home', day);
  const page = (await service.get(`${at}?limit=2`)).json();
  expect(page.items.map(({ day }: { day: string }) => day)).toEqual(['2026-02-25', '2026-02-24']);
  const rest = (await service.app.inject(page.next)).json();
  expect(rest.items).toMatchObject([
    { day: '2026-02-23', revision: 1, address: '/api/v1/sites/home/rounds/2026-02-23' },
  ]);
  const past = await service.post(at, { day: '2026-02-24' });
  expect([past.statusCode, past.json().errors[0]]).toMatchObject([
    422,
    { pointer: '#/day', expected: 'today, 2026-02-25', got: '2026-02-24' },
  ]);
});

test.each(['2026-2-5', '2026-02-30', 'tomorrow'])('%s is no day', async (day) => {
  const service = await planted();
  const answer = await service.get(`${at}/${day}`);
  expect([answer.statusCode, answer.json().errors[0].parameter]).toEqual([400, 'day']);
});

test('what-if hands the question on and its problems back', async () => {
  const service = await planted();
  const answer = await service.app.inject({ method: 'POST', url: '/api/v1/what-if', payload: { facts: { a: 1 } } });
  expect([answer.statusCode, answer.json()]).toEqual([200, { amount: 'none', echo: { facts: { a: 1 } } }]);
  const wrong = await service.app.inject({ method: 'POST', url: '/api/v1/what-if', payload: {} });
  expect([wrong.statusCode, wrong.json().errors[0].pointer]).toEqual([422, '#/facts']);
});
