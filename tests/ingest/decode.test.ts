import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { QUANTITIES } from '../../src/domain/quantities.js';
import { DEFAULT_LIMITS, decodeJson, excerptOf, parseJsonText, parseNumber } from '../../src/ingest/decode.js';
import { deviceInstant, epochByTheSize } from '../../src/ingest/instants.js';
import { REASONS } from '../../src/ingest/reasons.js';
import { decodeSparkplug, integerValue, rebirthRequest } from '../../src/ingest/sparkplug.js';
import { AIR, intakeOf, mappingOf, message, RECEIVED, take } from './support.js';

/** One mapping of every format, all fed with anything. */
const ALL = [
  AIR,
  mappingOf({
    id: 'string',
    topic: 'string/+',
    format: 'json-in-json',
    site: 'hill',
    house: 'h',
    sensor: '{pointer:/id}',
    fields: [{ pointer: '/t', quantity: 'airTempC', unit: { from: '/u' } }],
    time: { pointer: '/at' },
  }),
  mappingOf({
    id: 'list',
    topic: 'list/+',
    format: 'json',
    site: 'hill',
    house: 'h',
    sensor: '{1}',
    items: '/items',
    maxItems: 10,
    fields: [{ pointer: '/t', quantity: { from: '/q', map: { t: 'airTempC' } }, unit: '°C' }],
    time: { pointer: '/at' },
  }),
  mappingOf({
    id: 'value',
    topic: 'value/+',
    format: 'value',
    site: 'hill',
    house: 'h',
    sensor: '{1}',
    quantity: 'relHumidityPct',
    unit: '%',
    stripSuffix: '%',
    decimalComma: true,
  }),
  mappingOf({
    id: 'senml',
    topic: 'senml/+',
    format: 'senml',
    site: 'hill',
    house: 'h',
    byUnit: { Cel: 'airTempC', '%RH': 'relHumidityPct' },
  }),
  mappingOf({
    id: 'sparkplug',
    topic: 'spBv1.0/+/+/#',
    format: 'sparkplug-b',
    site: 'hill',
    house: 'h',
    byName: { Temperature: { quantity: 'airTempC', unit: '°C' } },
  }),
];
const TOPICS = [
  'gh/north/a/air',
  'string/a',
  'list/a',
  'value/a',
  'senml/a',
  'spBv1.0/g/NDATA/n',
  'spBv1.0/g/NBIRTH/n',
  'none',
];

/** JSON near enough to real messages that every branch is met. */
const jsonLike = fc.letrec((tie) => ({
  value: fc.oneof(
    { depthSize: 'small' },
    fc.constantFrom(
      null,
      true,
      '',
      'unavailable',
      '21,3',
      '21.3',
      '1e999',
      'Cel',
      '%RH',
      't',
      '2026-06-01T00:00:00Z',
      '__proto__',
    ),
    fc.double(),
    fc.integer(),
    fc.array(tie('value'), { maxLength: 4 }),
    fc.dictionary(
      fc.constantFrom(
        't',
        'rh',
        'at',
        'items',
        'id',
        'u',
        'q',
        'n',
        'bn',
        'bt',
        'v',
        'vs',
        'bver',
        's',
        'cal_',
        '__proto__',
        'constructor',
      ),
      tie('value'),
      { maxKeys: 6 },
    ),
  ),
})).value;

describe('whatever bytes come', () => {
  const payloads = fc.oneof(
    fc.uint8Array({ maxLength: 300 }).map((bytes) => Buffer.from(bytes)),
    jsonLike.map((value) => Buffer.from(JSON.stringify(value))),
    jsonLike.map((value) => Buffer.from(JSON.stringify(JSON.stringify(value)))),
    fc.string({ unit: 'binary' }).map((text) => Buffer.from(text)),
  );

  test('nothing throws, every reading is sound, every refusal has a known reason and a sentence', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.constantFrom(...TOPICS), payloads, fc.boolean()), { minLength: 1, maxLength: 5 }),
        (messages) => {
          const taken = take(
            intakeOf(ALL),
            ...messages.map(([topic, payload, retain]) => message(topic, payload, { retain })),
          );
          for (const reading of taken.readings) {
            const [low, high] = QUANTITIES[reading.quantity].range;
            expect(reading.value).toBeGreaterThanOrEqual(low);
            expect(reading.value).toBeLessThanOrEqual(high);
            expect(Number.isSafeInteger(reading.at)).toBe(true);
            expect(reading.at).toBeLessThanOrEqual(RECEIVED + 300_000);
            expect(reading.sensorId.length).toBeGreaterThan(0);
          }
          for (const refusal of taken.refusals) {
            expect(REASONS).toContain(refusal.reason);
            expect(refusal.sentence.length).toBeGreaterThan(10);
            expect(refusal.excerpt.length).toBeLessThanOrEqual(201);
          }
        },
      ),
      { numRuns: Number(process.env.LEAFTURN_TEST_RUNS ?? 1000), seed: 7 },
    );
  });

  test('the same messages again give the same readings: redelivery finds its rows', () => {
    fc.assert(
      fc.property(fc.constantFrom(...TOPICS.slice(0, 5)), payloads, (topic, payload) => {
        const intake = intakeOf(ALL);
        const first = take(intake, message(topic, payload));
        const again = take(intake, message(topic, payload));
        const own = (taken: typeof first) =>
          taken.readings
            .filter((one) => one.timeSource === 'payload')
            .map((one) => [one.sensorId, one.quantity, one.at]);
        expect(own(again)).toEqual(own(first));
      }),
      { numRuns: 300, seed: 7 },
    );
  });

  test('an excerpt is printable and short', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 1000 }), (bytes) => {
        const text = excerptOf(Buffer.from(bytes));
        // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for.
        expect(text).not.toMatch(/[\u0000-\u001f\u007f-\u009f\u202a-\u202e]/);
        expect(text.length).toBeLessThanOrEqual(201);
      }),
      { seed: 7 },
    );
  });
});

describe('numbers', () => {
  test.each([
    [21.5, 21.5],
    ['21.5', 21.5],
    [' 2.13e1\n', 21.3],
    ['-.5', -0.5],
    ['+7', 7],
    ['5.', 5],
  ])('%j is %d', (raw, value) => expect(parseNumber(raw, {})).toEqual({ ok: true, value }));
  test.each([
    ['21,3'],
    ['0x1F40'],
    ['NaN'],
    ['Infinity'],
    [''],
    ['45 %'],
    ['1_000'],
    ['1 000'],
    [null],
    [true],
    [[21]],
    [{}],
    [undefined],
    ['٢١'],
  ])('%j is not a number', (raw) =>
    expect(parseNumber(raw, {})).toMatchObject({ ok: false, fault: { reason: 'not-a-number' } }),
  );
  test('a number beyond all bounds is not finite', () => {
    expect(parseNumber('1e999', {})).toMatchObject({ fault: { reason: 'not-finite' } });
    expect(parseNumber(JSON.parse('1e400'), {})).toMatchObject({ fault: { reason: 'not-finite' } });
  });
  test('comma and suffix only where the mapping says so', () => {
    expect(parseNumber('68,9', { decimalComma: true })).toEqual({ ok: true, value: 68.9 });
    expect(parseNumber('1.234,5', { decimalComma: true }).ok).toBe(false);
    expect(parseNumber('45 %', { stripSuffix: '%' })).toEqual({ ok: true, value: 45 });
  });
});

describe('nesting', () => {
  const nested = (depth: number) => '['.repeat(depth) + ']'.repeat(depth);
  test('32 levels are read, 33 are not', () => {
    expect(parseJsonText(nested(32), DEFAULT_LIMITS).ok).toBe(true);
    expect(parseJsonText(nested(33), DEFAULT_LIMITS)).toMatchObject({ fault: { reason: 'too-deep' } });
  });
  test('brackets in strings do not count', () => {
    expect(parseJsonText(JSON.stringify({ a: `${'['.repeat(100)}\\"`, b: 1 }), DEFAULT_LIMITS).ok).toBe(true);
  });
  test('a byte order mark is skipped', () => {
    expect(decodeJson(Buffer.from('\ufeff{"a":1}'), DEFAULT_LIMITS)).toEqual({ ok: true, value: { a: 1 } });
  });
});

describe('times', () => {
  const auto = { kind: 'auto', zone: 'UTC' } as const;
  const at = 1_780_315_170_123;
  test.each([[at / 1000], [at], [at * 1000], [at * 1e6], [String(at)]])('%d is read by its size', (raw) =>
    expect(Math.abs((deviceInstant(raw, auto) as number) - at)).toBeLessThanOrEqual(1),
  );
  test.each([
    ['2026-06-01T11:59:30.123Z', at],
    ['2026-06-01T13:59:30.123+02:00', at],
    ['2026-06-01T11:59:30.123456789Z', at],
    ['2026-06-01t11:59:30.123z', at],
    ['2026-06-01T11:59Z', at - 30_123],
  ])('%s', (raw, expected) => expect(deviceInstant(raw, auto)).toBe(expected));
  test('without a zone, the wall clock of the mapping, summer and winter', () => {
    const berlin = { kind: 'auto', zone: 'Europe/Berlin' } as const;
    expect(deviceInstant('2026-06-01 13:59:30', berlin)).toBe(Date.UTC(2026, 5, 1, 11, 59, 30));
    expect(deviceInstant('2026-12-01 12:59:30', berlin)).toBe(Date.UTC(2026, 11, 1, 11, 59, 30));
  });
  test.each([
    ['yesterday'],
    [''],
    [null],
    [true],
    ['2026-02-30T00:00:00Z'],
    ['2026-06-01T25:00:00Z'],
    [1e300],
    [{}],
    ['2026-06-01T12:00:00[Europe/Berlin]'],
  ])('%j is not a time', (raw) => expect(deviceInstant(raw, auto)).toBeUndefined());
  test('the quick reading of UTC stamps agrees with the calendar', () => {
    fc.assert(
      fc.property(fc.date({ min: new Date(0), max: new Date(4e12), noInvalidDate: true }), (date) => {
        expect(deviceInstant(date.toISOString(), auto)).toBe(date.getTime());
      }),
      { seed: 7 },
    );
  });
  test('sizes', () => {
    expect(epochByTheSize(99_999_999_999)).toBe(99_999_999_999_000);
    expect(epochByTheSize(100_000_000_000)).toBe(100_000_000_000);
  });
});

describe('Sparkplug payloads', () => {
  test('cut short at any byte they are refused or read, never an error', () => {
    const whole = rebirthRequest({ group: 'g', kind: 'NDATA', node: 'n', device: '' }, RECEIVED).payload;
    expect(decodeSparkplug(whole)).toMatchObject({
      timestampMs: RECEIVED,
      metrics: [{ name: 'Node Control/Rebirth', datatype: 11, value: true }],
    });
    for (let length = 0; length < whole.length; length++) decodeSparkplug(whole.subarray(0, length));
  });
  // Eclipse Sparkplug 3.0 chapter 6: signed integers are carried in unsigned fields, two's complement.
  test.each([
    [4294967291n, 3, -5],
    [251n, 1, -5],
    [4294967291n, 1, -5],
    [65531n, 2, -5],
    [2n ** 64n - 5n, 4, -5],
    [4294967291n, 7, 4294967291],
    [7n, undefined, 7],
  ])('integer %d of data type %d is %d', (raw, datatype, value) => expect(integerValue(raw, datatype)).toBe(value));
});
