import { describe, expect, test } from 'vitest';
import { startIngest } from '../../src/ingest/start.js';
import { AIR, mappingOf, openStorage } from '../ingest/support.js';
import { hasMosquitto, startMosquitto, testClient, until } from '../support/broker.js';

/** Everything a broken, misconfigured or hostile device may send, and the reason each gets. */
const UNITS = mappingOf({
  id: 'units',
  topic: 'gh/+/units',
  format: 'json',
  site: 'hill',
  house: '{1}',
  sensor: '{1}',
  fields: [{ pointer: '/v', quantity: 'airTempC', unit: { from: '/unit' } }],
});
const BAD: [string, string, string | Buffer, string[]][] = [
  ['malformed JSON', 'gh/north/a/air', '{"t":20', ['malformed-json']],
  ['a bare NaN', 'gh/north/a/air', '{"t":NaN}', ['malformed-json']],
  ['a number past all bounds', 'gh/north/a/air', '{"t":1e400}', ['not-finite']],
  ['a decimal comma nobody agreed on', 'gh/north/a/air', '{"t":"24,5"}', ['not-a-number']],
  ['a word for a value', 'gh/north/a/air', '{"t":"unavailable"}', ['not-a-number']],
  ['null', 'gh/north/a/air', '{"t":null}', ['not-a-number']],
  ['a value no sensor gives', 'gh/north/a/air', '{"t":850}', ['out-of-range']],
  ['a unit of something else', 'gh/north/units', '{"v":20,"unit":"lx"}', ['unknown-unit']],
  ['a unit nobody knows', 'gh/north/units', '{"v":20,"unit":"R"}', ['unknown-unit']],
  ['one megabyte', 'gh/north/a/air', Buffer.alloc(1_000_000, 0x20), ['payload-too-large']],
  ['nesting without end', 'gh/north/a/air', '['.repeat(100_000), ['too-deep']],
  ['bytes that are not text', 'gh/north/a/air', Buffer.from([0xff, 0xfe, 0x00, 0x01]), ['invalid-utf8']],
  ['nothing', 'gh/north/a/air', '', ['empty-payload']],
  ['a list for an object', 'gh/north/a/air', '[20]', ['unexpected-type']],
  ['a message without its value', 'gh/north/a/air', '{"rh":50}', ['missing-field']],
  ['a house that is not there', 'gh/south/a/air', '{"t":20}', ['unknown-place']],
  ['a time that is none', 'gh/north/b/air', '{"t":20,"at":"soon"}', ['bad-timestamp']],
  ['a topic that leads nowhere', 'elsewhere/north', '20', ['no-mapping']],
];

describe.runIf(hasMosquitto)('bad input over a real broker', () => {
  test('each gets its reason, nothing is lost around it, and the service goes on', async () => {
    const broker = await startMosquitto();
    const storage = await openStorage();
    const notices: string[] = [];
    const ingest = await startIngest({
      mappings: [AIR, UNITS],
      knowsHouse: (_site, house) => house === 'north',
      store: storage.readings,
      now: () => Date.now(),
      onNotice: (notice) => notices.push(notice.kind),
      broker: { kind: 'external', url: broker.url, clientId: 'svc' },
    });
    await until('connected', () => ingest.link.status().state === 'connected');
    const device = await testClient(broker.url);
    // The topic that leads nowhere reaches the service through a subscription an earlier configuration left behind.
    const before = await testClient(broker.url, { clientId: 'svc-before' });
    await before.subscribeAsync('elsewhere/#', { qos: 1 });
    before.on('message', (topic, payload) =>
      ingest.pipeline.offer(
        { acknowledge: () => {} },
        { topic, payload, qos: 1, retain: false, receivedAt: Date.now() },
        undefined,
      ),
    );

    const now = Date.now();
    let good = 0;
    const sendGood = () =>
      device.publishAsync('gh/north/good/air', JSON.stringify({ t: 20, rh: 50, at: now - 600_000 + good++ * 1000 }), {
        qos: 1,
      });
    await sendGood();
    for (const [, topic, payload] of BAD) {
      await device.publishAsync(topic, payload, { qos: 1 });
      await sendGood();
    }
    // Clocks: kept under the time of arrival, and said.
    await device.publishAsync('gh/north/ahead/air', JSON.stringify({ t: 20, at: now + 86_400_000 }), { qos: 1 });
    await device.publishAsync('gh/north/1970/air', JSON.stringify({ t: 20, at: 86_400 }), { qos: 1 });
    const messages = BAD.length + good + 2;
    await until('all committed', () => ingest.pipeline.status().messages === messages);

    const reasons = (await storage.refusals.list({ limit: 100 })).map((one) => one.reason).sort();
    expect(reasons).toEqual(BAD.flatMap(([, , , expected]) => expected).sort());
    const series = await storage.readings.series({ siteId: 'hill' });
    const stored = (sensor: string) =>
      series
        .filter((one) => one.sensorId === sensor)
        .map((one) => [one.quantity, one.stored])
        .sort();
    expect(stored('north/good')).toEqual([
      ['airTempC', good],
      ['relHumidityPct', good],
    ]);
    // The reading whose time could not be read is kept under the time of arrival.
    for (const sensor of ['north/b', 'north/ahead', 'north/1970']) expect(stored(sensor)).toEqual([['airTempC', 1]]);
    expect(series.find((one) => one.sensorId === 'north/1970')?.lastAt).toBeGreaterThanOrEqual(now - 1000);
    expect(notices.sort()).toEqual(['clock-ahead', 'clock-behind']);
    expect(ingest.pipeline.status()).toMatchObject({ state: 'running', trouble: null });
    for (const refusal of await storage.refusals.list({ limit: 100 })) {
      expect(refusal.sentence.length).toBeGreaterThan(20);
      expect(refusal.excerpt.length).toBeLessThan(300);
    }
    await ingest.close();
  });
});
