import { describe, expect, it } from 'vitest';
import { houseOf } from '../../../src/app/demo/house.js';
import {
  DAY_MS,
  STEPS_PER_DAY,
  solarDayOf,
  solarDayStart,
  type WeatherEvent,
  type WeatherSite,
  type WeatherStep,
  weatherOf,
} from '../../../src/app/demo/weather.js';
import type { Cover } from '../../../src/domain/catalogue.js';
import { type ClothInStore, houseSchema } from '../../../src/domain/site.js';
import { sunTimes } from '../../../src/science/sun.js';

const NORTH: WeatherSite = { id: 'n', latitude: 51.3, longitude: 9.6, elevationM: 190 };
const SOUTH: WeatherSite = { id: 's', latitude: -34.7, longitude: 149.6, elevationM: 620 };
const JANUARY = Date.UTC(2026, 0, 15, 12);
const JULY = Date.UTC(2026, 6, 15, 12);

/** Extremes and sums of 20 days round an instant. */
function days(site: WeatherSite, atMs: number, seed = 7, events: readonly WeatherEvent[] = []) {
  const weather = weatherOf(site, seed, events);
  const first = solarDayOf(site, atMs) - 10;
  return Array.from({ length: 20 }, (_, day) => weather(first + day));
}
const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

describe('weather outside', () => {
  it('stays within what the sensors and the climates of mid-latitudes allow', () => {
    const steps = [NORTH, SOUTH].flatMap((site) => [JANUARY, JULY].flatMap((at) => days(site, at).flat()));
    const extremes = (of: (step: WeatherStep) => number): [number, number] => {
      const values = steps.map(of);
      return [Math.min(...values), Math.max(...values)];
    };
    const within = ([low, high]: [number, number], atLeast: number, atMost: number): void => {
      expect(low).toBeGreaterThanOrEqual(atLeast);
      expect(high).toBeLessThanOrEqual(atMost);
    };
    within(
      extremes((step) => step.airTempC),
      -25,
      45,
    );
    within(
      extremes((step) => step.relHumidityPct),
      5,
      100,
    );
    // The sun above the atmosphere gives at most 1412 W/m².
    within(
      extremes((step) => step.radiationWm2),
      0,
      1250,
    );
    within(
      extremes((step) => step.windMs),
      0,
      40,
    );
  });

  it('is dark between sunset and sunrise', () => {
    const weather = weatherOf(SOUTH, 7);
    const day = solarDayOf(SOUTH, JANUARY);
    const noon = solarDayStart(SOUTH, day) + DAY_MS / 2;
    const { sunriseMs, sunsetMs } = sunTimes(noon, SOUTH.latitude, SOUTH.longitude);
    const half = DAY_MS / STEPS_PER_DAY / 2;
    const night = weather(day).filter(({ atMs }) => atMs + half < (sunriseMs ?? 0) || atMs + half > (sunsetMs ?? 0));
    expect(night.length).toBeGreaterThan(40);
    expect(Math.max(...night.map((step) => step.radiationWm2))).toBe(0);
    expect(Math.max(...weather(day).map((step) => step.radiationWm2))).toBeGreaterThan(100);
  });

  it('has its seasons opposite in the two hemispheres', () => {
    const warmth = (site: WeatherSite, at: number): number =>
      mean(
        days(site, at)
          .flat()
          .map((step) => step.airTempC),
      );
    expect(warmth(NORTH, JULY) - warmth(NORTH, JANUARY)).toBeGreaterThan(10);
    expect(warmth(SOUTH, JANUARY) - warmth(SOUTH, JULY)).toBeGreaterThan(6);
  });

  it('follows from the seed alone, in any order of asking', () => {
    const day = solarDayOf(NORTH, JULY);
    const first = weatherOf(NORTH, 3);
    const other = weatherOf(NORTH, 3);
    other(day + 40);
    expect(other(day)).toEqual(first(day));
    expect(weatherOf(NORTH, 4)(day)).not.toEqual(first(day));
  });

  it('has no jump at midnight', () => {
    const weather = weatherOf(NORTH, 7);
    const day = solarDayOf(NORTH, JULY);
    for (let offset = 0; offset < 30; offset++) {
      const evening = weather(day + offset).at(-1);
      const night = weather(day + offset + 1)[0];
      expect(Math.abs((evening?.airTempC ?? 0) - (night?.airTempC ?? 99))).toBeLessThan(1.5);
    }
  });

  it('has memory: neighbouring days are alike', () => {
    const weather = weatherOf(NORTH, 11);
    const first = solarDayOf(NORTH, JULY) - 15;
    const noons = Array.from({ length: 31 }, (_, day) => weather(first + day)[STEPS_PER_DAY / 2]?.airTempC ?? 0);
    const steps = noons.slice(1).map((value, index) => Math.abs(value - (noons[index] as number)));
    const pairs = noons.flatMap((a, i) => noons.slice(i + 10).map((b) => Math.abs(a - b)));
    expect(mean(steps)).toBeLessThan(0.85 * mean(pairs));
  });

  it('does what the story asks of it', () => {
    const day = solarDayOf(NORTH, JANUARY);
    const night = weatherOf(NORTH, 7, [
      { firstDay: day - 1, lastDay: day + 1, warmerC: -6, clearness: 0, dewDepressionC: 0.2 },
    ])(day);
    const usual = weatherOf(NORTH, 7)(day);
    expect(night[72]?.airTempC ?? 0).toBeLessThan((usual[72]?.airTempC ?? 0) - 3);
    expect(Math.max(...night.map((step) => step.relHumidityPct))).toBeGreaterThan(95);
  });
});

const COVER: Cover = {
  id: 'single-glass',
  name: 'single glass',
  source: ['x'],
  transmissionNew: [0.88, 0.91],
  transmissionHouse: [0.6, 0.75],
  wetMarginC: 2,
  clearNightLeafDropC: 2,
};
const CLOTH: ClothInStore = { id: 'w', name: 'White', shadePct: 50, place: 'outside', colour: 'white' };

describe('the house', () => {
  const climate = (heatToC: number | undefined, cloth: ClothInStore | undefined, at: number, site = NORTH) => {
    const day = solarDayOf(site, at);
    const weather = weatherOf(site, 7, [{ firstDay: day - 4, lastDay: day, clearness: 0.9 }]);
    const house = houseSchema.parse({ id: 'h', name: 'H', ...(heatToC !== undefined && { heatToC }) });
    return { inside: houseOf(house, COVER, weather, () => cloth)(day), outside: weather(day) };
  };

  it('is warmer than outside on a clear day and never far below it by night', () => {
    for (const at of [JANUARY, JULY]) {
      const { inside, outside } = climate(undefined, undefined, at);
      const noon = STEPS_PER_DAY / 2;
      expect(inside[noon]?.airTempC ?? 0).toBeGreaterThan((outside[noon]?.airTempC ?? 0) + 0.5);
      expect(Math.min(...inside.map((step, i) => step.airTempC - (outside[i]?.airTempC ?? 0)))).toBeGreaterThan(-4);
    }
  });

  it('keeps its heating minimum', () => {
    const { inside } = climate(6, undefined, JANUARY);
    expect(Math.min(...inside.map((step) => step.airTempC))).toBeGreaterThan(5);
  });

  it('lets through what the cover lets through, and half of that under a 50 % cloth', () => {
    const bare = climate(undefined, undefined, JULY);
    const shaded = climate(undefined, CLOTH, JULY);
    const light = bare.inside.map((step) => step.ppfdUmol);
    // 2.06 µmol a joule: 0.45 of sunlight is plant light, 4.57 µmol each (McCree 1972, remembered).
    const passed = bare.outside.map((step) => step.radiationWm2 * 0.675 * 2.06);
    expect(Math.max(...light.map((value, i) => Math.abs(value - (passed[i] ?? 0))))).toBeLessThan(1e-6);
    expect(Math.max(...shaded.inside.map((step, i) => Math.abs(2 * step.ppfdUmol - (light[i] ?? 0))))).toBeLessThan(
      1e-6,
    );
  });

  it('is cooler at noon under a cloth outside', () => {
    const noon = Math.round(STEPS_PER_DAY * 0.55);
    const bare = climate(undefined, undefined, JANUARY, SOUTH).inside[noon]?.airTempC ?? 0;
    expect(climate(undefined, CLOTH, JANUARY, SOUTH).inside[noon]?.airTempC).toBeLessThan(bare - 0.5);
  });

  it('follows from the days before it alone, in any order of asking', () => {
    const weather = weatherOf(NORTH, 7);
    const house = houseSchema.parse({ id: 'h', name: 'H' });
    const day = solarDayOf(NORTH, JULY);
    const one = houseOf(house, COVER, weather, () => undefined);
    one(day - 50);
    expect(one(day)).toEqual(houseOf(house, COVER, weatherOf(NORTH, 7), () => undefined)(day));
  });
});
