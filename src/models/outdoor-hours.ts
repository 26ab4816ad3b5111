import { MS_PER_HOUR } from '../science/units.js';
import type { ClearSkyMean } from './forecast-hours.js';
import type { HourTable } from './house-climate.js';

/** What outdoor sensors told, hour by hour, without what cannot be the weather. */
export interface ObservedHours {
  /** Start of the hour, UTC ms → mean, °C. */
  readonly airTempC: ReadonlyMap<number, number>;
  readonly radiationWm2: ReadonlyMap<number, number>;
}

/** Air does not stand still for so long to the last digit (starting value). */
const FROZEN_HOURS = 6;
/** Nor does the light of a day (starting value). */
const FROZEN_LIGHT_HOURS = 3;
/** Below this clear-sky radiation a light sensor may well show the same for hours, W/m². */
const DAYLIGHT_WM2 = 100;
/** No air is warmer: 56.7 °C is the record of the World Meteorological Organization. Below -60 °C nobody grows. */
const AIR_TEMP_C = [-60, 57] as const;
const BRIGHTEST_WM2 = 1600;

/**
 * Hours of the site's own outdoor sensors that can be held against a forecast. Left out: a sensor that stands still,
 * one that stays dark by day, values no weather has.
 */
export function observedHours(airTempC: HourTable, radiationWm2: HourTable, clearSky: ClearSkyMean): ObservedHours {
  const light = new Map([...radiationWm2].filter(([at]) => clearSky(at) >= DAYLIGHT_WM2));
  return {
    airTempC: meansOf(airTempC, FROZEN_HOURS, ...AIR_TEMP_C),
    radiationWm2: meansOf(light, FROZEN_LIGHT_HOURS, 0, BRIGHTEST_WM2),
  };
}

function meansOf(table: HourTable, frozenHours: number, lowest: number, highest: number): Map<number, number> {
  const frozen = frozenIn(table, frozenHours);
  const means = new Map<number, number>();
  for (const [at, { mean, count }] of table)
    if (count > 0 && mean >= lowest && mean <= highest && !frozen.has(at)) means.set(at, mean);
  return means;
}

/** Hours of runs in which no reading differs from another. */
function frozenIn(table: HourTable, frozenHours: number): Set<number> {
  const frozen = new Set<number>();
  let run: number[] = [];
  let value: number | undefined;
  const close = (): void => {
    if (run.length >= frozenHours) for (const at of run) frozen.add(at);
    run = [];
  };
  for (const at of [...table.keys()].sort((a, b) => a - b)) {
    const hour = table.get(at);
    if (!hour) continue;
    const still = hour.min === hour.max;
    if (!still || hour.min !== value || at - (run.at(-1) ?? at) > MS_PER_HOUR) close();
    if (still) run.push(at);
    value = still ? hour.min : undefined;
  }
  close();
  return frozen;
}
