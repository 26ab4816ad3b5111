import { type AirParameters, airCoefficients, runAir } from '../../src/models/house-thermal/air-model.js';
import type { ThermalPlace, ThermalSample } from '../../src/models/house-thermal/record.js';
import { clearSkyAt } from '../../src/science/radiation.js';

/** Houses whose law is known, under weather of the test's own, so that what is learned can be held against the truth. */

/** A small generator of numbers 0 to 1 (mulberry32): the same seed, the same weather. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** About normal, variance 1: the sum of twelve. */
export const normal = (random: () => number): number =>
  Array.from({ length: 12 }, random).reduce((sum, value) => sum + value, -6);

export const BERLIN: ThermalPlace = { zone: 'Europe/Berlin', latitude: 52, longitude: 13, elevationM: 50 };

/** A single-glass house without heating that vents above 26 °C. */
export const GLASSHOUSE: AirParameters = {
  lossPerHour: 0.8,
  sunPerHourWm2: 0.03,
  massPerHour: 0.5,
  massHours: 20,
  heatToC: 5,
  heatPerHour: 2,
  ventFromC: 26,
  ventPerHour: 2,
  coolingShare: 0,
};

export interface SimulatedWeather {
  readonly startMs: number;
  readonly airTempC: number;
  readonly relHumidityPct: number;
  readonly radiationWm2: number;
}

const HOUR_MS = 3_600_000;

/** Hours of weather: a yearly and daily wave, fronts that come and go, cloud of the day and of the hour. */
export function simulatedWeather(
  place: ThermalPlace,
  fromMs: number,
  hours: number,
  random: () => number,
  meanC = 14,
): SimulatedWeather[] {
  let front = 0;
  let cloud = 0.6;
  return Array.from({ length: hours }, (_, hour) => {
    const startMs = fromMs + hour * HOUR_MS;
    if (hour % 24 === 0) {
      front = 0.7 * front + 2.2 * normal(random);
      cloud = Math.min(1, Math.max(0.15, 0.65 + 0.3 * normal(random)));
    }
    const sky = clearSkyAt(startMs + HOUR_MS / 2, {
      latitudeDeg: place.latitude,
      longitudeDeg: place.longitude,
      elevationM: Math.max(0, place.elevationM),
    }).globalWm2;
    const share = Math.min(1, Math.max(0.08, cloud + 0.1 * normal(random)));
    const solarHour = (((startMs / HOUR_MS + place.longitude / 15) % 24) + 24) % 24;
    const wave = (2 + 6 * cloud) * Math.cos(((solarHour - 15) / 24) * 2 * Math.PI);
    return {
      startMs,
      airTempC: meanC + front + wave,
      relHumidityPct: Math.min(98, Math.max(25, 75 - 3 * wave)),
      radiationWm2: sky * share,
    };
  });
}

/** Air of a house under that weather, hour by hour. */
export function simulatedAir(house: AirParameters, weather: readonly SimulatedWeather[], startC = 15): number[] {
  const into = new Float64Array(weather.length);
  runAir(
    airCoefficients(house),
    weather.map(({ airTempC, radiationWm2 }) => ({
      outsideTempC: airTempC,
      outsideWetBulbC: airTempC - 3,
      sunWm2: radiationWm2,
    })),
    { airC: startC, massC: startC },
    into,
  );
  return [...into];
}

/** Samples every 20 minutes about those hours, with the noise of a sensor. */
export function simulatedSamples(
  weather: readonly SimulatedWeather[],
  insideC: readonly number[],
  random: () => number,
  noiseC = 0.3,
): ThermalSample[] {
  return weather.flatMap(({ startMs, airTempC, relHumidityPct, radiationWm2 }, hour) =>
    [0, 20, 40].map((minutes) => ({
      at: startMs + minutes * 60_000,
      insideTempC: (insideC[hour] as number) + noiseC * normal(random),
      insideRelHumidityPct: 60,
      outsideTempC: airTempC,
      outsideRelHumidityPct: relHumidityPct,
      outsideRadiationWm2: radiationWm2,
    })),
  );
}

export interface SimulatedHouse {
  readonly place: ThermalPlace;
  readonly weather: readonly SimulatedWeather[];
  readonly insideC: readonly number[];
  readonly samples: readonly ThermalSample[];
}

export function simulatedHouse(
  seed: number,
  days: number,
  house: AirParameters = GLASSHOUSE,
  place: ThermalPlace = BERLIN,
  fromMs = Date.UTC(2026, 4, 1),
): SimulatedHouse {
  const random = seeded(seed);
  const weather = simulatedWeather(place, fromMs, days * 24, random);
  const insideC = simulatedAir(house, weather);
  return { place, weather, insideC, samples: simulatedSamples(weather, insideC, random) };
}
