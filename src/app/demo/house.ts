import type { Cover } from '../../domain/catalogue.js';
import type { ClothInStore, House } from '../../domain/site.js';
import { saturationVapourPressureKPa } from '../../science/air.js';
import { STEP_MS, STEPS_PER_DAY, type WeatherOfDay, type WeatherStep } from './weather.js';

/**
 * How an invented house answers the invented weather: light through cover and cloth, gain from the sun, loss through
 * the cover, vents, a heater, and the mass of benches and soil. Round numbers chosen to look right; the service's own
 * model of a house is fitted to readings and knows nothing of these.
 */

export interface HouseStep {
  readonly atMs: number;
  readonly airTempC: number;
  readonly relHumidityPct: number;
  readonly ppfdUmol: number;
  readonly substrateTempC: number;
}

/** Cloth that hangs at an instant; undefined: none. */
export type ClothAt = (atMs: number) => ClothInStore | undefined;

/** Loss through the cover, W per m² of floor and K. */
const LOSS_BY_COVER: Readonly<Record<string, number>> = {
  'single-glass': 8,
  'single-film': 9,
  'double-film': 5.5,
  'twin-wall-polycarbonate': 4.5,
  'twin-wall-acrylic': 4.5,
};
const AIR_MASS_J = 38_000;
const BENCH_MASS_J = 320_000;
const AIR_TO_BENCH_W = 9;
const VENT_FROM_C = 18;
const VENT_FULL_C = 26;
const VENT_FULL_W = 21;
const HEATER_W = 140;
/** µmol of plant light in a joule of sunlight: 0.45 of it, 4.57 µmol each. */
const UMOL_PER_JOULE = 2.06;
/** A small pot follows the air about it within hours, and is warmer in the sun. */
const POT_FOLLOWS_MS = 2 * 3_600_000;
const POT_WARMER_C_PER_W = 0.012;

/** The state of a day follows from the days before it; earlier ones have faded. */
const SPIN_UP_DAYS = 3;

export type HouseOfDay = (day: number) => readonly HouseStep[];

/** The climate of a house, day by solar day of its site. */
export function houseOf(house: House, cover: Cover, weather: WeatherOfDay, clothAt: ClothAt): HouseOfDay {
  const [low, high] = cover.transmissionHouse;
  const transmission = house.transmission ?? (low + high) / 2;
  const lossW = LOSS_BY_COVER[house.cover] ?? 7;

  function simulate(day: number): HouseStep[] {
    const steps = Array.from({ length: SPIN_UP_DAYS + 1 }, (_, back) => weather(day - SPIN_UP_DAYS + back)).flat();
    let airC = (steps[0] as WeatherStep).airTempC + 2;
    let benchC = airC + 2;
    let potC = airC;
    const made: HouseStep[] = [];
    const innerSeconds = 120;
    steps.forEach((outside, index) => {
      const cloth = clothAt(outside.atMs);
      const shade = (cloth?.shadePct ?? 0) / 100;
      const transmittedW = outside.radiationWm2 * transmission;
      const benchLightW = transmittedW * (1 - shade);
      // What a cloth inside catches stays in the house, unless it is sent back out.
      const kept = cloth?.place === 'outside' ? 0 : cloth?.colour === 'black' || cloth?.colour === 'green' ? 0.9 : 0.4;
      const gainW = 0.75 * (benchLightW + transmittedW * shade * kept);
      const skyLossW = (outside.radiationWm2 > 5 ? 0 : 14) * outside.clearness * (cloth ? 0.5 : 1);
      for (let second = 0; second < STEP_MS / 1000; second += innerSeconds) {
        const vent = Math.min(1, Math.max(0, (airC - VENT_FROM_C) / (VENT_FULL_C - VENT_FROM_C)));
        const heating = house.heatToC !== undefined && airC < house.heatToC + 0.4 ? HEATER_W : 0;
        const outW = (lossW + 0.35 * outside.windMs + VENT_FULL_W * vent) * (airC - outside.airTempC) + skyLossW;
        const benchW = AIR_TO_BENCH_W * (airC - benchC);
        airC += ((0.6 * gainW - outW - benchW + heating) * innerSeconds) / AIR_MASS_J;
        benchC += ((0.4 * gainW + benchW) * innerSeconds) / BENCH_MASS_J;
      }
      potC += (airC + POT_WARMER_C_PER_W * benchLightW - potC) * (STEP_MS / POT_FOLLOWS_MS);
      if (index < SPIN_UP_DAYS * STEPS_PER_DAY) return;
      const vent = Math.min(1, Math.max(0, (airC - VENT_FROM_C) / (VENT_FULL_C - VENT_FROM_C)));
      // Wet benches give off water; open vents carry it away.
      const vapour = outside.vapourPressureKPa + (0.09 + 0.00035 * benchLightW) * (1 - 0.75 * vent);
      made.push({
        atMs: outside.atMs,
        airTempC: airC,
        relHumidityPct: Math.min(99, Math.max(12, (100 * vapour) / saturationVapourPressureKPa(airC))),
        ppfdUmol: benchLightW * UMOL_PER_JOULE,
        substrateTempC: potC,
      });
    });
    return made;
  }

  let last: { day: number; steps: readonly HouseStep[] } | undefined;
  return (day) => {
    if (last?.day !== day) last = { day, steps: simulate(day) };
    return last.steps;
  };
}
