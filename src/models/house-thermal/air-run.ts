/** The air model along a record: refitted every morning on what was measured until then, and run ahead. */
import { median, quantile } from '../../science/statistics/quantiles.js';
import { type AirStretch, fitAir } from './air-fit.js';
import {
  type AirCoefficients,
  type AirInput,
  type AirPrior,
  type AirState,
  airParameters,
  runAir,
  withControls,
} from './air-model.js';
import type { ThermalDay } from './days.js';
import type { SkyHour } from './record.js';

/** A morning on which forecasts are made: the day, and the first hour not yet measured. */
export interface Morning {
  readonly dayIndex: number;
  readonly fromHour: number;
}

/** Where the radiation that drives the model is from. */
export type SunSource = 'measured' | 'temperatures';

export interface AirForecast {
  readonly coefficients: AirCoefficients;
  /** Mean of each hour from the morning on, as long as the outside is known. */
  readonly hourlyC: Float64Array;
  /** Highest hourly mean of the days ahead, today first; null: too few of its hours. */
  readonly dayMaxC: readonly (number | null)[];
}

export interface AirRunner {
  /** Mornings must come in rising order; each sees only what was measured before it. */
  readonly forecast: (morning: Morning) => AirForecast | undefined;
  /** The house is another one since that day: what was measured before tells nothing of it. */
  readonly changed: (sinceDay: number) => void;
}

export const AHEAD_HOURS = 72;
/** Hours of a fitted day: the hours from the morning on. */
const STRETCH_HOURS = 18;
const STRETCH_HEARD = 12;
const FIT_DAYS = 28;
/** Improvements at the first fits, and every morning after. */
const FIRST_STEPS = 6;
const DAILY_STEPS = 2;
const FIRST_FITS = 8;
/** Every so many mornings other temperatures of heating and vents are tried: those that a tenth of the hours lie beyond. */
const SEARCH_EVERY = 7;
const COOL_SHARE = 0.1;
const WARM_SHARE = 0.9;
/** The mass remembers this far back. */
const MASS_HOURS_BACK = 96;
/** An air temperature older than this is no start. */
const AIR_HOURS_BACK = 3;
/** Hours ahead a day needs for its highest to be told. */
const DAY_HOURS = 15;

export function airRunner(
  hours: readonly SkyHour[],
  days: readonly ThermalDay[],
  mornings: readonly (Morning | undefined)[],
  prior: AirPrior,
  source: SunSource,
): AirRunner {
  const inputs = hours.map((hour) => airInputOf(hour, source));
  const stretches = mornings.map((morning) => morning && stretchOf(hours, inputs, morning.fromHour));
  let coefficients = prior.mean;
  let fits = 0;
  let since = 0;
  const refit = (past: readonly AirStretch[]): void => {
    const first = fits < FIRST_FITS;
    let best = fitAir(prior, coefficients, past, first ? FIRST_STEPS : DAILY_STEPS);
    // A heating that never runs in the model has no slope to be found by: it is looked for where nights and noons lie.
    if (first || fits % SEARCH_EVERY === 0) {
      const heard = past.flatMap(({ insideTempC }) => insideTempC.filter((value) => value !== null));
      for (const from of [best.coefficients, prior.mean]) {
        const start = withControls(from, quantile(heard, COOL_SHARE), quantile(heard, WARM_SHARE));
        const other = fitAir(prior, start, past, FIRST_STEPS);
        if (other.cost < best.cost) best = other;
      }
    }
    coefficients = best.coefficients;
    fits += 1;
  };
  return {
    changed: (sinceDay) => {
      since = sinceDay;
      fits = 0;
    },
    forecast: ({ dayIndex, fromHour }) => {
      const past: AirStretch[] = [];
      for (let index = Math.max(since, dayIndex - FIT_DAYS); index < dayIndex; index += 1) {
        const stretch = stretches[index];
        // The last stretch must be over, whatever the clocks did that night.
        if (stretch && stretch.endHour <= fromHour) past.push({ ...stretch, ageDays: dayIndex - index });
      }
      if (past.length > 0) refit(past);
      const state = stateBefore(hours, fromHour, airParameters(coefficients).massHours);
      if (state === undefined) return undefined;
      const ahead: AirInput[] = [];
      for (let index = fromHour; index < fromHour + AHEAD_HOURS; index += 1) {
        const input = inputs[index];
        if (!input) break;
        ahead.push(input);
      }
      const hourlyC = new Float64Array(ahead.length);
      runAir(coefficients, ahead, state, hourlyC);
      return { coefficients, hourlyC, dayMaxC: hourlyMaxima(days, dayIndex, fromHour, hourlyC) };
    },
  };
}

/** What drives the air in an hour; undefined where the outside is not known. */
export function airInputOf(hour: SkyHour, source: SunSource): AirInput | undefined {
  const sun = source === 'measured' ? (hour.outsideRadiationWm2 ?? hour.sunFromTempsWm2) : hour.sunFromTempsWm2;
  if (hour.outsideTempC === null || sun === null) return undefined;
  return {
    outsideTempC: hour.outsideTempC,
    sunWm2: sun * hour.clothWarmthShare,
    // Without humidity nothing tells of wet pads; then cooling has nothing to work on.
    outsideWetBulbC: hour.outsideWetBulbC ?? hour.outsideTempC,
  };
}

type Stretch = Omit<AirStretch, 'ageDays'> & { readonly endHour: number };

function stretchOf(
  hours: readonly SkyHour[],
  inputs: readonly (AirInput | undefined)[],
  fromHour: number,
): Stretch | undefined {
  const endHour = fromHour + STRETCH_HOURS;
  const part = inputs.slice(fromHour, endHour);
  const insideTempC = hours.slice(fromHour, endHour).map((hour) => hour.insideTempC);
  const driven = part.filter((input) => input !== undefined);
  if (part.length < STRETCH_HOURS || driven.length < part.length) return undefined;
  if (insideTempC.filter((value) => value !== null).length < STRETCH_HEARD) return undefined;
  const startAt = (massHours: number) => stateBefore(hours, fromHour, massHours);
  return { inputs: driven, insideTempC, startAt, endHour };
}

/** Air as last measured; the mass as the air of the last days, the newest counting most. */
export function stateBefore(
  hours: readonly { readonly insideTempC: number | null }[],
  fromHour: number,
  massHours: number,
): AirState | undefined {
  let airC: number | undefined;
  let sum = 0;
  let weight = 0;
  const fade = Math.exp(-1 / massHours);
  let share = 1;
  for (let back = 1; back <= MASS_HOURS_BACK; back += 1) {
    share *= fade;
    const value = hours[fromHour - back]?.insideTempC ?? null;
    if (value === null) continue;
    if (airC === undefined && back <= AIR_HOURS_BACK) airC = value;
    sum += share * value;
    weight += share;
  }
  return airC === undefined ? undefined : { airC, massC: sum / weight };
}

function hourlyMaxima(
  days: readonly ThermalDay[],
  dayIndex: number,
  fromHour: number,
  hourlyC: Float64Array,
): (number | null)[] {
  return days.slice(dayIndex, dayIndex + 3).map(({ first, end }) => {
    const from = Math.max(0, first - fromHour);
    const to = Math.min(hourlyC.length, end - fromHour);
    return to - from < DAY_HOURS ? null : Math.max(...hourlyC.subarray(from, to));
  });
}

/** Errors looked back at to correct the model's offset, and how many of them count as none. */
const OFFSET_DAYS = 15;
const OFFSET_DOUBT = 2;

/** How far the measured highest lies above the model's, from its last errors; 0 as long as there are none. */
export function offsetOf(errorsC: readonly number[]): number {
  const last = errorsC.slice(-OFFSET_DAYS);
  return last.length === 0 ? 0 : (median(last) * last.length) / (last.length + OFFSET_DOUBT);
}
