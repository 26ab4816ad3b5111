import { expect, test } from 'vitest';
import { LeafturnError } from '../../src/domain/errors.js';
import { PROBLEM_KINDS } from '../../src/http/problem.js';
import { plant } from '../support/garden.js';
import { openService } from './support.js';

test('alive is alive; ready says what is missing, and since when', async () => {
  const service = await openService();
  expect((await service.get('//livez')).json()).toEqual({ status: 'alive' });
  expect((await service.get('//readyz')).json()).toMatchObject({
    status: 'ready',
    checks: [{ part: 'database' }, { part: 'broker' }],
  });
  service.broker = { kind: 'external', connected: false, since: 1234, detail: 'Connection refused.' };
  const gone = await service.get('//readyz');
  expect([gone.statusCode, gone.json()]).toEqual([
    503,
    {
      status: 'not ready',
      checks: [
        { part: 'database', ready: true },
        {
          part: 'broker',
          ready: false,
          reason: 'The message broker cannot be reached. Connection refused.',
          since: 1234,
        },
      ],
    },
  ]);
  expect((await service.get('//livez')).statusCode).toBe(200);
});

test('strangers learn whether it is ready, not why', async () => {
  const service = await openService({ tokens: { owner: 'owner' } });
  service.broker = { kind: 'external', connected: false, since: 1 };
  const stranger = await service.get('//readyz', { remoteAddress: '10.0.0.9' });
  expect([stranger.statusCode, stranger.json()]).toEqual([503, { status: 'not ready' }]);
  const known = await service.get('//readyz', { headers: { authorization: 'Bearer owner' } });
  expect(known.json().checks).toHaveLength(2);
});

test('other parts have their say in readiness, and a broken database too', async () => {
  const service = await openService({
    change: (deps) => ({
      ...deps,
      readiness: async () => [{ part: 'disk', ready: false, reason: '12 MB are left.' }],
      storage: {
        ...deps.storage,
        upkeep: {
          ...deps.storage.upkeep,
          sizes: async () => {
            throw new LeafturnError('database-full', 'The disk is full.');
          },
        },
      },
    }),
  });
  const answer = await service.get('//readyz');
  expect([answer.statusCode, answer.json().checks]).toMatchObject([
    503,
    [
      { part: 'database', ready: false, reason: 'The disk is full.' },
      { part: 'broker', ready: true },
      { part: 'disk' },
    ],
  ]);
});

test('every answer carries strict headers and the id under which the log knows it', async () => {
  const service = await openService();
  const answer = await service.get('/sites');
  const policy = String(answer.headers['content-security-policy']);
  expect(policy).toContain("default-src 'none'");
  expect(policy).toContain("script-src 'self'");
  expect(policy).not.toContain('unsafe');
  expect(answer.headers).toMatchObject({ 'x-content-type-options': 'nosniff', 'x-frame-options': 'SAMEORIGIN' });
  expect(answer.headers['strict-transport-security']).toBeUndefined();
  expect(service.log).toContainEqual(
    expect.objectContaining({
      reqId: answer.headers['x-request-id'],
      msg: 'answered',
      status: 200,
      by: 'this machine',
    }),
  );
});

test('what breaks inside is logged and not told', async () => {
  const service = await openService({
    change: (deps) => ({
      ...deps,
      sites: () => {
        throw new Error('secret path /var/lib');
      },
    }),
  });
  const answer = await service.get('/sites');
  expect([answer.statusCode, answer.json().type]).toEqual([500, '/api/v1/problems/internal']);
  expect(answer.body).not.toContain('secret');
  const line = service.log.find(({ msg }) => msg === 'the request failed');
  expect(line).toMatchObject({ reqId: answer.json().requestId, err: { message: 'secret path /var/lib' } });
});

test.each([
  ['database-full', 507, undefined],
  ['database-busy', 503, '2'],
  ['migration-mismatch', 500, undefined],
] as const)('an error %s of the database is a problem of its own', async (code, status, retryAfter) => {
  const service = await openService({
    change: (deps) => ({
      ...deps,
      keeper: {
        ...deps.keeper,
        recordDrafts: async () => {
          throw new LeafturnError(code, 'disk at /var/lib', [{ path: '/x', expected: 'a', got: 'b' }]);
        },
      },
    }),
  });
  await plant(service.garden);
  const answer = await service.post('/sites/home/notes', { text: 'x' });
  expect([answer.statusCode, answer.headers['retry-after']]).toEqual([status, retryAfter]);
  expect(answer.body).not.toContain('/var/lib');
});

test('a page that fails is a page; an interface that fails is a problem', async () => {
  const service = await openService();
  const page = await service.get('//nowhere?<script>', { headers: { accept: 'text/html,*/*' } });
  expect([page.statusCode, page.headers['content-type']]).toEqual([404, 'text/html; charset=utf-8']);
  expect(page.body).toContain('There is nothing at /nowhere.');
  expect(page.body).not.toContain('<script>');
  const problem = await service.get('/nowhere', { headers: { accept: 'text/html,*/*' } });
  expect(problem.headers['content-type']).toBe('application/problem+json; charset=utf-8');
});

test('reads and writes are limited apart, and looking for addresses counts', async () => {
  const service = await openService({ limits: { readsPerMinute: 3, writesPerMinute: 1 } });
  await plant(service.garden);
  const first = await service.get('/sites');
  expect(first.headers['ratelimit-remaining']).toBe('2');
  await service.get('/nothing-here');
  await service.get('/sites');
  const over = await service.get('/sites');
  expect([over.statusCode, over.json().type]).toEqual([429, '/api/v1/problems/too-many-requests']);
  expect(Number(over.headers['retry-after'])).toBeGreaterThan(0);
  expect((await service.post('/sites/home/notes', { text: 'x' })).statusCode).toBe(201);
  expect((await service.post('/sites/home/notes', { text: 'x' })).statusCode).toBe(429);
  expect((await service.get('//livez')).statusCode).toBe(200);
});

test('every problem has an address that explains it', async () => {
  const service = await openService();
  for (const [code, kind] of Object.entries(PROBLEM_KINDS)) {
    const answer = await service.get(`/problems/${code}`);
    expect(answer.json()).toEqual({ type: `/api/v1/problems/${code}`, ...kind });
  }
  expect((await service.get('/problems')).json().items).toHaveLength(Object.keys(PROBLEM_KINDS).length);
  expect((await service.get('/problems/toString')).statusCode).toBe(404);
});
