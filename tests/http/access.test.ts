import { expect, test } from 'vitest';
import { LeafturnError } from '../../src/domain/errors.js';
import { isLoopback } from '../../src/domain/hosts.js';
import { refuseOpenHost } from '../../src/http/origin.js';
import { hashToken } from '../../src/http/tokens.js';
import { DAY, plant } from '../support/garden.js';
import { newKey, openService } from './support.js';

const TOKENS = { 'read-token': 'read', 'staff-token': 'staff', 'owner-token': 'owner' } as const;
const bearer = (token: string) => ({ headers: { authorization: `Bearer ${token}` } });

test('without tokens only this machine is let in, as the owner', async () => {
  const service = await openService();
  expect((await service.get('/sites')).statusCode).toBe(200);
  const afar = await service.get('/sites', { remoteAddress: '192.168.1.20' });
  expect([afar.statusCode, afar.json().type]).toEqual([403, '/api/v1/problems/forbidden']);
  expect(afar.json().detail).toContain('leafturn token add');
});

test('without tokens a name of the internet that leads to this machine is refused', async () => {
  const service = await openService();
  expect((await service.get('/sites', { headers: { host: 'garden.example:8080' } })).statusCode).toBe(403);
  expect((await service.get('/sites', { headers: { host: '127.0.0.1:8080' } })).statusCode).toBe(200);
  expect((await service.get('/sites', { headers: { host: '[::1]:8080' } })).statusCode).toBe(200);
});

test('the front page of the interface says how access stands, and so does the log', async () => {
  const open = await openService();
  expect((await open.get('/')).json()).toMatchObject({ access: 'this-machine-only' });
  await open.app.listen({ host: '127.0.0.1', port: 0 });
  expect(open.log.map(({ msg }) => msg)).toContainEqual(
    'No access tokens exist: the service answers only on this machine, and there anybody is the owner.',
  );
  const closed = await openService({ tokens: TOKENS });
  expect((await closed.get('/', { remoteAddress: '192.168.1.20' })).json()).toMatchObject({ access: 'tokens' });
});

test('with tokens nobody comes in without one, from wherever', async () => {
  const service = await openService({ tokens: TOKENS });
  for (const headers of [{}, { authorization: 'Bearer wrong' }, { authorization: 'Basic cmVhZA==' }] as Record<
    string,
    string
  >[]) {
    const answer = await service.get('/sites', { headers });
    expect([answer.statusCode, answer.json().type]).toEqual([401, '/api/v1/problems/unauthenticated']);
    expect(answer.headers['www-authenticate']).toMatch(/^Bearer/);
  }
  expect((await service.get('/sites', { ...bearer('read-token'), remoteAddress: '192.168.1.20' })).statusCode).toBe(
    200,
  );
});

test('what does not exist is not told to strangers', async () => {
  const service = await openService({ tokens: TOKENS });
  expect((await service.get('/no-such-thing')).statusCode).toBe(401);
  expect((await service.get('/no-such-thing', bearer('read-token'))).statusCode).toBe(404);
});

test('roles hold on every operation of the interface', async () => {
  const service = await openService({ tokens: TOKENS });
  const document = service.app.swagger() as unknown as {
    paths: Record<string, Record<string, { 'x-role'?: string; security?: unknown[] }>>;
  };
  const rank = ['read', 'staff', 'owner'];
  let tried = 0;
  for (const [path, methods] of Object.entries(document.paths))
    for (const [method, { 'x-role': role, security }] of Object.entries(methods)) {
      if (path.endsWith('/events')) continue;
      if (role === undefined) {
        expect([path, security]).toEqual([path, []]);
        continue;
      }
      const url = path.replace('{siteId}', 'home').replaceAll(/\{\w+\}/g, '1');
      for (const caller of rank) {
        const answer = await service.app.inject({
          method: method.toUpperCase() as 'GET',
          url,
          headers: { authorization: `Bearer ${caller}-token`, 'idempotency-key': newKey() },
          ...(method !== 'get' && { payload: {} }),
        });
        const allowed = rank.indexOf(caller) >= rank.indexOf(role);
        expect([caller, method, path, answer.statusCode === 403]).toEqual([caller, method, path, !allowed]);
        tried += 1;
      }
      const stranger = await service.app.inject({ method: method.toUpperCase() as 'GET', url });
      expect([path, stranger.statusCode]).toEqual([path, 401]);
    }
  expect(tried).toBeGreaterThan(60);
});

test('benches stay the owner’s, by whichever address they are entered', async () => {
  const service = await openService({ tokens: TOKENS });
  await plant(service.garden);
  const bench = { benchId: 'b9', houseId: 'north', name: 'Bench 9' };
  const post = (token: string) => service.post('/sites/home/journal', { kind: 'bench-added', ...bench }, bearer(token));
  expect((await post('staff-token')).json()).toMatchObject({
    status: 403,
    detail: 'bench-added needs the role owner; staff has the role staff.',
  });
  expect((await post('owner-token')).statusCode).toBe(201);
});

test('tokens of the database count, and stop when they are revoked', async () => {
  const service = await openService();
  const { access } = service.garden.storage;
  const token = await access.add({
    name: 'phone',
    role: 'read',
    tokenHash: hashToken('secret'),
    createdAt: service.garden.now,
  });
  service.garden.now += 6_000;
  expect((await service.get('/sites')).statusCode).toBe(401);
  expect((await service.get('/sites', bearer('secret'))).statusCode).toBe(200);
  await access.add({ name: 'other', role: 'read', tokenHash: hashToken('other'), createdAt: service.garden.now });
  await access.revoke(token.id, service.garden.now);
  service.garden.now += 6_000;
  expect((await service.get('/sites', bearer('secret'))).statusCode).toBe(401);
  expect((await service.get('/sites', bearer('other'))).statusCode).toBe(200);
});

test('a page of another site cannot write through the browser of this machine', async () => {
  const service = await openService();
  await plant(service.garden);
  const post = (headers: Record<string, string>) => service.post('/sites/home/notes', { text: 'x' }, { headers });
  expect((await post({ 'sec-fetch-site': 'cross-site' })).statusCode).toBe(403);
  expect((await post({ origin: 'https://elsewhere.example' })).statusCode).toBe(403);
  expect((await post({ origin: 'null' })).statusCode).toBe(403);
  expect((await post({ 'sec-fetch-site': 'same-origin' })).statusCode).toBe(201);
  expect((await post({ origin: 'http://localhost:80', host: 'localhost:80' })).statusCode).toBe(403);
  expect((await post({ origin: 'http://localhost:8080', host: 'localhost:8080' })).statusCode).toBe(201);
});

async function signIn(service: Awaited<ReturnType<typeof openService>>, token: string, then = '/sites/home') {
  return service.app.inject({
    method: 'POST',
    url: '/sign-in',
    headers: { 'content-type': 'application/x-www-form-urlencoded' },
    payload: new URLSearchParams({ token, then }).toString(),
  });
}
const cookieOf = (answer: { headers: Record<string, unknown> }) => String(answer.headers['set-cookie']);

test('a page leads to the sign-in, and the token entered there makes a session', async () => {
  const service = await openService({ tokens: TOKENS });
  const page = await service.get('//sites/home?x=1', { headers: { accept: 'text/html' } });
  expect([page.statusCode, page.headers.location]).toEqual([303, '/sign-in?then=%2Fsites%2Fhome%3Fx%3D1']);
  const form = await service.get('//sign-in?then=%2Fsites%2Fhome');
  expect(form.body).toContain('<input type="hidden" name="then" value="/sites/home"/>');

  const entered = await signIn(service, ' staff-token ');
  expect([entered.statusCode, entered.headers.location]).toEqual([303, '/sites/home']);
  const cookie = cookieOf(entered);
  expect(cookie).toMatch(/^leafturn-session=[\w-]+\.[\w-]+; Path=\/; Max-Age=2592000; HttpOnly; SameSite=Strict$/);

  const headers = { cookie: `other=1; ${cookie.split(';')[0]}` };
  expect((await service.get('/sites', { headers })).statusCode).toBe(200);
  // The session has the role of its token, and other sites cannot use it.
  expect((await service.post('/sites/home/rounds', {}, { headers })).statusCode).toBe(201);
  expect((await service.post('/sites/home/benches', {}, { headers })).statusCode).not.toBe(201);
  expect(
    (await service.post('/sites/home/rounds', {}, { headers: { ...headers, 'sec-fetch-site': 'same-site' } }))
      .statusCode,
  ).toBe(403);
});

test('a session ends with its time, with its token, and when it is tampered with', async () => {
  const service = await openService();
  const { access } = service.garden.storage;
  const add = (name: string) =>
    access.add({ name, role: 'owner', tokenHash: hashToken(name), createdAt: service.garden.now });
  const token = await add('one');
  await add('two');
  service.garden.now += 6_000;
  const session = cookieOf(await signIn(service, 'one')).split(';')[0] ?? '';
  const status = async (cookie: string) => (await service.get('/sites', { headers: { cookie } })).statusCode;
  expect(await status(session)).toBe(200);
  expect(await status(`${session.slice(0, -2)}xx`)).toBe(401);
  const [name = '', value = ''] = session.split('=');
  const body = Buffer.from(JSON.stringify({ of: hashToken('two').slice(0, 16), at: service.garden.now })).toString(
    'base64url',
  );
  expect(await status(`${name}=${body}.${value.split('.')[1]}`)).toBe(401);

  service.garden.now += 31 * DAY;
  expect(await status(session)).toBe(401);
  const fresh = cookieOf(await signIn(service, 'one')).split(';')[0] ?? '';
  expect(await status(fresh)).toBe(200);
  await access.revoke(token.id, service.garden.now);
  service.garden.now += 6_000;
  expect(await status(fresh)).toBe(401);
});

test('a wrong token is refused in words, is written down, and cannot be guessed for long', async () => {
  const service = await openService({ tokens: TOKENS, limits: { signInsPerMinute: 3 } });
  const wrong = await signIn(service, '<b>guess</b>');
  expect(wrong.statusCode).toBe(401);
  expect(wrong.body).toContain('This token is not known, or was revoked.');
  expect(wrong.body).not.toContain('guess');
  expect(service.log.some(({ msg }) => msg === 'sign-in refused')).toBe(true);
  await signIn(service, 'guess');
  await signIn(service, 'guess');
  expect((await signIn(service, 'owner-token')).statusCode).toBe(429);
});

test('the sign-in leads only to addresses of our own', async () => {
  const service = await openService({ tokens: TOKENS });
  for (const away of ['//evil.example', 'https://evil.example', '/\\evil.example', 'javascript:alert(1)'])
    expect((await signIn(service, 'read-token', away)).headers.location).toBe('/');
});

test('signing out takes the cookie away', async () => {
  const service = await openService({ tokens: TOKENS });
  const out = await service.app.inject({ method: 'POST', url: '/sign-out' });
  expect([out.statusCode, cookieOf(out)]).toEqual([
    303,
    'leafturn-session=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict',
  ]);
});

test.each(['127.0.0.1', '127.8.8.8', '::1', '[::1]', 'localhost', '::ffff:127.0.0.1'])('%s is this machine', (host) => {
  expect(isLoopback(host)).toBe(true);
  expect(() => refuseOpenHost(host, false)).not.toThrow();
});

test.each(['0.0.0.0', '::', '192.168.1.5', 'garden.local', 'localhost.example'])(
  'listening on %s needs tokens',
  (host) => {
    expect(() => refuseOpenHost(host, true)).not.toThrow();
    expect(() => refuseOpenHost(host, false)).toThrow(LeafturnError);
  },
);

test('a route of the interface that names no role stops the start', async () => {
  const service = await openService();
  const { buildApp } = await import('../../src/http/app.js');
  const app = await buildApp(service.deps);
  expect(() => app.get('/api/v1/forgotten', async () => 'x')).toThrow('does not say which role');
  await app.close();
});
