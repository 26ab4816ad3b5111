import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { describe, expect, it } from 'vitest';
import {
  addDays,
  civilNoon,
  clockAt,
  dayInWords,
  daysBetween,
  instantOnDay,
  isLocalDay,
  isTimeZone,
  localDayBounds,
  localDayHours,
  localDayOf,
  monthsBetween,
  parseInstant,
} from '../../src/domain/time.js';

/**
 * Zones with every kind of day: an hour either way in both hemispheres, half an hour (Lord Howe), midnights that do not
 * exist (Santiago, Cairo), offsets of three quarters (Chatham, Kathmandu), none at all (Phoenix), the far ends.
 */
const ZONES = [
  'Europe/Berlin',
  'Australia/Sydney',
  'Australia/Lord_Howe',
  'America/Santiago',
  'Africa/Cairo',
  'Pacific/Chatham',
  'Asia/Kathmandu',
  'America/Phoenix',
  'Pacific/Kiritimati',
  'Pacific/Pago_Pago',
];
const zone = fc.constantFrom(...ZONES);
const day = fc.integer({ min: 0, max: 4000 }).map((offset) => addDays('2020-01-01', offset));
const instant = fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2031, 0, 1) });

describe('local days', () => {
  it('follow each other without gap or overlap, and hold their own instants', () => {
    fc.assert(
      fc.property(zone, day, (z, d) => {
        const { startMs, endMs } = localDayBounds(z, d);
        expect(localDayBounds(z, addDays(d, 1)).startMs).toBe(endMs);
        expect(localDayOf(z, startMs)).toBe(d);
        expect(localDayOf(z, endMs - 1)).toBe(d);
        expect(localDayOf(z, endMs)).not.toBe(d);
        expect([23, 23.5, 24, 24.5, 25]).toContain(localDayHours(z, d));
      }),
    );
  });

  it('are those of the calendar, in any order of asking', () => {
    fc.assert(
      fc.property(zone, instant, (z, at) => {
        const { startMs, endMs } = localDayBounds(z, localDayOf(z, at));
        expect(at >= startMs && at < endMs).toBe(true);
        const expected = Temporal.Instant.fromEpochMilliseconds(at).toZonedDateTimeISO(z).toPlainDate().toString();
        expect(localDayOf(z, at)).toBe(expected);
      }),
    );
  });

  // Changes of the clocks as in the IANA time zone database.
  it.each([
    ['Europe/Berlin', '2026-03-29', 23],
    ['Europe/Berlin', '2026-10-25', 25],
    ['Australia/Sydney', '2026-10-04', 23],
    ['Australia/Sydney', '2026-04-05', 25],
    ['Australia/Lord_Howe', '2026-10-04', 23.5],
    ['Australia/Lord_Howe', '2026-04-05', 24.5],
    ['America/Santiago', '2026-09-06', 23],
    ['Africa/Cairo', '2026-04-24', 23],
    ['America/Phoenix', '2026-03-29', 24],
  ])('in %s %s has %s hours', (z, d, hours) => {
    expect(localDayHours(z, d)).toBe(hours);
  });

  it('begin where the zone says when midnight does not exist', () => {
    expect(clockAt('America/Santiago', localDayBounds('America/Santiago', '2026-09-06').startMs)).toBe('01:00');
    expect(clockAt('Europe/Berlin', localDayBounds('Europe/Berlin', '2026-10-25').startMs)).toBe('00:00');
  });
});

describe('wall clock', () => {
  it('a time that is skipped comes the same distance after the jump', () => {
    expect(new Date(instantOnDay('Europe/Berlin', '2026-03-29', '02:30')).toISOString()).toBe(
      '2026-03-29T01:30:00.000Z',
    );
    expect(clockAt('Europe/Berlin', instantOnDay('Europe/Berlin', '2026-03-29', '02:30'))).toBe('03:30');
  });

  it('a time that comes twice means the first', () => {
    expect(new Date(instantOnDay('Europe/Berlin', '2026-10-25', '02:30')).toISOString()).toBe(
      '2026-10-25T00:30:00.000Z',
    );
  });

  it('reads back what was set, but where the clocks jump', () => {
    fc.assert(
      fc.property(zone, day, fc.integer({ min: 0, max: 23 }), fc.integer({ min: 0, max: 59 }), (z, d, hour, minute) => {
        fc.pre(localDayHours(z, d) === 24);
        const clock = `${String(hour).padStart(2, '0')}:${String(minute).padStart(2, '0')}`;
        const at = instantOnDay(z, d, clock);
        expect(clockAt(z, at)).toBe(clock);
        expect(localDayOf(z, at)).toBe(d);
      }),
    );
  });

  it('noon lies on its day in every zone', () => {
    fc.assert(
      fc.property(zone, day, (z, d) => localDayOf(z, civilNoon(z, d)) === d && clockAt(z, civilNoon(z, d)) === '12:00'),
    );
  });
});

describe('dates', () => {
  it.each(['2026-02-29', '2026-13-01', '2026-1-1', '20260101', '2026-01-01T00:00', '', '0000-00-00'])(
    '%s is none',
    (text) => expect(isLocalDay(text)).toBe(false),
  );
  it.each(['2024-02-29', '2026-12-31'])('%s is one', (text) => expect(isLocalDay(text)).toBe(true));

  it('days between are what has to be added', () => {
    fc.assert(fc.property(day, fc.integer({ min: -3000, max: 3000 }), (d, n) => daysBetween(d, addDays(d, n)) === n));
  });

  it('months between agree with the calendar library', () => {
    fc.assert(
      fc.property(day, fc.integer({ min: 0, max: 3000 }), (d, n) => {
        const to = addDays(d, n);
        const { months } = Temporal.PlainDate.from(d).until(to, { largestUnit: 'month' });
        expect(monthsBetween(d, to)).toBe(months);
      }),
    );
  });

  it('are said as people say them', () => {
    expect(dayInWords('2026-10-25')).toBe('Sunday 25 October 2026');
  });
});

describe('zones and instants', () => {
  it.each(['Europe/Berlin', 'UTC', 'Australia/Lord_Howe'])('%s is a zone', (name) =>
    expect(isTimeZone(name)).toBe(true),
  );
  it.each(['Mars/North', '', 'Europe/Berlim'])('%j is none', (name) => expect(isTimeZone(name)).toBe(false));

  it.each([
    ['2026-10-25T06:00:00Z', '2026-10-25T06:00:00.000Z'],
    ['2026-10-25T06:00:00+02:00', '2026-10-25T04:00:00.000Z'],
    ['2026-10-25 06:00:00', '2026-10-25T05:00:00.000Z'],
    [' 2026-07-25T06:00 ', '2026-07-25T04:00:00.000Z'],
  ])('%s is read in Berlin as %s', (text, expected) => {
    expect(new Date(parseInstant(text, 'Europe/Berlin') ?? 0).toISOString()).toBe(expected);
  });
  it.each(['soon', '', '2026-02-30T00:00Z', '25.10.2026'])('%j is no instant', (text) => {
    expect(parseInstant(text)).toBeUndefined();
  });
});
