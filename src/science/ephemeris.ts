/**
 * Where the sun stands among the stars, which suncalc computes and does not expose: longitude, declination, distance,
 * equation of time. Meeus, Astronomical Algorithms, 2nd ed. (1998), ch. 25 ("low accuracy", 0.01°), with the planetary
 * and lunar terms of his Table 27.C, which brings the longitude to 0.001° and equinoxes and solstices to about a minute.
 */
import { requireFinite, requireInstant } from './guards.js';
import { MS_PER_86400_S, toDegrees, toRadians, wrapDegrees } from './units.js';

/** Julian date of the JavaScript epoch. */
const JD_1970 = 2440587.5;
const JD_2000 = 2451545;

export interface SunCoordinates {
  /** True geometric longitude, mean equinox of date, degrees 0-360. */
  readonly trueLongitudeDeg: number;
  /** Apparent longitude (nutation and aberration applied), degrees 0-360; 0 = March equinox. */
  readonly apparentLongitudeDeg: number;
  /** Mean anomaly, degrees 0-360. */
  readonly meanAnomalyDeg: number;
  /** Eccentricity of the Earth's orbit. */
  readonly eccentricity: number;
  /** Distance to the sun, astronomical units. */
  readonly distanceAu: number;
  /** Apparent right ascension, degrees 0-360. */
  readonly rightAscensionDeg: number;
  /** Apparent declination, degrees. */
  readonly declinationDeg: number;
  /** True obliquity as used for apparent places, degrees. */
  readonly obliquityDeg: number;
  /** Apparent minus mean solar time, minutes. */
  readonly equationOfTimeMin: number;
}

/** Julian date (UT) of an instant. Source: Meeus (1998), ch. 7; the JavaScript epoch is JD 2440587.5. */
export function julianDate(atMs: number): number {
  return requireInstant('atMs', atMs) / MS_PER_86400_S + JD_1970;
}

/**
 * Dynamical time minus universal time, seconds.
 * Source: Espenak & Meeus (2006), Five Millennium Canon of Solar Eclipses, polynomial for 2005-2050. Used for all
 * years: an error of a minute moves the sun by 0.0007°.
 */
export function deltaTSeconds(julianDateUt: number): number {
  const years = (julianDateUt - JD_2000) / 365.2425;
  return 62.92 + 0.32217 * years + 0.005589 * years * years;
}

/**
 * Pull of the planets and the moon on the sun's longitude: amplitude in units of the sun's motion in 1e-5 days, phase in
 * degrees, rate in degrees per Julian century. Source: Meeus (1998), Table 27.C without its first row, which is nutation.
 */
const PERTURBATIONS: ReadonlyArray<readonly [number, number, number]> = [
  [203, 337.23, 32964.467],
  [199, 342.08, 20.186],
  [182, 27.85, 445267.112],
  [156, 73.14, 45036.886],
  [136, 171.52, 22518.443],
  [77, 222.54, 65928.934],
  [74, 296.72, 3034.906],
  [70, 243.58, 9037.513],
  [58, 119.81, 33718.147],
  [52, 297.17, 150.678],
  [50, 21.02, 2281.226],
  [45, 247.54, 29929.562],
  [44, 325.15, 31555.956],
  [29, 60.93, 4443.417],
  [18, 155.12, 67555.328],
  [17, 288.79, 4562.452],
  [16, 198.04, 62894.029],
  [14, 199.76, 31436.921],
  [12, 95.39, 14577.848],
  [12, 287.11, 31931.756],
  [12, 320.81, 34777.259],
  [9, 227.73, 1222.114],
  [8, 15.45, 16859.074],
];

/** Julian centuries since 2000-01-01 12:00 dynamical time. Source: Meeus (1998), Eq. 25.1. */
export function julianCenturies(julianEphemerisDate: number): number {
  return (julianEphemerisDate - JD_2000) / 36525;
}

/** Sum of the periodic terms, degrees: the table is in days, and the sun moves 0.985647° in a day. */
function planetaryCorrectionDeg(centuries: number): number {
  let shift = 0;
  for (const [amplitude, phaseDeg, rateDeg] of PERTURBATIONS) {
    shift += amplitude * Math.cos(toRadians(phaseDeg + rateDeg * centuries));
  }
  return -0.985647e-5 * shift;
}

/**
 * Coordinates of the sun for a Julian ephemeris date (dynamical time).
 * Source: Meeus (1998), ch. 25; equation of time ch. 28 (Eq. 28.1).
 * @param julianEphemerisDate days; meant for the years 1900-2100
 * @param longitudeCorrectionDeg added to the longitude; left out, the periodic terms of Table 27.C. Zero gives the
 *   "low accuracy" form of ch. 25 (0.01°).
 * @returns see SunCoordinates; longitude within 0.001°, declination within 0.0015°, 1992-2036
 * @throws PhysicsRangeError for NaN
 */
export function sunCoordinatesAtEphemerisDate(
  julianEphemerisDate: number,
  longitudeCorrectionDeg = planetaryCorrectionDeg(julianCenturies(julianEphemerisDate)),
): SunCoordinates {
  requireFinite('julianEphemerisDate', julianEphemerisDate, 'days');
  const t = julianCenturies(julianEphemerisDate);
  const meanLongitudeDeg = 280.46646 + t * (36000.76983 + t * 0.0003032);
  const meanAnomalyDeg = 357.52911 + t * (35999.05029 - t * 0.0001537);
  const eccentricity = 0.016708634 - t * (0.000042037 + t * 0.0000001267);
  const m = toRadians(meanAnomalyDeg);
  const centreDeg =
    (1.914602 - t * (0.004817 + t * 0.000014)) * Math.sin(m) +
    (0.019993 - t * 0.000101) * Math.sin(2 * m) +
    0.000289 * Math.sin(3 * m);
  const trueLongitudeDeg = meanLongitudeDeg + centreDeg + longitudeCorrectionDeg;
  const trueAnomaly = toRadians(meanAnomalyDeg + centreDeg);
  const distanceAu = (1.000001018 * (1 - eccentricity ** 2)) / (1 + eccentricity * Math.cos(trueAnomaly));

  const node = toRadians(125.04 - 1934.136 * t);
  const apparentLongitudeDeg = trueLongitudeDeg - 0.00569 - 0.00478 * Math.sin(node);
  const obliquityDeg = 23.439291 - t * (0.0130042 + t * (0.00000016 - t * 0.000000504)) + 0.00256 * Math.cos(node);
  const longitude = toRadians(apparentLongitudeDeg);
  const obliquity = toRadians(obliquityDeg);
  const rightAscensionDeg = wrapDegrees(
    toDegrees(Math.atan2(Math.cos(obliquity) * Math.sin(longitude), Math.cos(longitude))),
  );
  const declinationDeg = toDegrees(Math.asin(Math.sin(obliquity) * Math.sin(longitude)));
  const nutationLongitudeDeg = -0.00478 * Math.sin(node);
  const equationDeg = meanLongitudeDeg - 0.0057183 - rightAscensionDeg + nutationLongitudeDeg * Math.cos(obliquity);
  return {
    trueLongitudeDeg: wrapDegrees(trueLongitudeDeg),
    apparentLongitudeDeg: wrapDegrees(apparentLongitudeDeg),
    meanAnomalyDeg: wrapDegrees(meanAnomalyDeg),
    eccentricity,
    distanceAu,
    rightAscensionDeg,
    declinationDeg,
    obliquityDeg,
    // Four minutes of time per degree, brought near zero because the right ascension wraps once a year.
    equationOfTimeMin: 4 * (wrapDegrees(equationDeg + 180) - 180),
  };
}

/**
 * Coordinates of the sun at an instant.
 * @param atMs UTC, ms
 * @throws PhysicsRangeError for NaN or an instant no Date can hold
 */
export function sunCoordinates(atMs: number): SunCoordinates {
  const julianDateUt = julianDate(atMs);
  return sunCoordinatesAtEphemerisDate(julianDateUt + deltaTSeconds(julianDateUt) / 86_400);
}

/**
 * Greenwich mean sidereal time. Source: Meeus (1998), Eq. 12.4.
 * @param atMs UTC, ms
 * @returns hours, 0-24
 * @throws PhysicsRangeError for NaN
 */
export function greenwichSiderealTimeHours(atMs: number): number {
  const days = julianDate(atMs) - JD_2000;
  const t = days / 36525;
  return wrapDegrees(280.46061837 + 360.98564736629 * days + t * t * (0.000387933 - t / 38710000)) / 15;
}

/** Horizontal coordinates, both in degrees; azimuth clockwise from north. */
export interface HorizontalCoordinates {
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
}

/**
 * Equatorial to horizontal coordinates, no refraction. Source: Meeus (1998), Eq. 13.5 and 13.6.
 * @param hourAngleDeg local hour angle, degrees, positive after transit
 * @param declinationDeg degrees
 * @param latitudeDeg degrees
 */
export function horizontalCoordinates(
  hourAngleDeg: number,
  declinationDeg: number,
  latitudeDeg: number,
): HorizontalCoordinates {
  const hourAngle = toRadians(hourAngleDeg);
  const declination = toRadians(declinationDeg);
  const latitude = toRadians(latitudeDeg);
  const sinAltitude =
    Math.sin(latitude) * Math.sin(declination) + Math.cos(latitude) * Math.cos(declination) * Math.cos(hourAngle);
  const fromSouth = Math.atan2(
    Math.sin(hourAngle),
    Math.cos(hourAngle) * Math.sin(latitude) - Math.tan(declination) * Math.cos(latitude),
  );
  return {
    altitudeDeg: toDegrees(Math.asin(Math.min(1, Math.max(-1, sinAltitude)))),
    azimuthDeg: wrapDegrees(toDegrees(fromSouth) + 180),
  };
}
