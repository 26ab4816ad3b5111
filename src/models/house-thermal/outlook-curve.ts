/** The air of a house hour by hour from now on, before its days and nights are known better. */
import type { Band } from '../../domain/outlook.js';
import { NORMAL_Z90 } from '../../science/statistics/normal.js';
import { type AirCoefficients, type AirInput, airParameters, runAir } from './air-model.js';
import { AHEAD_HOURS, airInputOf, stateBefore } from './air-run.js';
import type { HourErrors } from './hour-errors.js';
import type { OutlookInput, WeatherSpread } from './outlook-input.js';
import type { SkyHour } from './record.js';
import type { AheadRun } from './what-if.js';

/** Right after a measurement the model is this much surer than hours later, and so many hours later no surer. */
const SUREST = 0.35;
const SURER_HOURS = 6;
/** A house nobody has heard yet is this much warmer than outside, °C (starting value). */
const UNHEARD_WARMER_C = 2;

export interface CurveHour {
  /** Row of the grid. */
  readonly index: number;
  readonly airTempC: Band;
}

/** Both sides of the 80 % band that the expected weather alone makes: a bright day can only get duller. */
export interface WeatherPlay {
  readonly belowC: number;
  readonly aboveC: number;
}
export const NO_PLAY: WeatherPlay = { belowC: 0, aboveC: 0 };

export interface Curve {
  readonly hours: readonly CurveHour[];
  /** How far the weather alone may move each hour. */
  readonly weather: readonly WeatherPlay[];
  readonly coefficients: AirCoefficients | undefined;
  readonly run: AheadRun | undefined;
}

const about = (mean: number, half: number): Band => ({ p10: mean - half, p50: mean, p90: mean + half });

/** A band with what the weather adds to it. */
export const widened = ({ p10, p50, p90 }: Band, { belowC, aboveC }: WeatherPlay): Band => ({
  p10: p50 - Math.hypot(p50 - p10, belowC),
  p50,
  p90: p50 + Math.hypot(p90 - p50, aboveC),
});

/** The air model run from now on; undefined without weather to come, or a temperature to begin with. */
export function modelCurve(
  { hours, days, walk, prior, spreadOf }: OutlookInput,
  knownHours: number,
  localHourOf: (index: number) => number,
  errors: HourErrors,
): Curve | undefined {
  const inputs: AirInput[] = [];
  for (let index = knownHours; index < Math.min(hours.length, knownHours + AHEAD_HOURS); index += 1) {
    const input = airInputOf(hours[index] as SkyHour, 'measured');
    if (!input) break;
    inputs.push(input);
  }
  const [first] = inputs;
  if (first === undefined) return undefined;
  const learned = walk.mornings.flatMap(({ air }) => (air ? [air.coefficients] : []));
  const coefficients = learned.at(-1) ?? prior.mean;
  const start = stateBefore(hours, knownHours, airParameters(coefficients).massHours) ?? unheardState(first);
  const run = (change: (input: AirInput, ahead: number) => AirInput): Float64Array => {
    const into = new Float64Array(inputs.length);
    runAir(coefficients, inputs.map(change), start, into);
    return into;
  };
  const plain = run((input) => input);
  const spreads = inputs.map((_, ahead) => spreadOf((hours[knownHours + ahead] as SkyHour).startMs));
  const air = (by: number): Float64Array =>
    run((input, ahead) => {
      const off = by * (spreads[ahead] as WeatherSpread).airTempC;
      return { ...input, outsideTempC: input.outsideTempC + off, outsideWetBulbC: input.outsideWetBulbC + off };
    });
  const sun = (by: number): Float64Array =>
    run((input, ahead) => {
      const off = by * (spreads[ahead] as WeatherSpread).radiationWm2;
      const { clothWarmthShare } = hours[knownHours + ahead] as SkyHour;
      return { ...input, sunWm2: Math.max(0, input.sunWm2 + off * clothWarmthShare) };
    });
  const [cooler, warmer, duller, sunnier] = [air(-1), air(1), sun(-1), sun(1)];
  const weather = Array.from(plain, (value, ahead): WeatherPlay => {
    const by = (other: Float64Array): number => (other[ahead] as number) - value;
    return {
      belowC: NORMAL_Z90 * Math.hypot(by(cooler), by(duller)),
      aboveC: NORMAL_Z90 * Math.hypot(by(warmer), by(sunnier)),
    };
  });
  return {
    hours: Array.from(plain, (value, ahead) => {
      const index = knownHours + ahead;
      const { offsetC, halfBandC } = errors(localHourOf(index), Math.floor(ahead / 24));
      const fresh = Math.min(1, (ahead + 1) / SURER_HOURS);
      const own = about(value + fresh * offsetC, halfBandC * Math.max(SUREST, fresh));
      return { index, airTempC: widened(own, weather[ahead] as WeatherPlay) };
    }),
    weather,
    coefficients,
    run: {
      days: days
        .filter(({ end }) => end > knownHours)
        .map(({ day, first: from, end }) => ({
          day,
          first: Math.max(0, from - knownHours),
          end: Math.min(inputs.length, end - knownHours),
        }))
        .filter(({ first: from, end }) => end > from),
      inputs: inputs.map((input, ahead) => {
        const share = (hours[knownHours + ahead] as SkyHour).clothWarmthShare;
        return { ...input, sunWm2: share > 0 ? input.sunWm2 / share : input.sunWm2 };
      }),
      start,
      coefficients: learned.length > 0 ? learned : [prior.mean],
    },
  };
}

const unheardState = ({ outsideTempC }: AirInput) => ({
  airC: outsideTempC + UNHEARD_WARMER_C,
  massC: outsideTempC + UNHEARD_WARMER_C,
});

/** Without the weather: the same hour of the last days that were heard, as far apart as they were. */
const USUAL_DAYS = 7;
const USUAL_LEAST_HALF_C = 2;
export function usualCurve({ hours }: OutlookInput, knownHours: number, localHourOf: (index: number) => number): Curve {
  const byHour = Array.from({ length: 24 }, (): number[] => []);
  for (let index = Math.max(0, knownHours - USUAL_DAYS * 24); index < knownHours; index += 1) {
    const value = hours[index]?.insideTempC ?? null;
    if (value !== null) byHour[localHourOf(index)]?.push(value);
  }
  const curve: CurveHour[] = [];
  for (let index = knownHours; index < Math.min(hours.length, knownHours + AHEAD_HOURS); index += 1) {
    const values = byHour[localHourOf(index)] ?? [];
    if (values.length === 0) break;
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const half = Math.max(...values.map((value) => Math.abs(value - mean)), USUAL_LEAST_HALF_C);
    curve.push({ index, airTempC: about(mean, half) });
  }
  return { hours: curve, weather: curve.map(() => NO_PLAY), coefficients: undefined, run: undefined };
}
