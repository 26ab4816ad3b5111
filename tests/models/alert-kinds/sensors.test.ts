import { describe, expect, it } from 'vitest';
import type { Quantity, RollUp } from '../../../src/domain/quantities.js';
import { addDays, localDayBounds } from '../../../src/domain/time.js';
import type { Finding } from '../../../src/models/alert-kinds/finding.js';
import type { ChannelFacts, SensorFacts, SiteSensors } from '../../../src/models/alert-kinds/sensor-facts.js';
import { implausibleSensors } from '../../../src/models/alert-kinds/sensor-implausible.js';
import { silentSensors } from '../../../src/models/alert-kinds/sensor-silent.js';
import { standsStill, stuckSensors } from '../../../src/models/alert-kinds/sensor-stuck.js';
import { alertLimitsOf } from '../../../src/models/alert-limits.js';

const HOUR = 3_600_000;
const ZONE = 'Europe/Berlin';
/** Noon of 21 June 2026: the sun is high at 51° north, 10° east. */
const NOON = Date.UTC(2026, 5, 21, 10);

const rollUp = (startMs: number, min: number, max = min, count = 6): RollUp => ({
  startMs,
  count,
  min,
  mean: (min + max) / 2,
  max,
  integral: 0,
  coveredSeconds: 3600,
});
/** Hours up to now, the newest last. */
const hoursOf = (values: readonly (number | readonly [number, number] | null)[]): RollUp[] =>
  values.flatMap((value, index) => {
    const startMs = NOON - (values.length - 1 - index) * HOUR;
    if (value === null) return [];
    return typeof value === 'number' ? [rollUp(startMs, value)] : [rollUp(startMs, value[0], value[1])];
  });
/** Days up to today, by their lowest and highest. */
const daysOf = (values: readonly (readonly [number, number])[]) =>
  values.map(([min, max], index) => {
    const day = addDays('2026-06-21', index - values.length + 1);
    return { day, ...rollUp(localDayBounds(ZONE, day).startMs, min, max, 144) };
  });

const channel = (quantity: Quantity, more: Partial<ChannelFacts> = {}): ChannelFacts => ({
  quantity,
  lastAt: NOON,
  lastReceivedAt: NOON,
  days: [],
  hours: [],
  refused: null,
  ...more,
});
const sensor = (
  sensorId: string,
  channels: readonly ChannelFacts[],
  houseId: string | null = 'north',
): SensorFacts => ({
  sensorId,
  houseId,
  placement: 'inside',
  channels,
});
const site = (sensors: readonly SensorFacts[], own: Readonly<Record<string, number>> = {}): SiteSensors => ({
  at: NOON,
  zone: ZONE,
  latitude: 51,
  longitude: 10,
  sensors,
  houseName: (id) => (id === null ? 'Home' : `House ${id}`),
  limitsOf: () => alertLimitsOf(own),
});

const told = (findings: readonly Finding[]) =>
  findings.flatMap((one) => (one.known === true && one.level > 0 ? [`${one.houseId ?? 'site'}/${one.subject}`] : []));
const textOf = (finding: Finding | undefined) =>
  finding?.known === true && finding.level !== 0 ? finding.detail.text : undefined;

const heard = (hoursAgo: number): Partial<ChannelFacts> => ({
  lastAt: NOON - hoursAgo * HOUR,
  lastReceivedAt: NOON - hoursAgo * HOUR,
});
const many = (count: number, hoursAgo: number, houseId = 'north') =>
  Array.from({ length: count }, (_, i) => sensor(`${houseId}-${i}`, [channel('airTempC', heard(hoursAgo))], houseId));

describe('silent sensors', () => {
  it('are told after two hours, not sooner', () => {
    expect(told(silentSensors(site([...many(1, 1.9), ...many(1, 0, 'south')])))).toEqual([]);
    expect(told(silentSensors(site([...many(1, 2.1), ...many(1, 0, 'south')])))).toEqual(['north/north-0']);
  });

  it('of one house are one message, and forty of the whole site are one', () => {
    expect(told(silentSensors(site([...many(20, 5), ...many(20, 0, 'south')])))).toEqual(['north/']);
    const all = silentSensors(site([...many(20, 5), ...many(20, 5, 'south')]));
    expect(told(all)).toEqual(['site/']);
    expect(textOf(all[0])?.reason).toContain('None of 40 sensors has been heard for 5 hours.');
    // What the greater silence says already is frozen, neither told nor ended.
    expect(all.slice(1).every(({ known }) => known === false)).toBe(true);
  });

  it('are told each for itself while the house is heard', () => {
    expect(told(silentSensors(site([...many(3, 5), sensor('good', [channel('airTempC')])])))).toEqual([
      'north/north-0',
      'north/north-1',
      'north/north-2',
    ]);
  });

  it('with some channels still speaking say which are not, and what is not known without them', () => {
    const [finding] = silentSensors(
      site([sensor('t1', [channel('airTempC', heard(5)), channel('relHumidityPct'), channel('ppfdUmol', heard(6))])]),
    ).filter(({ subject }) => subject === 't1');
    expect(finding).toMatchObject({ known: true, level: 1 });
    expect(textOf(finding)).toMatchObject({
      title: 'Sensor t1 in House north no longer tells its air temperature and plant light (PPFD)',
      reason:
        'Its air temperature and plant light (PPFD) have not been heard for 5 hours. Until then it tells nothing of warmth and light.',
    });
  });

  it('that report seldom are given four of their own intervals', () => {
    // Once a day, so four days; the battery alone tells that it lives.
    const days = daysOf(Array.from({ length: 8 }, () => [90, 91] as const)).map((day) => ({ ...day, count: 1 }));
    const battery = (hoursAgo: number) => [sensor('t1', [channel('batteryPct', { ...heard(hoursAgo), days })])];
    expect(told(silentSensors(site(battery(90))))).toEqual([]);
    expect(told(silentSensors(site(battery(97))))).toEqual(['north/t1']);
  });

  it('go by the limit of the house', () => {
    expect(told(silentSensors(site(many(1, 5), { sensorSilentMinutes: 400 })))).toEqual([]);
  });

  it('that send nonsense are not silent', () => {
    const nonsense = channel('airTempC', { ...heard(9), refused: { count: 40, lastAt: NOON, lastSentence: 'No.' } });
    expect(told(silentSensors(site([sensor('t1', [nonsense])])))).toEqual([]);
  });

  it('not heard for a month were taken away', () => {
    const findings = silentSensors(site([sensor('old', [channel('airTempC', heard(31 * 24))]), ...many(1, 0)]));
    expect(findings.find(({ subject }) => subject === 'old')).toMatchObject({ known: 'gone' });
  });
});

describe('stuck sensors', () => {
  const stuck = (channels: readonly ChannelFacts[], own = {}) => stuckSensors(site([sensor('t1', channels)], own))[0];

  it('stand at one value for longer than the quantity can: 12 hours for air', () => {
    const hours = (count: number) => hoursOf([[18, 21], ...Array.from({ length: count }, () => 21.4)]);
    expect(stuck([channel('airTempC', { hours: hours(12) })])).toMatchObject({ level: 0 });
    const finding = stuck([channel('airTempC', { hours: hours(13) })]);
    expect(textOf(finding)).toMatchObject({
      title: 'Sensor t1 in House north: air temperature stuck',
      reason:
        'Its air temperature has stood at exactly 21.4 °C for 12 hours; a working sensor changes within 12 hours.',
    });
    expect(stuck([channel('airTempC', { hours: hours(13) })], { sensorStuckFactor: 2 })).toMatchObject({ level: 0 });
  });

  it('are doubted channel by channel: what stands beside a stuck one is believed', () => {
    const hours = hoursOf(Array.from({ length: 20 }, () => 21.4));
    expect(stuck([channel('airTempC', { hours }), channel('relHumidityPct')])).toMatchObject({ doubted: ['airTempC'] });
  });

  it('are not proved by a gap', () => {
    const hours = hoursOf([21.4, 21.4, null, null, null, null, null, null, null, null, null, null, 21.4, 21.4]);
    expect(stuck([channel('airTempC', { hours })])).toMatchObject({ level: 0 });
    expect(standsStill(channel('airTempC', { hours }))?.sinceMs).toBe(NOON - HOUR);
  });

  it('may have stood for longer than the hours at hand', () => {
    const hours = hoursOf(Array.from({ length: 76 }, () => 19));
    const days = daysOf([[12, 20], ...Array.from({ length: 9 }, () => [19, 19] as const)]);
    expect(textOf(stuck([channel('substrateMoisturePct', { hours, days })]))?.reason).toContain('for 9 days');
  });

  it('stay at no light through the night, but not under a high sun', () => {
    const dark = (hours: number) => channel('ppfdUmol', { hours: hoursOf(Array.from({ length: hours }, () => 0)) });
    // Three hours before noon the sun stands above 15° already; at noon of midsummer some 62° at 51° north.
    expect(textOf(stuck([dark(5)]))?.reason).toBe(
      'Its plant light (PPFD) has stood at exactly 0 µmol m⁻² s⁻¹ for 4 hours, though the sun stood 61° high.',
    );
    const night = { ...site([sensor('t1', [dark(5)])]), longitude: -170 };
    expect(stuckSensors(night)[0]).toMatchObject({ level: 0 });
  });

  it('stay saturated in steady air, but not while it warms and cools', () => {
    const humidity = channel('relHumidityPct', { hours: hoursOf(Array.from({ length: 60 }, () => 100)) });
    const air = (swing: number) =>
      channel('airTempC', {
        hours: hoursOf(Array.from({ length: 60 }, (_, i) => [5, 5 + (i % 24 === 12 ? swing : 1)] as const)),
      });
    expect(stuck([humidity, air(3)])).toMatchObject({ level: 0 });
    expect(textOf(stuck([humidity, air(7)]))?.reason).toContain('while the air went up and down by 7 °C');
  });

  it('that are silent say nothing of being stuck', () => {
    const hours = hoursOf(Array.from({ length: 20 }, () => 21.4));
    expect(stuck([channel('airTempC', { ...heard(5), hours })])).toMatchObject({ known: false });
  });

  it('may stay at one vent for ever', () => {
    expect(stuck([channel('ventPct', { hours: hoursOf(Array.from({ length: 76 }, () => 30)) })])).toMatchObject({
      level: 0,
    });
  });
});

describe('implausible sensors', () => {
  const doubt = (one: ChannelFacts, own = {}) => implausibleSensors(site([sensor('t1', [one])], own))[0];
  const sunny = hoursOf(Array.from({ length: 6 }, () => [0, 900] as const));

  it('change their light by a thousandfold from one day to the next', () => {
    const days = daysOf([
      [0, 60],
      [0, 20],
      [0, 71],
      [0, 65_000],
    ]);
    expect(textOf(doubt(channel('illuminanceLux', { days, hours: sunny })))?.reason).toBe(
      'Since 21 June its light (lux) is about 920 times higher than before: up to 65000 lx, on the days before up to 71 lx. It looks as if its unit was changed (a thousandfold, as between kilolux and lux, or kilo and plain units).',
    );
  });

  it.each([
    [
      'the brightest day after a dull fortnight',
      [
        [0, 80],
        [0, 90],
        [0, 70],
        [0, 85],
        [0, 1100],
      ],
    ],
    [
      'a dark day after bright ones',
      [
        [0, 900],
        [0, 1100],
        [0, 950],
        [0, 60],
      ],
    ],
    [
      'too few days to tell',
      [
        [0, 1],
        [0, 1],
        [0, 900],
      ],
    ],
  ] as const)('%s is weather', (_, days) => {
    expect(doubt(channel('ppfdUmol', { days: daysOf(days), hours: sunny }))).toMatchObject({ level: 0, clear: true });
  });

  it('are not called dim before the sun stood high for hours', () => {
    const days = daysOf([
      [0, 900],
      [0, 1100],
      [0, 950],
      [0, 0.9],
    ]);
    expect(doubt(channel('ppfdUmol', { days, hours: sunny.slice(-2) }))).toMatchObject({ level: 0 });
    expect(textOf(doubt(channel('ppfdUmol', { days, hours: sunny })))?.reason).toContain('about 1060 times lower');
  });

  it('may send lux for µmol, a fraction for per cent, or °F for °C', () => {
    const lux = daysOf([
      [0, 800],
      [0, 700],
      [0, 900],
      [0, 48_000],
    ]);
    expect(textOf(doubt(channel('ppfdUmol', { days: lux, hours: sunny })))?.reason).toContain(
      'as between lux and µmol of sunlight',
    );
    const fraction = daysOf([
      [40, 90],
      [45, 92],
      [38, 88],
      [0.4, 0.9],
    ]);
    expect(textOf(doubt(channel('relHumidityPct', { days: fraction })))?.reason).toContain(
      'a hundredfold, as between a fraction and per cent',
    );
    const fahrenheit = daysOf([
      [8, 22],
      [9, 23],
      [7, 21],
      [46, 70],
    ]);
    expect(textOf(doubt(channel('airTempC', { days: fahrenheit })))?.reason).toBe(
      'Since 21 June its air temperature reads 58 °C on average, before it was 15 °C. It looks as if it sends °F now.',
    );
  });

  it('a heat wave is no Fahrenheit', () => {
    const days = daysOf([
      [8, 22],
      [9, 23],
      [7, 21],
      [20, 44],
    ]);
    expect(doubt(channel('airTempC', { days }))).toMatchObject({ level: 0 });
  });

  it('send mostly what cannot be true', () => {
    const refused = { count: 20, lastAt: NOON, lastSentence: 'Air temperature: expected -40 to 70 °C, got 850 °C.' };
    const hours = hoursOf([20, 20, 20]).map((hour) => ({ ...hour, count: 4 }));
    expect(textOf(doubt(channel('airTempC', { hours, refused })))?.reason).toBe(
      '20 of its last 32 readings could not be true and were not kept. The last one: Air temperature: expected -40 to 70 °C, got 850 °C.',
    );
    expect(doubt(channel('airTempC', { hours, refused }), { sensorRefusedPct: 80 })).toMatchObject({ level: 0 });
    expect(doubt(channel('airTempC', { hours: [], refused: { ...refused, count: 3 } }))).toMatchObject({ level: 0 });
  });

  it('say nothing while they are silent', () => {
    expect(doubt(channel('airTempC', heard(9)))).toMatchObject({ known: false });
  });
});
