import { saturationVapourPressureKPa } from '../../science/air.js';
import { clearSkyAt } from '../../science/radiation.js';
import { seasonAngleDeg } from '../../science/season.js';
import { normal, withMemory } from './random.js';

/**
 * Invented weather outside, for the demo only: the sun is real, the rest is chance with memory. Every solar day of a
 * site follows from seed and day number alone.
 */

export const STEP_MS = 600_000;
export const DAY_MS = 86_400_000;
export const STEPS_PER_DAY = DAY_MS / STEP_MS;

export interface WeatherSite {
  readonly id: string;
  readonly latitude: number;
  readonly longitude: number;
  readonly elevationM: number;
}

/** Something the story asks of the weather on some days. */
export interface WeatherEvent {
  readonly firstDay: number;
  readonly lastDay: number;
  /** Added to the temperature, °C. */
  readonly warmerC?: number;
  /** Daily clearness in place of chance, 0 overcast to 1 clear. */
  readonly clearness?: number;
  /** How far the dew point stays below the night minimum, °C, in place of chance. */
  readonly dewDepressionC?: number;
}

export interface WeatherStep {
  readonly atMs: number;
  readonly airTempC: number;
  readonly relHumidityPct: number;
  readonly vapourPressureKPa: number;
  readonly radiationWm2: number;
  readonly windMs: number;
  /** 0 overcast to 1 clear; by night it governs how fast the house loses heat. */
  readonly clearness: number;
}

/** Mean sun time ahead of UTC, in whole steps so that all sites share one grid of instants. */
const solarOffsetMs = (site: WeatherSite): number => Math.round((site.longitude / 360) * STEPS_PER_DAY) * STEP_MS;

/** Number of the solar day an instant falls on: it begins at mean solar midnight. */
export const solarDayOf = (site: WeatherSite, atMs: number): number =>
  Math.floor((atMs + solarOffsetMs(site)) / DAY_MS);
export const solarDayStart = (site: WeatherSite, day: number): number => day * DAY_MS - solarOffsetMs(site);

/** Yearly mean and swing of a place, °C: a rough fit to mid-latitude lowlands, good enough for an invented site. */
function climateOf(site: WeatherSite): { meanC: number; swingC: number } {
  const latitude = Math.abs(site.latitude);
  return { meanC: 30.5 - 0.42 * latitude - 0.0055 * site.elevationM, swingC: 2 + 0.14 * latitude };
}

/** Share of the daily swing above the minimum: lowest at 5, highest at 15 by the sun. */
function warmthOfHour(hour: number): number {
  const sinceLow = (hour + 24 - 5) % 24;
  const phase = sinceLow < 10 ? sinceLow / 10 : 1 + (sinceLow - 10) / 14;
  return (1 - Math.cos(Math.PI * phase)) / 2;
}

export type WeatherOfDay = (day: number) => readonly WeatherStep[];

/** The weather of a site, day by solar day. Days already made are kept: houses look back at the days before. */
export function weatherOf(site: WeatherSite, seed: number, events: readonly WeatherEvent[] = []): WeatherOfDay {
  const stream = (name: string): string => `${site.id}/${name}`;
  const anomaly = withMemory(seed, stream('temperature'), 0.72);
  const sky = withMemory(seed, stream('sky'), 0.45);
  const cloud = withMemory(seed, stream('cloud'), 0.85);
  const moisture = withMemory(seed, stream('moisture'), 0.6);
  const wind = withMemory(seed, stream('wind'), 0.6);
  const gust = normal(seed, stream('gust'));
  const { meanC, swingC } = climateOf(site);
  const eventOn = (day: number): WeatherEvent | undefined =>
    events.find((event) => day >= event.firstDay && day <= event.lastDay);

  const clearnessOf = (day: number): number => eventOn(day)?.clearness ?? 1 / (1 + Math.exp(-(1.3 * sky(day) + 0.35)));
  const noonTemperature = (day: number): number => {
    // The warmest time comes about four weeks after the sun's.
    const angle = seasonAngleDeg(solarDayStart(site, day) + DAY_MS / 2, site.latitude) ?? 0;
    return (
      meanC + swingC * -Math.sin(((angle - 28) * Math.PI) / 180) + 3.2 * anomaly(day) + (eventOn(day)?.warmerC ?? 0)
    );
  };

  function make(day: number): WeatherStep[] {
    const start = solarDayStart(site, day);
    const means = [noonTemperature(day - 1), noonTemperature(day), noonTemperature(day + 1)] as const;
    const clear = clearnessOf(day);
    const clearBefore = clearnessOf(day - 1);
    const halfSwing = 1.6 + 4.6 * clear;
    const depression = eventOn(day)?.dewDepressionC ?? Math.max(0.4, 1.6 + 1.4 * moisture(day) + 1.8 * clear);
    const vapour = saturationVapourPressureKPa(means[1] - halfSwing - depression);
    const breeze = Math.exp(0.5 * wind(day) + 0.9);
    return Array.from({ length: STEPS_PER_DAY }, (_, step) => {
      const atMs = start + step * STEP_MS;
      const hour = (step / STEPS_PER_DAY) * 24;
      // Means hold at noon and run over into each other, so that no midnight has a jump.
      const share = hour < 12 ? 0.5 + hour / 24 : (hour - 12) / 24;
      const mean = hour < 12 ? means[0] * (1 - share) + means[1] * share : means[1] * (1 - share) + means[2] * share;
      const warmth = warmthOfHour(hour);
      const airTempC = mean + halfSwing * (2 * warmth - 1);
      const passing = cloud(day * STEPS_PER_DAY + step);
      const open = Math.min(
        1.04,
        Math.max(0.12, 0.2 + 0.84 * clear + 0.16 * (1 - Math.abs(2 * clear - 1)) * passing * 2),
      );
      const sun = clearSkyAt(atMs + STEP_MS / 2, {
        latitudeDeg: site.latitude,
        longitudeDeg: site.longitude,
        elevationM: site.elevationM,
      }).globalWm2;
      const vapourPressureKPa = Math.min(vapour * (1 + 0.08 * warmth), 0.99 * saturationVapourPressureKPa(airTempC));
      return {
        atMs,
        airTempC,
        vapourPressureKPa,
        relHumidityPct: (100 * vapourPressureKPa) / saturationVapourPressureKPa(airTempC),
        radiationWm2: sun * open,
        windMs: Math.max(0, breeze * (0.45 + 0.75 * warmth) * (1 + 0.15 * gust(day * STEPS_PER_DAY + step))),
        clearness: hour < 7 ? clearBefore : clear,
      };
    });
  }

  const kept = new Map<number, readonly WeatherStep[]>();
  return (day) => {
    const known = kept.get(day);
    if (known) return known;
    const made = make(day);
    if (kept.size > 16) kept.clear();
    kept.set(day, made);
    return made;
  };
}
