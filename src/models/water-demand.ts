/**
 * How much plants or pots take up beside the reference evaporation of their house, learnt from weighed or metered days. The
 * coefficients drift as plants grow and sensors age, so old days are slowly forgotten.
 */
import { requireNotNegative } from '../science/guards.js';
import {
  type LeastSquaresState,
  predictLeastSquares,
  startLeastSquares,
  updateLeastSquares,
} from '../science/statistics/least-squares.js';

/** Uptake = base + coefficient × reference evaporation, in the unit the uptake is given in. */
export type WaterDemand = LeastSquaresState;

/** About a week of memory: chosen on the first 70 % of a tomato crop weighed in 2003, checked on the rest. */
export const DEMAND_FORGETTING = 0.85;

/** Nothing known: the first days decide. */
export const startDemand = (): WaterDemand => startLeastSquares([0, 0], 1e4);

/** The demand after a day whose uptake was weighed or metered. @throws PhysicsRangeError for NaN or a negative value */
export function learnDemand(
  demand: WaterDemand,
  day: { readonly referenceEtMm: number; readonly uptake: number },
  forgetting = DEMAND_FORGETTING,
): WaterDemand {
  requireNotNegative('referenceEtMm', day.referenceEtMm, 'mm');
  requireNotNegative('uptake', day.uptake, '');
  return updateLeastSquares(demand, [1, day.referenceEtMm], day.uptake, forgetting);
}

/** Uptake expected on a day; never below 0. @throws PhysicsRangeError for NaN or negative evaporation */
export const expectedUptake = (demand: WaterDemand, referenceEtMm: number): number =>
  Math.max(0, predictLeastSquares(demand, [1, requireNotNegative('referenceEtMm', referenceEtMm, 'mm')]));
