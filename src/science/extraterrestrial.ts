/**
 * Sunlight above the atmosphere, in two forms that must not be mixed. The FAO-56 form (day of year) reproduces published
 * reference evaporation; its declination is up to 1.3° off. The ephemeris form serves clear-sky light and shading.
 */
import { sunCoordinates } from './ephemeris.js';
import { clamp, requireInRange, requireLatitude, requirePositive } from './guards.js';
import { sunPosition } from './sun.js';
import { toRadians } from './units.js';

/** Solar constant of FAO-56, MJ/m² per minute (1366.7 W/m²). Source: FAO-56 (1998), Eq. 21. */
const SOLAR_CONSTANT_MJ_PER_M2_MIN = 0.082;

/** Solar constant for the ephemeris form, W/m². Source: the value usual in clear-sky work (Gueymard 2004). */
export const SOLAR_CONSTANT_WM2 = 1366.1;

function requireDayOfYear(dayOfYear: number): number {
  return requireInRange('dayOfYear', dayOfYear, 'day', 1, 366);
}

/** Inverse relative distance Earth-sun. Source: FAO-56, Eq. 23. @param dayOfYear 1-366 */
export function faoInverseRelativeDistance(dayOfYear: number): number {
  return 1 + 0.033 * Math.cos((2 * Math.PI * requireDayOfYear(dayOfYear)) / 365);
}

/** Declination, radians. Source: FAO-56, Eq. 24; up to 1.27° off in September. @param dayOfYear 1-366 */
export function faoDeclinationRad(dayOfYear: number): number {
  return 0.409 * Math.sin((2 * Math.PI * requireDayOfYear(dayOfYear)) / 365 - 1.39);
}

/**
 * Sunset hour angle: arccos(-tan(latitude) tan(declination)), the argument held in [-1, 1] for the polar seasons.
 * Source: FAO-56, Eq. 25; limits as in ASCE-EWRI (2005).
 * @param latitudeDeg degrees north
 * @param dayOfYear 1-366
 * @returns radians, 0 (polar night) to pi (polar day)
 */
export function faoSunsetHourAngleRad(latitudeDeg: number, dayOfYear: number): number {
  const latitude = toRadians(requireLatitude(latitudeDeg));
  return Math.acos(clamp(-Math.tan(latitude) * Math.tan(faoDeclinationRad(dayOfYear)), -1, 1));
}

/** Daylight hours N = 24 / pi x sunset hour angle, centre of the disc, no refraction. Source: FAO-56, Eq. 34. */
export function faoDaylightHours(latitudeDeg: number, dayOfYear: number): number {
  return (24 / Math.PI) * faoSunsetHourAngleRad(latitudeDeg, dayOfYear);
}

/** Energy between two hour angles, MJ/m². Source: FAO-56, Eq. 28, of which Eq. 21 is the whole day. */
function energyBetweenMJm2(latitudeDeg: number, dayOfYear: number, fromRad: number, toRad: number): number {
  const latitude = toRadians(latitudeDeg);
  const declination = faoDeclinationRad(dayOfYear);
  const sum =
    (toRad - fromRad) * Math.sin(latitude) * Math.sin(declination) +
    Math.cos(latitude) * Math.cos(declination) * (Math.sin(toRad) - Math.sin(fromRad));
  const perRadian = (12 * 60) / Math.PI;
  return Math.max(0, perRadian * SOLAR_CONSTANT_MJ_PER_M2_MIN * faoInverseRelativeDistance(dayOfYear) * sum);
}

/**
 * Extraterrestrial radiation of a day. Source: FAO-56, Eq. 21.
 * @param latitudeDeg degrees north
 * @param dayOfYear 1-366
 * @returns MJ/m²/day, at least 0; within 3 % of the ephemeris up to 35° latitude, 10 % at 60°
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function faoExtraterrestrialDailyMJm2(latitudeDeg: number, dayOfYear: number): number {
  const sunset = faoSunsetHourAngleRad(latitudeDeg, dayOfYear);
  return energyBetweenMJm2(latitudeDeg, dayOfYear, -sunset, sunset);
}

/** Seasonal correction for solar time, hours: 0.1645 sin 2b - 0.1255 cos b - 0.025 sin b. Source: FAO-56, Eq. 32-33. */
export function faoSeasonalTimeCorrectionHours(dayOfYear: number): number {
  const b = (2 * Math.PI * (requireDayOfYear(dayOfYear) - 81)) / 364;
  return 0.1645 * Math.sin(2 * b) - 0.1255 * Math.cos(b) - 0.025 * Math.sin(b);
}

/**
 * Solar hour angle at the middle of a period. Source: FAO-56, Eq. 31 with longitudes east and clock time in UTC.
 * @param midUtcHours clock time in UTC at the middle of the period, hours, 0-24
 * @param longitudeDeg degrees east, -180 to 180
 * @param dayOfYear 1-366
 * @returns radians, -pi to pi, 0 at solar noon
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function faoHourAngleRad(midUtcHours: number, longitudeDeg: number, dayOfYear: number): number {
  requireInRange('midUtcHours', midUtcHours, 'h', 0, 24);
  requireInRange('longitudeDeg', longitudeDeg, 'degrees', -180, 180);
  const solarHours = midUtcHours + longitudeDeg / 15 + faoSeasonalTimeCorrectionHours(dayOfYear);
  const angle = (Math.PI / 12) * (solarHours - 12);
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}

/**
 * Extraterrestrial radiation of an hour or shorter. Source: FAO-56, Eq. 28-30; the two hour angles are held between
 * sunrise and sunset as in ASCE-EWRI (2005), so that the hours of sunrise and sunset keep their part.
 * @param latitudeDeg degrees north
 * @param dayOfYear 1-366
 * @param midHourAngleRad radians, from faoHourAngleRad
 * @param periodHours h, above 0 up to 24
 * @returns MJ/m² in the period, at least 0
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function faoExtraterrestrialPeriodMJm2(
  latitudeDeg: number,
  dayOfYear: number,
  midHourAngleRad: number,
  periodHours: number,
): number {
  requireInRange('midHourAngleRad', midHourAngleRad, 'rad', -Math.PI, Math.PI);
  requirePositive('periodHours', requireInRange('periodHours', periodHours, 'h', 0, 24), 'h');
  const sunset = faoSunsetHourAngleRad(latitudeDeg, dayOfYear);
  const half = (Math.PI * periodHours) / 24;
  const from = clamp(midHourAngleRad - half, -sunset, sunset);
  const to = clamp(midHourAngleRad + half, -sunset, sunset);
  return energyBetweenMJm2(latitudeDeg, dayOfYear, from, to);
}

/**
 * Radiation on a surface facing the sun above the atmosphere, from the ephemeris: constant / distance².
 * @param atMs UTC, ms
 * @returns W/m², about 1321 to 1413
 * @throws PhysicsRangeError for NaN
 */
export function extraterrestrialNormalWm2(atMs: number): number {
  return SOLAR_CONSTANT_WM2 / sunCoordinates(atMs).distanceAu ** 2;
}

/**
 * Radiation on a horizontal surface above the atmosphere, from the ephemeris, at one moment.
 * @param atMs UTC, ms
 * @param latitudeDeg degrees north
 * @param longitudeDeg degrees east
 * @returns W/m², 0 at night
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function extraterrestrialHorizontalWm2(atMs: number, latitudeDeg: number, longitudeDeg: number): number {
  const { altitudeDeg } = sunPosition(atMs, latitudeDeg, longitudeDeg);
  return altitudeDeg <= 0 ? 0 : extraterrestrialNormalWm2(atMs) * Math.sin(toRadians(altitudeDeg));
}
