import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { replayFeed, replayRecording } from '../../src/app/commands/feed.js';
import { recordedMessages, replayMappings } from '../../src/app/feed-recordings.js';
import type { MappingInput } from '../../src/domain/mapping.js';
import { startIngest } from '../../src/ingest/start.js';
import { hasMosquitto, startMosquitto, until } from '../support/broker.js';
import { sharedData } from '../support/shared-data.js';
import { mappingOf, openStorage, tempFolder } from './support.js';

/**
 * Publishes a recording through a real broker and waits until the service has committed every message.
 * @param subscribed messages of topics that the mappings take; left out: all of them
 */
async function through(file: string, mappings: readonly MappingInput[], subscribed?: number) {
  const broker = await startMosquitto();
  const storage = await openStorage();
  const ingest = await startIngest({
    mappings: mappings.map(mappingOf),
    knowsHouse: (site, house) => site === 'hill' && house === 'recorded',
    store: storage.readings,
    now: () => Date.now(),
    broker: { kind: 'external', url: broker.url, clientId: 'svc' },
  });
  await until('connected', () => ingest.link.status().state === 'connected');
  const { sent } = await replayRecording({ file, house: 'recorded', broker: broker.url, speed: 0 });
  await until('every message committed', () => ingest.pipeline.status().messages >= (subscribed ?? sent), 100_000);
  const status = ingest.pipeline.status();
  await ingest.close();
  return { storage, sent, status };
}

/** Values in the messages that the given names may be found under: what goes in, counted without the service. */
async function valuesIn(file: string, names: readonly string[]): Promise<number> {
  let values = 0;
  for await (const { payload } of recordedMessages(file, 'recorded')) {
    let message: unknown = JSON.parse(payload);
    if (typeof message === 'string') message = JSON.parse(message);
    for (const name of names) if (Object.hasOwn(message as object, name)) values++;
  }
  return values;
}

describe.runIf(hasMosquitto)(
  'recordings replayed through a real broker: what goes in is stored, known twice, or refused',
  () => {
    test('a house of a whole season', async () => {
      const file = sharedData('houses/coast-research.csv.gz');
      if (!file) return;
      const { status, sent, storage } = await through(file, replayMappings('hill', 'recorded'));
      const values = await valuesIn(file, [
        'temp_c',
        'rh_pct',
        'ppfd_umol',
        'radiation_wm2',
        'wind_ms',
        'vent_pct',
        'screen_pct',
      ]);
      expect(values).toBeGreaterThan(20_000);
      expect(status.messages).toBe(sent);
      expect(status.stored + status.duplicates + status.refused).toBe(values);
      expect(status.duplicates).toBe(0);
      const series = await storage.readings.series({ siteId: 'hill' });
      expect(series.reduce((sum, one) => sum + one.stored, 0)).toBe(status.stored);
      expect(series.every((one) => one.placement === 'outside' || one.houseId === 'recorded')).toBe(true);
      const counts = await storage.refusals.counts('hill');
      expect(counts.reduce((sum, one) => sum + one.count, 0)).toBe(status.refused);
      expect(counts.every((one) => one.reason === 'out-of-range')).toBe(true);
    }, 120_000);

    test('a log in which half of the messages came twice', async () => {
      const file = sharedData('feeds/office_lab_2020-03-31.jsonl');
      if (!file) return;
      const common = {
        format: 'json',
        site: 'hill',
        placement: 'outside',
        sensor: '{pointer:/node-id}',
        time: { pointer: '/timestamp', kind: 's' },
      } as const;
      const { status, storage } = await through(
        file,
        [
          {
            ...common,
            id: 'air',
            topic: 'temp-hum-readings',
            sensor: '{pointer:/node-id}-{pointer:/sensor}',
            fields: [
              { pointer: '/temp-C', quantity: 'airTempC', unit: '°C' },
              { pointer: '/hum-percent', quantity: 'relHumidityPct', unit: '%' },
            ],
          },
          {
            ...common,
            id: 'light',
            topic: 'lux-readings',
            fields: [{ pointer: '/lux', quantity: 'illuminanceLux', unit: 'lx' }],
          },
          {
            ...common,
            id: 'gas',
            topic: 'gas-mq135-readings',
            fields: [{ pointer: '/co2-ppm', quantity: 'co2Ppm', unit: 'ppm' }],
          },
        ],
        42,
      );
      // 22 messages with two values, 10 with light, 10 with gas; the other topics are not subscribed to.
      expect(status.messages).toBe(42);
      expect(status).toMatchObject({ refused: 0 });
      expect(status.stored + status.duplicates).toBe(22 * 2 + 10 + 10);
      // Told independently: distinct messages of the log.
      const distinct = new Set<string>();
      for (const line of readFileSync(file, 'utf8').split('\n').filter(Boolean)) {
        const { topic, payload } = JSON.parse(line);
        for (const name of ['temp-C', 'hum-percent', 'lux', 'co2-ppm'])
          if (Object.hasOwn(payload, name))
            distinct.add(`${topic} ${payload['node-id']} ${payload.sensor} ${name} ${payload.timestamp}`);
      }
      expect(status.stored).toBe(distinct.size);
      expect(await storage.readings.series({ siteId: 'hill', quantities: ['airTempC'] })).toHaveLength(2);
    });

    test.each([
      ['as it was sent', 'json' as const, (text: string) => text],
      // The payload of the log once more as a JSON string: JSON inside a string on the wire.
      ['as JSON inside a string', 'json-in-json' as const, (text: string) => JSON.stringify(text)],
    ])('a log of one sensor without a clock, %s', async (_what, format, wrap) => {
      const log = sharedData('feeds/env_sensor_2021-11-18.jsonl');
      if (!log) return;
      const file = join(tempFolder(), 'log.jsonl');
      const lines = readFileSync(log, 'utf8').split('\n').filter(Boolean);
      writeFileSync(
        file,
        lines
          .map((line) => JSON.parse(line))
          .map((entry) => JSON.stringify({ ...entry, payload: wrap(entry.payload) }))
          .join('\n'),
      );
      const { status, sent, storage } = await through(file, [
        {
          id: 'env',
          topic: '/pub/env',
          format,
          site: 'hill',
          placement: 'outside',
          sensor: 'roof',
          fields: [
            { pointer: '/temperature', quantity: 'airTempC', unit: '°C' },
            { pointer: '/humidity', quantity: 'relHumidityPct', unit: '%' },
            { pointer: '/pressure', quantity: 'pressureHpa', unit: 'Pa' },
          ],
        },
      ]);
      expect(sent).toBe(lines.length);
      expect(status).toMatchObject({ messages: sent, refused: 0 });
      expect(status.stored + status.duplicates).toBe(sent * 3);
      // Pascal in the message, hectopascal in the house.
      const [pressure] = await storage.readings.series({ siteId: 'hill', quantities: ['pressureHpa'] });
      expect(pressure?.lastValue).toBeGreaterThan(1000);
      expect(pressure?.lastValue).toBeLessThan(1030);
    });

    test('radio uplinks with their nodes as sensors', async () => {
      const file = sharedData('feeds/lorawan_uplinks.csv');
      if (!file) return;
      const { status, sent, storage } = await through(file, replayMappings('hill', 'recorded'));
      const values = await valuesIn(file, ['t_in_c', 'rh_in_pct', 'pressure_hpa']);
      expect(sent).toBe(3427);
      expect(status.stored + status.duplicates + status.refused).toBe(values);
      expect(await storage.readings.series({ siteId: 'hill', quantities: ['airTempC'] })).toHaveLength(7);
    });
  },
);

describe('replay', () => {
  const output: string[] = [];
  const io = {
    stdout: { write: (text: string) => output.push(text) },
    stderr: { write: (text: string) => output.push(text) },
    env: {},
    workingFolder: '/',
    now: () => 0,
  } as never;

  test('says that nothing answers at the address', async () => {
    const file = join(tempFolder(), 'a.jsonl');
    writeFileSync(file, '{"topic":"a","payload":"1"}\n');
    await expect(replayFeed({ file, house: 'h', broker: 'mqtt://127.0.0.1:1', speed: 0 }, io)).rejects.toMatchObject({
      code: 'broker-failed',
    });
  });

  test('says that the file is not there', async () => {
    await expect(
      replayFeed({ file: '/nowhere.csv', house: 'h', broker: 'mqtt://127.0.0.1:1', speed: 0 }, io),
    ).rejects.toMatchObject({ code: 'file-failed' });
  });

  test.each([
    ['log.jsonl', '{"topic":"a","payload":"1"}\nnot json\n', 'line 2'],
    ['other.csv', 'when,what\n1,2\n', 'first line'],
  ])('says where %s is not a recording', async (name, text, path) => {
    const file = join(tempFolder(), name);
    writeFileSync(file, text);
    const all = async () => {
      for await (const _ of recordedMessages(file, 'h'));
    };
    await expect(all()).rejects.toMatchObject({ code: 'invalid-input', problems: [{ path }] });
  });

  test.runIf(hasMosquitto)('keeps the pace of the recording', async () => {
    const broker = await startMosquitto();
    const file = join(tempFolder(), 'house.csv');
    // Two seconds of recording at ten times its pace.
    writeFileSync(file, 'time,inside_temp_c\n2026-06-01T00:00:00Z,20\n2026-06-01T00:00:02Z,21\n');
    const began = performance.now();
    expect(await replayRecording({ file, house: 'h', broker: broker.url, speed: 10 })).toEqual({ sent: 2, again: 0 });
    expect(performance.now() - began).toBeGreaterThanOrEqual(190);
  });
});
