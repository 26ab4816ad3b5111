import { expect, test } from 'vitest';
import { flagsToMask, type Quantity } from '../../src/domain/quantities.js';
import type { CheckedReading } from '../../src/storage/repositories.js';
import { HOUR, MINUTE, START } from '../support/garden.js';
import { openService } from './support.js';

const at = '/sites/home';
const reading = (agoMinutes: number, value: number, more: Partial<CheckedReading> = {}): CheckedReading => ({
  siteId: 'home',
  sensorId: 'n1/air',
  quantity: 'airTempC' as Quantity,
  houseId: 'north',
  benchId: null,
  placement: 'inside',
  at: START - agoMinutes * MINUTE,
  value,
  flagMask: 0,
  timeSource: 'payload',
  receivedAt: START - agoMinutes * MINUTE + 1000,
  ...more,
});

/** Three hours of a sensor, one every twenty minutes, and one outside. */
async function measured() {
  const service = await openService();
  const readings = Array.from({ length: 9 }, (_, i) =>
    reading(180 - i * 20, i, i === 8 ? { flagMask: flagsToMask(['late']) } : {}),
  );
  await service.garden.storage.readings.commit({
    messages: 11,
    readings: [...readings, reading(10, -3, { sensorId: 'out', placement: 'outside', houseId: null })],
    refusals: [
      {
        at: START,
        topic: 'garden/n1',
        siteId: 'home',
        sensorId: 'n1/air',
        quantity: 'airTempC',
        reason: 'out-of-range',
        sentence: 'Expected -40 to 70 °C, got 455.',
        excerpt: '{"t":455}',
      },
      {
        at: START,
        topic: 'what/is/this',
        siteId: null,
        sensorId: null,
        quantity: null,
        reason: 'unknown-topic',
        sentence: 'No mapping takes this topic.',
        excerpt: 'x',
      },
    ],
  });
  return service;
}

test('hours from and to, with units', async () => {
  const service = await measured();
  const answer = await service.get(`${at}/readings/hourly?from=2026-02-25T05:00&to=2026-02-25T07:00&house=north`);
  expect(answer.json().items).toHaveLength(1);
  expect(answer.json().items[0]).toMatchObject({
    sensorId: 'n1/air',
    unit: '°C',
    integralUnit: '°C · s',
    hours: [
      { startMs: START - 3 * HOUR, count: 3, min: 0, mean: 1, max: 2 },
      { startMs: START - 2 * HOUR, count: 3, min: 3, mean: 4, max: 5 },
    ],
  });
});

test('days of the site', async () => {
  const service = await measured();
  const answer = (await service.get(`${at}/readings/daily?placement=outside`)).json();
  expect(answer.items).toMatchObject([{ sensorId: 'out', days: [{ day: '2026-02-25', count: 1, mean: -3 }] }]);
});

test('raw readings are paged by time and keep their flags', async () => {
  const service = await measured();
  const values: number[] = [];
  let next: string | null = '/api/v1/sites/home/readings/raw?sensor=n1%2Fair&quantity=airTempC&limit=4';
  let last: { flags: string[] } | undefined;
  while (next) {
    const page: { items: { value: number; flags: string[] }[]; next: string | null } = (
      await service.app.inject(next)
    ).json();
    values.push(...page.items.map(({ value }) => value));
    last = page.items.at(-1);
    next = page.next;
  }
  expect(values).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
  expect(last?.flags).toEqual(['late']);
});

test.each<[string, string, string]>([
  ['readings/hourly?from=2026-02-25T07:00&to=2026-02-25T05:00', 'to', 'later than from, which is 2026-02-25T07:00'],
  ['readings/hourly?from=morning&to=2026-02-25T05:00', 'from', 'an instant such as'],
  ['readings/daily?from=2026-02-26&to=2026-02-25', 'to', 'later than from'],
  ['readings/daily?quantity=airTemp', 'quantity', 'airTempC'],
  ['readings/raw?sensor=x&quantity=airTempC&limit=501', 'limit', 'at most 500'],
  ['readings/raw?sensor=x&quantity=airTempC&limt=5', 'limt', 'one of '],
])('%s points at the parameter', async (path, parameter, expected) => {
  const service = await measured();
  const answer = await service.get(`${at}/${path}`);
  expect(answer.statusCode).toBe(400);
  expect(answer.json().errors).toMatchObject([{ parameter, expected: expect.stringContaining(expected) }]);
});

test('too long a time is refused with what to do', async () => {
  const service = await measured();
  const answer = await service.get(`${at}/readings/hourly?from=2000-01-01T00:00&to=2026-02-25T05:00`);
  expect([answer.statusCode, answer.json().detail]).toEqual([
    422,
    '2 series over 229253 hours are too much for one answer. Ask for a house or a quantity, or for less time.',
  ]);
});

test('an unknown sensor or quantity of it is a 404 with a hint', async () => {
  const service = await measured();
  const detail = async (query: string) => (await service.get(`${at}/readings/raw?${query}`)).json().detail;
  expect(await detail('sensor=n1%2Fai&quantity=airTempC')).toBe('There is no sensor n1/ai. Did you mean n1/air?');
  expect(await detail('sensor=out&quantity=windMs')).toBe('There is no series of out for windMs. It reports airTempC.');
});

test('sensors tell how they are', async () => {
  const service = await measured();
  const sensors = (await service.get(`${at}/sensors`)).json().items;
  expect(sensors).toMatchObject([
    {
      sensorId: 'n1/air',
      silentMinutes: 19,
      series: [{ quantity: 'airTempC', lastValue: 8, stored: 9, refused: 1 }],
      refusals: [{ reason: 'out-of-range', count: 1 }],
    },
    { sensorId: 'out', houseId: null, silentMinutes: 9, refusals: [] },
  ]);
  expect((await service.get(`${at}/sensors?house=north`)).json().items).toHaveLength(1);
});

test('what was refused is listed and counted, with and without a site', async () => {
  const service = await measured();
  expect((await service.get('/refusals')).json().items.map(({ reason }: { reason: string }) => reason)).toEqual([
    'unknown-topic',
    'out-of-range',
  ]);
  expect((await service.get('/refusals?site=home')).json().items).toMatchObject([
    { sentence: 'Expected -40 to 70 °C, got 455.' },
  ]);
  expect((await service.get('/refusals/counts')).json().items).toHaveLength(2);
  expect((await service.get('/refusals?limit=1')).json().next).toMatch(/^\/api\/v1\/refusals\?limit=1&after=/);
});
