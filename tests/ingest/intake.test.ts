import { describe, expect, test } from 'vitest';
import type { MappingInput } from '../../src/domain/mapping.js';
import { checkLimits, checkSeries, type SeriesState } from '../../src/ingest/check.js';
import type { SensorNotice } from '../../src/ingest/sensors.js';
import { AIR, intakeOf, mappingOf, message, RECEIVED, take, told } from './support.js';

const MINUTE = 60_000;
const air = (values: object, more = {}) => message('gh/north/a/air', values, more);

describe('a message becomes readings', () => {
  test('house, bench and sensor from the topic and the message', () => {
    const mapping = mappingOf({
      id: 'm',
      topic: 'a/+/b',
      format: 'json',
      site: 'hill',
      house: { from: '{1}', map: { Nord: 'north-house' } },
      bench: '{pointer:/bench}',
      sensor: '{1}/{pointer:/id}',
      fields: [{ pointer: '/t', quantity: 'airTempC', unit: '°F' }],
    });
    const taken = take(intakeOf([mapping]), message('a/Nord/b', { t: 68, id: 7, bench: 'gutter' }));
    expect(taken.readings[0]).toMatchObject({
      sensorId: 'Nord/7',
      houseId: 'north-house',
      benchId: 'gutter',
      placement: 'inside',
    });
    // 68 °F = 20 °C, by definition of the scale.
    expect(taken.readings[0]?.value).toBeCloseTo(20, 9);
    expect(told(take(intakeOf([mapping]), message('a/Sued/b', { t: 68, id: 7, bench: 'gutter' }))).reasons).toEqual([
      'unknown-place',
    ]);
    expect(told(take(intakeOf([mapping]), message('a/Nord/b', { t: 68, bench: 'gutter' }))).reasons).toEqual([
      'sensor-name',
    ]);
  });

  test('one bad value never drops the good ones', () => {
    expect(told(take(intakeOf([AIR]), air({ t: 'unavailable', rh: 45 })))).toEqual({
      readings: [['north/a', 'relHumidityPct', 45, 0, 'received-time']],
      reasons: ['not-a-number'],
    });
  });

  test('the first mapping that matches takes the message', () => {
    const wide = mappingOf({ ...AIR, id: 'wide', topic: 'gh/#', house: 'north', sensor: 'wide' });
    expect(take(intakeOf([AIR, wide]), air({ t: 20 })).readings[0]?.sensorId).toBe('north/a');
    expect(take(intakeOf([wide, AIR]), air({ t: 20 })).readings[0]?.sensorId).toBe('wide');
  });

  test('a changed configuration holds at once', () => {
    const intake = intakeOf([AIR], { knowsHouse: () => false });
    expect(told(take(intake, air({ t: 20 }))).reasons).toEqual(['unknown-place']);
    intake.configure([AIR], () => true);
    expect(take(intake, air({ t: 20 })).readings).toHaveLength(1);
  });

  test('values outside the range are refused in words, known offsets are moved to the bound', () => {
    const taken = take(intakeOf([AIR]), air({ t: 85, rh: 101.3 }));
    expect(told(taken)).toEqual({
      readings: [['north/a', 'relHumidityPct', 100, 0, 'clamped received-time']],
      reasons: ['out-of-range'],
    });
    expect(taken.refusals[0]?.sentence).toBe('Air temperature: expected -40 to 70 °C, got 85 °C. (at /t)');
  });

  test('a range of its own replaces the usual one', () => {
    const warm = mappingOf({ ...AIR, checks: { airTempC: { max: 90 } } });
    expect(take(intakeOf([warm]), air({ t: 85 })).readings).toHaveLength(1);
  });
});

describe('clocks', () => {
  const stamped = (at: unknown, receivedAt = RECEIVED) => air({ t: 20, at }, { receivedAt });
  test('ahead, behind and right again: kept under the time of arrival, and told once', () => {
    const notices: SensorNotice[] = [];
    const intake = intakeOf([AIR], { onNotice: (notice) => notices.push(notice) });
    const taken = take(
      intake,
      stamped(RECEIVED + 3_600_000),
      stamped(RECEIVED + 3_660_000, RECEIVED + MINUTE),
      stamped(RECEIVED + 2 * MINUTE, RECEIVED + 2 * MINUTE),
      stamped(86_400, RECEIVED + 3 * MINUTE),
    );
    expect(told(taken).readings.map(([, , , at, flags]) => [at, flags])).toEqual([
      [0, 'clock-ahead received-time'],
      [MINUTE, 'clock-ahead received-time'],
      [2 * MINUTE, ''],
      [3 * MINUTE, 'clock-behind received-time'],
    ]);
    expect(notices.map((notice) => notice.kind)).toEqual(['clock-ahead', 'clock-right-again', 'clock-behind']);
    expect(notices[0]?.sentence).toBe('The clock of sensor north/a is 1 hour ahead. The time of arrival is used.');
  });

  test('seconds against milliseconds are named as what they are', () => {
    const notices: string[] = [];
    const withKind = (kind: 's' | 'ms') =>
      mappingOf({ ...(AIR as MappingInput & { format: 'json' }), time: { pointer: '/at', kind } });
    const onNotice = (notice: SensorNotice) => notices.push(notice.sentence);
    take(intakeOf([withKind('s')], { onNotice }), stamped(RECEIVED));
    take(intakeOf([withKind('ms')], { onNotice }), stamped(RECEIVED / 1000));
    expect(notices[0]).toMatch(/sends its time in milliseconds, but its mapping says otherwise/);
    expect(notices[1]).toMatch(/sends its time in seconds, but its mapping says otherwise/);
  });

  test('a message the broker had kept counts only with a time of its own', () => {
    const intake = intakeOf([AIR]);
    expect(told(take(intake, air({ t: 20, rh: 50 }, { retain: true })))).toEqual({
      readings: [],
      reasons: ['retained-no-time'],
    });
    expect(take(intake, air({ t: 20, at: RECEIVED - 3_600_000 }, { retain: true })).readings).toHaveLength(1);
  });

  test('two different values in one millisecond without a clock are two readings, the same one is one', () => {
    const taken = take(intakeOf([AIR]), air({ t: 20 }), air({ t: 20.1 }), air({ t: 20.1 }));
    expect(told(taken).readings.map(([, , value, at]) => [value, at])).toEqual([
      [20, 0],
      [20.1, 1],
      [20.1, 0],
    ]);
  });

  test('readings that come late are marked and do not disturb what is newest', () => {
    const intake = intakeOf([AIR]);
    const taken = take(intake, stamped(RECEIVED), stamped(RECEIVED - 5 * MINUTE), stamped(RECEIVED - 60 * MINUTE));
    expect(told(taken).readings.map(([, , , , flags]) => flags)).toEqual(['', 'late', 'late']);
  });
});

describe('a series', () => {
  const limits = checkLimits('airTempC');
  /** Values a minute apart. */
  const run = (values: readonly number[], stepMs = MINUTE, of = limits) => {
    let state: SeriesState | undefined;
    return values.map((value, index) => {
      const at = RECEIVED + index * stepMs;
      const result = checkSeries(state, { at, value, source: 'payload' }, at, of);
      state = result.next;
      return result.flags.join(' ');
    });
  };

  test('a spike is marked, the way back is not', () => {
    // 4 °C a minute is the fastest believable change.
    expect(run([20, 20, 35, 20.5, 21])).toEqual(['', '', 'fast-change', '', '']);
  });
  test('a lasting step is believed once enough time has passed for it', () => {
    expect(run([20, 35, 35, 35, 35, 35])).toEqual(['', 'fast-change', 'fast-change', 'fast-change', '', '']);
  });
  test('readings seconds apart are not taken for fast', () => {
    expect(run([20, 20.3, 20.1, 20.4], 2000)).toEqual(['', '', '', '']);
  });
  test('unchanged for twelve hours is stuck; a rest value may last', () => {
    const hours = Array.from({ length: 74 }, () => 20);
    expect(run(hours, 10 * MINUTE).indexOf('stuck')).toBe(72);
    const night = Array.from({ length: 200 }, () => 0);
    expect(run(night, 10 * MINUTE, checkLimits('radiationWm2')).includes('stuck')).toBe(false);
  });
  test('a silence is no proof of a stuck sensor', () => {
    expect(run([20, 20, 20], 13 * 60 * MINUTE)).toEqual(['', '', '']);
  });
  test('the same reading again changes nothing', () => {
    const first = checkSeries(undefined, { at: 1, value: 20, source: 'payload' }, 1, limits).next;
    expect(checkSeries(first, { at: 1, value: 20, source: 'payload' }, 1, limits)).toEqual({
      at: 1,
      flags: [],
      next: first,
    });
  });
});

test('a sensor that seems to send fractions for per cent is told of once', () => {
  const notices: string[] = [];
  const intake = intakeOf([AIR], { onNotice: (notice) => notices.push(notice.kind) });
  for (let n = 0; n < 60; n++)
    take(intake, air({ t: 20, rh: 0.55, at: RECEIVED + n * 1000 }, { receivedAt: RECEIVED + n * 1000 }));
  expect(notices).toEqual(['unit-in-doubt']);
});

test('checks go on where the stored series left off', () => {
  const intake = intakeOf([AIR]);
  intake.resume([
    { siteId: 'hill', sensorId: 'north/a', quantity: 'airTempC', lastAt: RECEIVED - MINUTE, lastValue: 20 },
  ]);
  expect(told(take(intake, air({ t: 40 }))).readings[0]?.[4]).toBe('fast-change received-time');
});
