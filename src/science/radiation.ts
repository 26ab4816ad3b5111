/** Sunlight at the ground: clear-sky models, the split into direct and diffuse, and estimates where nothing measures it. */
import { atmosphericPressureKPa } from './air.js';
import { extraterrestrialNormalWm2 } from './extraterrestrial.js';
import {
  clamp,
  PhysicsRangeError,
  requireDayExtremes,
  requireInRange,
  requireNotNegative,
  requirePositive,
} from './guards.js';
import { sunPosition } from './sun.js';
import { toRadians } from './units.js';

/** Turbidity of ordinary clean lowland air, when nothing better is known. Source: Ineichen & Perez (2002), typical value. */
export const DEFAULT_LINKE_TURBIDITY = 3;

/**
 * Air mass relative to a sun overhead: 1 / (cos z + 0.50572 (96.07995 - z)^-1.6364).
 * Source: Kasten & Young (1989), Appl. Optics 28:4735-4738, Eq. 3.
 * @param apparentAltitudeDeg refracted altitude, degrees, 0 to 90
 * @returns 1 overhead to 38 at the horizon
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function relativeAirMass(apparentAltitudeDeg: number): number {
  requireInRange('apparentAltitudeDeg', apparentAltitudeDeg, 'degrees', 0, 90);
  return 1 / (Math.sin(toRadians(apparentAltitudeDeg)) + 0.50572 * (apparentAltitudeDeg + 6.07995) ** -1.6364);
}

/** Air mass corrected for pressure: relative x P / 101.325. Source: Kasten & Young (1989). */
export function absoluteAirMass(relative: number, pressureKPa: number): number {
  requirePositive('relativeAirMass', relative, '');
  return (relative * requirePositive('pressureKPa', pressureKPa, 'kPa')) / 101.325;
}

/**
 * Clear-sky global radiation from the sun's height alone: 1098 cos z exp(-0.059 / cos z).
 * Source: Haurwitz (1945), J. Meteorol. 2:154-166. Use it when turbidity and elevation are unknown.
 * @param apparentAltitudeDeg refracted altitude, degrees, -90 to 90
 * @returns W/m², 0 with the sun down
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function haurwitzClearSkyWm2(apparentAltitudeDeg: number): number {
  requireInRange('apparentAltitudeDeg', apparentAltitudeDeg, 'degrees', -90, 90);
  const cosZenith = Math.sin(toRadians(apparentAltitudeDeg));
  return cosZenith <= 0 ? 0 : 1098 * cosZenith * Math.exp(-0.059 / cosZenith);
}

export interface SkyRadiation {
  /** On a horizontal surface, direct and diffuse together, W/m². */
  readonly globalWm2: number;
  /** On a surface facing the sun, W/m². */
  readonly directNormalWm2: number;
  /** From the sky, on a horizontal surface, W/m². */
  readonly diffuseWm2: number;
}

export interface IneichenInput {
  /** Refracted altitude of the sun, degrees, -90 to 90. */
  readonly apparentAltitudeDeg: number;
  /** Pressure-corrected air mass. */
  readonly airMassAbsolute: number;
  /** Linke turbidity, 1 (no dust, no vapour) to 15; 2 mountains, 3 clean, 4-5 humid summer, 6-7 city haze. */
  readonly linkeTurbidity: number;
  /** m above sea level. */
  readonly elevationM: number;
  /** Radiation facing the sun above the atmosphere, W/m². */
  readonly extraterrestrialNormalWm2: number;
}

/**
 * Clear-sky radiation with turbidity. Source: Ineichen & Perez (2002), Solar Energy 73:151-157, without the optional
 * enhancement factor; the cap on the direct part as pvlib has it.
 * @returns W/m², all 0 with the sun down
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function ineichenClearSky(input: IneichenInput): SkyRadiation {
  const { airMassAbsolute, elevationM } = input;
  requireInRange('apparentAltitudeDeg', input.apparentAltitudeDeg, 'degrees', -90, 90);
  const turbidity = requireInRange('linkeTurbidity', input.linkeTurbidity, '', 1, 15);
  requireInRange('elevationM', elevationM, 'm', -500, 9000);
  const above = requireNotNegative('extraterrestrialNormalWm2', input.extraterrestrialNormalWm2, 'W/m²');
  const cosZenith = Math.sin(toRadians(input.apparentAltitudeDeg));
  if (cosZenith <= 0) return { globalWm2: 0, directNormalWm2: 0, diffuseWm2: 0 };
  requirePositive('airMassAbsolute', airMassAbsolute, '');
  const fh1 = Math.exp(-elevationM / 8000);
  const fh2 = Math.exp(-elevationM / 1250);
  const cg1 = 5.09e-5 * elevationM + 0.868;
  const cg2 = 3.92e-5 * elevationM + 0.0387;
  const globalWm2 = cg1 * above * cosZenith * Math.exp(-cg2 * airMassAbsolute * (fh1 + fh2 * (turbidity - 1)));
  const beam = above * (0.664 + 0.163 / fh1) * Math.exp(-0.09 * airMassAbsolute * (turbidity - 1));
  const share = (1 - (0.1 - 0.2 * Math.exp(-turbidity)) / (0.1 + 0.882 / fh1)) / cosZenith;
  const directNormalWm2 = Math.min(beam, globalWm2 * Math.max(0, share));
  return { globalWm2, directNormalWm2, diffuseWm2: globalWm2 - directNormalWm2 * cosZenith };
}

export interface ClearSkyPlace {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
  /** Left out: clean lowland air, 3. */
  readonly linkeTurbidity?: number;
}

/**
 * Clear-sky radiation at a place and moment: Ineichen-Perez at the sun's height and distance of that moment.
 * @param atMs UTC, ms
 * @returns W/m², all 0 with the sun down
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function clearSkyAt(atMs: number, place: ClearSkyPlace): SkyRadiation {
  const { apparentAltitudeDeg } = sunPosition(atMs, place.latitudeDeg, place.longitudeDeg);
  const pressureKPa = atmosphericPressureKPa(place.elevationM);
  return ineichenClearSky({
    apparentAltitudeDeg,
    airMassAbsolute: absoluteAirMass(relativeAirMass(Math.max(0, apparentAltitudeDeg)), pressureKPa),
    linkeTurbidity: place.linkeTurbidity ?? DEFAULT_LINKE_TURBIDITY,
    elevationM: place.elevationM,
    extraterrestrialNormalWm2: extraterrestrialNormalWm2(atMs),
  });
}

/**
 * Clear-sky energy between two instants: clearSkyAt summed by the midpoint rule in steps of about ten minutes.
 * Gives the weight of each hour of a day that was only partly measured, and the most a day can bring.
 * @param fromMs UTC, ms
 * @param toMs UTC, ms, at or after the first and at most 48 h later
 * @returns MJ/m² on a horizontal surface
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function clearSkyEnergyMJm2(fromMs: number, toMs: number, place: ClearSkyPlace): number {
  requireInRange('toMs', toMs, 'ms', fromMs, fromMs + 172_800_000);
  const steps = Math.max(1, Math.ceil((toMs - fromMs) / 600_000));
  const stepMs = (toMs - fromMs) / steps;
  let joules = 0;
  for (let step = 0; step < steps; step += 1) {
    joules += clearSkyAt(fromMs + (step + 0.5) * stepMs, place).globalWm2 * (stepMs / 1000);
  }
  return joules / 1e6;
}

/**
 * Share of the clear-sky radiation that a cloudy sky lets through: 1 - 0.75 n^3.4. Source: Kasten & Czeplak (1980),
 * Solar Energy 24:177-189, from Hamburg, all kinds of cloud together; single hours scatter widely around it.
 * @param cloudPct share of the sky that is covered, %, 0-100
 * @returns 0.25-1
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function cloudyRadiationShare(cloudPct: number): number {
  return 1 - 0.75 * (requireInRange('cloudPct', cloudPct, '%', 0, 100) / 100) ** 3.4;
}

/**
 * Splits measured global radiation into direct and diffuse. Source: Erbs, Klein & Duffie (1982), Solar Energy 28:293-302.
 * @param globalWm2 measured on the horizontal, W/m², at least 0
 * @param altitudeDeg geometric altitude of the sun, degrees, -90 to 90; held at 3.7° (cos z 0.065) in the clearness index
 * @param normalAboveWm2 radiation facing the sun above the atmosphere, W/m², above 0
 * @returns the parts and the clearness index (0-1); with the sun down everything is diffuse
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function erbsDiffuseSplit(
  globalWm2: number,
  altitudeDeg: number,
  normalAboveWm2: number,
): SkyRadiation & { readonly clearnessIndex: number } {
  requireNotNegative('globalWm2', globalWm2, 'W/m²');
  requireInRange('altitudeDeg', altitudeDeg, 'degrees', -90, 90);
  requirePositive('normalAboveWm2', normalAboveWm2, 'W/m²');
  const cosZenith = Math.sin(toRadians(altitudeDeg));
  const kt = clamp(globalWm2 / (normalAboveWm2 * Math.max(cosZenith, 0.065)), 0, 1);
  const fraction = erbsDiffuseFraction(kt);
  // Below 3° the direct part is a small difference divided by almost nothing.
  const usable = altitudeDeg >= 3;
  const diffuseWm2 = usable ? globalWm2 * fraction : globalWm2;
  return {
    globalWm2,
    directNormalWm2: usable ? (globalWm2 - diffuseWm2) / cosZenith : 0,
    diffuseWm2,
    clearnessIndex: kt,
  };
}

function erbsDiffuseFraction(kt: number): number {
  if (kt <= 0.22) return 1 - 0.09 * kt;
  if (kt > 0.8) return 0.165;
  return 0.9511 + kt * (-0.1604 + kt * (4.388 + kt * (-16.638 + kt * 12.336)));
}

/**
 * Clear-sky radiation of a day: (0.75 + 2e-5 z) Ra. Source: FAO-56 (1998), Eq. 37. Serves hourly sums as well.
 * @param extraterrestrialMJm2 Ra, MJ/m², at least 0
 * @param elevationM m
 * @returns MJ/m²
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function faoClearSkyMJm2(extraterrestrialMJm2: number, elevationM: number): number {
  requireNotNegative('extraterrestrialMJm2', extraterrestrialMJm2, 'MJ/m²');
  requireInRange('elevationM', elevationM, 'm', -500, 6000);
  return (0.75 + 2e-5 * elevationM) * extraterrestrialMJm2;
}

/**
 * Clear-sky radiation with water vapour and turbidity: (KB + KD) Ra. Source: ASCE-EWRI (2005), Eq. D.1-D.6.
 * @param extraterrestrialMJm2 Ra, MJ/m², at least 0
 * @param sinSunAltitude sine of the sun's altitude at the middle of the period, or asceDailySinAltitude for a day; -1 to 1
 * @param actualVapourPressureKPa kPa, at least 0
 * @param pressureKPa kPa, above 0
 * @returns MJ/m²; 0 with the sun down
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function asceClearSkyMJm2(
  extraterrestrialMJm2: number,
  sinSunAltitude: number,
  actualVapourPressureKPa: number,
  pressureKPa: number,
): number {
  requireNotNegative('extraterrestrialMJm2', extraterrestrialMJm2, 'MJ/m²');
  requireInRange('sinSunAltitude', sinSunAltitude, '', -1, 1);
  requireNotNegative('actualVapourPressureKPa', actualVapourPressureKPa, 'kPa');
  requirePositive('pressureKPa', pressureKPa, 'kPa');
  if (sinSunAltitude <= 0) return 0;
  const precipitableWaterMm = 0.14 * actualVapourPressureKPa * pressureKPa + 2.1;
  const direct =
    0.98 * Math.exp((-0.00146 * pressureKPa) / sinSunAltitude - 0.075 * (precipitableWaterMm / sinSunAltitude) ** 0.4);
  const diffuse = direct >= 0.15 ? 0.35 - 0.36 * direct : 0.18 + 0.82 * direct;
  return (direct + diffuse) * extraterrestrialMJm2;
}

/**
 * Sine of the sun's altitude, averaged over the day and weighted by radiation. Source: ASCE-EWRI (2005), Eq. D.5.
 * @param latitudeDeg degrees north
 * @param dayOfYear 1-366
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function asceDailySinAltitude(latitudeDeg: number, dayOfYear: number): number {
  const latitude = toRadians(requireInRange('latitudeDeg', latitudeDeg, 'degrees', -90, 90));
  requireInRange('dayOfYear', dayOfYear, 'day', 1, 366);
  const season = Math.sin((2 * Math.PI * dayOfYear) / 365 - 1.39);
  return Math.max(0, Math.sin(0.85 + 0.3 * latitude * season - 0.42 * latitude ** 2));
}

/**
 * Radiation from sunshine hours: (a + b n/N) Ra. Source: FAO-56, Eq. 35 (Ångström), a = 0.25 and b = 0.50 uncalibrated.
 * @param sunshineHours n, h, 0 to 24
 * @param daylightHours N, h, above 0 to 24
 * @param extraterrestrialMJm2 Ra, MJ/m²/day
 * @returns MJ/m²/day
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the sun shone longer than the day
 */
export function radiationFromSunshineMJm2(
  sunshineHours: number,
  daylightHours: number,
  extraterrestrialMJm2: number,
  coefficients: { readonly a: number; readonly b: number } = { a: 0.25, b: 0.5 },
): number {
  requireInRange('daylightHours', daylightHours, 'h', Number.MIN_VALUE, 24);
  // A recorder's burn may outlast N, which ends at the centre of the disc, by minutes.
  requireInRange('sunshineHours', sunshineHours, 'h', 0, daylightHours + 0.5);
  requireNotNegative('extraterrestrialMJm2', extraterrestrialMJm2, 'MJ/m²/day');
  const relative = Math.min(1, sunshineHours / daylightHours);
  return (coefficients.a + coefficients.b * relative) * extraterrestrialMJm2;
}

/** Coefficient of the temperature form of radiation. Source: FAO-56, Eq. 50. */
export const TEMPERATURE_RADIATION_COEFFICIENT = { inland: 0.16, coast: 0.19 } as const;

/**
 * Radiation of a day from OUTSIDE temperatures: k sqrt(Tmax - Tmin) Ra, at most clear sky. Source: FAO-56, Eq. 50
 * (Hargreaves-Samani). Temperatures under glass tell of the house and not of the sky.
 * @param airTempMinC outside, °C
 * @param airTempMaxC outside, °C, at least the minimum
 * @param extraterrestrialMJm2 Ra, MJ/m²/day
 * @param coefficient 0.16 inland, 0.19 at a coast
 * @param clearSkyMJm2 upper bound, MJ/m²/day
 * @returns MJ/m²/day
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function radiationFromTemperatureMJm2(
  airTempMinC: number,
  airTempMaxC: number,
  extraterrestrialMJm2: number,
  coefficient: number,
  clearSkyMJm2: number = Number.POSITIVE_INFINITY,
): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  requireNotNegative('extraterrestrialMJm2', extraterrestrialMJm2, 'MJ/m²/day');
  requireInRange('coefficient', coefficient, '°C^-0.5', 0.1, 0.25);
  if (!(clearSkyMJm2 >= 0)) {
    throw new PhysicsRangeError('clearSkyMJm2', clearSkyMJm2, 'MJ/m²/day', { min: 0, max: Number.POSITIVE_INFINITY });
  }
  return Math.min(coefficient * Math.sqrt(airTempMaxC - airTempMinC) * extraterrestrialMJm2, clearSkyMJm2);
}

/** Stefan-Boltzmann constant, MJ/m²/K⁴ per day. Source: FAO-56, Eq. 39. */
const STEFAN_BOLTZMANN_MJ_PER_DAY = 4.903e-9;

/** Albedo of the grass reference. Source: FAO-56, Eq. 38. */
export const GRASS_ALBEDO = 0.23;

/**
 * Net shortwave radiation: (1 - albedo) Rs. Source: FAO-56, Eq. 38.
 * @param radiationMJm2 Rs, MJ/m², at least 0
 * @param albedo 0 to 1
 * @returns MJ/m²
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function netShortwaveMJm2(radiationMJm2: number, albedo: number = GRASS_ALBEDO): number {
  requireInRange('albedo', albedo, '', 0, 1);
  return (1 - albedo) * requireNotNegative('radiationMJm2', radiationMJm2, 'MJ/m²');
}

/**
 * Share of cloud-free longwave loss: 1.35 Rs/Rso - 0.35, Rs/Rso held in [0.3, 1]. Source: FAO-56, Eq. 39; the lower
 * limit is ASCE-EWRI (2005), Eq. 18.
 * @param relativeShortwave Rs/Rso, at least 0. By night the value of the last hours before sunset.
 * @returns 0.055 (overcast) to 1 (clear)
 * @throws PhysicsRangeError below 0 or for NaN
 */
export function cloudinessFactor(relativeShortwave: number): number {
  requireNotNegative('relativeShortwave', relativeShortwave, '');
  return 1.35 * clamp(relativeShortwave, 0.3, 1) - 0.35;
}

/**
 * Net outgoing longwave radiation of a day. Source: FAO-56, Eq. 39.
 * @param airTempMinC °C
 * @param airTempMaxC °C, at least the minimum
 * @param actualVapourPressureKPa kPa, at least 0
 * @param relativeShortwave Rs/Rso, at least 0
 * @returns MJ/m²/day, positive when the surface loses
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function netLongwaveDailyMJm2(
  airTempMinC: number,
  airTempMaxC: number,
  actualVapourPressureKPa: number,
  relativeShortwave: number,
): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  requireNotNegative('actualVapourPressureKPa', actualVapourPressureKPa, 'kPa');
  const emitted = ((airTempMaxC + 273.16) ** 4 + (airTempMinC + 273.16) ** 4) / 2;
  const humidity = 0.34 - 0.14 * Math.sqrt(actualVapourPressureKPa);
  return STEFAN_BOLTZMANN_MJ_PER_DAY * emitted * humidity * cloudinessFactor(relativeShortwave);
}

/**
 * Net outgoing longwave radiation of an hour: Eq. 39 at the hour's temperature with the constant divided by 24.
 * Source: FAO-56, Example 19; ASCE-EWRI (2005), Eq. 44.
 * @returns MJ/m²/h
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function netLongwaveHourlyMJm2(
  airTempC: number,
  actualVapourPressureKPa: number,
  relativeShortwave: number,
): number {
  return netLongwaveDailyMJm2(airTempC, airTempC, actualVapourPressureKPa, relativeShortwave) / 24;
}
