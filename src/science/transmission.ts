/**
 * How much light a cover and its cloths let through, and which cloth is on, told from light inside against light outside,
 * or against a clear sky where nothing measures outside.
 */
import { requireInRange, requireNotNegative, requirePositive } from './guards.js';
import { quantile } from './statistics/quantiles.js';

/** Light inside and above the house at one moment; both in one unit. */
export interface LightPair {
  readonly inside: number;
  /** Measured outside, or computed for a clear sky. */
  readonly above: number;
  /** Geometric altitude of the sun, degrees. */
  readonly sunAltitudeDeg: number;
}

export interface TransmissionEstimate {
  /** Share of the light above that arrives, above 0 to 1. */
  readonly transmission: number;
  /** One standard deviation, as a share of the transmission. */
  readonly relativeSpread: number;
  /** "outside": both were measured. "clear-sky": cloud may have dimmed it, so the truth may be higher. */
  readonly basis: 'outside' | 'clear-sky';
  readonly pairs: number;
}

/**
 * A low sun shines through walls and gutters and makes the ratio meaningless (common practice, no published source).
 */
const LOWEST_SUN_DEG = 15;

/** Fewer pairs than this are no estimate: an hour of ten-minute readings (common practice, no published source). */
const FEWEST_PAIRS = 6;

/**
 * A stretch counts as cloudless when the ratio varies by at most this share: passing cloud changes it by tens of percent,
 * the sun's path behind glazing bars by a few (common practice, no published source).
 */
const STEADY_SHARE = 0.1;

/** Light that arrives under cover and cloths: the product of the transmissions. Definition. */
export function transmittedLight(above: number, ...transmissions: readonly number[]): number {
  requireNotNegative('above', above, '');
  return transmissions.reduce((light, share) => light * requireInRange('transmission', share, '', 0, 1), above);
}

function usablePairs(pairs: readonly LightPair[]): LightPair[] {
  return pairs.filter((pair) => {
    requireNotNegative('inside', pair.inside, '');
    requireNotNegative('above', pair.above, '');
    requireInRange('sunAltitudeDeg', pair.sunAltitudeDeg, 'degrees', -90, 90);
    return pair.sunAltitudeDeg >= LOWEST_SUN_DEG && pair.above > 0;
  });
}

function ratioOfSums(pairs: readonly LightPair[]): number {
  const inside = pairs.reduce((sum, pair) => sum + pair.inside, 0);
  return inside / pairs.reduce((sum, pair) => sum + pair.above, 0);
}

/** Half the span that holds the middle 68 % of the single ratios, as a share of the whole. */
function relativeSpreadOf(pairs: readonly LightPair[], transmission: number): number {
  const ratios = pairs.map((pair) => pair.inside / pair.above);
  return (quantile(ratios, 0.84, 8) - quantile(ratios, 0.16, 8)) / 2 / transmission;
}

/**
 * Transmission from measured pairs: the sum inside over the sum outside while the sun is at least 15° high, because a
 * cloth's shade changes over the day and the sum is what the plant gets.
 * Source: Abdel-Ghany & Al-Helal (2011), Sol. Energy Mater. Sol. Cells 95:677-683 (characterise nets by the daily sum).
 * @returns undefined with fewer than six usable pairs, or when no light arrived (a covered or dead sensor), or when more
 *   arrived than was above (lamps, or a shaded outside sensor)
 * @throws PhysicsRangeError for NaN or negative light
 */
export function measuredTransmission(pairs: readonly LightPair[]): TransmissionEstimate | undefined {
  const usable = usablePairs(pairs);
  if (usable.length < FEWEST_PAIRS) return undefined;
  const transmission = ratioOfSums(usable);
  if (!(transmission > 0 && transmission <= 1)) return undefined;
  const relativeSpread = relativeSpreadOf(usable, transmission);
  return { transmission, relativeSpread, basis: 'outside', pairs: usable.length };
}

/**
 * Transmission against a computed clear sky: the brightest stretch of six readings in which the ratio holds steady to a
 * tenth. An even overcast is steady too, so the result is a least value, which inferClothState allows for.
 * @param pairs in order of time, `above` from a clear-sky model in the unit of `inside`
 * @returns undefined when no stretch was steady
 * @throws PhysicsRangeError for NaN or negative light
 */
export function clearSkyTransmission(pairs: readonly LightPair[]): TransmissionEstimate | undefined {
  const usable = usablePairs(pairs);
  let best: TransmissionEstimate | undefined;
  for (let start = 0; start + FEWEST_PAIRS <= usable.length; start += 1) {
    const stretch = usable.slice(start, start + FEWEST_PAIRS);
    const ratios = stretch.map((pair) => pair.inside / pair.above);
    const transmission = ratioOfSums(stretch);
    if (!(transmission > 0 && transmission <= 1)) continue;
    if (Math.max(...ratios) - Math.min(...ratios) > STEADY_SHARE * transmission) continue;
    if (best !== undefined && best.transmission >= transmission) continue;
    const relativeSpread = relativeSpreadOf(stretch, transmission);
    best = { transmission, relativeSpread, basis: 'clear-sky', pairs: stretch.length };
  }
  return best;
}

/** A state the cloths can be in: nothing drawn (transmission 1), one cloth, or several. */
export interface ClothState {
  readonly id: string;
  /** Of the cloth alone, 0 to 1. */
  readonly transmission: number;
  /** One standard deviation of that transmission; left out: 0.05, since true shade differs from nominal by about 0.10. */
  readonly spread?: number;
  /** How likely before looking; left out: all states alike. Any positive scale. */
  readonly prior?: number;
}

export interface ClothBelief {
  readonly id: string;
  readonly probability: number;
}

/** Share of readings that fit no state (a person beside the sensor, snow on the roof); keeps one bad day from ruling. */
const OUTLIER_SHARE = 0.02;

/** With no outside sensor: the odds that the steady stretch was cloudless (common practice, no published source). */
const CLOUDLESS_SHARE = 0.6;

/** Even overcast lets through down to a tenth of the clear-sky light. Source: Haurwitz (1948), J. Meteorol. 5:110-113 (remembered). */
const DARKEST_CLOUD = 0.1;

/**
 * Which cloth is on, told from the transmission found. Bayes' rule over the states: the log of the transmission is taken as
 * normal about cover x cloth; against a clear sky a lower value may also be cloud, spread evenly (in the log) down to a tenth.
 * @param observed from measuredTransmission or clearSkyTransmission
 * @param coverTransmission of the clean or the lately seen cover without cloth, above 0 to 1
 * @param coverRelativeSpread one standard deviation as a share, 0 to 1 (dirt and condensation: 0.05 to 0.2)
 * @param states at least one
 * @returns the states by falling probability, adding to 1
 * @throws PhysicsRangeError outside the ranges, for NaN, or without states
 */
export function inferClothState(
  observed: TransmissionEstimate,
  coverTransmission: number,
  coverRelativeSpread: number,
  states: readonly ClothState[],
): ClothBelief[] {
  requirePositive('states.length', states.length, '');
  requireInRange('coverTransmission', coverTransmission, '', Number.MIN_VALUE, 1);
  requireInRange('coverRelativeSpread', coverRelativeSpread, '', 0, 1);
  const logSeen = Math.log(requireInRange('observed.transmission', observed.transmission, '', Number.MIN_VALUE, 1));
  const seenSpread = requireNotNegative('observed.relativeSpread', observed.relativeSpread, '');
  // The mean of n pairs is known better than one pair, but neighbours in time err together: a third of them count.
  const meanSpread = seenSpread / Math.sqrt(Math.max(1, observed.pairs / 3));
  const weights = states.map((state) => {
    const transmission = requireInRange('state.transmission', state.transmission, '', Number.MIN_VALUE, 1);
    const spread = requireNotNegative('state.spread', state.spread ?? (transmission === 1 ? 0 : 0.05), '');
    const logExpected = Math.log(coverTransmission * transmission);
    const deviation = Math.hypot(meanSpread, coverRelativeSpread, spread / transmission, 0.02);
    return (
      requireNotNegative('state.prior', state.prior ?? 1, '') *
      likelihood(logSeen, logExpected, deviation, observed.basis)
    );
  });
  const total = requirePositive('sum of weights', sum(weights), '');
  return states
    .map((state, index) => ({ id: state.id, probability: (weights[index] ?? 0) / total }))
    .sort((first, second) => second.probability - first.probability);
}

function likelihood(
  logSeen: number,
  logExpected: number,
  deviation: number,
  basis: TransmissionEstimate['basis'],
): number {
  const z = (logSeen - logExpected) / deviation;
  const fit = Math.exp(-0.5 * z * z) / (deviation * Math.sqrt(2 * Math.PI));
  const cloudSpan = -Math.log(DARKEST_CLOUD);
  const underCloud = logSeen <= logExpected && logSeen >= logExpected - cloudSpan ? 1 / cloudSpan : 0;
  const main = basis === 'outside' ? fit : CLOUDLESS_SHARE * fit + (1 - CLOUDLESS_SHARE) * underCloud;
  // An outlier may lie anywhere between a thousandth and all of the light.
  return (1 - OUTLIER_SHARE) * main + OUTLIER_SHARE / Math.log(1000);
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
