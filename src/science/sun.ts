/**
 * Sun position and times over suncalc 2.0.2, with its traps closed:
 * - getTimes answers for the local mean solar noon nearest to its input, so local midnight gets yesterday's events
 *   wherever clocks run ahead of the sun. Callers here pass local civil noon, and the parameter is named for it.
 * - getPosition always adds refraction, below the horizon too (a constant 0.484°). It is taken off again.
 * - Degrees with azimuth clockwise from north in version 2; radians from south in version 1. The version is pinned.
 * - Invalid dates give NaN and invalid places are accepted. Both are refused here.
 * - addTime changes the library for everyone. It is not used.
 */
import { getPosition, getTimes } from 'suncalc';
import { requireInstant, requireLatitude, requireLongitude } from './guards.js';
import { MS_PER_HOUR, toDegrees, toRadians } from './units.js';

export interface SunPosition {
  /** Geometric altitude of the centre of the disc, degrees; negative below the horizon. For irradiance and twilight. */
  readonly altitudeDeg: number;
  /** Altitude as seen through the standard atmosphere, degrees; equals the geometric one when the sun is well down. */
  readonly apparentAltitudeDeg: number;
  /** Degrees clockwise from north, 0-360. */
  readonly azimuthDeg: number;
}

/**
 * Refraction in the form and with the constants of suncalc. Source: Meeus (1998), Eq. 16.4 (Saemundsson):
 * 1.02 / tan(h + 10.26 / (h + 5.10)) arc minutes, standard pressure and temperature.
 * @param altitudeDeg geometric altitude, degrees; below 0 the value at 0 is used, as the library does
 * @returns degrees, 0 to 0.484
 */
function libraryRefractionDeg(altitudeDeg: number): number {
  const h = Math.max(0, toRadians(altitudeDeg));
  return toDegrees(0.0002967 / Math.tan(h + 0.00312536 / (h + 0.08901179)));
}

const REFRACTION_AT_HORIZON_DEG = libraryRefractionDeg(0);

/** Takes the library's refraction off an apparent altitude. Exact below the horizon, within 1e-6° above. */
function withoutRefractionDeg(apparentAltitudeDeg: number): number {
  if (apparentAltitudeDeg <= REFRACTION_AT_HORIZON_DEG) return apparentAltitudeDeg - REFRACTION_AT_HORIZON_DEG;
  let altitudeDeg = apparentAltitudeDeg;
  // Refraction changes by at most 0.09° per degree, so each pass gains a digit.
  for (let pass = 0; pass < 8; pass += 1) altitudeDeg = apparentAltitudeDeg - libraryRefractionDeg(altitudeDeg);
  return altitudeDeg;
}

/**
 * Where the sun stands. Source: Meeus (1998), ch. 13, 16 and 25, through suncalc 2.0.2.
 * Geometric altitude within 0.02° of a VSOP87 ephemeris from 2020 to 2030.
 * @param atMs UTC, ms
 * @param latitudeDeg degrees north, -90 to 90
 * @param longitudeDeg degrees east, -180 to 180
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function sunPosition(atMs: number, latitudeDeg: number, longitudeDeg: number): SunPosition {
  requireInstant('atMs', atMs);
  requireLatitude(latitudeDeg);
  requireLongitude(longitudeDeg);
  const position = getPosition(new Date(atMs), latitudeDeg, longitudeDeg);
  const altitudeDeg = withoutRefractionDeg(position.altitude);
  // Air bends light only while the disc is near or above the horizon; half a degree further down nothing is seen.
  const seen = altitudeDeg > -1;
  return {
    altitudeDeg,
    apparentAltitudeDeg: seen ? position.altitude : altitudeDeg,
    azimuthDeg: position.azimuth,
  };
}

export interface SunTimes {
  /** Upper limb on a sea horizon (centre at -0.833°), UTC ms; null when the sun does not cross it that day. */
  readonly sunriseMs: number | null;
  readonly sunsetMs: number | null;
  /** Highest sun, UTC ms. */
  readonly solarNoonMs: number;
  /** The sun stays above -0.833° all day. */
  readonly alwaysUp: boolean;
  /** The sun stays below -0.833° all day. */
  readonly alwaysDown: boolean;
}

/**
 * Sunrise, sunset and solar noon of one local day. Source: Meeus (1998), ch. 15, through suncalc 2.0.2; the -0.833°
 * convention of the US Naval Observatory. Within 10 s of a VSOP87 ephemeris below 65° latitude; from 65° on a grazing
 * sun makes the instants uncertain by minutes.
 * @param civilNoonMs 12:00 by the clock on the wanted local day, UTC ms. Not midnight: see the note on traps above.
 * @param latitudeDeg degrees north, -90 to 90
 * @param longitudeDeg degrees east, -180 to 180
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function sunTimes(civilNoonMs: number, latitudeDeg: number, longitudeDeg: number): SunTimes {
  requireInstant('civilNoonMs', civilNoonMs);
  requireLatitude(latitudeDeg);
  requireLongitude(longitudeDeg);
  const times = getTimes(new Date(civilNoonMs), latitudeDeg, longitudeDeg);
  return {
    sunriseMs: times.sunrise?.getTime() ?? null,
    sunsetMs: times.sunset?.getTime() ?? null,
    solarNoonMs: times.solarNoon.getTime(),
    alwaysUp: times.alwaysUp === true,
    alwaysDown: times.alwaysDown === true,
  };
}

/**
 * Length of the day from sunrise to sunset, hours; 24 and 0 in the polar seasons.
 * Longer than the FAO-56 daylight hours (Eq. 34), which leave out refraction and the disc: never mix the two.
 */
export function dayLengthHours(times: SunTimes): number {
  if (times.alwaysUp) return 24;
  if (times.alwaysDown || times.sunriseMs === null || times.sunsetMs === null) return 0;
  return (times.sunsetMs - times.sunriseMs) / MS_PER_HOUR;
}
