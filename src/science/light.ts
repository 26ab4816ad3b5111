/**
 * Light for plants: conversions between lux, watts and quanta by light source, and daily light sums. The factor is an
 * argument or a named constant, because published factors for daylight range by ±10 % with cloud: state it with the result.
 */
import { requireInRange, requireNotNegative, requirePositive } from './guards.js';

/**
 * Quanta per energy within 400-700 nm, µmol/J. Source: Thimijan & Heins (1983), HortScience 18:818-822, Table 3
 * (sun and sky after McCree 1972; skylight and lamps remembered).
 */
export const UMOL_PER_JOULE_PAR = {
  'sun-and-sky': 4.57,
  skylight: 4.24,
  'high-pressure-sodium': 4.98,
  'metal-halide': 4.59,
  'cool-white-fluorescent': 4.59,
  incandescent: 5.0,
} as const;

/**
 * Lux per µmol/m²/s. Source: Thimijan & Heins (1983), Table 3 (fluorescent, sodium, halide, skylight remembered).
 * White diodes lie between 60 and 75 by colour temperature; the middle is used (remembered, no published table seen).
 */
export const LUX_PER_UMOL = {
  'sun-and-sky': 54,
  skylight: 52,
  'high-pressure-sodium': 82,
  'metal-halide': 71,
  'cool-white-fluorescent': 74,
  incandescent: 50,
  'white-led': 67,
} as const;

export type ParSource = keyof typeof UMOL_PER_JOULE_PAR;
export type LuxSource = keyof typeof LUX_PER_UMOL;

/** Share of global radiation that lies within 400-700 nm. Source: McCree (1972); yearly means 0.41 to 0.48 elsewhere. */
export const PAR_SHARE_OF_GLOBAL = 0.45;

/**
 * Quanta per global energy of sun and sky: 0.45 x 4.57 = 2.0565 µmol/J, which is also mol/MJ.
 * Source: McCree (1972), Agric. Meteorol. 10:443-453; published range 1.9 to 2.3.
 */
export const UMOL_PER_JOULE_GLOBAL = PAR_SHARE_OF_GLOBAL * UMOL_PER_JOULE_PAR['sun-and-sky'];

/** Quanta from energy within 400-700 nm. @param parWm2 W/m², at least 0 @returns µmol/m²/s */
export function ppfdFromParUmol(parWm2: number, source: ParSource = 'sun-and-sky'): number {
  return requireNotNegative('parWm2', parWm2, 'W/m²') * UMOL_PER_JOULE_PAR[source];
}

/** Energy within 400-700 nm from quanta. @param ppfdUmol µmol/m²/s, at least 0 @returns W/m² */
export function parFromPpfdWm2(ppfdUmol: number, source: ParSource = 'sun-and-sky'): number {
  return requireNotNegative('ppfdUmol', ppfdUmol, 'µmol/m²/s') / UMOL_PER_JOULE_PAR[source];
}

/** Quanta from illuminance. @param illuminanceLux lux, at least 0 @returns µmol/m²/s */
export function ppfdFromLuxUmol(illuminanceLux: number, source: LuxSource = 'sun-and-sky'): number {
  return requireNotNegative('illuminanceLux', illuminanceLux, 'lux') / LUX_PER_UMOL[source];
}

/** Illuminance from quanta. @param ppfdUmol µmol/m²/s, at least 0 @returns lux */
export function luxFromPpfd(ppfdUmol: number, source: LuxSource = 'sun-and-sky'): number {
  return requireNotNegative('ppfdUmol', ppfdUmol, 'µmol/m²/s') * LUX_PER_UMOL[source];
}

/**
 * Quanta from global radiation of sun and sky, outside or under a clear cover.
 * @param radiationWm2 W/m², at least 0
 * @param umolPerJoule µmol/J, 1.5 to 2.6; 2.0565 (McCree 1972) when not calibrated
 * @returns µmol/m²/s
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function ppfdFromGlobalUmol(radiationWm2: number, umolPerJoule: number = UMOL_PER_JOULE_GLOBAL): number {
  requireNotNegative('radiationWm2', radiationWm2, 'W/m²');
  return radiationWm2 * requireInRange('umolPerJoule', umolPerJoule, 'µmol/J', 1.5, 2.6);
}

/** Global radiation of sun and sky from quanta: the inverse of ppfdFromGlobalUmol. @returns W/m² */
export function globalFromPpfdWm2(ppfdUmol: number, umolPerJoule: number = UMOL_PER_JOULE_GLOBAL): number {
  requireNotNegative('ppfdUmol', ppfdUmol, 'µmol/m²/s');
  return ppfdUmol / requireInRange('umolPerJoule', umolPerJoule, 'µmol/J', 1.5, 2.6);
}

/**
 * Global radiation, W/m², from what a light sensor tells, by the name of its quantity: sun and sky, uncalibrated factors as
 * above. In order of preference, the best known first; values of at least 0, PhysicsRangeError below and for NaN.
 */
export const RADIATION_FROM = {
  radiationWm2: (radiationWm2: number): number => requireNotNegative('radiationWm2', radiationWm2, 'W/m²'),
  ppfdUmol: (ppfdUmol: number): number => globalFromPpfdWm2(ppfdUmol),
  illuminanceLux: (illuminanceLux: number): number => globalFromPpfdWm2(ppfdFromLuxUmol(illuminanceLux)),
} as const;
export type LightQuantity = keyof typeof RADIATION_FROM;
export const LIGHT_QUANTITIES = Object.keys(RADIATION_FROM) as readonly LightQuantity[];

/**
 * Quanta per energy at one wavelength: wavelength / 119.62657. Source: SI Brochure (2019), exact h, c and N_A.
 * @param wavelengthNm nm, 200 to 2000
 * @returns µmol/J
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function umolPerJouleAtWavelength(wavelengthNm: number): number {
  return requireInRange('wavelengthNm', wavelengthNm, 'nm', 200, 2000) / 119.62657;
}

/**
 * Daily light integral of a steady light: PPFD x seconds / 1e6. Definition.
 * @param ppfdUmol µmol/m²/s, at least 0
 * @param hours h, 0 to 25 (a local day may have 25)
 * @returns mol/m²/day
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function dliFromSteadyPpfd(ppfdUmol: number, hours: number): number {
  requireNotNegative('ppfdUmol', ppfdUmol, 'µmol/m²/s');
  return (ppfdUmol * requireInRange('hours', hours, 'h', 0, 25) * 3600) / 1e6;
}

/** Daily light integral from the time integral of PPFD over the day. @param integralUmolM2 µmol/m² @returns mol/m²/day */
export function dliFromPpfdIntegral(integralUmolM2: number): number {
  return requireNotNegative('integralUmolM2', integralUmolM2, 'µmol/m²') / 1e6;
}

/**
 * Daily light integral from the time integral of global radiation over the day.
 * @param integralJm2 J/m² (W/m² x s), at least 0
 * @param umolPerJoule µmol/J, 1.5 to 2.6
 * @returns mol/m²/day
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function dliFromRadiationIntegral(integralJm2: number, umolPerJoule: number = UMOL_PER_JOULE_GLOBAL): number {
  requireNotNegative('integralJm2', integralJm2, 'J/m²');
  return (integralJm2 * requireInRange('umolPerJoule', umolPerJoule, 'µmol/J', 1.5, 2.6)) / 1e6;
}

/** Global radiation sum of a day behind a light integral of sun and sky. @param dliMolM2 mol/m²/day @returns MJ/m²/day */
export function radiationSumFromDliMJm2(dliMolM2: number, molPerMJ: number = UMOL_PER_JOULE_GLOBAL): number {
  requireNotNegative('dliMolM2', dliMolM2, 'mol/m²/day');
  return dliMolM2 / requireInRange('molPerMJ', molPerMJ, 'mol/MJ', 1.5, 2.6);
}

/**
 * Light integral of a day shaped as a half sine: (2 / pi) peak x day length. Arithmetic of the shape.
 * @param peakPpfdUmol µmol/m²/s, at least 0
 * @param dayLengthHours h, 0 to 24
 * @returns mol/m²/day
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function dliOfHalfSineDay(peakPpfdUmol: number, dayLengthHours: number): number {
  requireNotNegative('peakPpfdUmol', peakPpfdUmol, 'µmol/m²/s');
  requireInRange('dayLengthHours', dayLengthHours, 'h', 0, 24);
  return ((2 / Math.PI) * peakPpfdUmol * dayLengthHours * 3600) / 1e6;
}

/**
 * Peak of a half-sine day that brings a given light integral: the inverse of dliOfHalfSineDay.
 * @param dayLengthHours h, above 0 to 24
 * @returns µmol/m²/s
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function peakOfHalfSineDayUmol(dliMolM2: number, dayLengthHours: number): number {
  requireNotNegative('dliMolM2', dliMolM2, 'mol/m²/day');
  requirePositive('dayLengthHours', requireInRange('dayLengthHours', dayLengthHours, 'h', 0, 24), 'h');
  return (dliMolM2 * 1e6 * Math.PI) / (2 * dayLengthHours * 3600);
}

/** One stretch of a day (an hour as a rule) as the light sensor covered it. */
export interface LightStretch {
  /** Mean of what was measured, µmol/m²/s; undefined when nothing was. */
  readonly ppfdMeanUmol: number | undefined;
  /** Seconds the readings stand for, at most the length of the stretch. */
  readonly coveredSeconds: number;
  readonly lengthSeconds: number;
  /** What a clear day gives in this stretch, in any unit the same for all; 0 by night. */
  readonly clearSkyWeight: number;
}

export interface CoveredDli {
  /** mol/m²/day, scaled up for what was not covered. */
  readonly dliMolM2: number;
  /** Share of the day's clear-sky light that fell while the sensor was heard, 0-1. Small means a weak estimate. */
  readonly coveredShare: number;
}

/**
 * Light integral of a partly covered day. What was measured is divided by the share of clear-sky light its stretches would
 * have had, so that a gap at noon counts for more than one at dawn. Definition; assumes equal cloud within and without.
 * @returns undefined when nothing was heard while the sun was up: then the day's light is unknown, and not zero
 * @throws PhysicsRangeError for NaN, negative numbers, or more seconds covered than the stretch has
 */
export function dliFromCoveredStretches(stretches: readonly LightStretch[]): CoveredDli | undefined {
  let measuredUmol = 0;
  let coveredWeight = 0;
  let totalWeight = 0;
  for (const stretch of stretches) {
    requirePositive('lengthSeconds', stretch.lengthSeconds, 's');
    requireInRange('coveredSeconds', stretch.coveredSeconds, 's', 0, stretch.lengthSeconds);
    requireNotNegative('clearSkyWeight', stretch.clearSkyWeight, '');
    totalWeight += stretch.clearSkyWeight;
    if (stretch.ppfdMeanUmol === undefined) continue;
    measuredUmol += requireNotNegative('ppfdMeanUmol', stretch.ppfdMeanUmol, 'µmol/m²/s') * stretch.coveredSeconds;
    coveredWeight += stretch.clearSkyWeight * (stretch.coveredSeconds / stretch.lengthSeconds);
  }
  if (coveredWeight === 0) return undefined;
  const coveredShare = coveredWeight / totalWeight;
  return { dliMolM2: dliFromPpfdIntegral(measuredUmol / coveredShare), coveredShare };
}
