import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { findOverlaps, mappingSchema, namedPlaces } from '../../src/domain/mapping.js';
import { QUANTITY_NAMES, quantityInfo } from '../../src/domain/quantities.js';
import {
  commonTopic,
  coversTopic,
  matchTopic,
  parsePointer,
  parseTemplate,
  topicPatternFault,
} from '../../src/domain/topics.js';
import { acceptedUnits, unitConversion, unitName } from '../../src/domain/units.js';

const good = {
  id: 'air',
  topic: 'gh/+/air',
  format: 'json',
  site: 'hill',
  house: '{1}',
  sensor: '{1}',
  fields: [{ pointer: '/t', quantity: 'airTempC', unit: '°C' }],
};
/** Path and expectation of every issue. */
const issues = (mapping: object): [string, string][] => {
  const result = mappingSchema.safeParse(mapping);
  return result.success ? [] : result.error.issues.map((issue) => [issue.path.join('.'), issue.message]);
};

describe('a mapping', () => {
  test('is taken when it is right', () => expect(issues(good)).toEqual([]));
  test.each([
    ['a wildcard that is not there', { sensor: '{2}' }, 'sensor', /\{1\} to \{1\}/],
    [
      'a pointer outside JSON',
      { format: 'value', fields: undefined, quantity: 'airTempC', unit: 'C', sensor: '{pointer:/a}' },
      'sensor',
      /outside JSON/,
    ],
    ['a placeholder of another format', { sensor: '{device}' }, 'sensor', /placeholders this format has/],
    [
      'a unit of something else',
      { fields: [{ pointer: '/t', quantity: 'ppfdUmol', unit: 'lx' }] },
      'fields.0.unit',
      /a unit of ppfdUmol: µmol/,
    ],
    [
      'a unit nobody knows',
      { fields: [{ pointer: '/t', quantity: 'airTempC', unit: 'R' }] },
      'fields.0.unit',
      /a known unit/,
    ],
    [
      'a pointer without its slash',
      { fields: [{ pointer: 't', quantity: 'airTempC', unit: 'C' }] },
      'fields.0.pointer',
      /JSON pointer/,
    ],
    ['# in the middle', { topic: 'gh/#/air', sensor: 'x', house: 'h' }, 'topic', /# only as the last level/],
    ['a sensor inside no house', { house: undefined }, 'house', /the house the sensor stands in/],
    [
      'a bench without a house',
      { house: undefined, placement: 'outside', bench: 'b' },
      'bench',
      /a house beside the bench/,
    ],
    ['a zone that is none', { time: { pointer: '/at', zone: 'Mars/Base' } }, 'time.zone', /time zone name/],
    ['bounds the wrong way round', { checks: { airTempC: { min: 50, max: 10 } } }, 'checks.airTempC', /min below max/],
    [
      'farad for Fahrenheit',
      { format: 'senml', sensor: '{name}', fields: undefined, byUnit: { F: 'airTempC' } },
      'byUnit.F',
      /SenML registry/,
    ],
  ])('%s is told with its place', (_what, change, path, expected) => {
    const merged = Object.fromEntries(
      Object.entries({ ...good, ...change }).filter(([, value]) => value !== undefined),
    );
    const found = issues(merged);
    expect(found.map(([at]) => at)).toContain(path);
    expect(found.find(([at]) => at === path)?.[1]).toMatch(expected);
  });
  test('an unknown key is an error', () => {
    expect(issues({ ...good, sensors: 1 })[0]?.[1]).toMatch(/sensors/);
  });
  test('names the places it is tied to', () => {
    const of = (change: object) => namedPlaces(mappingSchema.parse({ ...good, ...change }));
    expect(of({ house: 'north', bench: 'b-1' })).toEqual({ houses: ['north'], benches: ['b-1'] });
    expect(of({ house: '{1}' })).toEqual({ houses: [], benches: [] });
    expect(of({ house: { from: '{1}', map: { a: 'north', b: 'south' } } })).toEqual({
      houses: ['north', 'south'],
      benches: [],
    });
  });
});

describe('topics', () => {
  const level = fc.constantFrom('a', 'b', '');
  const topic = fc.array(level, { minLength: 1, maxLength: 4 }).map((levels) => levels.join('/'));
  const pattern = fc
    .tuple(fc.array(fc.constantFrom('a', 'b', '+'), { minLength: 1, maxLength: 3 }), fc.boolean())
    .map(([levels, rest]) => [...levels, ...(rest ? ['#'] : [])].join('/'));
  const matches = (one: string, other: string) => matchTopic(one.split('/'), other.split('/')) !== undefined;

  // OASIS MQTT 5.0 section 4.7.1, non-normative comments and examples.
  test.each([
    ['sport/tennis/player1/#', 'sport/tennis/player1', true],
    ['sport/tennis/player1/#', 'sport/tennis/player1/ranking', true],
    ['sport/tennis/player1/#', 'sport/tennis/player1/score/wimbledon', true],
    ['sport/#', 'sport', true],
    ['sport/tennis/+', 'sport/tennis/player1', true],
    ['sport/tennis/+', 'sport/tennis/player1/ranking', false],
    ['sport/+', 'sport', false],
    ['sport/+', 'sport/', true],
    ['+/+', '/finance', true],
    ['/+', '/finance', true],
    ['+', '/finance', false],
    ['#', '$SYS/broker', false],
    ['+/monitor/Clients', '$SYS/monitor/Clients', false],
    ['$SYS/#', '$SYS/broker', true],
  ])('%s and %s: %s', (one, other, expected) => expect(matches(one, other)).toBe(expected));
  test.each(['sport/tennis#', 'sport/tennis/#/ranking', 'sport+', ''])('%j is no pattern', (one) =>
    expect(topicPatternFault(one)).toBeDefined(),
  );
  test('wildcards tell what they stood for', () => {
    expect(matchTopic('gh/+/#'.split('/'), 'gh/north/a/air'.split('/'))).toEqual(['north', 'a/air']);
  });
  test('two patterns meet exactly where a topic matches both', () => {
    fc.assert(
      fc.property(pattern, pattern, topic, (one, other, example) => {
        const common = commonTopic(one, other);
        if (common !== undefined) expect(matches(one, common) && matches(other, common)).toBe(true);
        if (matches(one, example) && matches(other, example)) expect(common).toBeDefined();
        if (coversTopic(one, other) && matches(other, example)) expect(matches(one, example)).toBe(true);
      }),
      { seed: 3 },
    );
  });
  test('overlaps name the mapping that wins, and the one that is never used', () => {
    expect(
      findOverlaps([
        { id: 'a', topic: 'gh/#' },
        { id: 'b', topic: 'gh/+/air' },
        { id: 'c', topic: '+/north/air' },
        { id: 'd', topic: 'other' },
      ]).map(({ firstId, secondId, hidden }) => [firstId, secondId, hidden]),
    ).toEqual([
      ['a', 'b', true],
      ['a', 'c', false],
      ['b', 'c', false],
    ]);
  });
});

describe('pointers and templates', () => {
  // RFC 6901 section 5.
  test.each([
    ['', []],
    ['/foo/0', ['foo', '0']],
    ['/', ['']],
    ['/a~1b', ['a/b']],
    ['/m~0n', ['m~n']],
    ['/~01', ['~1']],
  ])('%j', (pointer, path) => expect(parsePointer(pointer)).toEqual(path));
  test.each(['a', '/a~2', '/a~'])('%j is no pointer', (pointer) => expect(parsePointer(pointer)).toBeUndefined());
  test('pieces of a template', () => {
    expect(parseTemplate('x-{1}/{pointer:/a~1b}{name}')).toEqual([
      { kind: 'text', text: 'x-' },
      { kind: 'wildcard', index: 1 },
      { kind: 'text', text: '/' },
      { kind: 'pointer', path: ['a/b'] },
      { kind: 'word', word: 'name' },
    ]);
  });
  test.each(['{', 'a}', '{1', '{0}', '{a b}', '{pointer:x}'])('%j is none', (text) =>
    expect(typeof parseTemplate(text)).toBe('string'),
  );
});

describe('units', () => {
  test.each([
    ['airTempC', '°F', 212, 100],
    ['airTempC', 'K', 273.15, 0],
    ['relHumidityPct', 'fraction', 0.455, 45.5],
    ['illuminanceLux', 'klx', 41.2, 41_200],
    ['substrateEcMsCm', 'S/m', 1, 10],
    ['substrateEcMsCm', 'uS/cm', 2400, 2.4],
    ['pressureHpa', 'Pa', 101_325, 1013.25],
    ['windMs', 'km/h', 36, 10],
    ['windMs', 'kn', 1, 0.514444],
    ['flowLPerMinute', 'm³/h', 0.6, 10],
  ] as const)('%s: %d %s is %d', (quantity, unit, value, expected) => {
    const conversion = unitConversion(quantity, unit);
    expect(value * (conversion?.factor ?? Number.NaN) + (conversion?.offset ?? 0)).toBeCloseTo(expected, 5);
  });
  test.each([
    ['ppfdUmol', 'lx'],
    ['ppfdUmol', 'W/m²'],
    ['radiationWm2', 'lx'],
    ['airTempC', '%'],
  ] as const)('%s is never made of %s', (quantity, unit) => expect(unitConversion(quantity, unit)).toBeUndefined());
  test('spellings', () => {
    expect(['°C', 'Cel', 'celsius', ' degC '].map(unitName)).toEqual(['°C', '°C', '°C', '°C']);
    expect(['µmol/m²/s', 'umol/m2/s', 'umol.m-2.s-1'].map(unitName)).toEqual(['µmol/m²/s', 'µmol/m²/s', 'µmol/m²/s']);
    expect(['R', '', 'toString', '__proto__'].map(unitName)).toEqual([undefined, undefined, undefined, undefined]);
  });
  test('every quantity is read in the unit it is shown in', () => {
    for (const quantity of QUANTITY_NAMES) {
      expect(acceptedUnits(quantity).length, quantity).toBeGreaterThan(0);
      expect(unitConversion(quantity, quantityInfo(quantity).unit), quantity).toEqual({ factor: 1, offset: 0 });
    }
  });
});
