import { clamp } from '../science/guards.js';
import { MS_PER_86400_S, MS_PER_HOUR } from '../science/units.js';

/**
 * How far a forecast is out at one place, learned from the site's own outdoor sensor: by how long ahead it speaks and by
 * the hour of the sun. Temperature is off by a sum, radiation by a factor.
 *
 * Each figure is a mean that forgets, drawn towards a wider one while it rests on little: a cell of lead and hour towards
 * its hour, the hour towards the whole, the whole towards "not out at all". A surprise counts for at most three times
 * the usual error, so that one wrong reading moves nothing. All constants are starting values.
 */

/** One hour of one forecast beside what was measured; null: not told. */
export interface BiasSample {
  /** Start of the hour, UTC ms. */
  readonly at: number;
  /** From the issue to the start of the hour. */
  readonly leadHours: number;
  /** Hour of the day by the sun, 0-23: clocks that go forward do not shift what was learned. */
  readonly sunHour: number;
  readonly forecastC: number | null;
  readonly observedC: number | null;
  readonly forecastWm2: number | null;
  readonly observedWm2: number | null;
}

interface Mean {
  readonly weight: number;
  readonly mean: number;
  /** Time of the newest sample: weights fade from there on. */
  readonly at: number;
}

/** What was learned; made by `learnBias` alone. */
export interface ForecastBias {
  /** Days with at least one sample. */
  readonly days: number;
  readonly lastDay: number;
  readonly whole: Mean;
  readonly hours: readonly Mean[];
  /** Lead class × 24 + hour. */
  readonly cells: readonly Mean[];
  /** Squared surprises, by cell and by lead class. */
  readonly cellSquares: readonly Mean[];
  readonly leadSquares: readonly Mean[];
  /** Usual forecast sun of the hours, as a share of FULL_SUN_WM2. */
  readonly sun: readonly Mean[];
  /** Within the hours: products of sun and error about their means. */
  readonly sunSquares: Mean;
  readonly sunProducts: Mean;
  readonly light: { readonly observed: readonly Mean[]; readonly forecast: readonly Mean[] };
  readonly lightSquares: readonly Mean[];
  readonly lightScale: readonly Mean[];
}

/** Upper ends of the lead classes, hours. */
export const LEAD_CLASSES = [12, 24, 36, 48, 72, Number.POSITIVE_INFINITY] as const;
/**
 * Standard deviation of an hour's error before anything is learned, °C, by lead class. Archived US forecasts of the
 * daily high of 2021 (National Weather Service) miss by 1.06, 1.20, 1.28 and 1.38 °C on average at 12, 24, 36 and 48 h,
 * which is 1.3 to 1.7 °C of standard deviation; single hours are a little worse.
 */
const PRIOR_SPREAD_C = [1.5, 1.7, 1.9, 2.1, 2.5, 3.2] as const;
/** The same for radiation, as a share of the forecast radiation. */
const PRIOR_LIGHT_SPREAD = [0.3, 0.32, 0.35, 0.38, 0.42, 0.5] as const;

const HALF_LIFE_DAYS = 21;
/** Samples that weigh as much as the wider figure. */
const HOLD = { whole: 72, hour: 15, cell: 10, spread: 8, leadSpread: 48, sun: 5, light: 15, lightSpread: 48 } as const;
const SURPRISE_AT_MOST = 3;
/** A reading this far from a forecast is none of the air. */
const UNBELIEVABLE_C = 20;
/** No site is further from a forecast than this. */
const CORRECTION_AT_MOST_C = 6;

/** A sensor the sun shines on reads high in proportion to the sun. */
const FULL_SUN_WM2 = 800;
/** °C per full sun: from the first on the sun's part is left out by and by, from the second on wholly. */
const SUN_HEATED_C = [1.5, 3] as const;
/** Hours with less forecast sun than this share are night. */
const NIGHT_SUN = 0.02;
/** By day a site is at most so much more above its forecast than by night; the rest is a sensor in the sun. */
const DAY_OVER_NIGHT_C = 3;

const LIGHT_FACTOR = [0.6, 1.5] as const;
/** A sensor this far off is in another unit or under a roof, and says nothing of the forecast. */
const LIGHT_BELIEVED = [0.5, 2] as const;
const LIGHT_FROM_WM2 = 20;
const LIGHT_RATIO_AT_MOST = 2.5;

const UNSEEN: Mean = { weight: 0, mean: 0, at: 0 };
const unseen = (count: number): Mean[] => Array.from({ length: count }, () => UNSEEN);

export const NOTHING_LEARNED: ForecastBias = {
  days: 0,
  lastDay: Number.NEGATIVE_INFINITY,
  whole: UNSEEN,
  hours: unseen(24),
  cells: unseen(24 * LEAD_CLASSES.length),
  cellSquares: unseen(24 * LEAD_CLASSES.length),
  leadSquares: unseen(LEAD_CLASSES.length),
  sun: unseen(24),
  sunSquares: UNSEEN,
  sunProducts: UNSEEN,
  light: { observed: unseen(24), forecast: unseen(24) },
  lightSquares: unseen(LEAD_CLASSES.length),
  lightScale: unseen(LEAD_CLASSES.length),
};

const leadClassOf = (leadHours: number): number => LEAD_CLASSES.findIndex((end) => leadHours < end);

const faded = (mean: Mean, at: number): number =>
  mean.weight * 0.5 ** (Math.max(0, at - mean.at) / (HALF_LIFE_DAYS * MS_PER_86400_S));

function add(mean: Mean, value: number, at: number, weight = 1): Mean {
  const total = faded(mean, at) + weight;
  return { weight: total, mean: mean.mean + ((value - mean.mean) * weight) / total, at: Math.max(at, mean.at) };
}

/** Drawn towards a wider figure as long as it rests on little. */
function drawn(mean: Mean, wider: number, hold: number, at: number): number {
  const weight = faded(mean, at);
  return (weight * mean.mean + hold * wider) / (weight + hold);
}

/** Error to expect, °C, the sun's part included. */
function expectedC(bias: ForecastBias, lead: number, hour: number, at: number): number {
  const whole = drawn(bias.whole, 0, HOLD.whole, at);
  const ofHour = drawn(bias.hours[hour] ?? UNSEEN, whole, HOLD.hour, at);
  return drawn(bias.cells[lead * 24 + hour] ?? UNSEEN, ofHour, HOLD.cell, at);
}

function spreadOfC(bias: ForecastBias, lead: number, hour: number, at: number): number {
  const prior = (PRIOR_SPREAD_C[lead] ?? 0) ** 2;
  const ofLead = drawn(bias.leadSquares[lead] ?? UNSEEN, prior, HOLD.leadSpread, at);
  return Math.sqrt(drawn(bias.cellSquares[lead * 24 + hour] ?? UNSEEN, ofLead, HOLD.spread, at));
}

type Draft = {
  -readonly [K in keyof ForecastBias]: ForecastBias[K] extends readonly Mean[] ? Mean[] : ForecastBias[K];
};

/**
 * Learns from hours that are over.
 * @param samples by rising `at`; the same hour may come once per forecast
 * @param before what was learned up to then; it is not changed
 */
export function learnBias(samples: Iterable<BiasSample>, before: ForecastBias = NOTHING_LEARNED): ForecastBias {
  const draft: Draft = {
    ...before,
    hours: [...before.hours],
    cells: [...before.cells],
    cellSquares: [...before.cellSquares],
    leadSquares: [...before.leadSquares],
    sun: [...before.sun],
    light: { observed: [...before.light.observed], forecast: [...before.light.forecast] },
    lightSquares: [...before.lightSquares],
    lightScale: [...before.lightScale],
  };
  for (const sample of samples) {
    const lead = leadClassOf(sample.leadHours);
    if (lead < 0 || sample.leadHours < 0) continue;
    const learned = [learnTemperature(draft, sample, lead), learnLight(draft, sample, lead)].includes(true);
    const day = Math.floor(sample.at / MS_PER_86400_S);
    if (learned && day > draft.lastDay) {
      draft.days += 1;
      draft.lastDay = day;
    }
  }
  return draft;
}

const told = (value: number | null): value is number => value !== null && Number.isFinite(value);

function learnTemperature(draft: Draft, sample: BiasSample, lead: number): boolean {
  const { at, sunHour: hour, forecastC, observedC, forecastWm2 } = sample;
  if (!told(forecastC) || !told(observedC) || Math.abs(observedC - forecastC) > UNBELIEVABLE_C) return false;
  const cell = lead * 24 + hour;
  const expected = expectedC(draft, lead, hour, at);
  const most = SURPRISE_AT_MOST * spreadOfC(draft, lead, hour, at);
  const surprise = clamp(observedC - forecastC - expected, -most, most);
  const error = expected + surprise;
  if (told(forecastWm2)) learnSun(draft, hour, forecastWm2 / FULL_SUN_WM2, error, at);
  draft.whole = add(draft.whole, error, at);
  draft.hours[hour] = add(draft.hours[hour] ?? UNSEEN, error, at);
  draft.cells[cell] = add(draft.cells[cell] ?? UNSEEN, error, at);
  draft.cellSquares[cell] = add(draft.cellSquares[cell] ?? UNSEEN, surprise ** 2, at);
  draft.leadSquares[lead] = add(draft.leadSquares[lead] ?? UNSEEN, surprise ** 2, at);
  return true;
}

/** How the error goes with the forecast sun on different days at the same hour. */
function learnSun(draft: Draft, hour: number, sun: number, error: number, at: number): void {
  const usual = draft.sun[hour] ?? UNSEEN;
  const usualError = draft.hours[hour] ?? UNSEEN;
  const weight = faded(usual, at);
  const share = weight / (weight + 1);
  const apart = sun - usual.mean;
  draft.sun[hour] = add(usual, sun, at);
  if (share === 0 || Math.max(sun, usual.mean) < NIGHT_SUN) return;
  draft.sunSquares = add(draft.sunSquares, share * apart ** 2, at);
  draft.sunProducts = add(draft.sunProducts, share * apart * (error - usualError.mean), at);
}

function learnLight(draft: Draft, sample: BiasSample, lead: number): boolean {
  const { at, sunHour: hour, forecastWm2, observedWm2 } = sample;
  if (!told(forecastWm2) || !told(observedWm2) || forecastWm2 < LIGHT_FROM_WM2 || observedWm2 < 0) return false;
  const observed = Math.min(observedWm2, LIGHT_RATIO_AT_MOST * forecastWm2);
  const surprise = observed - forecastWm2 * factorOf(draft, hour, at);
  const { observed: seen, forecast } = draft.light as { observed: Mean[]; forecast: Mean[] };
  seen[hour] = add(seen[hour] ?? UNSEEN, observed, at);
  forecast[hour] = add(forecast[hour] ?? UNSEEN, forecastWm2, at);
  draft.lightSquares[lead] = add(draft.lightSquares[lead] ?? UNSEEN, surprise ** 2, at);
  draft.lightScale[lead] = add(draft.lightScale[lead] ?? UNSEEN, forecastWm2 ** 2, at);
  return true;
}

/** Observed over forecast light of all hours, drawn towards 1; undefined: the sensor is not to be believed. */
function wholeLightFactor({ light }: Pick<ForecastBias, 'light'>, at: number): number | undefined {
  let observed = 0;
  let forecast = 0;
  let weight = 0;
  light.forecast.forEach((mean, hour) => {
    const own = faded(mean, at);
    weight += own;
    forecast += own * mean.mean;
    observed += own * (light.observed[hour] ?? UNSEEN).mean;
  });
  if (weight === 0) return 1;
  const ratio = observed / forecast;
  if (weight >= HOLD.light && (ratio < LIGHT_BELIEVED[0] || ratio > LIGHT_BELIEVED[1])) return undefined;
  const hold = (HOLD.light * forecast) / weight;
  return (observed + hold) / (forecast + hold);
}

function factorOf(bias: Pick<ForecastBias, 'light'>, hour: number, at: number): number {
  const whole = wholeLightFactor(bias, at);
  if (whole === undefined) return 1;
  const forecast = bias.light.forecast[hour] ?? UNSEEN;
  const weight = faded(forecast, at);
  if (weight === 0 || forecast.mean === 0) return clamp(whole, ...LIGHT_FACTOR);
  const ratio = (bias.light.observed[hour] ?? UNSEEN).mean / forecast.mean;
  return clamp((weight * ratio + HOLD.light * whole) / (weight + HOLD.light), ...LIGHT_FACTOR);
}

/** °C per full sun that the error rises with, drawn towards 0. */
function sunSlopeC({ sunSquares, sunProducts }: ForecastBias, at: number): number {
  const weight = faded(sunSquares, at);
  return (weight * sunProducts.mean) / (weight * sunSquares.mean + HOLD.sun);
}

export interface Correction {
  /** To be added to the forecast temperature. */
  readonly addC: number;
  /** Standard deviation of what is left, °C. */
  readonly spreadC: number;
  readonly lightFactor: number;
  /** Standard deviation of the radiation, as a share of the corrected radiation. */
  readonly lightSpread: number;
}

/** What to make of an hour of a forecast, as learned by `at`. */
export function correctionAt(bias: ForecastBias, leadHours: number, sunHour: number, at: number): Correction {
  const lead = Math.max(0, leadClassOf(leadHours));
  const lightSquares = bias.lightSquares[lead] ?? UNSEEN;
  const scale = bias.lightScale[lead] ?? UNSEEN;
  const seen = scale.mean > 0 ? lightSquares.mean / scale.mean : 0;
  const prior = (PRIOR_LIGHT_SPREAD[lead] ?? 0) ** 2;
  const lightKnown = wholeLightFactor(bias, at) !== undefined;
  return {
    addC: clamp(withoutSun(bias, lead, sunHour, at), -CORRECTION_AT_MOST_C, CORRECTION_AT_MOST_C),
    spreadC: spreadOfC(bias, lead, sunHour, at),
    lightFactor: factorOf(bias, sunHour, at),
    lightSpread: Math.sqrt(lightKnown ? drawn({ ...lightSquares, mean: seen }, prior, HOLD.lightSpread, at) : prior),
  };
}

/** The error to expect of the air, without what the sun does to a badly shaded sensor. */
function withoutSun(bias: ForecastBias, lead: number, hour: number, at: number): number {
  const error = expectedC(bias, lead, hour, at);
  const sun = (bias.sun[hour] ?? UNSEEN).mean;
  if (sun < NIGHT_SUN) return error;
  const [from, full] = SUN_HEATED_C;
  const slope = sunSlopeC(bias, at);
  const part = clamp((slope - from) / (full - from), 0, 1);
  const believed = faded(bias.hours[hour] ?? UNSEEN, at);
  const sunsPart = (part * slope * sun * believed) / (believed + HOLD.hour);
  const night = nightErrorC(bias, lead, at);
  return night === undefined ? error - sunsPart : Math.min(error - sunsPart, night + DAY_OVER_NIGHT_C);
}

function nightErrorC(bias: ForecastBias, lead: number, at: number): number | undefined {
  const nights = bias.sun.flatMap((sun, hour) =>
    sun.weight > 0 && sun.mean < NIGHT_SUN ? [expectedC(bias, lead, hour, at)] : [],
  );
  return nights.length === 0 ? undefined : nights.reduce((sum, error) => sum + error, 0) / nights.length;
}

/** What was learned, in figures for people. */
export interface BiasSummary {
  readonly days: number;
  /** Of the first day, °C: nights and the hours of sun. */
  readonly nightC: number | null;
  readonly dayC: number | null;
  /** °C per full sun that the outdoor sensor reads too high. */
  readonly sunHeatedC: number | null;
  /** The outdoor light sensor is far from any forecast. */
  readonly lightDoubted: boolean;
}

export function biasSummary(bias: ForecastBias, at: number): BiasSummary {
  const slope = sunSlopeC(bias, at);
  const days = bias.sun.flatMap((sun, hour) => (sun.mean >= NIGHT_SUN ? [correctionAt(bias, 0, hour, at).addC] : []));
  return {
    days: bias.days,
    nightC: nightErrorC(bias, 0, at) ?? null,
    dayC: days.length === 0 ? null : days.reduce((sum, error) => sum + error, 0) / days.length,
    sunHeatedC: slope > SUN_HEATED_C[0] ? slope : null,
    lightDoubted: wholeLightFactor(bias, at) === undefined,
  };
}

/** Hour of the day by the mean sun of a place, 0-23, in which an instant lies. */
export const sunHourOf = (at: number, longitudeDeg: number): number => {
  const hours = Math.floor(at / MS_PER_HOUR + longitudeDeg / 15);
  return ((hours % 24) + 24) % 24;
};
