import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Clock } from '../../../src/app/clock.js';
import { EXIT } from '../../../src/app/commands/exit-codes.js';
import { loadConfig } from '../../../src/config.js';
import { hashToken } from '../../../src/http/tokens.js';
import { verifyPassword } from '../../../src/ingest/passwords.js';
import { type Service, startService } from '../../../src/main.js';
import { openSqliteStorage } from '../../../src/storage/sqlite.js';
import { leafturn } from './support.js';

// One small site with a running service, a real database and a few thousand readings.

const folder = mkdtempSync(join(tmpdir(), 'leafturn-commands-'));
const env = { LEAFTURN_DATA: join(folder, 'data') };
const NOW = Date.UTC(2026, 4, 20, 9);
const MINUTE = 60_000;
const READINGS = 12_000;
const SITE = `
sites:
  - id: home
    name: Home
    latitude: 48.5
    longitude: 9.5
    zone: Europe/Berlin
    houses: [{ id: north, name: North house, lines: [{ id: left, name: Left line }] }]
broker: { kind: embedded, port: 0 }
server: { port: PORT }
`;
const site = (port: number): void => writeFileSync(join(folder, 'leafturn.yaml'), SITE.replace('PORT', String(port)));
const run = (...argv: string[]) => leafturn(argv, folder, { env, now: NOW });
const rows = (text: string) => parse(text, { columns: true, skip_empty_lines: true }) as Record<string, string>[];

let service: Service | undefined;
beforeAll(async () => {
  site(0);
  const storage = await openSqliteStorage({
    path: join(env.LEAFTURN_DATA, 'leafturn.sqlite'),
    zoneOf: () => 'Europe/Berlin',
  });
  const readings = Array.from({ length: READINGS }, (_, index) => ({
    siteId: 'home',
    houseId: 'north',
    benchId: null,
    sensorId: 'mid',
    placement: 'inside' as const,
    quantity: 'airTempC' as const,
    at: NOW - (READINGS - index) * MINUTE,
    value: 15 + (index % 100) / 10,
    flagMask: 0,
    timeSource: 'payload' as const,
    receivedAt: NOW,
  }));
  await storage.readings.commit({ readings, refusals: [], messages: READINGS });
  await storage.close();
  const config = loadConfig('leafturn.yaml', { env, workingFolder: folder });
  // Time stands still: nothing is due but the lists made at the start.
  const clock: Clock = {
    speed: 1,
    now: () => NOW,
    waitUntil: (_at, signal) =>
      new Promise((_resolve, reject) => signal?.addEventListener('abort', () => reject(signal.reason))),
  };
  service = await startService(config, { clock, logger: pino({ level: 'silent' }) });
  await service.keeper.record(
    'home',
    [
      { kind: 'bench-added', benchId: 'one', houseId: 'north', name: 'Bench one', lineId: 'left' },
      { kind: 'batch-created', batchId: 'a', name: '=cmd, "quoted"', group: 'echeveria', benchId: 'one', potCount: 5 },
    ],
    { by: 'Mirel', note: '=SUM(A1)' },
  );
  await service.ready;
  await service.rounds.make('home', service.rounds.today('home'));
});
afterAll(async () => {
  await service?.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('list', () => {
  it('asks the running service, as text and as data', async () => {
    const url = service?.address ?? '';
    const text = await run('list', '--url', url);
    expect(text.err).toBe('');
    expect(text.code).toBe(EXIT.ok);
    expect(text.out).toContain('Home: Wednesday 20 May 2026');
    expect(text.out).toContain('North house');
    expect(text.out).toContain('=cmd, "quoted"');
    const [round] = JSON.parse((await run('list', '--json', '--url', url)).out) as [{ siteId: string; day: string }];
    expect(round).toMatchObject({ siteId: 'home', day: '2026-05-20' });
  });

  it('ends with 1 for a day without a list', async () => {
    const { code, out } = await run('list', '--day', '2020-01-01', '--url', service?.address ?? '');
    expect(code).toBe(EXIT.checkFailed);
    expect(out).toContain('there is no list of that day');
  });

  it('takes the last list from the database where no service answers, and says so', async () => {
    // Port 9 is the discard service; nobody listens there.
    site(9);
    const { code, out, err } = await run('list');
    site(0);
    expect(err).toContain('does not answer');
    expect(out).toContain('Home: Wednesday 20 May 2026');
    expect(code).toBe(EXIT.ok);
    const next = await leafturn(['list', '-c', 'leafturn.yaml'], folder, { env, now: NOW + 26 * 60 * MINUTE });
    expect(next.out).toContain('This is not today’s list. Today is Thursday 21 May 2026.');
  });

  it('ends with 3 when the service that was named does not answer', async () => {
    expect(await run('list', '--url', 'http://127.0.0.1:9')).toMatchObject({ code: EXIT.trouble });
  });
});

describe('export', () => {
  it('writes every reading once, in order, over many steps', async () => {
    const { code, out, err } = await run('export', 'readings');
    expect(code).toBe(EXIT.ok);
    expect(err).toContain(`${READINGS} rows.`);
    const read = rows(out);
    expect(read).toHaveLength(READINGS);
    expect(read[0]).toEqual({
      site: 'home',
      house: 'north',
      bench: '',
      sensor: 'mid',
      placement: 'inside',
      time: new Date(NOW - READINGS * MINUTE).toISOString(),
      quantity: 'airTempC',
      value: '15',
      unit: '°C',
      flags: '',
    });
    const times = read.map(({ time }) => time ?? '');
    expect(times).toEqual([...new Set(times)].sort());
  });

  it('keeps to local days, both included', async () => {
    const { out } = await run('export', 'readings', '--from', '2026-05-18', '--to', '2026-05-18');
    const read = rows(out);
    // Berlin is two hours ahead of UTC in May.
    expect(read[0]?.time).toBe('2026-05-17T22:00:00.000Z');
    expect(read.at(-1)?.time).toBe('2026-05-18T21:59:00.000Z');
    expect(read).toHaveLength(24 * 60);
  });

  it('writes the journal so that no spreadsheet runs what people typed', async () => {
    const { out } = await run('export', 'journal');
    const [bench, batch] = rows(out);
    expect(bench).toMatchObject({ id: '1', site: 'home', by: 'Mirel', kind: 'bench-added', note: "'=SUM(A1)" });
    expect(JSON.parse(batch?.event ?? '')).toMatchObject({ batchId: 'a', name: '=cmd, "quoted"', potCount: 5 });
  });

  it('writes a new file, and never over one that is there', async () => {
    const file = join(folder, 'journal.csv');
    expect(await run('export', 'journal', '--out', 'journal.csv')).toMatchObject({ code: EXIT.ok, out: '' });
    const text = readFileSync(file, 'utf8');
    expect(rows(text)).toHaveLength(2);
    const again = await run('export', 'journal', '--out', 'journal.csv');
    expect(again.code).toBe(EXIT.badUsage);
    expect(again.err).toContain('a file that is there already');
    expect(readFileSync(file, 'utf8')).toBe(text);
  });
});

describe('backup and check-database', () => {
  it('makes a sound copy while the service runs', async () => {
    const { code, out } = await run('backup', '--out', 'copy.sqlite');
    expect(code).toBe(EXIT.ok);
    const copy = await openSqliteStorage({ path: out.trim(), zoneOf: () => 'Europe/Berlin' });
    expect(await copy.upkeep.check()).toMatchObject({ ok: true });
    expect(await copy.journal.all('home')).toHaveLength(2);
    await copy.close();
    expect((await run('backup', '--out', 'copy.sqlite')).code).toBe(EXIT.badUsage);
    expect(existsSync((await run('backup')).out.trim())).toBe(true);
    expect(await run('check-database')).toMatchObject({ code: EXIT.ok });
  });
});

describe('token', () => {
  it('shows a new token once and keeps its hash alone', async () => {
    const made = await run('token', 'add', 'Bench tablet', '--role', 'read');
    expect(made.code).toBe(EXIT.ok);
    const token = made.out.trim();
    expect(token).toMatch(/^lt_[\w-]{27}$/);
    const stored = await service?.storage.access.tokens();
    expect(stored).toHaveLength(1);
    expect(stored?.[0]).toMatchObject({ name: 'Bench tablet', role: 'read', tokenHash: hashToken(token) });
    const listed = await run('token', 'list');
    expect(listed.out).toContain('Bench tablet\tread\tsince 2026-05-20');
    expect(listed.out).not.toContain(token);
    expect((await run('token', 'add', 'Bench tablet')).err).toContain('There is a token Bench tablet already.');
  });

  it('ends a token, once', async () => {
    const id = (await service?.storage.access.tokens())?.[0]?.id;
    expect(await run('token', 'revoke', String(id))).toMatchObject({ code: EXIT.ok });
    expect(await run('token', 'revoke', String(id))).toMatchObject({ code: EXIT.checkFailed });
    expect((await run('token', 'list')).out).toContain('revoked');
  });

  it('prints a line that the site file takes', async () => {
    const { out } = await run('token', 'add', 'reports', '--role', 'read', '--print');
    const [line = '', token = ''] = out.trim().split('\n');
    writeFileSync(join(folder, 'with-token.yaml'), `${SITE.replace('PORT', '0')}access:\n  tokens:\n    ${line}\n`);
    const { access } = loadConfig('with-token.yaml', { env, workingFolder: folder });
    expect(access.tokens).toEqual([{ name: 'reports', role: 'read', sha256: hashToken(token) }]);
  });

  it('makes a user of the broker that the site file takes', async () => {
    const { out } = await run('token', 'broker-user', 'north');
    const [line = '', password = ''] = out.trim().split('\n');
    writeFileSync(
      join(folder, 'with-user.yaml'),
      `${SITE.replace('PORT', '0').replace('port: 0 }', 'port: 0, users: [USER] }').replace('USER', line.replace(/^- /, ''))}`,
    );
    const { broker } = loadConfig('with-user.yaml', { env, workingFolder: folder });
    const user = broker.kind === 'embedded' ? broker.users[0] : undefined;
    expect(user?.name).toBe('north');
    expect(await verifyPassword(password, user?.passwordHash ?? '')).toBe(true);
  });
});
