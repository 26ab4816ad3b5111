/** Constants and conversions of units used by more than one part of the physics. */

/** Degrees to radians. */
export function toRadians(angleDeg: number): number {
  return (angleDeg * Math.PI) / 180;
}

/** Radians to degrees. */
export function toDegrees(angleRad: number): number {
  return (angleRad * 180) / Math.PI;
}

/** Brings an angle in degrees into [0, 360). */
export function wrapDegrees(angleDeg: number): number {
  const wrapped = angleDeg % 360;
  // Adding 360 to a tiny negative remainder rounds to 360 exactly; that is 0.
  return wrapped < 0 ? (wrapped + 360 === 360 ? 0 : wrapped + 360) : wrapped + 0;
}

/** Milliseconds in an hour, a unit of elapsed time. A local day is not 24 of these. */
export const MS_PER_HOUR = 3_600_000;

/** Milliseconds in 86 400 s, the astronomers' day. Never use it to reach tomorrow's date. */
export const MS_PER_86400_S = 86_400_000;

/** Latent heat of vaporisation, MJ/kg, constant 2.45. Source: FAO-56 (1998), Eq. 20 and Annex 3, at about 20 °C. */
export const LATENT_HEAT_MJ_PER_KG = 2.45;

/** Water that a given energy evaporates: mm/day from MJ/m²/day (or per hour). Source: FAO-56, Eq. 20, factor 0.408. */
export function energyToWaterMm(energyMJm2: number): number {
  return energyMJm2 / LATENT_HEAT_MJ_PER_KG;
}

/** Fahrenheit to Celsius, a temperature (not a difference). */
export function fahrenheitToCelsius(tempF: number): number {
  return ((tempF - 32) * 5) / 9;
}
