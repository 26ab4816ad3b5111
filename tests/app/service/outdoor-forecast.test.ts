import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { expect, it, onTestFinished } from 'vitest';
import { realClock } from '../../../src/app/clock.js';
import { loadConfig } from '../../../src/config.js';
import { type Service, startService } from '../../../src/main.js';
import { HOUR_MS, json, moments, weatherService } from '../../forecast/support.js';
import { testClient, until } from '../../support/broker.js';

/* The forecast in the running service: asked for and handed over as the site file says, its trouble on the page. */

async function run(forecast: unknown): Promise<Service> {
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-service-'));
  const file = join(folder, 'site.yaml');
  writeFileSync(
    file,
    `sites:
  - { id: home, name: Home, latitude: 51, longitude: 10, zone: Europe/Berlin, houses: [{ id: north, name: North house }] }
broker: { kind: embedded, port: 0 }
server: { port: 0 }
notifications: { mqtt: { topicBase: leafturn } }
forecast: ${JSON.stringify(forecast)}
`,
  );
  const config = loadConfig(file, { env: { LEAFTURN_DATA: folder }, workingFolder: folder });
  const service = await startService(config, { clock: realClock(), logger: pino({ level: 'silent' }) });
  onTestFinished(async () => {
    await service.close();
    rmSync(folder, { recursive: true, force: true });
  });
  await service.ready;
  return service;
}

const latest = async (service: Service) =>
  (await (await fetch(`${service.address}/api/v1/sites/home/forecasts/latest`)).json()) as {
    readonly forecast: { readonly source: string } | null;
    readonly state: string;
    readonly trouble: string | null;
  };
const page = async (service: Service): Promise<string> => {
  const answer = await fetch(service.address, { headers: { accept: 'text/html' } });
  return answer.text();
};

it('a service that refuses is told on the page and leaves the list alone; once it answers the forecast is there', async () => {
  const weather = await weatherService();
  weather.answer = json({}, {}, 403);
  const source = {
    name: 'met',
    kind: 'met-norway',
    address: `${weather.url}/{latitude}/{longitude}`,
    contact: 'a@b.example',
  };
  const refused = await run({ pulled: [source] });
  await until('the refusal', async () => (await latest(refused)).trouble !== null);
  expect(await latest(refused)).toMatchObject({ forecast: null, state: 'none' });
  expect(await page(refused)).toContain('No outdoor forecast has come yet.');
  expect((await fetch(`${refused.address}/readyz`)).status).toBe(200);

  const hour = Math.floor(Date.now() / HOUR_MS) * HOUR_MS;
  weather.answer = json(moments(hour, 60, hour));
  const served = await run({ pulled: [source] });
  await until('the forecast', async () => (await latest(served)).forecast !== null);
  expect(await latest(served)).toMatchObject({ forecast: { source: 'met' }, state: 'fresh', trouble: null });
  expect(await page(served)).not.toContain('forecast has come');
  expect(weather.requests.map(({ url }) => url)).toEqual(['/51/10', '/51/10']);
});

it('a forecast that is handed over on the topic of the site file is in use, under the topics of the service too', async () => {
  const service = await run({ pushed: { topic: 'leafturn/+/forecast' } });
  const sender = await testClient(service.ingest.link.status().address);
  const hour = Math.floor(Date.now() / HOUR_MS) * HOUR_MS;
  const hours = [0, 1, 2].map((after) => ({ at: hour + after * HOUR_MS, airTempC: 9 }));
  await sender.publishAsync('leafturn/home/forecast', JSON.stringify({ source: 'Roof', hours }), { qos: 1 });
  expect(await latest(service)).toMatchObject({ forecast: { source: 'Roof' }, state: 'fresh' });
});
