/**
 * Water in a pot: one bucket whose evaporating layer is the whole pot, after the dual-coefficient form of FAO-56 (1998),
 * ch. 7. A pot is shallower than the 10-15 cm layer that dries by evaporation in a field, so one depletion serves the
 * surface and the roots. The depletion is known with a spread: sensors and notes correct it, they do not replace it.
 */
import type { Mix, Pot } from '../domain/catalogue.js';
import type { Amount, SubstrateNote } from '../domain/plants.js';
import {
  evaporationCoefficient,
  evaporationReduction,
  exposedWettedFraction,
  totalAvailableWaterMm,
  totalEvaporableWaterMm,
  waterStressCoefficient,
} from '../science/dual-crop.js';
import { clamp, requireInRange, requireNotNegative, requirePositive } from '../science/guards.js';
import { type Estimate, updateLevel } from '../science/statistics/kalman.js';
import { normalCdf, normalDensity } from '../science/statistics/normal.js';

/** Share of the lower limit of uptake that stays in the mix however long it dries (starting value). */
const AIR_DRY_SHARE = 0.6;
/** Plants begin to be held back when this share of the available water is gone (starting value). */
const STRESS_BEGINS_AT = 0.5;
/** Kcmax of a cover without height. Source: FAO-56, Eq. 72 with h = 0. */
const flatMaximumCoefficient = (basalCoefficient: number): number => Math.max(1.2, basalCoefficient + 0.05);
/** How far the computed loss may be off, as a share of it (starting value; refit by weighing). */
const LOSS_SPREAD = 0.2;
/** How far a drink may be off, as a share of it (starting value). */
const DRINK_SPREAD = 0.15;
/** Poured beyond refilling, so that a full drink drains: share of the refill (common practice). */
const DRAIN_SHARE = 0.1;

export interface PotSetup {
  readonly mix: Mix;
  readonly pot: Pot;
  readonly topDressing: 'none' | 'grit';
  /** Share of the surface that grown plants cover. */
  readonly coverFraction: number;
  /** From the catalogue: clay against plastic, what grit leaves of the evaporation, capacity by depth. */
  readonly clayFactor: number;
  readonly gritTopFactor: number;
  readonly mineralDepthFactors: readonly { readonly depthCm: number; readonly factor: number }[];
  /** Depth of a light drink. */
  readonly lightDrinkMm: number;
  /** Share of the available water gone at which the pot counts as dry. */
  readonly dryAtDepletion: number;
}

export interface PotCapacities {
  /** Volumetric water content after draining, in this pot. */
  readonly thetaContainerCapacity: number;
  readonly depthM: number;
  /** TAW: between drained and the plants' lower limit. */
  readonly totalAvailableMm: number;
  /** TEW: between drained and air-dry. */
  readonly totalEvaporableMm: number;
  /** REW: evaporates freely before the mix holds it back. */
  readonly readilyEvaporableMm: number;
  /** Depletion from which the pot counts as dry. */
  readonly dryAtMm: number;
  readonly mlPerMm: number;
  readonly lightDrinkMm: number;
  readonly coverFraction: number;
  /** What the top dressing leaves of the evaporation. */
  readonly topFactor: number;
  /** Clay against plastic. */
  readonly wallFactor: number;
}

/** Factor on the container capacity by pot depth, straight lines between the table's depths, held beyond its ends. */
export function depthFactor(
  depthCm: number,
  table: readonly { readonly depthCm: number; readonly factor: number }[],
): number {
  requirePositive('depthCm', depthCm, 'cm');
  const after = table.findIndex((entry) => entry.depthCm >= depthCm);
  const upper = table[after === -1 ? table.length - 1 : after];
  const lower = table[after <= 0 ? 0 : after - 1];
  if (!upper || !lower) return 1;
  if (after <= 0) return upper.factor;
  const share = (depthCm - lower.depthCm) / (upper.depthCm - lower.depthCm);
  return lower.factor + share * (upper.factor - lower.factor);
}

/**
 * What a pot holds. TAW = 1000 (θcc - θll) z; TEW = 1000 (θcc - 0.5 θwp) z with θwp = 0.6 θll, z the depth of the mix.
 * Source: FAO-56, Eq. 73 and 82, with the container capacity for the field capacity.
 * @throws PhysicsRangeError for a pot without depth or a mix that holds nothing
 */
export function potCapacities(setup: PotSetup): PotCapacities {
  const { mix, pot } = setup;
  const depthM = pot.depthCm / 100;
  const factor = mix.mineral ? depthFactor(pot.depthCm, setup.mineralDepthFactors) : 1;
  // The plants' lower limit does not move with depth, so a very deep pot must still hold a little.
  const theta = Math.max(mix.thetaContainerCapacity * factor, mix.thetaLowerLimit + 0.01);
  const totalAvailableMm = totalAvailableWaterMm(theta, mix.thetaLowerLimit, depthM);
  const totalEvaporableMm = totalEvaporableWaterMm(theta, AIR_DRY_SHARE * mix.thetaLowerLimit, depthM);
  return {
    thetaContainerCapacity: theta,
    depthM,
    totalAvailableMm,
    totalEvaporableMm,
    readilyEvaporableMm: Math.min(mix.readilyEvaporableMm, 0.8 * totalEvaporableMm),
    dryAtMm: requireInRange('dryAtDepletion', setup.dryAtDepletion, '', 0.3, 1) * totalAvailableMm,
    mlPerMm: requirePositive('areaCm2', pot.areaCm2, 'cm²') / 10,
    lightDrinkMm: requirePositive('lightDrinkMm', setup.lightDrinkMm, 'mm'),
    coverFraction: requireInRange('coverFraction', setup.coverFraction, '', 0, 1),
    topFactor: setup.topDressing === 'grit' ? setup.gritTopFactor : 1,
    wallFactor: pot.material === 'clay' ? setup.clayFactor : 1,
  };
}

export interface PotWaterState {
  /** Water gone since the pot was full and drained, mm. */
  readonly depletionMm: number;
  /** One standard deviation of it. */
  readonly spreadMm: number;
  /** Days since the substrate became dry; 0 while it is moist. */
  readonly dryDays: number;
}

/** A pot of which nothing is known: anything from full to bone dry. */
export function unknownPotWater(pot: PotCapacities): PotWaterState {
  return { depletionMm: pot.totalEvaporableMm / 2, spreadMm: pot.totalEvaporableMm / 2, dryDays: 0 };
}

/** A pot that was refilled and has drained. */
export const fullPotWater = (pot: PotCapacities): PotWaterState => ({
  depletionMm: 0,
  spreadMm: 0.05 * pot.totalAvailableMm,
  dryDays: 0,
});

/** Share of the available water gone: 0 full, 1 nothing left for the plant. */
export const depletionShare = (pot: PotCapacities, state: PotWaterState): number =>
  clamp(state.depletionMm / pot.totalAvailableMm, 0, 1);

export const isPotDry = (pot: PotCapacities, state: PotWaterState): boolean => state.depletionMm >= pot.dryAtMm;

/** Probability that the pot is dry, from the depletion and its spread. */
export const probabilityPotDry = (pot: PotCapacities, state: PotWaterState): number =>
  normalCdf(clamp((state.depletionMm - pot.dryAtMm) / Math.max(state.spreadMm, 1e-6), -8, 8));

export const mlFromMm = (pot: PotCapacities, waterMm: number): number =>
  requireNotNegative('waterMm', waterMm, 'mm') * pot.mlPerMm;
export const mmFromMl = (pot: PotCapacities, waterMl: number): number =>
  requireNotNegative('waterMl', waterMl, 'mL') / pot.mlPerMm;

/** What to pour for a drink, mm: a light one wets the top, a full one refills and drains a little. */
export function drinkMm(pot: PotCapacities, state: PotWaterState, amount: Amount): number {
  if (amount === 'none') return 0;
  if (amount === 'light') return Math.min(pot.lightDrinkMm, pot.totalAvailableMm);
  return state.depletionMm * (1 + DRAIN_SHARE);
}

/** Loss at a depletion, for reference evaporation of 1 mm. FAO-56 Eq. 71-74, 84; wall and top factors starting values. */
export function lossPerReferenceMm(pot: PotCapacities, depletionMm: number, basalCoefficient: number): number {
  const surface = evaporationCoefficient(
    evaporationReduction(depletionMm, pot.totalEvaporableMm, pot.readilyEvaporableMm),
    flatMaximumCoefficient(basalCoefficient),
    basalCoefficient,
    exposedWettedFraction(pot.coverFraction, 1),
  );
  const stress = waterStressCoefficient(depletionMm, pot.totalAvailableMm, STRESS_BEGINS_AT);
  return (surface * pot.topFactor + stress * basalCoefficient) * pot.wallFactor;
}

/** How much the loss at a depletion changes per mm of it, for reference evaporation of 1 mm: the slopes of Kr and Ks. */
function lossSlopePerMm(pot: PotCapacities, depletionMm: number, basalCoefficient: number): number {
  const maximum = flatMaximumCoefficient(basalCoefficient);
  const energy = maximum - basalCoefficient;
  const holding = pot.totalEvaporableMm - pot.readilyEvaporableMm;
  const reduction = (pot.totalEvaporableMm - depletionMm) / holding;
  // Before that the covered share limits the surface, and the mix does not yet hold back.
  const heldBack = reduction < 1 && reduction * energy < (1 - pot.coverFraction) * maximum;
  const surface = heldBack ? (energy / holding) * pot.topFactor : 0;
  const stressed = depletionMm > STRESS_BEGINS_AT * pot.totalAvailableMm && depletionMm < pot.totalAvailableMm;
  const stress = stressed ? basalCoefficient / ((1 - STRESS_BEGINS_AT) * pot.totalAvailableMm) : 0;
  return -(surface + stress) * pot.wallFactor;
}

export interface PotWaterInput {
  /** Length of the step. */
  readonly hours: number;
  /** Reference evaporation under the cover during the step. */
  readonly referenceEtMm: number;
  /** Transpiration beside it (Kcb): by species group and activity. */
  readonly basalCoefficient: number;
  /** Water given, taken as given at the start. */
  readonly waterMm?: number;
}

export interface PotWaterStep extends PotWaterState {
  readonly lossMm: number;
  readonly drainageMm: number;
}

/**
 * The pot after one step: water first, then the loss at the depletion the water left. A light drink on a dry pot makes it
 * moist again, so the count of dry days starts anew.
 * @throws PhysicsRangeError for NaN, negative water or evaporation, or a step of 0 hours
 */
export function stepPotWater(pot: PotCapacities, before: PotWaterState, input: PotWaterInput): PotWaterStep {
  const hours = requirePositive('hours', input.hours, 'h');
  const referenceMm = requireNotNegative('referenceEtMm', input.referenceEtMm, 'mm');
  const watered = input.waterMm ? pourWater(before, input.waterMm) : before;
  const start = watered.depletionMm;
  const drainageMm = start - before.depletionMm + (input.waterMm ?? 0);
  // By night nothing evaporates, and half of all hours are night.
  if (referenceMm === 0)
    return {
      depletionMm: start,
      spreadMm: watered.spreadMm,
      dryDays: countDryDays(pot, watered, start, hours),
      lossMm: 0,
      drainageMm,
    };
  const rate = lossPerReferenceMm(pot, start, input.basalCoefficient);
  const lossMm = Math.min(rate * referenceMm, pot.totalEvaporableMm - start);
  const depletionMm = start + lossMm;
  // A wetter pot than believed loses more and a drier one less, so drying narrows what is not known of the past ...
  const narrowing = clamp(1 + lossSlopePerMm(pot, start, input.basalCoefficient) * referenceMm, 0, 1);
  // ... while the error of the loss itself adds up in one direction: a house that dries faster does so every day.
  const spreadMm = Math.min(watered.spreadMm * narrowing + LOSS_SPREAD * lossMm, pot.totalEvaporableMm / 2);
  return { depletionMm, spreadMm, dryDays: countDryDays(pot, watered, depletionMm, hours), lossMm, drainageMm };
}

/** Dry days at the end of a step: the part of it after the limit was passed counts. */
function countDryDays(pot: PotCapacities, start: PotWaterState, endMm: number, hours: number): number {
  if (endMm < pot.dryAtMm) return 0;
  if (start.depletionMm >= pot.dryAtMm) return start.dryDays + hours / 24;
  return ((endMm - pot.dryAtMm) / (endMm - start.depletionMm)) * (hours / 24);
}

/**
 * The pot after a drink that drains what it cannot hold: mean and spread of max(0, D - water) for a depletion known with a
 * spread (moments of a normal distribution cut at zero).
 */
function pourWater(before: PotWaterState, waterMm: number): PotWaterState {
  requireNotNegative('waterMm', waterMm, 'mm');
  const mean = before.depletionMm - waterMm;
  const spread = Math.max(Math.hypot(before.spreadMm, DRINK_SPREAD * waterMm), 1e-6);
  const z = clamp(mean / spread, -8, 8);
  const above = normalCdf(z);
  const density = normalDensity(z);
  const depletionMm = Math.max(0, mean * above + spread * density);
  const square = (mean ** 2 + spread ** 2) * above + mean * spread * density;
  return {
    depletionMm,
    spreadMm: Math.sqrt(Math.max(0, square - depletionMm ** 2)),
    // Where a light drink does not even wet a bone-dry pot through, the wait for the next one begins anew all the same.
    dryDays: 0,
  };
}

// --- what sensors and people say -------------------------------------------------------------------------------------

function corrected(pot: PotCapacities, before: PotWaterState, after: Estimate): PotWaterState {
  const depletionMm = clamp(after.mean, 0, pot.totalEvaporableMm);
  const dry = depletionMm >= pot.dryAtMm;
  return { depletionMm, spreadMm: Math.sqrt(after.variance), dryDays: dry ? before.dryDays : 0 };
}

/**
 * Corrects the depletion by a measured one.
 * @param spreadMm one standard deviation of the measurement, above 0
 */
export function observeDepletion(
  pot: PotCapacities,
  state: PotWaterState,
  measuredMm: number,
  spreadMm: number,
): PotWaterState {
  requirePositive('spreadMm', spreadMm, 'mm');
  return corrected(
    pot,
    state,
    updateLevel({ mean: state.depletionMm, variance: state.spreadMm ** 2 }, measuredMm, spreadMm ** 2),
  );
}

/**
 * Corrects by a moisture sensor. Coarse mixes touch a probe badly, so the usual spread is wide.
 * @param moisturePct % by volume, 0 to 100
 * @param spreadPct one standard deviation, 5 (starting value)
 */
export function observeMoisture(
  pot: PotCapacities,
  state: PotWaterState,
  moisturePct: number,
  spreadPct = 5,
): PotWaterState {
  requireInRange('moisturePct', moisturePct, '%', 0, 100);
  const mmPerPct = 10 * pot.depthM;
  return observeDepletion(
    pot,
    state,
    (pot.thetaContainerCapacity * 100 - moisturePct) * mmPerPct,
    requirePositive('spreadPct', spreadPct, '%') * mmPerPct,
  );
}

/**
 * Corrects by the weight of the pot.
 * @param weightG g
 * @param drainedWeightG the same pot after a full drink and an hour of draining, g
 * @param spreadG one standard deviation, growth and dust included
 */
export function observeWeight(
  pot: PotCapacities,
  state: PotWaterState,
  weightG: number,
  drainedWeightG: number,
  spreadG = 2,
): PotWaterState {
  requirePositive('weightG', weightG, 'g');
  return observeDepletion(pot, state, (drainedWeightG - weightG) / pot.mlPerMm, spreadG / pot.mlPerMm);
}

/** Depletion, as a share of the available water, at which half of the people would call a pot dry (starting value). */
const NOTE_MIDDLE = 0.7;
/** How far people and pots differ about it (starting value). */
const NOTE_SPREAD = 0.15;

/**
 * Corrects by what somebody saw or felt. P("looked dry" | D) = Φ((D - 0.7 TAW) / 0.15 TAW): a note moves the depletion
 * only as far as it was in doubt. Source of the update: Rasmussen & Williams (2006), Gaussian Processes for Machine
 * Learning, Eq. 3.85-3.87 (moments of a normal distribution times a probit).
 */
export function observeNote(pot: PotCapacities, state: PotWaterState, note: SubstrateNote): PotWaterState {
  const sign = note === 'looked-dry' ? 1 : -1;
  const variance = Math.max(state.spreadMm, 0.03 * pot.totalAvailableMm) ** 2;
  const width = Math.sqrt((NOTE_SPREAD * pot.totalAvailableMm) ** 2 + variance);
  const z = (sign * (state.depletionMm - NOTE_MIDDLE * pot.totalAvailableMm)) / width;
  // Beyond -6 the ratio of density to share tends to -z, and the share itself is lost to rounding.
  const pull = z < -6 ? -z : normalDensity(z) / normalCdf(z);
  return corrected(pot, state, {
    mean: state.depletionMm + (sign * variance * pull) / width,
    variance: variance * (1 - (variance / width ** 2) * pull * (z + pull)),
  });
}

// --- looking ahead ---------------------------------------------------------------------------------------------------

export interface DaysToDry {
  /** Until the pot counts as dry; 0 when it is. Undefined: not within the days looked at. */
  readonly days: number | undefined;
  /** The same for a pot one standard deviation drier, and wetter, than believed. */
  readonly early: number | undefined;
  readonly late: number | undefined;
}

/** Longest look ahead. Beyond it "dry some day" is all that can be said. */
export const DAYS_AHEAD = 120;

/**
 * Days until the pot is dry, without a further drink.
 * @param dailyEtMm reference evaporation of the coming days, today first; the mean of them stands for the days after
 * @returns undefined when nothing is known of the evaporation to come
 */
export function daysToDry(
  pot: PotCapacities,
  state: PotWaterState,
  dailyEtMm: readonly number[],
  basalCoefficient: number,
): DaysToDry | undefined {
  if (dailyEtMm.length === 0) return undefined;
  const after = dailyEtMm.reduce((sum, et) => sum + requireNotNegative('dailyEtMm', et, 'mm'), 0) / dailyEtMm.length;
  const from = (startMm: number, faster: number): number | undefined => {
    let depletionMm = clamp(startMm, 0, pot.totalEvaporableMm);
    if (depletionMm >= pot.dryAtMm) return 0;
    for (let day = 0; day < DAYS_AHEAD; day += 1) {
      const et = (dailyEtMm[day] ?? after) * faster;
      const loss = lossPerReferenceMm(pot, depletionMm, basalCoefficient) * et;
      if (depletionMm + loss >= pot.dryAtMm) return day + (pot.dryAtMm - depletionMm) / loss;
      depletionMm += loss;
    }
    return undefined;
  };
  return {
    days: from(state.depletionMm, 1),
    early: from(state.depletionMm + state.spreadMm, 1 + LOSS_SPREAD),
    late: from(state.depletionMm - state.spreadMm, 1 - LOSS_SPREAD),
  };
}
