import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../src/science/guards.js';
import {
  instantOfSeasonAngle,
  instantOfSolarLongitude,
  seasonAngleAhead,
  seasonAngleDeg,
  seasonAngleDistance,
  seasonWindowLength,
  solarDeclinationDeg,
  solarLongitudeDeg,
  withinSeasonWindow,
} from '../../src/science/season.js';

const instant = fc.integer({ min: Date.UTC(1990, 0, 1), max: Date.UTC(2060, 0, 1) });
// Whole hundredths: windows are written by people, and denormal numbers would test rounding only.
const angle = fc.integer({ min: 0, max: 35_999 }).map((hundredths) => hundredths / 100);

describe('season angle', () => {
  it('is 0, 90, 180, 270 at the local autumn equinox, winter solstice, spring equinox, summer solstice', () => {
    // Instants: US Naval Observatory, Earth's Seasons 2026.
    const march = Date.parse('2026-03-20T14:46Z');
    const june = Date.parse('2026-06-21T08:24Z');
    const september = Date.parse('2026-09-23T00:05Z');
    const december = Date.parse('2026-12-21T20:50Z');
    const near = (atMs: number, latitudeDeg: number, expected: number) =>
      expect(seasonAngleDistance(seasonAngleDeg(atMs, latitudeDeg) ?? Number.NaN, expected)).toBeLessThan(0.01);
    near(september, 45, 0);
    near(december, 45, 90);
    near(march, 45, 180);
    near(june, 45, 270);
    near(march, -45, 0);
    near(june, -45, 90);
    near(september, -45, 180);
    near(december, -45, 270);
  });

  it('is undefined within 15° of the equator and defined from there', () => {
    const atMs = Date.UTC(2026, 3, 1);
    for (const latitudeDeg of [0, 14.99, -14.99]) expect(seasonAngleDeg(atMs, latitudeDeg)).toBeUndefined();
    for (const latitudeDeg of [15, -15, 90, -90]) expect(seasonAngleDeg(atMs, latitudeDeg)).toBeDefined();
    expect(instantOfSeasonAngle(90, 3, atMs)).toBeUndefined();
  });

  it('mirrored hemispheres differ by exactly half a turn at one instant', () => {
    fc.assert(
      fc.property(instant, fc.double({ min: 15, max: 90, noNaN: true }), (atMs, latitudeDeg) => {
        const north = seasonAngleDeg(atMs, latitudeDeg) ?? Number.NaN;
        const south = seasonAngleDeg(atMs, -latitudeDeg) ?? Number.NaN;
        expect(seasonAngleDistance(north, south)).toBeCloseTo(180, 9);
      }),
    );
  });

  it('does not depend on how far north the site is', () => {
    fc.assert(
      fc.property(instant, fc.double({ min: 15, max: 90, noNaN: true }), (atMs, latitudeDeg) => {
        expect(seasonAngleDeg(atMs, latitudeDeg)).toBe(seasonAngleDeg(atMs, 15));
      }),
    );
  });

  it('moves 0.95° to 1.02° in 24 hours (Kepler: slowest in July, fastest in January)', () => {
    fc.assert(
      fc.property(instant, (atMs) => {
        const moved = seasonAngleAhead(solarLongitudeDeg(atMs), solarLongitudeDeg(atMs + 86_400_000));
        expect(moved).toBeGreaterThan(0.95);
        expect(moved).toBeLessThan(1.022);
      }),
    );
  });
});

describe('windows', () => {
  it('wrap through zero and include both ends', () => {
    expect(withinSeasonWindow(345, [330, 60])).toBe(true);
    expect(withinSeasonWindow(0, [330, 60])).toBe(true);
    expect(withinSeasonWindow(330, [330, 60])).toBe(true);
    expect(withinSeasonWindow(60, [330, 60])).toBe(true);
    expect(withinSeasonWindow(61, [330, 60])).toBe(false);
    expect(withinSeasonWindow(200, [330, 60])).toBe(false);
    expect(withinSeasonWindow(100, [90, 120])).toBe(true);
    expect(withinSeasonWindow(123.4, [0, 360])).toBe(true);
    expect(seasonWindowLength([330, 60])).toBe(90);
    expect(seasonWindowLength([0, 360])).toBe(360);
  });

  it('a window and the rest of the year hold every angle, and only the ends twice', () => {
    fc.assert(
      fc.property(angle, angle, angle, (from, to, at) => {
        fc.pre(from !== to);
        const inside = withinSeasonWindow(at, [from, to]);
        const outside = withinSeasonWindow(at, [to, from]);
        expect(inside || outside).toBe(true);
        if (inside && outside)
          expect(Math.min(seasonAngleDistance(at, from), seasonAngleDistance(at, to))).toBeLessThan(1e-9);
      }),
    );
  });

  it('distance is symmetric, at most 180, and obeys the triangle rule', () => {
    fc.assert(
      fc.property(angle, angle, angle, (a, b, c) => {
        expect(seasonAngleDistance(a, b)).toBeCloseTo(seasonAngleDistance(b, a), 9);
        expect(seasonAngleDistance(a, b)).toBeLessThanOrEqual(180);
        expect(seasonAngleDistance(a, c)).toBeLessThanOrEqual(
          seasonAngleDistance(a, b) + seasonAngleDistance(b, c) + 1e-9,
        );
      }),
    );
  });
});

describe('dates of a season angle', () => {
  it('is the first instant at or after, and the angle holds there', () => {
    fc.assert(
      fc.property(angle, instant, fc.constantFrom(-50, 40), (angleDeg, fromMs, latitudeDeg) => {
        const atMs = instantOfSeasonAngle(angleDeg, latitudeDeg, fromMs) ?? Number.NaN;
        expect(atMs).toBeGreaterThanOrEqual(fromMs);
        expect(atMs - fromMs).toBeLessThan(366.5 * 86_400_000);
        expect(seasonAngleDistance(seasonAngleDeg(atMs, latitudeDeg) ?? Number.NaN, angleDeg)).toBeLessThan(1e-4);
      }),
    );
  });

  it('declination is zero at the equinoxes and the obliquity at the solstices', () => {
    const from = Date.UTC(2026, 0, 1);
    expect(Math.abs(solarDeclinationDeg(instantOfSolarLongitude(0, from)))).toBeLessThan(0.001);
    expect(solarDeclinationDeg(instantOfSolarLongitude(90, from))).toBeCloseTo(23.436, 2);
    expect(solarDeclinationDeg(instantOfSolarLongitude(270, from))).toBeCloseTo(-23.436, 2);
  });
});

describe('refusals', () => {
  it('NaN and impossible windows are refused with a named error', () => {
    for (const call of [
      () => solarLongitudeDeg(Number.NaN),
      () => seasonAngleDeg(0, Number.NaN),
      () => seasonAngleDeg(Number.NaN, 40),
      () => seasonAngleDistance(Number.NaN, 10),
      () => withinSeasonWindow(Number.NaN, [0, 10]),
      () => withinSeasonWindow(5, [Number.NaN, 10]),
      () => withinSeasonWindow(5, [-10, 10]),
      () => instantOfSolarLongitude(Number.NaN, 0),
      () => instantOfSeasonAngle(10, 40, Number.NaN),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
  });
});
