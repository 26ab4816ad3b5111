import { expect, test } from 'vitest';
import { plant } from '../support/garden.js';
import { openService, type Settings } from './support.js';

const at = '/sites/home/notes';

async function planted(settings: Settings = {}) {
  const service = await openService(settings);
  await plant(service.garden);
  return service;
}
const keyed = (key: string, more: object = {}) => ({ headers: { 'idempotency-key': key, ...more } });
const count = async (service: Awaited<ReturnType<typeof planted>>) =>
  (await service.garden.storage.journal.all('home')).length;

test('a write without a key is refused, whatever its body', async () => {
  const service = await planted();
  for (const body of [{ text: 'x' }, { wrong: true }]) {
    const answer = await service.app.inject({ method: 'POST', url: `/api/v1${at}`, payload: body });
    expect([answer.statusCode, answer.json().type]).toEqual([400, '/api/v1/problems/idempotency-key-missing']);
    expect(answer.json().errors).toMatchObject([{ header: 'Idempotency-Key', got: 'nothing' }]);
  }
  const odd = await service.post(at, { text: 'x' }, keyed('with space'));
  expect(odd.json().type).toBe('/api/v1/problems/idempotency-key-missing');
});

test('every write of the interface asks for the key', async () => {
  const service = await planted();
  const document = service.app.swagger() as unknown as { paths: Record<string, Record<string, unknown>> };
  const writes = Object.entries(document.paths).flatMap(([path, methods]) =>
    Object.keys(methods)
      // Questions that change nothing may be asked without one.
      .filter((method) => method !== 'get' && !/\/(what-if|try)$/.test(path))
      .map((method) => ({ method: method.toUpperCase() as 'POST', url: path.replaceAll(/\{\w+\}/g, '1') })),
  );
  expect(writes.length).toBeGreaterThan(10);
  for (const write of writes) {
    const answer = await service.app.inject({ ...write, payload: {} });
    expect([write.url, answer.json().type]).toEqual([write.url, '/api/v1/problems/idempotency-key-missing']);
  }
});

test('a repeat gets the same answer and is done once', async () => {
  const service = await planted();
  const first = await service.post(at, { text: 'once' }, keyed('k'));
  const second = await service.post(at, { text: 'once' }, keyed('k'));
  expect(first.headers['idempotency-replayed']).toBeUndefined();
  expect(second.headers['idempotency-replayed']).toBe('true');
  expect([second.statusCode, second.body, second.headers['content-type']]).toEqual([
    201,
    first.body,
    first.headers['content-type'],
  ]);
  expect(await count(service)).toBe(7);
});

test('the same key with another body or address is refused', async () => {
  const service = await planted();
  await service.post(at, { text: 'once' }, keyed('k'));
  const other = await service.post(at, { text: 'twice' }, keyed('k'));
  expect([other.statusCode, other.json().type]).toEqual([422, '/api/v1/problems/idempotency-key-reused']);
  const elsewhere = await service.post('/sites/far/notes', { text: 'once' }, keyed('k'));
  expect(elsewhere.statusCode).toBe(422);
  expect(await count(service)).toBe(7);
});

test('while the first is being worked on, the second waits outside', async () => {
  let go = () => {};
  const gate = new Promise<void>((resolve) => {
    go = resolve;
  });
  let begun = () => {};
  const started = new Promise<void>((resolve) => {
    begun = resolve;
  });
  const service = await planted({
    change: (deps) => ({
      ...deps,
      keeper: {
        ...deps.keeper,
        recordDrafts: async (...given) => {
          begun();
          await gate;
          return deps.keeper.recordDrafts(...given);
        },
      },
    }),
  });
  const first = service.post(at, { text: 'slow' }, keyed('k'));
  await started;
  const second = await service.post(at, { text: 'slow' }, keyed('k'));
  expect([second.statusCode, second.json().type]).toEqual([409, '/api/v1/problems/idempotency-key-running']);
  expect(second.headers['retry-after']).toBe('1');
  go();
  expect((await first).statusCode).toBe(201);
  expect((await service.post(at, { text: 'slow' }, keyed('k'))).headers['idempotency-replayed']).toBe('true');
});

test('a refused write leaves its key free for the mended one', async () => {
  const service = await planted();
  const refused = await service.post('/sites/home/waterings', { batchIds: ['ston'], amount: 'light' }, keyed('k'));
  expect(refused.statusCode).toBe(422);
  const mended = await service.post('/sites/home/waterings', { batchIds: ['stones'], amount: 'light' }, keyed('k'));
  expect(mended.statusCode).toBe(201);
});

test('keys of two callers never meet', async () => {
  const service = await planted({ tokens: { 'token-of-staff': 'staff', 'token-of-owner': 'owner' } });
  for (const token of ['token-of-staff', 'token-of-owner']) {
    const answer = await service.post(at, { text: 'same' }, keyed('k', { authorization: `Bearer ${token}` }));
    expect(answer.headers['idempotency-replayed']).toBeUndefined();
    expect(answer.json().entries[0].by).toBe(token.slice(9));
  }
  expect(await count(service)).toBe(8);
});
