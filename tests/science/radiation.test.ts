import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { extraterrestrialHorizontalWm2, faoExtraterrestrialDailyMJm2 } from '../../src/science/extraterrestrial.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import {
  asceClearSkyMJm2,
  clearSkyAt,
  clearSkyEnergyMJm2,
  cloudinessFactor,
  cloudyRadiationShare,
  erbsDiffuseSplit,
  faoClearSkyMJm2,
  haurwitzClearSkyWm2,
  ineichenClearSky,
  netLongwaveDailyMJm2,
  netLongwaveHourlyMJm2,
  radiationFromSunshineMJm2,
  radiationFromTemperatureMJm2,
  relativeAirMass,
} from '../../src/science/radiation.js';
import { sunTimes } from '../../src/science/sun.js';

const instant = fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2031, 0, 1) });
const place = fc.record({
  latitudeDeg: fc.double({ min: -65, max: 65, noNaN: true }),
  longitudeDeg: fc.double({ min: -180, max: 180, noNaN: true }),
  elevationM: fc.double({ min: 0, max: 3000, noNaN: true }),
});

describe('clear sky', () => {
  it('stays below the light above the atmosphere, is zero by night, and its parts add up', () => {
    fc.assert(
      fc.property(instant, place, (atMs, where) => {
        const sky = clearSkyAt(atMs, where);
        const above = extraterrestrialHorizontalWm2(atMs, where.latitudeDeg, where.longitudeDeg);
        // Right at the horizon refraction lets through a few watts of a sun that is geometrically down.
        expect(sky.globalWm2).toBeLessThanOrEqual(above + 12);
        expect(sky.globalWm2).toBeGreaterThanOrEqual(0);
        expect(sky.diffuseWm2).toBeGreaterThanOrEqual(-1e-9);
        expect(sky.diffuseWm2).toBeLessThanOrEqual(sky.globalWm2 + 1e-9);
        if (above === 0) expect(sky.globalWm2).toBeLessThan(12);
      }),
    );
  });

  it('falls with turbidity, rises with the sun; Haurwitz and Ineichen agree within 6 % from 25° up on clean lowland air', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 10, max: 85, noNaN: true }),
        fc.double({ min: 1.5, max: 6, noNaN: true }),
        (altitude, turbidity) => {
          const at = (apparentAltitudeDeg: number, linkeTurbidity: number) =>
            ineichenClearSky({
              apparentAltitudeDeg,
              airMassAbsolute: relativeAirMass(apparentAltitudeDeg),
              linkeTurbidity,
              elevationM: 0,
              extraterrestrialNormalWm2: 1366.1,
            }).globalWm2;
          expect(at(altitude, turbidity + 0.5)).toBeLessThan(at(altitude, turbidity));
          expect(at(altitude + 2, turbidity)).toBeGreaterThan(at(altitude, turbidity));
          expect(haurwitzClearSkyWm2(altitude + 2)).toBeGreaterThan(haurwitzClearSkyWm2(altitude));
          if (altitude >= 25) expect(Math.abs(haurwitzClearSkyWm2(altitude) / at(altitude, 3) - 1)).toBeLessThan(0.06);
        },
      ),
    );
  });

  it('the day summed from it agrees with FAO-56 Eq. 37 within 5 % in the summer months', () => {
    // Two independent models of the same thing. The FAO form takes a flat share whatever the sun's height, so it is too
    // bright for low winter suns (25 % at 45° in December), where no comparison is made.
    for (const { month, ordinal, latitudes } of [
      { month: 5, ordinal: 166, latitudes: [20, 35, 45] },
      { month: 11, ordinal: 349, latitudes: [-20, -35, -45] },
    ]) {
      for (const latitudeDeg of latitudes) {
        const { sunriseMs, sunsetMs } = sunTimes(Date.UTC(2025, month, 15, 12), latitudeDeg, 0);
        const day = { latitudeDeg, longitudeDeg: 0, elevationM: 100 };
        const summed = clearSkyEnergyMJm2(sunriseMs ?? Number.NaN, sunsetMs ?? Number.NaN, day);
        const simple = faoClearSkyMJm2(faoExtraterrestrialDailyMJm2(latitudeDeg, ordinal), 100);
        expect(Math.abs(summed / simple - 1), `${latitudeDeg}, day ${ordinal}`).toBeLessThan(0.05);
      }
    }
  });

  it('mirrored places half a year apart get the same light, apart from the distance of the sun', () => {
    // June and December solstices 2026 (US Naval Observatory); the distance alone makes 6.7 % in energy.
    const june = clearSkyEnergyMJm2(Date.UTC(2026, 5, 21), Date.UTC(2026, 5, 22), {
      latitudeDeg: 40,
      longitudeDeg: 0,
      elevationM: 0,
    });
    const december = clearSkyEnergyMJm2(Date.UTC(2026, 11, 21, 12), Date.UTC(2026, 11, 22, 12), {
      latitudeDeg: -40,
      longitudeDeg: 0,
      elevationM: 0,
    });
    expect(december / june).toBeGreaterThan(1.05);
    expect(december / june).toBeLessThan(1.085);
  });
});

describe('direct and diffuse', () => {
  it('the parts are not negative, add up, and dull skies are more diffuse', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 3, max: 90, noNaN: true }),
        fc.double({ min: 0, max: 1100, noNaN: true }),
        (altitudeDeg, globalWm2) => {
          const split = erbsDiffuseSplit(globalWm2, altitudeDeg, 1366);
          expect(split.directNormalWm2).toBeGreaterThanOrEqual(0);
          expect(split.diffuseWm2 + split.directNormalWm2 * Math.sin((altitudeDeg * Math.PI) / 180)).toBeCloseTo(
            globalWm2,
            9,
          );
          expect(split.clearnessIndex).toBeLessThanOrEqual(1);
        },
      ),
    );
    const share = (globalWm2: number) => erbsDiffuseSplit(globalWm2, 60, 1366).diffuseWm2 / globalWm2;
    expect(share(150)).toBeGreaterThan(share(500));
    expect(share(500)).toBeGreaterThan(share(850));
  });

  it('a sun near the horizon does not make a dull sky clear: cos z is held at 0.065 in the clearness index', () => {
    expect(erbsDiffuseSplit(20, 3.2, 1366).clearnessIndex).toBeCloseTo(20 / (1366 * 0.065), 12);
    expect(erbsDiffuseSplit(20, 0.1, 1366).clearnessIndex).toBeLessThan(0.3);
  });

  it('with the sun down everything is diffuse', () => {
    expect(erbsDiffuseSplit(4, -2, 1366)).toMatchObject({ directNormalWm2: 0, diffuseWm2: 4 });
  });
});

describe('net radiation and substitutes', () => {
  it('an hour loses a twenty-fourth of a day at the same temperature', () => {
    expect(24 * netLongwaveHourlyMJm2(18, 1.4, 0.8)).toBeCloseTo(netLongwaveDailyMJm2(18, 18, 1.4, 0.8), 12);
  });

  it('cloud holds warmth back, within the published limits', () => {
    // ASCE-EWRI (2005), Eq. 18: Rs/Rso from 0.3 to 1.
    expect(cloudinessFactor(0)).toBeCloseTo(0.055, 12);
    expect(cloudinessFactor(1)).toBeCloseTo(1, 12);
    expect(cloudinessFactor(1.3)).toBeCloseTo(1, 12);
  });

  it('radiation from temperature never exceeds the clear sky given', () => {
    expect(radiationFromTemperatureMJm2(0, 36, 40, 0.16, 30)).toBe(30);
    expect(radiationFromTemperatureMJm2(10, 10, 40, 0.16, 30)).toBe(0);
  });

  it('vapour in the air dims the full clear sky', () => {
    expect(asceClearSkyMJm2(40, 0.8, 3, 101)).toBeLessThan(asceClearSkyMJm2(40, 0.8, 1, 101));
    expect(asceClearSkyMJm2(1, -0.1, 1, 101)).toBe(0);
  });
});

describe('refusals', () => {
  it('NaN and impossible skies are refused with a named error', () => {
    for (const call of [
      () => haurwitzClearSkyWm2(Number.NaN),
      () => relativeAirMass(-1),
      () => clearSkyAt(Number.NaN, { latitudeDeg: 0, longitudeDeg: 0, elevationM: 0 }),
      () => clearSkyAt(0, { latitudeDeg: 0, longitudeDeg: 0, elevationM: Number.NaN }),
      () => clearSkyAt(0, { latitudeDeg: 0, longitudeDeg: 0, elevationM: 0, linkeTurbidity: 0.5 }),
      () => clearSkyEnergyMJm2(10, 0, { latitudeDeg: 0, longitudeDeg: 0, elevationM: 0 }),
      () => erbsDiffuseSplit(Number.NaN, 40, 1366),
      () => radiationFromSunshineMJm2(13, 12, 30),
      () => radiationFromTemperatureMJm2(20, 10, 30, 0.16),
      () => radiationFromTemperatureMJm2(10, 20, 30, 0.16, Number.NaN),
      () => cloudinessFactor(Number.NaN),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
  });
});

describe('radiation under cloud', () => {
  it('gives the shares of Kasten & Czeplak (1980): all of it at 0, 0.929 at 4, 0.524 at 7, a quarter at 8 eighths', () => {
    // 1 - 0.75 (N/8)^3.4, worked by hand: 0.5^3.4 = 0.09473, 0.875^3.4 = 0.63508.
    const share = (eighths: number) => cloudyRadiationShare((100 * eighths) / 8);
    expect(share(0)).toBe(1);
    expect(share(4)).toBeCloseTo(0.92895, 4);
    expect(share(7)).toBeCloseTo(0.52369, 4);
    expect(share(8)).toBe(0.25);
  });

  it('refuses covers that cannot be', () => {
    for (const cover of [-1, 101, Number.NaN]) expect(() => cloudyRadiationShare(cover)).toThrow(PhysicsRangeError);
  });
});
