import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { loadConfig } from '../../src/config.js';
import { LeafturnError } from '../../src/domain/errors.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'leafturn-config-'));
  writeFileSync(join(folder, 'secret'), 'whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw\n');
  writeFileSync(join(folder, 'password'), 'turn\n');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const SITES = `
sites:
  - { id: home, name: Home, latitude: 48.5, longitude: 9.5, zone: Europe/Berlin, houses: [{ id: north, name: North }] }
`;
const HOOK = { name: 'hook', kind: 'webhook', url: 'https://hooks.example/a', secretFile: 'secret' };
const MAIL = { name: 'post', kind: 'mail', host: 'mail.example', from: 'a@b.example', to: ['c@d.example'] };

function load(notifications: unknown, env = {}) {
  const file = join(folder, 'site.yaml');
  writeFileSync(file, `${SITES}notifications: ${JSON.stringify(notifications)}\n`);
  return loadConfig(file, { env, workingFolder: folder }).notifications;
}
function wrong(notifications: unknown): string[] {
  try {
    load(notifications);
  } catch (error) {
    if (error instanceof LeafturnError)
      return error.problems.map(({ path, expected }) => `${path.replace(/^.*: /, '')}: ${expected}`);
    throw error;
  }
  throw new Error('The file was accepted.');
}

it('gives the channels with their secrets out of the files', () => {
  const quietHours = { home: { from: '21:00', to: '06:30' } };
  const key = Buffer.from('MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw', 'base64');
  expect(
    load({
      quietHours,
      channels: [
        { ...HOOK, previousSecretFile: 'secret', kinds: ['frost'] },
        { ...MAIL, user: 'leaf', passwordFile: 'password', security: 'tls' },
      ],
    }),
  ).toEqual({
    quietHours,
    channels: [
      { name: 'hook', kind: 'webhook', url: HOOK.url, keys: [key, key], kinds: ['frost'] },
      { ...MAIL, port: 465, security: 'tls', user: 'leaf', password: 'turn' },
    ],
  });
  const env = { LEAFTURN_MAIL_PASSWORD_FILE: join(folder, 'password') };
  expect(load({ channels: [{ ...MAIL, user: 'leaf' }] }, env).channels[0]).toMatchObject({
    password: 'turn',
    port: 587,
  });
});

it('tells all that is wrong at once', () => {
  writeFileSync(join(folder, 'weak'), 'whsec_c2hvcnQ=\n');
  expect(
    wrong({
      quietHours: { hoem: { from: '21:00', to: '21:00' } },
      channels: [
        { ...HOOK, url: 'http://hooks.example/a', secretFile: 'weak' },
        { ...HOOK, secretFile: 'nowhere', sites: ['hoem'] },
        { ...MAIL, user: 'leaf', security: 'none' },
      ],
    }),
  ).toEqual([
    'notifications.channels[1].name: a name used once',
    'notifications.channels[0].url: an address with https, because others can read along on the way',
    'notifications.channels[1].sites: a site of this file (home)',
    'notifications.channels[2].security: starttls or tls where a password is sent to another machine',
    'notifications.quietHours.hoem: a site of this file (home)',
    'notifications.quietHours.hoem.to: another time than from',
    'notifications.channels[0].secretFile: whsec_ and 24 to 64 random bytes as base64',
    expect.stringContaining('notifications.channels[1].secretFile: a readable file at'),
    'notifications.channels[2].passwordFile: the file with the password of leaf',
  ]);
});

it('http without encryption goes to this machine, or where it is allowed', () => {
  for (const more of [{ url: 'http://127.0.0.1:9/a' }, { url: 'http://barn.example/a', plainHttp: true }])
    expect(load({ channels: [{ ...HOOK, ...more }] }).channels).toHaveLength(1);
});
