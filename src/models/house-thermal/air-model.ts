/**
 * The air of a house as a small energy balance, in °C per hour (all terms divided by the heat capacity of air and light
 * parts, which cannot be told from outside):
 *
 *   dT/dt = loss (To - T) + sun S + mass (M - T) + heat(T) + vent(T) (Tv - T),   dM/dt = (T - M) / massHours
 *
 * T air, To outside, S radiation that comes in, M floor, benches and frame. The heating holds a lowest temperature; the
 * vents open in proportion above a temperature of their own and bring in air of Tv, which a wet pad or fog cools from To
 * towards the wet bulb. Form: single-zone greenhouse balance, e.g. Bot (1983), Greenhouse climate: from physical
 * processes to a dynamic model; proportional vents and heating are a description of what controllers do.
 */
import { clamp } from '../../science/guards.js';

/** Coefficients as they are fitted: rates and times as logarithms, so that they stay above 0. */
export type AirCoefficients = readonly number[];
const [LOSS, SUN, MASS, MASS_HOURS, HEAT_TO, HEAT, VENT_FROM, VENT, COOLING] = [0, 1, 2, 3, 4, 5, 6, 7, 8] as const;

/** The coefficients in their own units. */
export interface AirParameters {
  /** Loss through the cover and its leaks, 1/h. */
  readonly lossPerHour: number;
  /** Warming by radiation, °C/h per W/m². */
  readonly sunPerHourWm2: number;
  /** Exchange with floor, benches and frame, 1/h. */
  readonly massPerHour: number;
  /** Time in which these follow the air, h. */
  readonly massHours: number;
  /** The heating holds about this. */
  readonly heatToC: number;
  readonly heatPerHour: number;
  /** The vents begin to open here. */
  readonly ventFromC: number;
  /** Air exchange with vents open, 1/h. */
  readonly ventPerHour: number;
  /** How far incoming air is cooled towards the wet bulb, 0 to 0.9. */
  readonly coolingShare: number;
}

export const airParameters = (c: AirCoefficients): AirParameters => ({
  lossPerHour: Math.exp(c[LOSS] as number),
  sunPerHourWm2: Math.exp(c[SUN] as number),
  massPerHour: Math.exp(c[MASS] as number),
  massHours: Math.exp(c[MASS_HOURS] as number),
  heatToC: c[HEAT_TO] as number,
  heatPerHour: Math.exp(c[HEAT] as number),
  ventFromC: c[VENT_FROM] as number,
  ventPerHour: Math.exp(c[VENT] as number),
  coolingShare: clamp(c[COOLING] as number, 0, 0.9),
});

export const airCoefficients = (p: AirParameters): AirCoefficients => [
  Math.log(p.lossPerHour),
  Math.log(p.sunPerHourWm2),
  Math.log(p.massPerHour),
  Math.log(p.massHours),
  p.heatToC,
  Math.log(p.heatPerHour),
  p.ventFromC,
  Math.log(p.ventPerHour),
  p.coolingShare,
];

/** The same coefficients with heating and vents that begin at other temperatures. */
export const withControls = (c: AirCoefficients, heatToC: number, ventFromC: number): AirCoefficients =>
  c.with(HEAT_TO, heatToC).with(VENT_FROM, ventFromC);

/** Where a house is believed to lie before it was heard, and how far from there (one standard deviation). */
export interface AirPrior {
  readonly mean: AirCoefficients;
  readonly deviation: readonly number[];
}

/** What the air is driven by in one hour. */
export interface AirInput {
  readonly outsideTempC: number;
  /** Radiation above the cover, cloths taken off, W/m². */
  readonly sunWm2: number;
  readonly outsideWetBulbC: number;
  /** The vents are held wide open; left out: they open with the temperature, as they have done. */
  readonly ventsOpen?: boolean;
}

export interface AirState {
  readonly airC: number;
  readonly massC: number;
}

const STEPS_PER_HOUR = 3;
const STEP_H = 1 / STEPS_PER_HOUR;
/** The heating works over this band about its set temperature, the vents over that band above theirs, °C. */
const HEAT_BAND_C = 2;
const VENT_BAND_C = 3;

/** Vents that move the air of a house less than this, in changes of it an hour, are not worth a sentence (starting value). */
export const VENT_WORTH_PER_HOUR = 0.3;

/** How far the vents are open at a temperature, 0 to 1. */
export const ventOpening = (airC: number, ventFromC: number): number => clamp((airC - ventFromC) / VENT_BAND_C, 0, 1);

/**
 * Mean air temperature of each hour from a state on. Semi-implicit steps of 20 minutes: stable for any rate.
 * @param into filled with one temperature per input
 * @returns the state after the last hour
 */
export function runAir(
  coefficients: AirCoefficients,
  inputs: readonly AirInput[],
  start: AirState,
  into: Float64Array,
): AirState {
  const p = airParameters(coefficients);
  let { airC, massC } = start;
  inputs.forEach(({ outsideTempC, sunWm2, outsideWetBulbC, ventsOpen }, hour) => {
    const incomingC = outsideTempC - p.coolingShare * (outsideTempC - outsideWetBulbC);
    const driven = p.lossPerHour * outsideTempC + p.sunPerHourWm2 * sunWm2;
    let sum = 0;
    for (let step = 0; step < STEPS_PER_HOUR; step += 1) {
      const heat = p.heatPerHour * clamp((p.heatToC - airC) / HEAT_BAND_C + 0.5, 0, 1);
      // Vents are opened to cool: air warmer than the house is kept out.
      const opening = ventsOpen ? 1 : ventOpening(airC, p.ventFromC);
      const vent = incomingC < airC ? p.ventPerHour * opening : 0;
      const gain = driven + p.massPerHour * massC + heat * (p.heatToC + 1) + vent * incomingC;
      const rate = p.lossPerHour + p.massPerHour + heat + vent;
      airC = (airC + STEP_H * gain) / (1 + STEP_H * rate);
      massC += (STEP_H * (airC - massC)) / Math.max(p.massHours, STEP_H);
      sum += airC;
    }
    into[hour] = sum / STEPS_PER_HOUR;
  });
  return { airC, massC };
}
