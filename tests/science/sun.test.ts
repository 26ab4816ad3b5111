import {
  SunPosition as AstronomySunPosition,
  Body,
  Equator,
  Horizon,
  Observer,
  SearchAltitude,
} from 'astronomy-engine';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { sunCoordinates } from '../../src/science/ephemeris.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { dayLengthHours, sunPosition, sunTimes } from '../../src/science/sun.js';

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
const latitudes = [-64.9, -45, -33.87, -23.5, 0, 30, 39.74, 51.5, 60, 64.9];
const longitudes = [-118.8, -3.7, 18.42, 75, 151.2];

/** Instants spread over 2020-2030 by a step that visits every hour and season. */
function instants(count: number): number[] {
  const from = Date.UTC(2020, 0, 1);
  const step = (Date.UTC(2031, 0, 1) - from) / count;
  return Array.from({ length: count }, (_, index) => Math.round(from + index * step));
}

describe('against astronomy-engine 2.1.19 (VSOP87), 2020-2030', () => {
  it('geometric altitude within 0.02°, azimuth within 0.02° of arc on the sky', () => {
    for (const latitudeDeg of latitudes) {
      instants(1500).forEach((atMs, index) => {
        const longitudeDeg = longitudes[index % longitudes.length] ?? 0;
        const observer = new Observer(latitudeDeg, longitudeDeg, 0);
        const date = new Date(atMs);
        const place = Equator(Body.Sun, date, observer, true, true);
        const reference = Horizon(date, observer, place.ra, place.dec);
        const ours = sunPosition(atMs, latitudeDeg, longitudeDeg);
        const label = `${date.toISOString()} at ${latitudeDeg}, ${longitudeDeg}`;
        // The reference is topocentric; solar parallax is at most 0.0024°.
        expect(Math.abs(ours.altitudeDeg - reference.altitude), label).toBeLessThan(0.02);
        const turn = Math.abs(((ours.azimuthDeg - reference.azimuth + 540) % 360) - 180);
        expect(turn * Math.cos((reference.altitude * Math.PI) / 180), label).toBeLessThan(0.02);
      });
    }
  });

  it('sunrise and sunset within 10 s below 65° latitude, both hemispheres', () => {
    const days = instants(240);
    for (const latitudeDeg of latitudes) {
      for (const [index, dayMs] of days.entries()) {
        const longitudeDeg = longitudes[index % longitudes.length] ?? 0;
        const solarNoon = Math.floor(dayMs / DAY_MS) * DAY_MS + 12 * HOUR_MS - (longitudeDeg / 15) * HOUR_MS;
        const observer = new Observer(latitudeDeg, longitudeDeg, 0);
        const { sunriseMs, sunsetMs } = sunTimes(solarNoon, latitudeDeg, longitudeDeg);
        const rise = SearchAltitude(Body.Sun, observer, +1, new Date(solarNoon - 12.3 * HOUR_MS), 1, -0.833);
        const set = SearchAltitude(Body.Sun, observer, -1, new Date(solarNoon), 1, -0.833);
        const label = `${new Date(solarNoon).toISOString()} at ${latitudeDeg}`;
        expect(Math.abs((sunriseMs ?? Number.NaN) - (rise?.date.getTime() ?? Number.NaN)), label).toBeLessThan(10_000);
        expect(Math.abs((sunsetMs ?? Number.NaN) - (set?.date.getTime() ?? Number.NaN)), label).toBeLessThan(10_000);
      }
    }
  });

  it('solar longitude within 0.001°, declination and distance close', () => {
    for (const atMs of instants(3000)) {
      const ours = sunCoordinates(atMs);
      const date = new Date(atMs);
      const longitudeError = ((ours.apparentLongitudeDeg - AstronomySunPosition(date).elon + 540) % 360) - 180;
      expect(Math.abs(longitudeError), date.toISOString()).toBeLessThan(0.001);
      const place = Equator(Body.Sun, date, new Observer(0, 0, 0), true, true);
      expect(Math.abs(ours.declinationDeg - place.dec)).toBeLessThan(0.0035);
      expect(Math.abs(ours.distanceAu - place.dist)).toBeLessThan(0.0002);
    }
  });
});

describe('the traps of the sun library', () => {
  it('answers for the local day of the civil noon, also where clocks run ahead of the sun', () => {
    // Madrid in summer: clocks two hours and a quarter ahead. Local noon of 15 July is 10:00 UTC.
    const { sunriseMs, sunsetMs } = sunTimes(Date.UTC(2026, 6, 15, 10), 40.42, -3.7);
    expect(new Date(sunriseMs ?? 0).toISOString().slice(0, 10)).toBe('2026-07-15');
    expect(new Date(sunsetMs ?? 0).toISOString().slice(0, 10)).toBe('2026-07-15');
    // And at the edge of the world's zones: Apia's 15 July noon (UTC+13) is 23:00 UTC of the 14th.
    const apia = sunTimes(Date.UTC(2026, 6, 14, 23), -13.83, -171.77);
    const clock = (ms: number | null) => new Date((ms ?? 0) + 13 * HOUR_MS).toISOString();
    expect(clock(apia.sunriseMs).slice(0, 10)).toBe('2026-07-15');
    expect(clock(apia.sunsetMs).slice(0, 10)).toBe('2026-07-15');
  });

  it('night altitudes carry no refraction', () => {
    const observer = new Observer(51.5, 0, 0);
    const atMs = Date.UTC(2026, 11, 21, 0);
    const place = Equator(Body.Sun, new Date(atMs), observer, true, true);
    const reference = Horizon(new Date(atMs), observer, place.ra, place.dec).altitude;
    const ours = sunPosition(atMs, 51.5, 0);
    expect(Math.abs(ours.altitudeDeg - reference)).toBeLessThan(0.02);
    expect(ours.apparentAltitudeDeg).toBe(ours.altitudeDeg);
  });

  it('the geometric altitude plus refraction is the apparent altitude', () => {
    // Meeus (1998), Eq. 16.4: 1.02 / tan(h + 10.3 / (h + 5.11)) arc minutes.
    for (let hour = 4; hour < 20; hour += 0.25) {
      const { altitudeDeg, apparentAltitudeDeg } = sunPosition(Date.UTC(2026, 5, 21) + hour * HOUR_MS, 45, 0);
      if (altitudeDeg < 0) continue;
      const refraction = 1.02 / Math.tan(((altitudeDeg + 10.3 / (altitudeDeg + 5.11)) * Math.PI) / 180) / 60;
      expect(Math.abs(apparentAltitudeDeg - altitudeDeg - refraction)).toBeLessThan(0.003);
    }
  });

  it('polar day and night are said, not guessed', () => {
    const summer = sunTimes(Date.UTC(2026, 5, 21, 10), 69.65, 18.96);
    expect(summer).toMatchObject({ sunriseMs: null, sunsetMs: null, alwaysUp: true, alwaysDown: false });
    expect(dayLengthHours(summer)).toBe(24);
    const winter = sunTimes(Date.UTC(2026, 11, 21, 11), 69.65, 18.96);
    expect(winter).toMatchObject({ sunriseMs: null, sunsetMs: null, alwaysUp: false, alwaysDown: true });
    expect(dayLengthHours(winter)).toBe(0);
  });

  it('NaN and places off the globe are refused with a named error', () => {
    expect(() => sunPosition(Number.NaN, 50, 0)).toThrow(PhysicsRangeError);
    expect(() => sunPosition(0, 91, 0)).toThrow(/latitudeDeg must be a number from -90 to 90 degrees, but 91 came/);
    expect(() => sunTimes(0, 50, 181)).toThrow(PhysicsRangeError);
    expect(() => sunTimes(Number.NaN, 50, 0)).toThrow(PhysicsRangeError);
    expect(() => sunCoordinates(Number.POSITIVE_INFINITY)).toThrow(PhysicsRangeError);
  });
});

describe('properties', () => {
  it('noon lies midway between rise and set to a few minutes, and the sun is highest there', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2040, 0, 1) }),
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.double({ min: -180, max: 180, noNaN: true }),
        (atMs, latitudeDeg, longitudeDeg) => {
          const times = sunTimes(atMs, latitudeDeg, longitudeDeg);
          const { sunriseMs, sunsetMs, solarNoonMs } = times;
          if (sunriseMs === null || sunsetMs === null) throw new Error('no polar day below 60°');
          expect(Math.abs((sunriseMs + sunsetMs) / 2 - solarNoonMs)).toBeLessThan(4 * 60_000);
          expect(dayLengthHours(times)).toBeGreaterThan(5);
          expect(dayLengthHours(times)).toBeLessThan(19.5);
          const noon = sunPosition(solarNoonMs, latitudeDeg, longitudeDeg).altitudeDeg;
          for (const apart of [-3, -1, 1, 3]) {
            const other = sunPosition(solarNoonMs + apart * HOUR_MS, latitudeDeg, longitudeDeg).altitudeDeg;
            expect(other).toBeLessThan(noon);
          }
        },
      ),
    );
  });
});
