import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { describe, expect, it, onTestFinished } from 'vitest';
import { createHouseSettings } from '../../../src/advice/house-settings.js';
import { realClock } from '../../../src/app/clock.js';
import { DEMO_CONFIG } from '../../../src/app/config/paths.js';
import { type Config, loadConfig } from '../../../src/config.js';
import type { Round } from '../../../src/domain/verdict.js';
import { type Service, startService } from '../../../src/main.js';
import { hasMosquitto, startMosquitto, testClient, until } from '../../support/broker.js';

const SITE = (broker: string, name = 'Home') => `
sites:
  - id: home
    name: ${name}
    latitude: 51
    longitude: 10
    zone: Europe/Berlin
    houses:
      - { id: north, name: North house, lines: [{ id: line-a, name: Line A }] }
sensors:
  - id: air
    topic: glass/+/air
    format: json
    site: home
    house: "{1}"
    sensor: "{1}-air"
    fields:
      - { pointer: /t, quantity: airTempC, unit: "°C" }
broker: ${broker}
server: { port: 0 }
round: { settleSeconds: 0 }
notifications: { mqtt: { topicBase: leafturn } }
`;
const EMBEDDED = '{ kind: embedded, port: 0 }';

interface Running {
  readonly service: Service;
  readonly config: Config;
  readonly file: string;
  readonly folder: string;
}

async function run(yaml: string): Promise<Running> {
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-service-'));
  const file = join(folder, 'site.yaml');
  writeFileSync(file, yaml);
  const options = { env: { LEAFTURN_DATA: folder }, workingFolder: folder };
  const config = loadConfig(file, options);
  const service = await startService(config, { clock: realClock(), logger: pino({ level: 'silent' }), watch: options });
  onTestFinished(async () => {
    await service.close();
    rmSync(folder, { recursive: true, force: true });
  });
  await service.ready;
  return { service, config, file, folder };
}

/** As much of the answers as is looked at. */
interface Body extends Pick<Round, 'revision' | 'counts'> {
  readonly items: readonly { readonly name: string }[];
}
const get = async (service: Service, path: string): Promise<{ status: number; body: Body }> => {
  const answer = await fetch(`${service.address}${path}`);
  return { status: answer.status, body: (await answer.json()) as Body };
};
const post = (service: Service, path: string, body: object, key: string): Promise<Response> =>
  fetch(`${service.address}${path}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'idempotency-key': key },
    body: JSON.stringify(body),
  });

const PLANTS = [
  { kind: 'bench-added', benchId: 'b1', houseId: 'north', name: 'Bench 1', lineId: 'line-a' },
  {
    kind: 'batch-created',
    batchId: 'stones',
    name: 'Stones',
    group: 'lithops-summer-rain',
    benchId: 'b1',
    potCount: 10,
  },
];

describe('the service put together', () => {
  it('takes a message over MQTT, makes a list, and makes it anew after an entry, on REST, page and MQTT', async () => {
    const { service } = await run(SITE(EMBEDDED));
    const client = await testClient(service.ingest.link.status().address);
    await client.publishAsync('glass/north/air', JSON.stringify({ t: 21.5 }), { qos: 1 });
    // The acknowledgement means that it is on disk.
    const [series] = await service.storage.readings.series({ siteId: 'home' });
    expect(series).toMatchObject({ sensorId: 'north-air', quantity: 'airTempC', lastValue: 21.5, stored: 1 });

    const first = (await get(service, '/api/v1/sites/home/rounds/today')).body;
    expect(first.revision).toBeGreaterThanOrEqual(1);
    expect((await post(service, '/api/v1/sites/home/journal', PLANTS, 'plants-1')).status).toBe(201);
    await until('a list with the new batch', async () => {
      const { body } = await get(service, '/api/v1/sites/home/rounds/today');
      return body.counts.none === 1;
    });
    // Nobody but the service may say what the list is: whoever tries is turned away.
    const impostor = await testClient(service.ingest.link.status().address);
    impostor.publish('leafturn/home/list', '{}', { qos: 1, retain: true });
    await until('the impostor turned away', () => !impostor.connected);
    const retained = new Promise<string>((resolve) =>
      client.once('message', (_topic, payload) => resolve(payload.toString())),
    );
    await client.subscribeAsync('leafturn/home/list', { qos: 1 });
    expect(JSON.parse(await retained)).toMatchObject({ site: 'home', counts: { none: 1 } });
    const page = await fetch(`${service.address}/sites/home`, { headers: { accept: 'text/html' } });
    expect(await page.text()).toContain('Stones');
  });

  it('keeps the last good site file when a changed one has mistakes, says so, and takes a mended one', async () => {
    const { service, file } = await run(SITE(EMBEDDED));
    writeFileSync(file, SITE(EMBEDDED, 'Other name').replace('latitude: 51', 'latitude: 151'));
    process.emit('SIGHUP');
    const page = async (): Promise<string> =>
      (await fetch(`${service.address}/sites/home`, { headers: { accept: 'text/html' } })).text();
    await until('the warning on the page', async () => (await page()).includes('1 mistake'));
    expect(await page()).toContain('sites[0].latitude');
    expect((await get(service, '/api/v1/sites')).body.items[0]?.name).toBe('Home');
    writeFileSync(file, SITE(EMBEDDED, 'Other name'));
    process.emit('SIGHUP');
    await until('the new name', async () => (await get(service, '/api/v1/sites')).body.items[0]?.name === 'Other name');
    expect(await page()).not.toContain('1 mistake');
  });

  it('goes by a limit from the moment it is set, keeps it over a restart, and goes back', async () => {
    const { service, config } = await run(SITE(EMBEDDED));
    const limits = '/api/v1/sites/home/houses/north/limits';
    const send = (method: string, path: string, body: object) =>
      fetch(`${service.address}${path}`, {
        method,
        headers: { 'content-type': 'application/json', 'idempotency-key': path },
        body: JSON.stringify(body),
      });
    const revisionOfList = async () =>
      (await service.rounds.latest('home', service.rounds.today('home')))?.houses[0]?.settingsRevision;
    const change = { limits: [{ name: 'wet-night-hours', value: 5 }], why: 'mould last autumn', expected: 0 };
    expect((await send('PATCH', limits, change)).status).toBe(201);
    await until('a list under the new limit', async () => (await revisionOfList()) === 1);
    const page = await fetch(`${service.address}/sites/home/houses/north/limits`, { headers: { accept: 'text/html' } });
    expect(await page.text()).toContain('mould last autumn');
    const again = await createHouseSettings({
      store: service.storage.settings,
      rulebook: () => config.rulebook,
      catalogue: () => config.catalogue,
      now: Date.now,
    });
    expect(again.inForce('home', 'north')).toMatchObject({ revision: 1, limits: change.limits });
    expect((await send('POST', `${limits}/back`, { expected: 1 })).status).toBe(201);
    await until('a list under the usual limits', async () => (await revisionOfList()) === 2);
  });

  it('points at the field of a question it cannot read', async () => {
    const { service } = await run(SITE(EMBEDDED));
    const question = { group: 'conophytum', on: { latitude: 51, date: '2026-06-10' }, plant: { firmness: 'hard' } };
    const answer = await post(service, '/api/v1/what-if', question, 'question');
    expect(await answer.json()).toMatchObject({ status: 422, errors: [{ pointer: '#/plant/firmness' }] });
  });

  it('keeps a key for its sessions that only its owner may read', async () => {
    const { folder } = await run(SITE(EMBEDDED));
    const key = join(folder, 'session-key');
    expect(readFileSync(key)).toHaveLength(32);
    expect(statSync(key).mode & 0o777).toBe(0o600);
  });

  it.skipIf(!hasMosquitto)('says since when the broker is gone, keeps the list, and comes back by itself', async () => {
    const broker = await startMosquitto();
    const { service } = await run(SITE(`{ kind: external, url: "${broker.url}" }`));
    await until('the broker', async () => (await get(service, '/readyz')).status === 200);
    const list = (await get(service, '/api/v1/sites/home/rounds/today')).body;
    await broker.kill();
    await until('readiness to say so', async () => (await get(service, '/readyz')).status === 503);
    const { body } = await get(service, '/readyz');
    expect(JSON.stringify(body)).toMatch(/broker.*since/);
    expect((await get(service, '/api/v1/sites/home/rounds/today')).body).toEqual(list);
    expect((await fetch(`${service.address}/sites/home`, { headers: { accept: 'text/html' } })).status).toBe(200);
    await broker.start();
    await until('the broker again', async () => (await get(service, '/readyz')).status === 200);
  });
});

describe('the demo', () => {
  it('has months behind it and a list for both sites from the start', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'leafturn-demo-'));
    const loaded = loadConfig(DEMO_CONFIG, { env: { LEAFTURN_DATA: folder }, workingFolder: folder });
    const config: Config = {
      ...loaded,
      server: { ...loaded.server, port: 0 },
      broker: loaded.broker.kind === 'embedded' ? { ...loaded.broker, port: 0 } : loaded.broker,
    };
    const service = await startService(config, { clock: realClock(), logger: pino({ level: 'silent' }) });
    onTestFinished(async () => {
      await service.close();
      rmSync(folder, { recursive: true, force: true });
    });
    await service.ready;
    const groups = new Set<string>();
    let batches = 0;
    let houses = 0;
    let lines = 0;
    for (const site of config.sites) {
      const round = await service.rounds.latest(site.id, service.rounds.today(site.id));
      houses += site.houses.length;
      lines += site.houses.reduce((sum, house) => sum + house.lines.length, 0);
      for (const house of round?.houses ?? []) {
        expect(house.climate.nightMinC, `night of ${house.name}`).not.toBeNull();
        for (const line of house.lines)
          for (const { group } of line.batches) {
            groups.add(group);
            batches += 1;
          }
      }
    }
    expect(config.sites.map(({ latitude }) => Math.sign(latitude)).sort()).toEqual([-1, 1]);
    expect(houses).toBeGreaterThanOrEqual(5);
    expect(batches).toBeGreaterThanOrEqual(60);
    expect(lines).toBeGreaterThanOrEqual(3);
    expect([...groups].sort()).toEqual(config.catalogue.speciesGroups.map(({ id }) => id).sort());
    const client = await testClient(service.ingest.link.status().address);
    const heard = new Promise<string>((resolve) => client.once('message', resolve));
    await client.subscribeAsync('leafturn/+/list', { qos: 1 });
    expect(await heard).toMatch(/^leafturn\/(aldervane|quillerra)\/list$/);
  }, 120_000);
});
