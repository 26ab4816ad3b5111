/**
 * The dual crop coefficient of FAO-56 (1998), ch. 7-8: a part for the plant (Kcb, held back by stress Ks) and a part for
 * the bare wet surface (Ke). Each function is one equation; the pot model strings them together.
 */
import { clamp, requireInRange, requireNotNegative, requirePositive } from './guards.js';

/**
 * Upper limit of evaporation and transpiration together.
 * Kcmax = max(1.2 + [0.04 (u2 - 2) - 0.004 (RHmin - 45)] (h / 3)^0.3, Kcb + 0.05). Source: FAO-56, Eq. 72.
 * @param basalCoefficient Kcb, 0 to 1.5
 * @param windSpeed2mMs m/s, held in 1-6
 * @param relHumidityMinPct %, held in 20-80
 * @param heightM plant height, m, above 0 to 20
 * @returns dimensionless
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function maximumCropCoefficient(
  basalCoefficient: number,
  windSpeed2mMs: number,
  relHumidityMinPct: number,
  heightM: number,
): number {
  requireInRange('basalCoefficient', basalCoefficient, '', 0, 1.5);
  requireNotNegative('windSpeed2mMs', windSpeed2mMs, 'm/s');
  requireInRange('relHumidityMinPct', relHumidityMinPct, '%', 0, 100);
  requireInRange('heightM', heightM, 'm', Number.MIN_VALUE, 20);
  const wind = clamp(windSpeed2mMs, 1, 6);
  const humidity = clamp(relHumidityMinPct, 20, 80);
  const climate = (0.04 * (wind - 2) - 0.004 * (humidity - 45)) * (heightM / 3) ** 0.3;
  return Math.max(1.2 + climate, basalCoefficient + 0.05);
}

/**
 * Share of the surface covered by plants: ((Kcb - Kcmin) / (Kcmax - Kcmin))^(1 + 0.5 h), held in 0-0.99.
 * Source: FAO-56, Eq. 76.
 * @param minimumCoefficient Kcmin, of dry bare soil with nearly no plants, 0.15 usual
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function coveredFraction(
  basalCoefficient: number,
  maximumCoefficient: number,
  heightM: number,
  minimumCoefficient = 0.15,
): number {
  requireInRange('basalCoefficient', basalCoefficient, '', 0, 1.5);
  requireInRange('minimumCoefficient', minimumCoefficient, '', 0, 0.5);
  requireInRange('maximumCoefficient', maximumCoefficient, '', minimumCoefficient + 0.01, 2);
  requireInRange('heightM', heightM, 'm', 0, 20);
  const share = (basalCoefficient - minimumCoefficient) / (maximumCoefficient - minimumCoefficient);
  return clamp(Math.max(0, share) ** (1 + 0.5 * heightM), 0, 0.99);
}

/** Wetted share under drippers hidden by the canopy: fw (1 - 2/3 fc). Source: FAO-56, Table 20, note. */
export function dripWettedFraction(wettedFraction: number, covered: number): number {
  requireInRange('wettedFraction', wettedFraction, '', 0, 1);
  return wettedFraction * (1 - (2 / 3) * requireInRange('coveredFraction', covered, '', 0, 1));
}

/** Share of the surface that is both bare and wet: min(1 - fc, fw). Source: FAO-56, Eq. 75. */
export function exposedWettedFraction(covered: number, wettedFraction: number): number {
  requireInRange('coveredFraction', covered, '', 0, 1);
  return Math.min(1 - covered, requireInRange('wettedFraction', wettedFraction, '', 0, 1));
}

/**
 * Water that can evaporate from the surface layer: 1000 (FC - 0.5 WP) Ze. Source: FAO-56, Eq. 73.
 * @param fieldCapacity m³/m³, for a pot the container capacity, 0 to 1
 * @param wiltingPoint m³/m³, 0 to field capacity
 * @param layerDepthM m, 0.10-0.15 in the field; a shallow pot is one layer
 * @returns mm
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function totalEvaporableWaterMm(fieldCapacity: number, wiltingPoint: number, layerDepthM: number): number {
  requireInRange('fieldCapacity', fieldCapacity, 'm³/m³', 0, 1);
  requireInRange('wiltingPoint', wiltingPoint, 'm³/m³', 0, fieldCapacity);
  requireInRange('layerDepthM', layerDepthM, 'm', Number.MIN_VALUE, 3);
  return 1000 * (fieldCapacity - 0.5 * wiltingPoint) * layerDepthM;
}

/**
 * Water that roots can take: 1000 (FC - WP) Zr. Source: FAO-56, Eq. 82.
 * @param rootDepthM m, above 0
 * @returns mm
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function totalAvailableWaterMm(fieldCapacity: number, wiltingPoint: number, rootDepthM: number): number {
  requireInRange('fieldCapacity', fieldCapacity, 'm³/m³', 0, 1);
  requireInRange('wiltingPoint', wiltingPoint, 'm³/m³', 0, fieldCapacity);
  requireInRange('rootDepthM', rootDepthM, 'm', Number.MIN_VALUE, 3);
  return 1000 * (fieldCapacity - wiltingPoint) * rootDepthM;
}

/** Water taken without stress: p TAW. Source: FAO-56, Eq. 83. @param depletionFraction p, 0 to 1 @returns mm */
export function readilyAvailableWaterMm(totalAvailableMm: number, depletionFraction: number): number {
  requireNotNegative('totalAvailableMm', totalAvailableMm, 'mm');
  return totalAvailableMm * requireInRange('depletionFraction', depletionFraction, '', 0, 1);
}

/**
 * How freely the drying surface still evaporates: 1 until REW is gone, then (TEW - De) / (TEW - REW).
 * Source: FAO-56, Eq. 74.
 * @param depletionMm De, mm; held in 0 to TEW
 * @param totalEvaporableMm TEW, mm, above REW
 * @param readilyEvaporableMm REW, mm, at least 0
 * @returns 0 (dry) to 1 (wet)
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function evaporationReduction(
  depletionMm: number,
  totalEvaporableMm: number,
  readilyEvaporableMm: number,
): number {
  requireNotNegative('depletionMm', depletionMm, 'mm');
  requireNotNegative('readilyEvaporableMm', readilyEvaporableMm, 'mm');
  requirePositive('totalEvaporableMm - readilyEvaporableMm', totalEvaporableMm - readilyEvaporableMm, 'mm');
  return clamp((totalEvaporableMm - depletionMm) / (totalEvaporableMm - readilyEvaporableMm), 0, 1);
}

/**
 * Evaporation coefficient of the bare surface: min(Kr (Kcmax - Kcb), few Kcmax). Source: FAO-56, Eq. 71.
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function evaporationCoefficient(
  reduction: number,
  maximumCoefficient: number,
  basalCoefficient: number,
  exposedWetted: number,
): number {
  requireInRange('reduction', reduction, '', 0, 1);
  requireInRange('exposedWetted', exposedWetted, '', 0, 1);
  requireInRange('basalCoefficient', basalCoefficient, '', 0, 1.5);
  requireInRange('maximumCoefficient', maximumCoefficient, '', basalCoefficient, 2);
  return Math.min(reduction * (maximumCoefficient - basalCoefficient), exposedWetted * maximumCoefficient);
}

/**
 * How far dry roots hold the plant back: 1 until RAW is gone, then (TAW - Dr) / ((1 - p) TAW). Source: FAO-56, Eq. 84.
 * @param depletionMm Dr, mm, at least 0; beyond TAW the answer is 0
 * @param totalAvailableMm TAW, mm, above 0
 * @param depletionFraction p, 0 to below 1
 * @returns 0 (no uptake) to 1 (unhindered)
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function waterStressCoefficient(
  depletionMm: number,
  totalAvailableMm: number,
  depletionFraction: number,
): number {
  requireNotNegative('depletionMm', depletionMm, 'mm');
  requirePositive('totalAvailableMm', totalAvailableMm, 'mm');
  requireInRange('depletionFraction', depletionFraction, '', 0, 0.99);
  return clamp((totalAvailableMm - depletionMm) / ((1 - depletionFraction) * totalAvailableMm), 0, 1);
}

export interface EvaporationDay {
  /** De at the end of the day before, mm, 0 to TEW. */
  readonly depletionMm: number;
  /** Rain or watering on the wetted part, mm, given at the START of the day. */
  readonly wettingMm: number;
  readonly referenceEtMm: number;
  readonly maximumCoefficient: number;
  readonly basalCoefficient: number;
  readonly exposedWetted: number;
  readonly totalEvaporableMm: number;
  readonly readilyEvaporableMm: number;
}

export interface EvaporationDayResult {
  readonly depletionAfterWettingMm: number;
  readonly reduction: number;
  readonly coefficient: number;
  /** From the exposed wetted part, mm over that part. */
  readonly evaporationMm: number;
  readonly depletionEndMm: number;
  /** Left the layer downward, mm. */
  readonly drainageMm: number;
}

/**
 * One day of the surface layer. Source: FAO-56, Eq. 71, 74, 77-79, in the order of Example 35: wetting first, then Kr from
 * the depletion after it. De is held in 0-TEW; what does not fit drains.
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function evaporationLayerDay(day: EvaporationDay): EvaporationDayResult {
  requireInRange('depletionMm', day.depletionMm, 'mm', 0, day.totalEvaporableMm);
  requireNotNegative('wettingMm', day.wettingMm, 'mm');
  requireNotNegative('referenceEtMm', day.referenceEtMm, 'mm');
  const depletionAfterWettingMm = Math.max(0, day.depletionMm - day.wettingMm);
  const drainageMm = Math.max(0, day.wettingMm - day.depletionMm);
  const reduction = evaporationReduction(depletionAfterWettingMm, day.totalEvaporableMm, day.readilyEvaporableMm);
  const coefficient = evaporationCoefficient(
    reduction,
    day.maximumCoefficient,
    day.basalCoefficient,
    day.exposedWetted,
  );
  const wanted = day.exposedWetted > 0 ? (coefficient * day.referenceEtMm) / day.exposedWetted : 0;
  const evaporationMm = Math.min(wanted, day.totalEvaporableMm - depletionAfterWettingMm);
  return {
    depletionAfterWettingMm,
    reduction,
    coefficient,
    evaporationMm,
    depletionEndMm: depletionAfterWettingMm + evaporationMm,
    drainageMm,
  };
}
