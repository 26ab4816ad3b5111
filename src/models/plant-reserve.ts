/**
 * Water held in the plant, as relative water content: 1 plump, 0.85 first wrinkles, 0.70 clearly shrunk, 0.55 badly sunk.
 * The scale and every rate here are starting values: no curve is published for these plants. That an old leaf pair feeds
 * the new one, and that a whole cycle can pass on it, is published: "Water recycling in leaves of Lithops (Aizoaceae)",
 * Plant Biosystems, doi 10.1080/11263504.2016.1265610.
 */
import type { SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import { FIRMNESS, type Firmness } from '../domain/plants.js';
import { clamp, requireInRange, requireNotNegative, requirePositive } from '../science/guards.js';
import { type Estimate, updateLevel } from '../science/statistics/kalman.js';
import { normalCdf } from '../science/statistics/normal.js';

/** Water a body holds over its leaf area, mm: thick pairs hold more than thin leaves. */
const STORE_MM: Readonly<Record<SpeciesGroup['leafChange'], number>> = {
  pair: 10,
  sheath: 8,
  'leaf-by-leaf': 5,
  rosette: 4,
};
/** Loss through the skin alone, stomata shut, mm of leaf area a day. */
const CLOSED_LOSS_MM = 0.02;
/** Loss beside reference evaporation while the stomata open at night. */
const OPEN_LOSS_SHARE = 0.08;
/** Days in which the stomata of a plant in a dry pot close to a third; they kept opening for up to 8 days in Agave (Nobel 1976). */
const CLOSING_DAYS = 4;
/** Days in which a shrunk body comes two thirds of the way back, once roots drink; growers see it within 1-3 days. */
const FILLING_DAYS = 2;
/** Share of the pot's available water gone beyond which the roots take none. */
const ROOTS_DRINK_TO = 0.5;
/** Share of its full water the old pair gives to the new one, a day: 1-2 % in practice. */
const TRANSFER_PER_DAY = 0.015;
/** An old pair gives down to this. */
const OLD_PAIR_LEAST = 0.08;
/** How far the rates may be off, as a share of the change, and what a day adds whatever happens. */
const RATE_SPREAD = 0.35;
const DAILY_SPREAD = 0.004;

/** Relative water content people mean by a word, and how far they differ. */
const FIRMNESS_SCALE: Readonly<Record<Firmness, { readonly share: number; readonly spread: number }>> = {
  firm: { share: 0.95, spread: 0.05 },
  'slightly-soft': { share: 0.85, spread: 0.06 },
  soft: { share: 0.7, spread: 0.08 },
  'very-soft': { share: 0.55, spread: 0.1 },
};
/** Borders between the words. */
const BORDERS = [0.9, 0.775, 0.625] as const;

export interface BodyWater {
  /** Relative water content, 0-1. */
  readonly share: number;
  /** One standard deviation of it. */
  readonly spread: number;
}

export interface PlantReserve {
  /** The body that lives now; during replacement the old pair. */
  readonly body: BodyWater;
  /** The pair that forms inside, during replacement. */
  readonly newPair?: BodyWater;
}

/** A plant nobody has looked at. */
export const unknownReserve: PlantReserve = { body: { share: 0.85, spread: 0.15 } };

export interface ReserveInput {
  readonly days: number;
  /** Phase, with the stages of replacement apart. */
  readonly phase: WaterPhase;
  /** Share of the pot's available water gone. */
  readonly potDepletion: number;
  readonly dryDays: number;
  /** Reference evaporation under the cover, mm a day. */
  readonly referenceEtMm: number;
}

/** Roots drink in these phases; at rest, and while the new pair lives on the old one, they hardly do. */
const ROOTS_ACTIVE: Readonly<Record<WaterPhase, number>> = {
  growing: 1,
  flowering: 1,
  'seed-set': 0.8,
  waking: 0.7,
  papery: 0.7,
  'dormant-cold': 0.25,
  'dormant-warm': 0.15,
  forming: 0.3,
  splitting: 0.15,
};

const isReplacement = (phase: WaterPhase): boolean => phase === 'forming' || phase === 'splitting';

/**
 * The reserve after some days. The pair that lives now drinks and loses; during forming and splitting it gives to the new
 * pair; in the papery stage the new pair drinks for itself; when growth begins it is the body.
 * @throws PhysicsRangeError for NaN or a step without length
 */
export function stepReserve(
  group: Pick<SpeciesGroup, 'leafChange'>,
  before: PlantReserve,
  input: ReserveInput,
): PlantReserve {
  requirePositive('days', input.days, 'days');
  requireInRange('potDepletion', input.potDepletion, '', 0, 1);
  requireNotNegative('dryDays', input.dryDays, 'days');
  requireNotNegative('referenceEtMm', input.referenceEtMm, 'mm');
  const storeMm = STORE_MM[group.leafChange];
  const replacing = group.leafChange !== 'rosette' && group.leafChange !== 'leaf-by-leaf';
  if (replacing && isReplacement(input.phase)) {
    const young = before.newPair ?? { share: 0.95, spread: 0.08 };
    const given = Math.min(TRANSFER_PER_DAY * input.days, Math.max(0, before.body.share - OLD_PAIR_LEAST));
    const body = drinkAndLose(before.body, input, storeMm, 0);
    return {
      body: moved(body, -given),
      newPair: moved(drinkAndLose(young, input, storeMm, 0), Math.min(given, 1 - young.share)),
    };
  }
  if (replacing && input.phase === 'papery') {
    const young = before.newPair ?? { share: 0.85, spread: 0.12 };
    return {
      body: moved(before.body, -Math.min(before.body.share, TRANSFER_PER_DAY * input.days)),
      newPair: drinkAndLose(young, input, storeMm, ROOTS_ACTIVE.papery),
    };
  }
  return { body: drinkAndLose(before.newPair ?? before.body, input, storeMm, ROOTS_ACTIVE[input.phase]) };
}

function moved(body: BodyWater, change: number): BodyWater {
  return {
    share: clamp(body.share + change, 0, 1),
    spread: Math.min(0.2, Math.hypot(body.spread, RATE_SPREAD * change)),
  };
}

function drinkAndLose(body: BodyWater, input: ReserveInput, storeMm: number, rootsActive: number): BodyWater {
  const wet = clamp(1 - input.potDepletion / ROOTS_DRINK_TO, 0, 1);
  const drinking = rootsActive * Math.min(1, 2 * wet);
  // Stomata open while the roots drink and a few days into dryness; at rest they stay shut.
  const open = rootsActive * Math.exp(-input.dryDays / CLOSING_DAYS);
  const lossMm = CLOSED_LOSS_MM + OPEN_LOSS_SHARE * input.referenceEtMm * open;
  const lost = (lossMm / storeMm) * input.days * (1 - drinking);
  const gained = (1 - body.share) * (1 - Math.exp((-input.days * drinking) / FILLING_DAYS));
  const share = clamp(body.share - lost + gained, 0, 1);
  // A plump plant is plump whatever it was before: drinking takes away what was not known.
  const kept = body.spread * Math.exp((-input.days * drinking) / FILLING_DAYS);
  const added = RATE_SPREAD * Math.abs(gained - lost) + DAILY_SPREAD * input.days;
  return { share, spread: Math.min(0.2, kept + added) };
}

const asEstimate = (body: BodyWater): Estimate => ({ mean: body.share, variance: Math.max(body.spread, 0.01) ** 2 });

/**
 * Corrects the reserve by what somebody felt: a measurement with its own spread, not the truth.
 * @param of the body that lives now, or the new pair during replacement
 */
export function observeFirmness(reserve: PlantReserve, felt: Firmness, of: 'body' | 'new-pair' = 'body'): PlantReserve {
  const { share, spread } = FIRMNESS_SCALE[felt];
  const believed = of === 'body' ? reserve.body : (reserve.newPair ?? { share: 0.85, spread: 0.2 });
  const after = updateLevel(asEstimate(believed), share, spread ** 2);
  const corrected: BodyWater = { share: clamp(after.mean, 0, 1), spread: Math.sqrt(after.variance) };
  return of === 'body' ? { ...reserve, body: corrected } : { ...reserve, newPair: corrected };
}

export interface FirmnessBelief {
  readonly firmness: Firmness;
  readonly probability: number;
  readonly probabilities: Readonly<Record<Firmness, number>>;
}

/** The word a person would most likely use for a body, with the probability of each. */
export function expectedFirmness(body: BodyWater): FirmnessBelief {
  const spread = Math.max(body.spread, 0.01);
  const below = BORDERS.map((border) => normalCdf(clamp((border - body.share) / spread, -8, 8)));
  const [softer, soft, sunk] = below as [number, number, number];
  const shares = [1 - softer, softer - soft, soft - sunk, sunk];
  const best = shares.indexOf(Math.max(...shares));
  return {
    firmness: FIRMNESS[best] as Firmness,
    probability: shares[best] as number,
    probabilities: Object.fromEntries(FIRMNESS.map((word, i) => [word, shares[i] as number])) as Record<
      Firmness,
      number
    >,
  };
}
