/**
 * A day's highest as a smooth function of a few figures of the day, learned from the days before: a Gaussian process for
 * each choice of figures and of how smooth, how noisy and how fast forgotten. Which of them to believe is the blend's work.
 */
import { clamp } from '../../science/guards.js';
import { fitProcess, huberTrust, predictProcess } from '../../science/statistics/gaussian-process.js';
import type { Estimate } from '../../science/statistics/kalman.js';
import { median, robustSpread } from '../../science/statistics/quantiles.js';
import type { DayFigure } from './days.js';

/** Figures of the sky and the air outside, and the highest of the air model with measured sun and with sun from temperatures. */
export type ViewFigure = DayFigure | 'modelMaxC' | 'modelFromTempsMaxC';
/** A figure of a day as it was told so many days ahead; null: it was not. */
export type FigureOf = (figure: ViewFigure, dayIndex: number, lead: number) => number | null;

export interface ViewSet {
  readonly id: string;
  readonly figures: readonly ViewFigure[];
}

/** What a day's highest is told from. */
export const VIEW_SETS: readonly ViewSet[] = [
  { id: 'weather', figures: ['outsideMaxC', 'radiationMeanWm2', 'radiationPeakWm2'] },
  { id: 'model', figures: ['modelMaxC'] },
  { id: 'season', figures: ['modelFromTempsMaxC', 'outsideMaxC', 'sunFromTempsWm2', 'clearSkyMeanWm2'] },
];

interface Manner {
  /** Variance a day's highest has beside the function; of a house whose days vary by 1. */
  readonly noise: number;
  /** Variance of a level that wanders, and its memory in days: a house that changes. */
  readonly level: number;
  readonly levelDays: number;
  /** Variance of the slopes that stay, of slopes that change within a month, and of bends. */
  readonly slope: number;
  readonly changingSlope: number;
  readonly bend: number;
}

const SMOOTH = { slope: 0.4, changingSlope: 0.1, bend: 0 };
const BENT = { slope: 0.2, changingSlope: 0.05, bend: 0.6 };
const STEADY = { level: 0.02, levelDays: 5 };
const WANDERING = { level: 0.3, levelDays: 4 };
const MANNERS: readonly Manner[] = [SMOOTH, BENT].flatMap((shape) =>
  [STEADY, WANDERING].flatMap((memory) => [0.15, 0.4].map((noise) => ({ noise, ...memory, ...shape }))),
);
export const MANNER_COUNT = MANNERS.length;

/** Variance of the overall level, in the same unit: wide, so that the days themselves tell it. */
const OVERALL = 4;
const SLOPE_DAYS = 30;
const BEND_DAYS = 60;
/** Bends are this wide, in standard deviations of a figure. */
const BEND_WIDTH = 1.5;
/** Days looked back at. */
const WINDOW_DAYS = 120;
const FEWEST_DAYS = 4;
/** A figure is used when at least so many of the days have it. */
const KNOWN_SHARE = 0.7;
/** A figure further out than this is taken as this far: no line is drawn beyond what was seen. */
const FARTHEST = 4;
/** A house whose days vary by less is taken to vary by this, °C. */
const LEAST_SPREAD_C = 0.3;

export interface ViewForecast extends Estimate {
  readonly lead: number;
}

export interface ViewRunner {
  /** For each manner the forecasts of the days ahead that can be told; mornings in rising order. */
  readonly forecast: (dayIndex: number, leads: readonly number[]) => readonly (readonly ViewForecast[])[];
}

/**
 * @param maxC the highest of each day of the record; those from the morning's own day on are never looked at
 */
export function viewRunner(set: ViewSet, maxC: readonly (number | null)[], figureOf: FigureOf): ViewRunner {
  const trusts = MANNERS.map(() => new Map<number, number>());
  return {
    forecast: (dayIndex, leads) => {
      const none = MANNERS.map((): ViewForecast[] => []);
      const known: number[] = [];
      for (let day = Math.max(0, dayIndex - WINDOW_DAYS); day < dayIndex; day += 1)
        if (maxC[day] != null) known.push(day);
      const figures = set.figures.filter(
        (figure) =>
          leads.some((lead) => figureOf(figure, dayIndex + lead, lead) !== null) &&
          known.filter((day) => figureOf(figure, day, 0) !== null).length >= KNOWN_SHARE * known.length,
      );
      const isTold = (day: number, lead: number): boolean =>
        figures.every((figure) => figureOf(figure, day, lead) !== null);
      const days = known.filter((day) => isTold(day, 0));
      const told = leads.filter((lead) => isTold(dayIndex + lead, lead));
      if (figures.length === 0 || days.length < FEWEST_DAYS || told.length === 0) return none;

      const highs = days.map((day) => maxC[day] as number);
      const middle = median(highs);
      const spread = spreadOf(highs, middle);
      const scales = figures.map((figure) => scaleOf(days.map((day) => figureOf(figure, day, 0) as number)));
      const placeOf = (day: number, lead: number): number[] =>
        figures.map((figure, at) => (scales[at] as Scale)(figureOf(figure, day, lead) as number));
      const places = days.map((day) => placeOf(day, 0));
      const among = pairsAmong(places, days);
      const ahead = told.map((lead) => pairsWith(placeOf(dayIndex + lead, lead), dayIndex + lead, places, days));
      const own = told.map((lead) => pairsAmong([placeOf(dayIndex + lead, lead)], [dayIndex + lead]));
      const scaled = highs.map((high) => (high - middle) / spread);
      return MANNERS.map((manner, index) => {
        const trust = trusts[index] as Map<number, number>;
        const believed = days.map((day) => trust.get(day) ?? 1);
        const fit = fitProcess(covariances(among, manner), scaled, manner.noise, 1, believed);
        huberTrust(fit).forEach((value, at) => {
          trust.set(days[at] as number, value);
        });
        return told.map((lead, at) => {
          const [ownVariance = 0] = covariances(own[at] as Pairs, manner);
          const there = predictProcess(fit, covariances(ahead[at] as Pairs, manner), ownVariance);
          const variance = spread * spread * (there.variance + manner.noise);
          return { lead, mean: middle + spread * there.mean, variance };
        });
      });
    },
  };
}

/** Standard deviation, or that of the middle half where a few days lie far off. */
function spreadOf(highs: readonly number[], middle: number): number {
  const plain = Math.sqrt(highs.reduce((sum, high) => sum + (high - middle) ** 2, 0) / highs.length);
  return Math.max(robustSpread(highs), 0.7 * plain, LEAST_SPREAD_C);
}

type Scale = (value: number) => number;
function scaleOf(values: readonly number[]): Scale {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const deviation = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
  return (value) => (deviation > 1e-6 ? clamp((value - mean) / deviation, -FARTHEST, FARTHEST) : 0);
}

/** What all manners share of pairs of days: products of their figures, also fading, nearness in figures and time, days between. */
interface Pairs {
  readonly products: Float64Array;
  readonly fadingProducts: Float64Array;
  readonly nearness: Float64Array;
  readonly gaps: Uint16Array;
}

const emptyPairs = (size: number): Pairs => ({
  products: new Float64Array(size),
  fadingProducts: new Float64Array(size),
  nearness: new Float64Array(size),
  gaps: new Uint16Array(size),
});

function setPair(pairs: Pairs, index: number, a: readonly number[], b: readonly number[], gap: number): void {
  let product = 0;
  let squares = 0;
  for (let at = 0; at < a.length; at += 1) {
    const one = a[at] as number;
    const other = b[at] as number;
    product += one * other;
    squares += (one - other) * (one - other);
  }
  pairs.products[index] = product;
  pairs.fadingProducts[index] = product * (SLOPE_FADING[gap] as number);
  pairs.nearness[index] = (BEND_FADING[gap] as number) * Math.exp(-squares / (2 * BEND_WIDTH * BEND_WIDTH));
  pairs.gaps[index] = gap;
}

/** A square of pairs; the fit reads its lower half alone. */
function pairsAmong(places: readonly (readonly number[])[], days: readonly number[]): Pairs {
  const size = places.length;
  const pairs = emptyPairs(size * size);
  for (let i = 0; i < size; i += 1)
    for (let j = 0; j <= i; j += 1)
      setPair(
        pairs,
        i * size + j,
        places[i] as readonly number[],
        places[j] as readonly number[],
        Math.abs((days[i] as number) - (days[j] as number)),
      );
  return pairs;
}

function pairsWith(
  place: readonly number[],
  day: number,
  places: readonly (readonly number[])[],
  days: readonly number[],
): Pairs {
  const pairs = emptyPairs(places.length);
  places.forEach((other, at) => {
    setPair(pairs, at, place, other, Math.abs(day - (days[at] as number)));
  });
  return pairs;
}

const fading = (days: number): Float64Array =>
  Float64Array.from({ length: WINDOW_DAYS + 4 }, (_, gap) => Math.exp(-gap / days));
const SLOPE_FADING = fading(SLOPE_DAYS);
const BEND_FADING = fading(BEND_DAYS);
const LEVEL_FADING = new Map(MANNERS.map(({ levelDays }) => [levelDays, fading(levelDays)]));

function covariances(pairs: Pairs, manner: Manner): Float64Array {
  const { products, fadingProducts, nearness, gaps } = pairs;
  const levelFading = LEVEL_FADING.get(manner.levelDays) as Float64Array;
  const result = new Float64Array(products.length);
  for (let index = 0; index < result.length; index += 1)
    result[index] =
      OVERALL +
      manner.slope * (products[index] as number) +
      manner.changingSlope * (fadingProducts[index] as number) +
      manner.bend * (nearness[index] as number) +
      manner.level * (levelFading[gaps[index] as number] as number);
  return result;
}
