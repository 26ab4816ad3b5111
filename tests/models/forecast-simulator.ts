import type { BiasSample } from '../../src/models/forecast-bias.js';
import { type Random, seeded } from './plant-simulator.js';

/** Forecasts of an invented place beside what its sensor shows: errors that are known because they were put in. */

export const HOUR_MS = 3_600_000;
export const T0 = Date.UTC(2026, 4, 1);

export interface SimulatedPlace {
  readonly days: number;
  readonly seed: number;
  /** Observed minus forecast temperature by hour of the sun, °C. */
  readonly biasC?: (sunHour: number, leadHours: number) => number;
  /** Standard deviation of the rest, °C. */
  readonly noiseC?: number;
  readonly lightFactor?: number;
  /** Added to the sensor in proportion to the sun, °C at 800 W/m². */
  readonly sunHeatingC?: number;
  readonly leads?: readonly number[];
  readonly firstAt?: number;
  /** What becomes of the sensor's value. */
  readonly sensor?: (value: number, at: number) => number | null;
}

const normal = (random: Random): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());

/** The longitude is 0: hours of the sun are hours of UTC. */
export function simulate(place: SimulatedPlace): BiasSample[] {
  const random = seeded(place.seed);
  const { biasC = () => 0, noiseC = 1, lightFactor = 1, sunHeatingC = 0, leads = [6, 18, 30, 42] } = place;
  const first = place.firstAt ?? T0;
  const samples: BiasSample[] = [];
  for (let day = 0; day < place.days; day += 1) {
    const clear = 0.25 + 0.75 * random();
    for (let sunHour = 0; sunHour < 24; sunHour += 1) {
      const at = first + (day * 24 + sunHour) * HOUR_MS;
      const sunWm2 = 850 * clear * Math.max(0, Math.sin(((sunHour - 5.5) / 13) * Math.PI));
      const truth = 15 + 6 * Math.sin(((sunHour - 9) / 12) * Math.PI) + 3 * normal(random);
      for (const leadHours of leads) {
        const forecastC = truth - biasC(sunHour, leadHours) + noiseC * normal(random);
        const heated = truth + (sunHeatingC * sunWm2) / 800;
        const observedC = place.sensor ? place.sensor(heated, at) : heated;
        samples.push({
          at,
          leadHours,
          sunHour,
          forecastC,
          observedC,
          forecastWm2: sunWm2 * (1 + 0.15 * normal(random)),
          observedWm2: sunWm2 * lightFactor,
        });
      }
    }
  }
  return samples;
}
