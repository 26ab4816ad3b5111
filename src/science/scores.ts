/**
 * How good a forecast was. A score whose denominator is zero is undefined, never 0: "no event came" and "every event was
 * missed" must not look alike. Source of the table scores: Jolliffe & Stephenson (2012), Forecast Verification, 2nd ed.,
 * ch. 3; Wilks (2011), Statistical Methods in the Atmospheric Sciences, 3rd ed., ch. 8.
 */
import { PhysicsRangeError, requireFinite, requireInRange, requireNotNegative, requirePositive } from './guards.js';
import { normalCdf, normalDensity } from './statistics/normal.js';

/** Counts of warnings and events. */
export interface Contingency {
  readonly hits: number;
  readonly falseAlarms: number;
  readonly misses: number;
  readonly correctNegatives: number;
}

export interface ContingencyScores {
  /** Probability of detection: share of events that were warned of. */
  readonly pod: number | undefined;
  /** False alarm ratio: share of warnings that came to nothing. */
  readonly far: number | undefined;
  /** Probability of false detection: share of quiet times that were warned of. */
  readonly pofd: number | undefined;
  /** Critical success index. */
  readonly csi: number | undefined;
  /** Warnings per event. */
  readonly bias: number | undefined;
  readonly proportionCorrect: number | undefined;
  /** Heidke skill score. */
  readonly hss: number | undefined;
  /** Peirce skill score. */
  readonly pss: number | undefined;
  /** Equitable threat score. */
  readonly ets: number | undefined;
  readonly oddsRatio: number | undefined;
  readonly yuleQ: number | undefined;
  /** Symmetric extremal dependence index: keeps its meaning for rare events. */
  readonly sedi: number | undefined;
}

const ratio = (above: number, below: number): number | undefined => (below === 0 ? undefined : above / below);

/**
 * All scores of a two-by-two table.
 * SEDI = (ln F - ln H - ln(1-F) + ln(1-H)) / (ln F + ln H + ln(1-F) + ln(1-H)); Ferro & Stephenson (2011), Wea.
 * Forecasting 26:699-713, Eq. 7.
 * @throws PhysicsRangeError for NaN or a negative count
 */
export function contingencyScores(counts: Contingency): ContingencyScores {
  const hits = requireNotNegative('hits', counts.hits, '');
  const falseAlarms = requireNotNegative('falseAlarms', counts.falseAlarms, '');
  const misses = requireNotNegative('misses', counts.misses, '');
  const quiet = requireNotNegative('correctNegatives', counts.correctNegatives, '');
  const all = hits + falseAlarms + misses + quiet;
  const pod = ratio(hits, hits + misses);
  const pofd = ratio(falseAlarms, falseAlarms + quiet);
  const hitsByChance = all === 0 ? 0 : ((hits + falseAlarms) * (hits + misses)) / all;
  return {
    pod,
    far: ratio(falseAlarms, hits + falseAlarms),
    pofd,
    csi: ratio(hits, hits + misses + falseAlarms),
    bias: ratio(hits + falseAlarms, hits + misses),
    proportionCorrect: ratio(hits + quiet, all),
    hss: ratio(
      2 * (hits * quiet - falseAlarms * misses),
      (hits + misses) * (misses + quiet) + (hits + falseAlarms) * (falseAlarms + quiet),
    ),
    pss: pod === undefined || pofd === undefined ? undefined : pod - pofd,
    ets: all === 0 ? undefined : ratio(hits - hitsByChance, hits + misses + falseAlarms - hitsByChance),
    oddsRatio: ratio(hits * quiet, falseAlarms * misses),
    yuleQ: ratio(hits * quiet - falseAlarms * misses, hits * quiet + falseAlarms * misses),
    sedi: sedi(pod, pofd),
  };
}

function sedi(pod: number | undefined, pofd: number | undefined): number | undefined {
  if (pod === undefined || pofd === undefined) return undefined;
  if (pod <= 0 || pod >= 1 || pofd <= 0 || pofd >= 1) return undefined;
  const [f, h, notF, notH] = [Math.log(pofd), Math.log(pod), Math.log(1 - pofd), Math.log(1 - pod)];
  return ratio(f - h - notF + notH, f + h + notF + notH);
}

/** A forecast probability and whether the event came. */
export interface ProbabilityPair {
  readonly probability: number;
  readonly happened: boolean;
}

/**
 * Mean squared error of probabilities, half form. Source: Brier (1950), Mon. Wea. Rev. 78:1-3.
 * @returns 0 (best) to 1; undefined without pairs
 * @throws PhysicsRangeError for a probability outside 0-1
 */
export function brierScore(pairs: readonly ProbabilityPair[]): number | undefined {
  const total = pairs.reduce(
    (sum, pair) => sum + (requireInRange('probability', pair.probability, '', 0, 1) - (pair.happened ? 1 : 0)) ** 2,
    0,
  );
  return ratio(total, pairs.length);
}

/** Pairs of one forecast probability: how many, and how many events among them. */
export interface ReliabilityBin {
  readonly probability: number;
  readonly count: number;
  readonly events: number;
}

/**
 * Forecast probabilities sorted into bins of equal width; each bin speaks with the mean of its probabilities.
 * Source of the reliability diagram: Wilks (2011), ch. 8.4.4.
 * @param count of bins; 10 gives tenths
 * @returns all bins in order, empty ones with the middle of their range
 * @throws PhysicsRangeError for a probability outside 0-1
 */
export function reliabilityBins(pairs: readonly ProbabilityPair[], count = 10): ReliabilityBin[] {
  requirePositive('count', count, '');
  const bins = Array.from({ length: count }, () => ({ sum: 0, count: 0, events: 0 }));
  for (const { probability, happened } of pairs) {
    requireInRange('probability', probability, '', 0, 1);
    const bin = bins[Math.min(count - 1, Math.floor(probability * count))] as (typeof bins)[number];
    bin.sum += probability;
    bin.count += 1;
    if (happened) bin.events += 1;
  }
  return bins.map(({ sum, count: inBin, events }, i) => ({
    probability: inBin === 0 ? (i + 0.5) / count : sum / inBin,
    count: inBin,
    events,
  }));
}

/**
 * Brier score in its parts: BS = reliability - resolution + uncertainty; skill against always giving the overall share.
 * Source: Murphy (1973), J. Appl. Meteor. 12:595-600.
 * @returns undefined without pairs; skill undefined when every or no pair had the event
 * @throws PhysicsRangeError for NaN, or more events than pairs
 */
export function brierDecomposition(bins: readonly ReliabilityBin[]):
  | {
      readonly reliability: number;
      readonly resolution: number;
      readonly uncertainty: number;
      readonly brier: number;
      readonly skill: number | undefined;
    }
  | undefined {
  for (const bin of bins) {
    requireInRange('probability', bin.probability, '', 0, 1);
    requireInRange('events', bin.events, '', 0, requireNotNegative('count', bin.count, ''));
  }
  const filled = bins.filter((bin) => bin.count > 0);
  const count = filled.reduce((sum, bin) => sum + bin.count, 0);
  if (count === 0) return undefined;
  const share = filled.reduce((sum, bin) => sum + bin.events, 0) / count;
  const weigh = (part: (bin: ReliabilityBin) => number): number =>
    filled.reduce((sum, bin) => sum + bin.count * part(bin), 0) / count;
  const reliability = weigh((bin) => (bin.probability - bin.events / bin.count) ** 2);
  const resolution = weigh((bin) => (bin.events / bin.count - share) ** 2);
  const uncertainty = share * (1 - share);
  const brier = reliability - resolution + uncertainty;
  return {
    reliability,
    resolution,
    uncertainty,
    brier,
    skill: uncertainty === 0 ? undefined : 1 - brier / uncertainty,
  };
}

/**
 * Mean of -ln of the probability given to what happened; 0 is best.
 * Source: Good (1952), J. R. Stat. Soc. B 14:107-114. Infinite when something called impossible happened.
 * @throws PhysicsRangeError for a probability outside 0-1
 */
export function logScore(probabilitiesOfOutcome: readonly number[]): number | undefined {
  const total = probabilitiesOfOutcome.reduce(
    (sum, probability) => sum - Math.log(requireInRange('probability', probability, '', 0, 1)),
    0,
  );
  return ratio(total, probabilitiesOfOutcome.length);
}

/**
 * Continuous ranked probability score of a normal forecast: s [z (2 Φ(z) - 1) + 2 φ(z) - 1/√π], z = (y - m) / s.
 * Source: Gneiting, Raftery, Westveld & Goldman (2005), Mon. Wea. Rev. 133:1098-1118, Eq. 5.
 * @param standardDeviation above 0
 * @returns in the unit of the forecast; 0 is best
 * @throws PhysicsRangeError for NaN
 */
export function crpsNormal(mean: number, standardDeviation: number, observed: number): number {
  requirePositive('standardDeviation', standardDeviation, '');
  const z = (requireFinite('observed', observed, '') - requireFinite('mean', mean, '')) / standardDeviation;
  return standardDeviation * (z * (2 * normalCdf(z) - 1) + 2 * normalDensity(z) - 1 / Math.sqrt(Math.PI));
}

/**
 * Continuous ranked probability score of an ensemble: mean |x - y| - sum |xi - xj| / (2 m²); the fair form divides by
 * 2 m (m - 1), as if the ensemble were endless. Source: Ferro (2014), Q. J. R. Meteorol. Soc. 140:1917-1923.
 * @returns in the unit of the forecast; undefined without members, and for the fair form with one
 * @throws PhysicsRangeError for NaN
 */
export function crpsEnsemble(members: readonly number[], observed: number, fair = false): number | undefined {
  requireFinite('observed', observed, '');
  const m = members.length;
  const toObserved = members.reduce((sum, x) => sum + Math.abs(requireFinite('member', x, '') - observed), 0);
  // Sorted, the sum over all pairs needs one pass: the i-th smallest counts (2 i - m + 1) times.
  const pairs = [...members].sort((a, b) => a - b).reduce((sum, x, i) => sum + 2 * x * (2 * i - m + 1), 0);
  const spread = ratio(pairs, 2 * m * (fair ? m - 1 : m));
  return spread === undefined ? undefined : toObserved / m - spread;
}

/**
 * Loss of a quantile forecast: α (y - q) above it, (1 - α) (q - y) below. Source: Koenker & Bassett (1978),
 * Econometrica 46:33-50.
 * @param share α, 0-1
 * @throws PhysicsRangeError for NaN
 */
export function pinballLoss(quantileForecast: number, observed: number, share: number): number {
  requireInRange('share', share, '', 0, 1);
  const error = requireFinite('observed', observed, '') - requireFinite('quantileForecast', quantileForecast, '');
  return error >= 0 ? share * error : (share - 1) * error;
}

export interface ErrorScores {
  readonly bias: number;
  readonly meanAbsolute: number;
  readonly rootMeanSquare: number;
  /** 1 - MSE / MSE of the reference; undefined without a reference or when that one is perfect. */
  readonly skill: number | undefined;
}

/**
 * Bias, mean absolute and root mean square error of forecasts, and the skill against a reference.
 * Source: Wilks (2011), ch. 8.
 * @returns in the unit of the forecast; undefined without pairs
 * @throws PhysicsRangeError for NaN, or lists of different length
 */
export function errorScores(
  forecasts: readonly number[],
  observed: readonly number[],
  reference?: readonly number[],
): ErrorScores | undefined {
  const count = observed.length;
  for (const list of [forecasts, reference ?? observed])
    if (list.length !== count)
      throw new PhysicsRangeError('number of forecasts', list.length, '', { min: count, max: count });
  if (count === 0) return undefined;
  const errorsOf = (list: readonly number[]): number[] =>
    list.map((value, i) => requireFinite('forecast', value, '') - requireFinite('observed', observed[i] as number, ''));
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / count;
  const errors = errorsOf(forecasts);
  const meanSquare = mean(errors.map((error) => error ** 2));
  const referenceSquare = reference ? mean(errorsOf(reference).map((error) => error ** 2)) : 0;
  return {
    bias: mean(errors),
    meanAbsolute: mean(errors.map(Math.abs)),
    rootMeanSquare: Math.sqrt(meanSquare),
    skill: referenceSquare === 0 ? undefined : 1 - meanSquare / referenceSquare,
  };
}
