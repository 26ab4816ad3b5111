import { describe, expect, test } from 'vitest';
import { resolveSenml } from '../../src/ingest/senml.js';
import { intakeOf, mappingOf, message, RECEIVED, take, told } from './support.js';

const short = (pack: readonly unknown[], at = RECEIVED) =>
  resolveSenml(pack, at).records.map((one) => [one.name, one.unit, one.value, Number(one.time.toFixed(3))]);

describe('resolved records, examples of RFC 8428', () => {
  test('section 5.1.1: one value, roughly now', () => {
    expect(short([{ n: 'urn:dev:ow:10e2073a01080063', u: 'Cel', v: 23.1 }])).toEqual([
      ['urn:dev:ow:10e2073a01080063', 'Cel', 23.1, RECEIVED / 1000],
    ]);
  });
  test('section 5.1.2: base name, base time, base unit, times relative to the base', () => {
    const pack = [
      { bn: 'urn:dev:ow:10e2073a0108006:', bt: 1.276020076001e9, bu: 'A', bver: 5, n: 'voltage', u: 'V', v: 120.1 },
      { n: 'current', t: -5, v: 1.2 },
      { n: 'current', v: 1.7 },
    ];
    expect(short(pack)).toEqual([
      ['urn:dev:ow:10e2073a0108006:voltage', 'V', 120.1, 1276020076.001],
      ['urn:dev:ow:10e2073a0108006:current', 'A', 1.2, 1276020071.001],
      ['urn:dev:ow:10e2073a0108006:current', 'A', 1.7, 1276020076.001],
    ]);
  });
  test('section 5.1.6: a later base name replaces the first, the base time stays', () => {
    const pack = [
      { bn: '2001:db8::2/', bt: 1320078429, n: 'temperature', u: 'Cel', v: 25.2 },
      { bn: '2001:db8::1/', n: 'humidity', u: '%RH', v: 67 },
    ];
    expect(short(pack)).toEqual([
      ['2001:db8::2/temperature', 'Cel', 25.2, 1320078429],
      ['2001:db8::1/humidity', '%RH', 67, 1320078429],
    ]);
  });
  test('section 5.1.7: a record of base fields alone is no measurement', () => {
    expect(short([{ bn: 'a:' }, { n: 'heat', u: '/', v: 1 }])).toEqual([['a:heat', '/', 1, RECEIVED / 1000]]);
  });
  test('section 4.5.4: the base value is added', () => {
    expect(short([{ bn: 'a', bv: 20, bu: 'Cel', v: 1.25 }, { v: -0.5 }]).map(([, , value]) => value)).toEqual([
      21.25, 19.5,
    ]);
  });
});

describe('what cannot be resolved', () => {
  const reasons = (pack: readonly unknown[]) => resolveSenml(pack, RECEIVED).faults.map((one) => one.reason);
  test.each([
    ['no name', [{ v: 1 }], 'senml-invalid'],
    ['two values', [{ n: 'a', v: 1, vs: 'x' }], 'senml-invalid'],
    ['a name with a space', [{ n: 'a b', v: 1 }], 'senml-invalid'],
    ['a value that is text', [{ n: 'a', v: '1' }], 'senml-invalid'],
    ['a record that is a number', [1], 'senml-invalid'],
    ['a newer version', [{ bver: 11, n: 'a', v: 1 }], 'senml-version'],
    ['what must be understood', [{ n: 'a', v: 1, cal_: 1 }], 'senml-must-understand'],
  ])('%s', (_what, pack, reason) => expect(reasons(pack)).toEqual([reason]));
  test('what need not be understood is passed over', () => {
    expect(resolveSenml([{ n: 'a', v: 1, cal: 1 }], RECEIVED)).toMatchObject({ records: [{ value: 1 }], faults: [] });
  });
});

describe('SenML through a mapping', () => {
  const mapping = mappingOf({
    id: 'senml',
    topic: 'senml/+',
    format: 'senml',
    site: 'hill',
    house: '{1}',
    byUnit: { Cel: 'airTempC', K: 'airTempC', '%RH': 'relHumidityPct' },
    // No registered unit tells plant light.
    byName: { par: { quantity: 'ppfdUmol', unit: 'µmol/m²/s' } },
  });
  test('by unit and by name, other registered units are passed over', () => {
    const pack = [
      { bn: 'b1/', n: 'air', u: 'K', v: 294.65 },
      { n: 'par', v: 412 },
      { n: 'volts', u: 'V', v: 3.3 },
      { n: 'heat', u: 'F', v: 70 },
      { n: 'odd', u: 'degF', v: 70 },
      { n: 'bare', v: 70 },
    ];
    const taken = told(take(intakeOf([mapping]), message('senml/north', pack)));
    expect(taken.readings.map(([sensor, quantity, value]) => [sensor, quantity, Number(value.toFixed(6))])).toEqual([
      ['b1/air', 'airTempC', 21.5],
      ['b1/par', 'ppfdUmol', 412],
    ]);
    expect(taken.reasons).toEqual(['unknown-unit', 'unknown-unit']);
  });
});
