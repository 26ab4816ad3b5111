import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clockAt, parseInstant } from '../../src/domain/time.js';
import { quietUntil } from '../../src/notify/quiet-hours.js';

const BERLIN = 'Europe/Berlin';
const utc = (text: string): number => parseInstant(text) as number;
const endOf = (quiet: { from: string; to: string }, at: string, zone = BERLIN) => {
  const end = quietUntil(quiet, zone, utc(at));
  return end === null ? null : new Date(end).toISOString();
};
const night = { from: '21:00', to: '06:30' };
const noon = { from: '12:00', to: '13:30' };

describe('quiet hours', () => {
  it('over midnight hold from the first minute to the last, before midnight and after', () => {
    // Berlin is one hour ahead of UTC in winter.
    expect(endOf(night, '2026-01-10T19:59:59Z')).toBeNull();
    expect(endOf(night, '2026-01-10T20:00:00Z')).toBe('2026-01-11T05:30:00.000Z');
    expect(endOf(night, '2026-01-10T23:30:00Z')).toBe('2026-01-11T05:30:00.000Z');
    expect(endOf(night, '2026-01-11T05:29:59.999Z')).toBe('2026-01-11T05:30:00.000Z');
    expect(endOf(night, '2026-01-11T05:30:00Z')).toBeNull();
  });

  it('within a day', () => {
    expect(endOf(noon, '2026-01-10T10:59:59Z')).toBeNull();
    expect(endOf(noon, '2026-01-10T11:00:00Z')).toBe('2026-01-10T12:30:00.000Z');
    expect(endOf(noon, '2026-01-10T12:30:00Z')).toBeNull();
  });

  it('end by the wall clock in the nights in which it changes', () => {
    // In 2026 the clocks of Berlin go forward on 29 March and back on 25 October, both at 01:00 UTC (tz database).
    expect(endOf(night, '2026-03-28T21:00:00Z')).toBe('2026-03-29T04:30:00.000Z');
    expect(endOf(night, '2026-10-24T21:00:00Z')).toBe('2026-10-25T05:30:00.000Z');
  });

  it('a time that is skipped counts after the jump, and one that comes twice the first time', () => {
    // 02:30 does not exist on 29 March: 03:30 summer time, 01:30 UTC.
    expect(endOf({ from: '22:00', to: '02:30' }, '2026-03-29T00:30:00Z')).toBe('2026-03-29T01:30:00.000Z');
    // 02:30 on 25 October comes first at 00:30 UTC.
    expect(endOf({ from: '22:00', to: '02:30' }, '2026-10-25T00:15:00Z')).toBe('2026-10-25T00:30:00.000Z');
    expect(endOf({ from: '22:00', to: '02:30' }, '2026-10-25T01:15:00Z')).toBeNull();
  });

  it('wherever and whenever: the end lies ahead by less than a long day, reads as `to`, and is not quiet itself', () => {
    const clock = fc
      .tuple(fc.integer({ min: 0, max: 23 }), fc.constantFrom('00', '15', '30', '45'))
      .map(([hour, minute]) => `${String(hour).padStart(2, '0')}:${minute}`);
    fc.assert(
      fc.property(
        fc.record({ from: clock, to: clock }).filter(({ from, to }) => from !== to),
        // Whole hours, half and quarter hours from UTC, and a change of half an hour.
        fc.constantFrom(BERLIN, 'Asia/Kolkata', 'Asia/Kathmandu', 'Australia/Lord_Howe', 'America/Santiago', 'UTC'),
        fc.integer({ min: Date.UTC(2025, 0, 1), max: Date.UTC(2027, 0, 1) }),
        (quiet, zone, at) => {
          const end = quietUntil(quiet, zone, at);
          if (end === null) return;
          expect(end).toBeGreaterThan(at);
          expect(end - at).toBeLessThanOrEqual(25 * 3_600_000);
          expect(quietUntil(quiet, zone, end)).toBeNull();
          const skippedMinutes = (minutesOf(clockAt(zone, end)) - minutesOf(quiet.to) + 1440) % 1440;
          expect(skippedMinutes).toBeLessThanOrEqual(60);
        },
      ),
    );
  });
});

const minutesOf = (clock: string): number => Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3));
