/**
 * The season as an angle. Solar longitude counted from the local autumn equinox gives one number that means the same
 * season in both hemispheres: 0 autumn equinox, 90 winter solstice, 180 spring equinox, 270 summer solstice.
 */
import { sunCoordinates } from './ephemeris.js';
import { requireFinite, requireInRange, requireInstant, requireLatitude } from './guards.js';
import { MS_PER_86400_S, wrapDegrees } from './units.js';

/** Nearer to the equator than this a season angle means nothing (common practice, no published source). */
export const SEASONLESS_LATITUDE_DEG = 15;

/** Mean time the sun takes from March equinox to March equinox, days. Source: Meeus (1998), Table 27.B, for 2000. */
const TROPICAL_YEAR_DAYS = 365.24237;

/**
 * Apparent solar longitude. Source: Meeus (1998), ch. 25 with Table 27.C.
 * @param atMs UTC, ms
 * @returns degrees, 0-360; 0 = March equinox; within 0.001°
 * @throws PhysicsRangeError for NaN
 */
export function solarLongitudeDeg(atMs: number): number {
  return sunCoordinates(atMs).apparentLongitudeDeg;
}

/**
 * Apparent declination of the sun. Source: Meeus (1998), ch. 25.
 * @param atMs UTC, ms
 * @returns degrees, -23.5 to 23.5; within 0.0015°
 * @throws PhysicsRangeError for NaN
 */
export function solarDeclinationDeg(atMs: number): number {
  return sunCoordinates(atMs).declinationDeg;
}

/** Solar longitude of the local autumn equinox: September in the north, March in the south. */
function autumnLongitudeDeg(latitudeDeg: number): number | undefined {
  requireLatitude(latitudeDeg);
  if (Math.abs(latitudeDeg) < SEASONLESS_LATITUDE_DEG) return undefined;
  return latitudeDeg > 0 ? 180 : 0;
}

/**
 * Season angle: (longitude - 180) mod 360 in the north, longitude mod 360 in the south. Definition.
 * @param atMs UTC, ms
 * @param latitudeDeg degrees north, -90 to 90
 * @returns degrees, 0-360, or undefined within 15° of the equator, where only the plant can tell the season
 * @throws PhysicsRangeError for NaN or outside the range
 */
export function seasonAngleDeg(atMs: number, latitudeDeg: number): number | undefined {
  const autumn = autumnLongitudeDeg(latitudeDeg);
  return autumn === undefined ? undefined : wrapDegrees(solarLongitudeDeg(atMs) - autumn);
}

/**
 * Degrees to go forward in the year from one season angle to another.
 * @param fromDeg degrees, any
 * @param toDeg degrees, any
 * @returns degrees, 0 up to 360
 * @throws PhysicsRangeError for NaN
 */
export function seasonAngleAhead(fromDeg: number, toDeg: number): number {
  return wrapDegrees(requireFinite('toDeg', toDeg, 'degrees') - requireFinite('fromDeg', fromDeg, 'degrees'));
}

/**
 * Shortest way round the year between two season angles.
 * @param firstDeg degrees, any
 * @param secondDeg degrees, any
 * @returns degrees, 0-180
 * @throws PhysicsRangeError for NaN
 */
export function seasonAngleDistance(firstDeg: number, secondDeg: number): number {
  const ahead = seasonAngleAhead(firstDeg, secondDeg);
  return Math.min(ahead, 360 - ahead);
}

/** From and to, degrees of season angle. A window such as [330, 60] runs through 0; [0, 360] is the whole year. */
export type SeasonWindow = readonly [fromDeg: number, toDeg: number];

/**
 * Length of a window in degrees of season angle; a month is about 30.
 * @returns degrees, 0-360. Equal ends are a single moment (0), except that ends a whole turn apart are the year (360).
 * @throws PhysicsRangeError for NaN or an end outside 0 to 360
 */
export function seasonWindowLength([fromDeg, toDeg]: SeasonWindow): number {
  requireInRange('fromDeg', fromDeg, 'degrees', 0, 360);
  requireInRange('toDeg', toDeg, 'degrees', 0, 360);
  if (toDeg - fromDeg === 360) return 360;
  return seasonAngleAhead(fromDeg, toDeg);
}

/**
 * Whether a season angle lies in a window, both ends included.
 * @param angleDeg degrees, any
 * @param window see SeasonWindow
 * @throws PhysicsRangeError for NaN or an end outside 0 to 360
 */
export function withinSeasonWindow(angleDeg: number, window: SeasonWindow): boolean {
  return seasonAngleAhead(window[0], angleDeg) <= seasonWindowLength(window);
}

/**
 * The first instant at or after a given one at which the sun reaches a longitude. Newton's method on the ephemeris.
 * @param longitudeDeg degrees, any; 0 March equinox, 90 June solstice, 180 September equinox, 270 December solstice
 * @param notBeforeMs UTC, ms
 * @returns UTC, ms; within about 90 s of the published instants of equinox and solstice, 2020-2026
 * @throws PhysicsRangeError for NaN
 */
export function instantOfSolarLongitude(longitudeDeg: number, notBeforeMs: number): number {
  requireFinite('longitudeDeg', longitudeDeg, 'degrees');
  requireInstant('notBeforeMs', notBeforeMs);
  const msPerDegree = (TROPICAL_YEAR_DAYS * MS_PER_86400_S) / 360;
  let atMs = notBeforeMs + seasonAngleAhead(solarLongitudeDeg(notBeforeMs), longitudeDeg) * msPerDegree;
  for (let pass = 0; pass < 8; pass += 1) {
    const missingDeg = wrapDegrees(longitudeDeg - solarLongitudeDeg(atMs) + 180) - 180;
    atMs += missingDeg * msPerDegree;
  }
  return Math.max(notBeforeMs, Math.round(atMs));
}

/**
 * The first instant at or after a given one at which the season angle is reached: turns a window into dates.
 * @param angleDeg season angle, degrees, any
 * @param latitudeDeg degrees north, -90 to 90
 * @param notBeforeMs UTC, ms
 * @returns UTC, ms, or undefined within 15° of the equator
 * @throws PhysicsRangeError for NaN or outside the range
 */
export function instantOfSeasonAngle(angleDeg: number, latitudeDeg: number, notBeforeMs: number): number | undefined {
  const autumn = autumnLongitudeDeg(latitudeDeg);
  requireFinite('angleDeg', angleDeg, 'degrees');
  return autumn === undefined ? undefined : instantOfSolarLongitude(angleDeg + autumn, notBeforeMs);
}
