import { pbkdf2Sync, randomBytes } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { startIngest } from '../../src/ingest/start.js';
import { hasMosquitto, startMosquitto, testClient, until } from '../support/broker.js';
import { AIR, mappingOf, openStorage, tempFolder } from './support.js';

const read = (name: string): string => readFileSync(new URL(`../../config/${name}`, import.meta.url), 'utf8');
const settings = (text: string): [string, string][] =>
  text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('#'))
    .map((line) => [line.split(/\s+/)[0] as string, line.split(/\s+/).slice(1).join(' ')]);

/** Settings of 2.1 or of the container that this machine's 2.0 does not have; all others are used as shipped. */
const ONLY_THERE = [
  'listener',
  'certfile',
  'keyfile',
  'tls_version',
  'global_plugin',
  'plugin_opt_flush_period',
  'plugin_opt_sync',
  'persistence_location',
];

/** Password line of Mosquitto 2.0: `name:$7$iterations$salt$hash`, PBKDF2 with SHA-512. */
function passwordLine(name: string, password: string): string {
  const salt = randomBytes(12);
  const hash = pbkdf2Sync(password, salt, 101, 64, 'sha512');
  return `${name}:$7$101$${salt.toString('base64')}$${hash.toString('base64')}`;
}

async function shippedBroker() {
  const folder = tempFolder();
  const accounts = ['leafturn', 'viewer', 'forecast', 'bench-4', 'bench-5'];
  writeFileSync(
    join(folder, 'passwd'),
    `${accounts.map((name) => passwordLine(name, `${name}-secret`)).join('\n')}\n`,
    { mode: 0o600 },
  );
  writeFileSync(join(folder, 'mosquitto.acl'), read('mosquitto.acl'), { mode: 0o600 });
  const lines = settings(read('mosquitto.conf'))
    .filter(([name]) => !ONLY_THERE.includes(name))
    .map(([name, value]) => `${name} ${value.replace('/mosquitto/config/', `${folder}/`)}`);
  // The 2.0 form of the queue on disk, as the comment of the file gives it.
  lines.push('persistence true', `persistence_location ${folder}/`, 'autosave_interval 60');
  return startMosquitto(`${lines.join('\n')}\n`, { folder });
}
const as = (name: string, password = `${name}-secret`) => ({
  username: name,
  password,
  protocolVersion: 5 as const,
  connectTimeout: 3000,
});

/**
 * True when the broker does not take a message of this account: MQTT 5 reason 135, or the end of the connection
 * (2.0.11 with an endless queue ends it now and then after a refused message).
 */
async function refusedAt(url: string, account: string, topic: string): Promise<boolean> {
  const client = await testClient(url, as(account));
  return new Promise((resolve) => {
    client.once('close', () => resolve(true));
    client.publishAsync(topic, '{"t":20}', { qos: 1 }).then(
      () => resolve(false),
      () => resolve(true),
    );
  });
}

describe('the shipped broker configuration', () => {
  const shipped = new Map(settings(read('mosquitto.conf')));

  test('keeps its queue on disk and does not end it at a thousand messages', () => {
    expect(shipped.get('max_queued_messages')).toBe('0');
    expect(Number(shipped.get('max_queued_bytes'))).toBeGreaterThanOrEqual(64 * 2 ** 20);
    expect(shipped.get('global_plugin')).toContain('persist_sqlite');
    expect(shipped.get('plugin_opt_flush_period')).toBe('0');
    expect(shipped.get('plugin_opt_sync')).toBe('full');
    expect(Number(shipped.get('max_inflight_messages'))).toBeGreaterThanOrEqual(2000);
  });

  test('lets nobody in without a name', () => {
    expect(shipped.get('allow_anonymous')).toBe('false');
    expect(shipped.has('password_file') && shipped.has('acl_file')).toBe(true);
  });

  test('names every account of its access list with what it may do', () => {
    const lines = settings(read('mosquitto.acl'));
    expect(lines.filter(([kind]) => kind === 'user').map(([, name]) => name)).toEqual([
      'leafturn',
      'viewer',
      'forecast',
    ]);
    expect(lines.every(([kind]) => ['user', 'topic', 'pattern'].includes(kind))).toBe(true);
  });
});

describe.runIf(hasMosquitto)('a Mosquitto under the shipped accounts and access list', () => {
  test('turns away strangers and wrong passwords', async () => {
    const broker = await shippedBroker();
    await expect(testClient(broker.url, { protocolVersion: 5, connectTimeout: 3000 })).rejects.toThrow(
      /[Nn]ot authorized/,
    );
    await expect(testClient(broker.url, as('leafturn', 'guess'))).rejects.toThrow(/[Nn]ot authorized/);
  });

  test('lets a device write under its own name only, and the service read it', async () => {
    const broker = await shippedBroker();
    const storage = await openStorage();
    const ingest = await startIngest({
      mappings: [mappingOf({ ...AIR, topic: 'sensors/+/air', house: 'north', sensor: '{1}' })],
      knowsHouse: () => true,
      store: storage.readings,
      now: () => Date.now(),
      broker: { kind: 'external', url: broker.url, clientId: 'svc', username: 'leafturn', password: 'leafturn-secret' },
    });
    await until('connected', () => ingest.link.status().state === 'connected');
    const device = await testClient(broker.url, as('bench-4'));
    expect(await refusedAt(broker.url, 'bench-4', 'sensors/bench-5/air')).toBe(true);
    expect(await refusedAt(broker.url, 'bench-4', 'leafturn/hill/list')).toBe(true);
    await device.publishAsync('sensors/bench-4/air', '{"t":20}', { qos: 1 });
    await until('stored', () => ingest.pipeline.status().stored === 1);
    expect((await storage.readings.series({ siteId: 'hill' })).map((one) => one.sensorId)).toEqual(['bench-4']);

    // The topic the site file is shown with.
    expect(await refusedAt(broker.url, 'forecast', 'leafturn/hill/forecast')).toBe(false);
    expect(await refusedAt(broker.url, 'forecast', 'leafturn/hill/list')).toBe(true);

    const viewer = await testClient(broker.url, as('viewer'));
    const seen: string[] = [];
    viewer.on('message', (topic) => seen.push(topic));
    await viewer.subscribeAsync('#', { qos: 1 });
    await ingest.link.publish('leafturn/hill/list', '{}', { retain: true });
    await device.publishAsync('sensors/bench-4/air', '{"t":21}', { qos: 1 });
    await until('the second reading', () => ingest.pipeline.status().stored === 2);
    await until('the list', () => seen.length > 0);
    expect(seen).toEqual(['leafturn/hill/list']);
    await ingest.close();
  });

  test('says why the service cannot get in', async () => {
    const broker = await shippedBroker();
    const storage = await openStorage();
    const ingest = await startIngest({
      mappings: [AIR],
      knowsHouse: () => true,
      store: storage.readings,
      now: () => Date.now(),
      broker: {
        kind: 'external',
        url: broker.url,
        clientId: 'svc',
        username: 'leafturn',
        password: 'wrong',
        firstReconnectMs: 20,
      },
    });
    await until('refused', () => ingest.link.status().trouble === 'The broker refuses the user name or password.');
    expect(ingest.link.status().state).not.toBe('connected');
    await ingest.close();
  });
});
