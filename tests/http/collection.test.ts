import { expect, test } from 'vitest';
import { plant, START } from '../support/garden.js';
import { openService } from './support.js';

const at = '/sites/home';
async function planted() {
  const service = await openService();
  await plant(service.garden);
  return service;
}
type Answer = { json(): { items: { batchId: string }[] } };
const ids = (answer: Answer) => answer.json().items.map(({ batchId }) => batchId);

test('a batch is made with an id of its name, and is there at once', async () => {
  const service = await planted();
  const body = {
    name: 'Größere Stücke, 2024!',
    group: 'conophytum',
    benchId: 'b3',
    potCount: 30,
    sownOn: '2024-03-01',
  };
  const made = await service.post(`${at}/batches`, body);
  expect(made.statusCode).toBe(201);
  expect(made.json().batch).toMatchObject({
    batchId: 'grossere-stucke-2024',
    houseId: 'north',
    lineId: null,
    potId: 'square-7cm-plastic',
    worth: 1,
  });
  const again = await service.post(`${at}/batches`, body);
  expect(again.json().batch.batchId).toBe('grossere-stucke-2024-2');
  const taken = await service.post(`${at}/batches`, { ...body, batchId: 'stones' });
  expect([taken.statusCode, taken.json().errors[0].pointer]).toEqual([409, '#/batchId']);
  expect(taken.json().errors[0].detail).toContain('stones-2 is free.');
});

test('move, split, correct and end read as they are said', async () => {
  const service = await planted();
  const post = (path: string, body: unknown) => service.post(`${at}/batches/${path}`, body);
  expect((await post('stones/move', { benchId: 'b3' })).statusCode).toBe(201);
  expect((await post('stones/split', { newName: 'Best stones', potCount: 10, benchId: 'b1' })).statusCode).toBe(201);
  expect((await post('cones/end', { reason: 'died', cause: 'frost', note: 'left the door open' })).statusCode).toBe(
    201,
  );
  const corrected = await service.app.inject({
    method: 'PATCH',
    url: `/api/v1${at}/batches/seedlings`,
    headers: { 'idempotency-key': 'p1' },
    payload: { potCount: 180 },
  });
  expect(corrected.statusCode).toBe(201);
  const of = async (id: string) => (await service.get(`${at}/batches/${id}`)).json();
  expect(await of('stones')).toMatchObject({
    benchId: 'b3',
    potCount: 30,
    places: [
      { benchId: 'b1', from: START - 3_600_000 },
      { benchId: 'b3', from: START },
    ],
  });
  expect(await of('best-stones')).toMatchObject({ benchId: 'b1', potCount: 10 });
  expect(await of('cones')).toMatchObject({ endedAt: START, endReason: 'died: frost' });
  expect(await of('seedlings')).toMatchObject({ potCount: 180 });

  const late = await post('cones/move', { benchId: 'b1' });
  expect([late.statusCode, late.json().type]).toEqual([409, '/api/v1/problems/already-ended']);
  const greedy = await post('best-stones/split', { newName: 'All', potCount: 10, benchId: 'b1' });
  expect(greedy.json().errors).toMatchObject([{ pointer: '#/potCount', got: '10' }]);
});

test('an unknown batch, bench, house or site is a 404 that names the nearest', async () => {
  const service = await planted();
  const detail = async (path: string) => {
    const answer = await service.get(path);
    expect(answer.statusCode).toBe(404);
    return answer.json().detail;
  };
  expect(await detail('/sites/hom')).toBe('There is no site hom. Did you mean home?');
  expect(await detail(`${at}/houses/nrth`)).toBe('There is no house of Home nrth. Did you mean north?');
  expect(await detail(`${at}/batches/stonse`)).toBe('There is no batch stonse. Did you mean stones?');
  expect(await detail(`${at}/benches?house=nort`)).toBe('There is no house of Home nort. Did you mean north?');
});

test('batches are filtered and paged by id, without gaps or repeats', async () => {
  const service = await planted();
  await service.post(`${at}/batches/cones/end`, { reason: 'sold' });
  expect(ids(await service.get(`${at}/batches`))).toEqual(['seedlings', 'stones']);
  expect(ids(await service.get(`${at}/batches?state=ended`))).toEqual(['cones']);
  expect(ids(await service.get(`${at}/batches?state=all&line=line-a`))).toEqual(['cones', 'stones']);
  expect(ids(await service.get(`${at}/batches?house=frame`))).toEqual([]);
  expect(ids(await service.get(`${at}/batches?name=STONE`))).toEqual(['stones']);
  expect(ids(await service.get(`${at}/batches?bench=b3&group=lithops-summer`))).toEqual(['seedlings']);

  const first = await service.get(`${at}/batches?state=all&limit=2`);
  expect(ids(first)).toEqual(['cones', 'seedlings']);
  expect(first.headers.link).toBe(`<${first.json().next}>; rel="next"`);
  const second = await service.app.inject(first.json().next);
  expect(ids(second)).toEqual(['stones']);
  expect([second.json().next, second.headers.link]).toEqual([null, undefined]);
});

test('the tag of a list changes with the journal and with nothing else', async () => {
  const service = await planted();
  const first = await service.get(`${at}/batches`);
  const etag = String(first.headers.etag);
  const same = await service.get(`${at}/batches`, { headers: { 'if-none-match': `"other", W/${etag}` } });
  expect([same.statusCode, same.body, same.headers.etag]).toEqual([304, '', etag]);
  await service.post('/sites/far/notes', { text: 'elsewhere' });
  expect((await service.get(`${at}/batches`, { headers: { 'if-none-match': etag } })).statusCode).toBe(304);
  await service.post(`${at}/notes`, { text: 'here' });
  expect((await service.get(`${at}/batches`, { headers: { 'if-none-match': etag } })).statusCode).toBe(200);
});

test('a house tells its cloth, its plants and the newest values', async () => {
  const service = await planted();
  const { readings } = service.garden.storage;
  await readings.commit({
    messages: 1,
    refusals: [],
    readings: [
      {
        siteId: 'home',
        sensorId: 'n1',
        quantity: 'airTempC',
        houseId: 'north',
        benchId: null,
        placement: 'inside',
        at: START - 60_000,
        value: 9.5,
        flagMask: 0,
        timeSource: 'payload',
        receivedAt: START - 59_000,
      },
    ],
  });
  expect((await service.get(`${at}/houses/north`)).json()).toMatchObject({
    clothHung: null,
    batches: 3,
    pots: 252,
    benches: 3,
    sensorsHeard: 1,
    lastReadingAt: START - 60_000,
    latest: [{ sensorId: 'n1', quantity: 'airTempC', value: 9.5, unit: '°C', at: START - 60_000 }],
  });
  await service.post(`${at}/cloths`, { houseId: 'north', clothId: 'thin' });
  expect((await service.get(`${at}/houses`)).json().items[0].clothHung).toMatchObject({ value: 'thin', at: START });
  const wrong = await service.post(`${at}/cloths`, { houseId: 'north', clothId: 'thinn' });
  expect(wrong.json().errors).toMatchObject([
    { pointer: '#/clothId', expected: 'a cloth of North house, or null for none' },
  ]);
});

test('benches are added and changed by the owner', async () => {
  const service = await planted();
  expect(
    (await service.post(`${at}/benches`, { benchId: 'b4', houseId: 'north', name: 'By the door' })).statusCode,
  ).toBe(201);
  const changed = await service.app.inject({
    method: 'PATCH',
    url: `/api/v1${at}/benches/b4`,
    headers: { 'idempotency-key': 'p1' },
    payload: { lineId: 'line-b', exposure: 'shaded-side' },
  });
  expect(changed.statusCode).toBe(201);
  const benches = (await service.get(`${at}/benches?house=north`)).json().items;
  expect(benches.at(-1)).toEqual({
    benchId: 'b4',
    houseId: 'north',
    name: 'By the door',
    lineId: 'line-b',
    exposure: 'shaded-side',
    batches: 0,
    pots: 0,
  });
});
