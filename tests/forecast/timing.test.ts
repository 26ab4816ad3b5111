import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { freshForMs, nextAfterAnswer, nextAfterTrouble } from '../../src/forecast/timing.js';
import { NOW } from './support.js';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const http = (at: number) => new Date(at).toUTCString();
const headers = (more: Record<string, string> = {}) => new Headers(more);

describe('how long an answer stays fresh', () => {
  it('is told by Expires against the time the answer was sent, so that a wrong clock of ours changes nothing', () => {
    const sent = NOW - 5 * HOUR;
    expect(freshForMs(headers({ date: http(sent), expires: http(sent + 30 * MINUTE) }), NOW)).toBe(30 * MINUTE);
    expect(freshForMs(headers({ expires: http(NOW + 30 * MINUTE) }), NOW)).toBe(30 * MINUTE);
  });

  it('is told by max-age before Expires, less the age it already has (RFC 9111, 4.2.1 and 4.2.3)', () => {
    const both = { 'cache-control': 'public, max-age=600', expires: http(NOW + HOUR), date: http(NOW) };
    expect(freshForMs(headers(both), NOW)).toBe(10 * MINUTE);
    expect(freshForMs(headers({ ...both, age: '120' }), NOW)).toBe(8 * MINUTE);
  });

  it('is nothing where the headers say nothing or nonsense, and a day at most', () => {
    expect(freshForMs(headers(), NOW)).toBe(0);
    expect(freshForMs(headers({ expires: '0' }), NOW)).toBe(0);
    expect(freshForMs(headers({ expires: http(NOW - HOUR) }), NOW)).toBe(0);
    expect(freshForMs(headers({ 'cache-control': 'max-age=99999999' }), NOW)).toBe(24 * HOUR);
  });
});

describe('when to ask again', () => {
  it('is after the minutes set, or later where the source says so, at a moment of its own', () => {
    expect(nextAfterAnswer(NOW, 60, headers(), 0)).toBe(NOW + HOUR);
    expect(nextAfterAnswer(NOW, 60, headers({ 'cache-control': 'max-age=600' }), 0)).toBe(NOW + HOUR);
    expect(nextAfterAnswer(NOW, 60, headers({ 'cache-control': 'max-age=7200' }), 0.5)).toBe(NOW + 2 * HOUR + 30_000);
  });

  it('is later after each failure, up to two hours; after a refusal up to a day', () => {
    const minutes = (kind: 'failed' | 'refused', count: number) =>
      Array.from({ length: count }, (_, index) => (nextAfterTrouble(NOW, index + 1, kind, null, 0.5) - NOW) / MINUTE);
    expect(minutes('failed', 9)).toEqual([2, 4, 8, 16, 32, 64, 120, 120, 120]);
    expect(minutes('refused', 7)).toEqual([60, 120, 240, 480, 960, 1440, 1440]);
  });

  it('heeds Retry-After in seconds and as a date', () => {
    const told = (value: string) => nextAfterTrouble(NOW, 1, 'failed', headers({ 'retry-after': value }), 0) - NOW;
    expect(told('3600')).toBe(HOUR);
    expect(told(http(NOW + 2 * HOUR))).toBe(2 * HOUR);
    expect(told('soon')).toBe(90_000);
  });

  it('is never sooner than the source allows, whatever went wrong and however chance falls', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1000 }),
        fc.constantFrom('failed' as const, 'refused' as const),
        fc.double({ min: 0, max: 1, maxExcluded: true, noNaN: true }),
        fc.integer({ min: 0, max: 86_400 }),
        (failures, kind, chance, seconds) => {
          const told = headers({ 'retry-after': String(seconds), 'cache-control': `max-age=${seconds}` });
          for (const next of [
            nextAfterTrouble(NOW, failures, kind, told, chance),
            nextAfterAnswer(NOW, 10, told, chance),
          ]) {
            expect(next).toBeGreaterThanOrEqual(NOW + seconds * 1000);
            expect(next).toBeLessThanOrEqual(NOW + 31 * HOUR);
            expect(next).toBeGreaterThanOrEqual(NOW + 90_000);
          }
        },
      ),
    );
  });
});
