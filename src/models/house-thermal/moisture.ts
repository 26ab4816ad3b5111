/**
 * Humidity of a house by a moisture balance of its air, hour by hour:
 *
 *   e(t) - e(t-1) = leak (eo - e(t)) + vent v (eo - e(t)) + sun S + steady
 *
 * e vapour pressure inside, eo outside, kPa; v how far the vents are open by the air model, 0 to 1; S radiation. What the
 * air cannot hold condenses. The four coefficients are learned recursively from the house's own hours.
 * Form: single-zone vapour balance, e.g. Bot (1983), with transpiration and wet floors as sun and steady source.
 */
import { relHumidityPctFromVapourPressure, saturationVapourPressureKPa, vapourPressureKPa } from '../../science/air.js';
import { clamp } from '../../science/guards.js';
import { startLeastSquares, updateLeastSquares } from '../../science/statistics/least-squares.js';

export interface MoistureHour {
  readonly insideTempC: number;
  readonly outsideVapourKPa: number;
  /** How far the vents are open, 0 to 1. */
  readonly venting: number;
  readonly sunWm2: number;
}

/** leak and vent in 1/h; sun in kPa/h for 1000 W/m²; steady in kPa/h. */
export type MoistureCoefficients = readonly [leak: number, vent: number, sun: number, steady: number];

/** Starting values of ours: a tight house of succulents, little water in it. */
const START: MoistureCoefficients = [0.4, 1, 0.1, 0.02];
/** In units of the error variance: coefficients are known to about 0.5, an hour's change to about 0.05 kPa. */
const START_VARIANCE = 100;
/** About a week of hours. */
const FORGETTING = 1 - 1 / 168;
/** Smallest exchange with the outside that a house can have, and the largest that hours can show, 1/h. */
const EXCHANGE = [0.02, 6] as const;
const PER_KW = 1 / 1000;

/** Hours one after the other; null breaks the chain. */
export function learnMoisture(
  hours: readonly ((MoistureHour & { readonly insideRelHumidityPct: number }) | null)[],
): MoistureCoefficients {
  let state = startLeastSquares(START, START_VARIANCE);
  let before: number | undefined;
  for (const hour of hours) {
    if (hour === null) {
      before = undefined;
      continue;
    }
    const insideKPa = vapourPressureKPa(hour.insideTempC, hour.insideRelHumidityPct);
    if (before !== undefined) {
      const gap = hour.outsideVapourKPa - insideKPa;
      const regressors = [gap, hour.venting * gap, hour.sunWm2 * PER_KW, 1];
      state = updateLeastSquares(state, regressors, insideKPa - before, FORGETTING);
    }
    before = insideKPa;
  }
  const [leak = 0, vent = 0, sun = 0, steady = 0] = state.coefficients;
  return [clamp(leak, ...EXCHANGE), clamp(vent, 0, EXCHANGE[1]), sun, steady];
}

/** Relative humidity of each hour to come, %. */
export function humidityAhead(
  coefficients: MoistureCoefficients,
  startKPa: number,
  hours: readonly MoistureHour[],
): number[] {
  const [leak, vent, sun, steady] = coefficients;
  let insideKPa = startKPa;
  return hours.map(({ insideTempC, outsideVapourKPa, venting, sunWm2 }) => {
    const exchange = leak + vent * venting;
    const gained = sun * sunWm2 * PER_KW + steady;
    const mixed = (insideKPa + exchange * outsideVapourKPa + gained) / (1 + exchange);
    insideKPa = clamp(mixed, 0.01, saturationVapourPressureKPa(insideTempC));
    return clamp(relHumidityPctFromVapourPressure(insideTempC, insideKPa), 0, 100);
  });
}
