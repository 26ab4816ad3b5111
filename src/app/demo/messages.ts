import type { Catalogue } from '../../domain/catalogue.js';
import type { ClothInStore, Site } from '../../domain/site.js';
import { afterFaults } from './faults.js';
import { type HouseOfDay, type HouseStep, houseOf } from './house.js';
import { normal } from './random.js';
import type { DemoSensor, DemoSite } from './scenario.js';
import { seasonAt, usualCloth, usualDaysToDry } from './season.js';
import { DAY_MS, STEP_MS, solarDayOf, solarDayStart, type WeatherOfDay, type WeatherStep } from './weather.js';

/** What the invented sensors of a site send, as they would over MQTT. */

export interface DemoMessage {
  readonly topic: string;
  readonly payload: string;
  /** UTC, ms. */
  readonly receivedAt: number;
}

export interface SensorsInput {
  readonly site: Site;
  readonly demo: DemoSite;
  readonly catalogue: Catalogue;
  readonly weather: WeatherOfDay;
  readonly seed: number;
  readonly startMs: number;
  /** Drinks a bench got, oldest first. */
  readonly drinksOf: (benchId: string) => readonly { readonly at: number; readonly full: boolean }[];
}

/** All messages of a site that are measured at `atMs`, faults included. */
export type MessagesAt = (atMs: number) => DemoMessage[];

const rounded = (value: number, digits: number): number => Math.round(value * 10 ** digits) / 10 ** digits;

export function sensorsOf(input: SensorsInput): MessagesAt {
  const { site, demo, catalogue, weather, seed, startMs } = input;
  const houses = new Map<string, HouseOfDay>();
  for (const house of site.houses) {
    const cover = catalogue.covers.find((candidate) => candidate.id === house.cover);
    if (!cover) throw new Error(`The catalogue has no cover ${house.cover}.`);
    houses.set(house.id, houseOf(house, cover, weather, clothPlan(site, house.id, house.cloths)));
  }

  function send(topic: string, sensor: string, values: Record<string, number>, atMs: number): DemoMessage[] {
    const sending = afterFaults(sensor, { values, stamp: atMs, receivedAt: atMs + 400 }, seed, startMs);
    if (!sending) return [];
    const payload = sending.garbled ?? JSON.stringify({ ...sending.values, ts: sending.stamp });
    return [{ topic, payload, receivedAt: sending.receivedAt }];
  }

  const devices = demo.sensors.map((sensor) => {
    const id = `${sensor.houseId}-${sensor.device}`;
    const house = houses.get(sensor.houseId);
    if (!house) throw new Error(`The demo needs the house ${sensor.houseId}, which ${site.id} does not have.`);
    const topic = `demo/${site.id}/${sensor.houseId}/${sensor.device}/${sensor.kind}`;
    const noise = normal(seed, `${site.id}/${id}/noise`);
    return (atMs: number): DemoMessage[] => {
      const step = between<HouseStep>(site, house, atMs, ['airTempC', 'relHumidityPct', 'ppfdUmol', 'substrateTempC']);
      return send(topic, id, readingOf(sensor, step, atMs, noise, input), atMs);
    };
  });
  const outsideNoise = normal(seed, `${site.id}/weather/noise`);
  const outside = (atMs: number): DemoMessage[] => {
    const step = between<WeatherStep>(site, weather, atMs, ['airTempC', 'relHumidityPct', 'radiationWm2', 'windMs']);
    const n = Math.floor(atMs / 60_000);
    return send(
      `demo/${site.id}/weather`,
      `${site.id}-weather`,
      {
        t: rounded(step.airTempC + 0.08 * outsideNoise(n), 1),
        rh: rounded(Math.min(100, step.relHumidityPct + 0.6 * outsideNoise(n + 1)), 0),
        sun: rounded(step.radiationWm2 * (1 + 0.015 * outsideNoise(n + 2)), 0),
        wind: rounded(step.windMs, 1),
      },
      atMs,
    );
  };
  return (atMs) => [...outside(atMs), ...devices.flatMap((device) => device(atMs))];
}

function clothPlan(
  site: Site,
  houseId: string,
  cloths: readonly ClothInStore[],
): (atMs: number) => ClothInStore | undefined {
  // The season moves a degree a day: once a day is enough.
  let known: { day: number; cloth: ClothInStore | undefined } | undefined;
  return (atMs) => {
    const day = Math.floor(atMs / DAY_MS);
    if (known?.day !== day) {
      const index = usualCloth(houseId, cloths.length, seasonAt(day * DAY_MS, site.latitude));
      known = { day, cloth: index === undefined ? undefined : cloths[index] };
    }
    return known.cloth;
  };
}

/** Straight lines between the steps of the simulation. */
function between<T extends { readonly atMs: number }>(
  site: Site,
  ofDay: (day: number) => readonly T[],
  atMs: number,
  keys: readonly (keyof T & string)[],
): T {
  const day = solarDayOf(site, atMs);
  const steps = ofDay(day);
  const position = (atMs - solarDayStart(site, day)) / STEP_MS;
  const index = Math.min(steps.length - 1, Math.floor(position));
  const step = steps[index] as T;
  // The last ten minutes of a day hold their values: the next day need not be made for them.
  const next = steps[index + 1];
  const share = position - index;
  if (share === 0 || !next) return step;
  const mixedStep: Record<string, unknown> = { ...step };
  for (const key of keys) mixedStep[key] = (step[key] as number) * (1 - share) + (next[key] as number) * share;
  return mixedStep as unknown as T;
}

function readingOf(
  sensor: DemoSensor,
  step: HouseStep,
  atMs: number,
  noise: (n: number) => number,
  input: SensorsInput,
): Record<string, number> {
  const n = Math.floor(atMs / 60_000);
  switch (sensor.kind) {
    case 'climate': {
      const sun = (sensor.sunWarmthC ?? 0) * Math.min(1, step.ppfdUmol / 1200);
      return {
        t: rounded(step.airTempC + sun + 0.07 * noise(n), 2),
        rh: rounded(Math.min(100, Math.max(5, step.relHumidityPct - 2 * sun + 0.5 * noise(n + 1))), 1),
        // A battery is told once an hour and lasts about a year.
        ...(n % 60 === 0 && { bat: rounded(97 - ((atMs - input.startMs) / (365 * DAY_MS)) * 80, 1) }),
      };
    }
    case 'light':
      return { ppfd: rounded(Math.max(0, step.ppfdUmol * (1 + 0.01 * noise(n))), 1) };
    case 'substrate':
      return {
        t: rounded(step.substrateTempC + 0.05 * noise(n), 2),
        vwc: rounded(moisturePct(sensor.benchId ?? '', atMs, input) + 0.08 * noise(n + 1), 2),
      };
  }
}

/** A probe in a pot: full after a drink, then down towards what the plants cannot reach. */
function moisturePct(benchId: string, atMs: number, { drinksOf, site }: SensorsInput): number {
  const scaleMs = (usualDaysToDry(seasonAt(atMs, site.latitude)) / 1.9) * DAY_MS;
  let pct = 0;
  let last = Number.NEGATIVE_INFINITY;
  for (const drink of drinksOf(benchId)) {
    if (drink.at > atMs) break;
    const left = pct * Math.exp(-(drink.at - last) / scaleMs);
    pct = drink.full ? 17 : Math.min(17, left + 5);
    last = drink.at;
  }
  return 6.5 + pct * Math.exp(-(atMs - last) / scaleMs);
}
