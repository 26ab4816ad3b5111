import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  extraterrestrialHorizontalWm2,
  extraterrestrialNormalWm2,
  faoDaylightHours,
  faoExtraterrestrialDailyMJm2,
  faoExtraterrestrialPeriodMJm2,
  faoHourAngleRad,
  faoSunsetHourAngleRad,
} from '../../src/science/extraterrestrial.js';
import { PhysicsRangeError } from '../../src/science/guards.js';

const latitude = fc.double({ min: -90, max: 90, noNaN: true });
const ordinal = fc.integer({ min: 1, max: 366 });

describe('FAO-56 form', () => {
  it('the hours of a day add up to the day, sunrise and sunset hours included', () => {
    fc.assert(
      fc.property(latitude, ordinal, (latitudeDeg, dayOfYear) => {
        let sum = 0;
        for (let hour = 0; hour < 24; hour += 1) {
          const middle = ((hour + 0.5 - 12) * Math.PI) / 12;
          sum += faoExtraterrestrialPeriodMJm2(latitudeDeg, dayOfYear, middle, 1);
        }
        expect(sum).toBeCloseTo(faoExtraterrestrialDailyMJm2(latitudeDeg, dayOfYear), 8);
      }),
    );
  });

  it('daylight of mirrored latitudes adds up to 24 hours, on every day of the year', () => {
    fc.assert(
      fc.property(latitude, ordinal, (latitudeDeg, dayOfYear) => {
        const both = faoDaylightHours(latitudeDeg, dayOfYear) + faoDaylightHours(-latitudeDeg, dayOfYear);
        expect(both).toBeCloseTo(24, 6);
        expect(faoSunsetHourAngleRad(latitudeDeg, dayOfYear)).toBeGreaterThanOrEqual(0);
        expect(faoSunsetHourAngleRad(latitudeDeg, dayOfYear)).toBeLessThanOrEqual(Math.PI);
      }),
    );
  });

  it('the hour angle is zero near noon by the sun, and wraps at midnight', () => {
    // Longitude 15° west, noon by the mean sun is 13:00 UTC; the equation of time is at most 17 minutes (0.074 rad).
    expect(Math.abs(faoHourAngleRad(13, -15, 300))).toBeLessThan(0.075);
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 24, noNaN: true }),
        fc.double({ min: -180, max: 180, noNaN: true }),
        ordinal,
        (hours, longitudeDeg, dayOfYear) => {
          expect(Math.abs(faoHourAngleRad(hours, longitudeDeg, dayOfYear))).toBeLessThanOrEqual(Math.PI + 1e-12);
        },
      ),
    );
  });
});

describe('ephemeris form', () => {
  /** Whole-day energy by ten-minute steps, MJ/m². */
  function summed(dayStartMs: number, latitudeDeg: number): number {
    let joules = 0;
    for (let step = 0; step < 144; step += 1) {
      joules += extraterrestrialHorizontalWm2(dayStartMs + (step + 0.5) * 600_000, latitudeDeg, 0) * 600;
    }
    return joules / 1e6;
  }

  it('differs from the FAO form by what its declination error makes: 1 % at the equator, 3.5 % at 35° over the year', () => {
    for (let dayOfYear = 5; dayOfYear <= 365; dayOfYear += 15) {
      const start = Date.UTC(2026, 0, 1) + (dayOfYear - 1) * 86_400_000;
      for (const [latitudeDeg, limit] of [
        [0, 0.01],
        [20, 0.02],
        [35, 0.035],
        [-35, 0.035],
      ] as const) {
        const ratio = faoExtraterrestrialDailyMJm2(latitudeDeg, dayOfYear) / summed(start, latitudeDeg);
        expect(Math.abs(ratio - 1), `${latitudeDeg}, day ${dayOfYear}`).toBeLessThan(limit);
      }
    }
  });

  it('facing the sun it is greatest in early January and least in early July', () => {
    expect(extraterrestrialNormalWm2(Date.UTC(2026, 0, 3))).toBeCloseTo(1366.1 / 0.98333 ** 2, 0);
    expect(extraterrestrialNormalWm2(Date.UTC(2026, 6, 6))).toBeCloseTo(1366.1 / 1.01664 ** 2, 0);
    expect(extraterrestrialHorizontalWm2(Date.UTC(2026, 0, 1, 0), 50, 0)).toBe(0);
  });
});

describe('refusals', () => {
  it('NaN and impossible days are refused with a named error', () => {
    for (const call of [
      () => faoExtraterrestrialDailyMJm2(Number.NaN, 100),
      () => faoExtraterrestrialDailyMJm2(40, Number.NaN),
      () => faoExtraterrestrialDailyMJm2(40, 367),
      () => faoExtraterrestrialPeriodMJm2(40, 100, Number.NaN, 1),
      () => faoExtraterrestrialPeriodMJm2(40, 100, 0, 0),
      () => faoHourAngleRad(25, 0, 100),
      () => extraterrestrialNormalWm2(Number.NaN),
      () => extraterrestrialHorizontalWm2(0, Number.NaN, 0),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
  });
});
