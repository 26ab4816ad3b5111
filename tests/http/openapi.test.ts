import { Ajv2020 } from 'ajv/dist/2020.js';
import { expect, test } from 'vitest';
import { plant, START } from '../support/garden.js';
import { keep } from './alert-support.js';
import { openService, type Service } from './support.js';

interface Operation {
  readonly summary?: string;
  readonly tags?: readonly string[];
  readonly responses: Record<string, { readonly content?: Record<string, { readonly schema: object }> }>;
}
interface Document {
  readonly openapi: string;
  readonly paths: Record<string, Record<string, Operation>>;
  readonly components: object;
}
const documentOf = async (service: Service): Promise<Document> => (await service.get('/openapi.json')).json();

test('the description of the interface changes only knowingly', async () => {
  const service = await openService();
  const document = await documentOf(service);
  expect(document.openapi).toBe('3.1.0');
  await expect(`${JSON.stringify(document, null, 1)}\n`).toMatchFileSnapshot('openapi.snapshot.json');
});

test('every operation has a summary, a tag and a described answer', async () => {
  const { paths } = await documentOf(await openService());
  for (const [path, methods] of Object.entries(paths))
    for (const [method, operation] of Object.entries(methods)) {
      expect([path, method, operation.summary, operation.tags?.length]).toEqual([path, method, expect.any(String), 1]);
      if (!path.endsWith('/events')) expect(Object.keys(operation.responses)[0]).toMatch(/^20[01]$/);
    }
});

/** A site with something of everything. */
async function lived(): Promise<Service> {
  const service = await openService();
  await plant(service.garden);
  const { readings } = service.garden.storage;
  await readings.commit({
    messages: 2,
    readings: [
      {
        siteId: 'home',
        sensorId: 'n1',
        quantity: 'airTempC',
        houseId: 'north',
        benchId: 'b1',
        placement: 'inside',
        at: START - 60_000,
        value: 9.5,
        flagMask: 3,
        timeSource: 'payload',
        receivedAt: START,
      },
    ],
    refusals: [
      {
        at: START,
        topic: 't',
        siteId: 'home',
        sensorId: 'n1',
        quantity: 'airTempC',
        reason: 'stuck',
        sentence: 'The same for a day.',
        excerpt: '1',
      },
    ],
  });
  const about = { batchIds: ['stones', 'cones'] };
  for (const event of [
    { kind: 'watering', ...about, amount: 'light', mlPerPot: 10, lineId: 'line-a', day: '2026-02-25', note: 'slowly' },
    {
      kind: 'signs',
      ...about,
      stage: 'splitting',
      firmness: 'soft',
      newPair: 'firm',
      oldPair: 'soft',
      sheathed: false,
      substrate: 'looked-dry',
      signs: ['rot'],
    },
    { kind: 'repotting', batchIds: ['seedlings'], potId: 'round-9cm-clay' },
    { kind: 'cloth', houseId: 'north', clothId: 'thin' },
    { kind: 'batch-split', batchId: 'seedlings', newBatchId: 'best', newName: 'Best', potCount: 5, benchId: 'b3' },
    { kind: 'batch-ended', batchId: 'cones', reason: 'died', cause: 'rot' },
    { kind: 'note', text: 'x', houseId: 'frame' },
  ])
    expect((await service.post('/sites/home/journal', event)).statusCode).toBe(201);
  await service.post('/sites/home/journal/13/undo', undefined);
  await service.post('/sites/home/rounds', {});
  await keep(service);
  return service;
}

test('what every read answers is what the document says', async () => {
  const service = await lived();
  const document = await documentOf(service);
  const ajv = new Ajv2020({ strict: false, formats: { email: true } });
  ajv.addSchema({ $id: 'api', ...document });
  const values: Record<string, string> = {
    siteId: 'home',
    houseId: 'north',
    batchId: 'stones',
    entryId: '13',
    day: 'today',
    code: 'conflict',
    alertId: '1',
  };
  const queries: Record<string, string> = {
    '/api/v1/sites/{siteId}/readings/hourly': '?from=2026-02-25T00:00&to=2026-02-25T12:00',
    '/api/v1/sites/{siteId}/readings/raw': '?sensor=n1&quantity=airTempC',
    '/api/v1/sites/{siteId}/batches': '?state=all&limit=2',
  };
  let checked = 0;
  for (const [path, { get }] of Object.entries(document.paths)) {
    // Events never end, and a calendar is no JSON.
    if (!get || /\/events$|\.ics$/.test(path)) continue;
    const url = path.replaceAll(/\{(\w+)\}/g, (_all, name: string) => values[name] ?? name) + (queries[path] ?? '');
    const answer = await service.app.inject(url);
    expect([path, answer.statusCode]).toEqual([path, 200]);
    const pointer = `api#/paths/${path.replaceAll('~', '~0').replaceAll('/', '~1').replaceAll('{', '%7B').replaceAll('}', '%7D')}/get/responses/200/content/application~1json/schema`;
    const valid = ajv.validate(pointer, answer.json());
    expect([path, valid, ajv.errors]).toEqual([path, true, null]);
    checked += 1;
  }
  expect(checked).toBeGreaterThan(20);
});

test('a problem is what the document says', async () => {
  const service = await openService();
  const document = await documentOf(service);
  const ajv = new Ajv2020({ strict: false });
  ajv.addSchema({ $id: 'api', ...document });
  const answer = await service.post('/sites/home/waterings', { amount: 'x' });
  expect(ajv.validate('api#/components/schemas/Problem', answer.json())).toBe(true);
});

test('the page to read names every operation, and needs no script', async () => {
  const service = await openService({ tokens: { t: 'owner' } });
  const { paths } = await documentOf(service);
  const page = await service.get('/docs');
  expect(page.headers['content-type']).toBe('text/html; charset=utf-8');
  for (const [path, methods] of Object.entries(paths))
    for (const method of Object.keys(methods))
      expect(page.body).toContain(`<span class="method">${method.toUpperCase()}</span> <code>${path}</code>`);
  expect(page.body).not.toMatch(/<script|style="|onclick/);
  // Every link inside the page leads somewhere.
  for (const [, target] of page.body.matchAll(/href="#([^"]+)"/g)) expect(page.body).toContain(`id="${target}"`);
  const style = await service.get('//plain.css');
  expect([style.statusCode, style.headers['content-type']]).toEqual([200, 'text/css; charset=utf-8']);
});
