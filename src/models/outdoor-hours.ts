import { MS_PER_HOUR } from '../science/units.js';
import type { ClearSkyMean } from './forecast-hours.js';
import type { HourTable } from './house-climate.js';
import { DAYLIGHT_WM2, STILL_DAYLIGHT_MS, stillHours } from './still-hours.js';

/** What outdoor sensors told, hour by hour, without what cannot be the weather. */
export interface ObservedHours {
  /** Start of the hour, UTC ms → mean, °C. */
  readonly airTempC: ReadonlyMap<number, number>;
  readonly radiationWm2: ReadonlyMap<number, number>;
}

/**
 * Air does not stand still for so long to the last digit (starting value). Sooner than a sensor counts as stuck: of what a
 * forecast is held against, a few hours too many may be left out.
 */
const STILL_AIR_MS = 6 * MS_PER_HOUR;
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
    airTempC: meansOf(airTempC, STILL_AIR_MS, ...AIR_TEMP_C),
    radiationWm2: meansOf(light, STILL_DAYLIGHT_MS, 0, BRIGHTEST_WM2),
  };
}

function meansOf(table: HourTable, longestMs: number, lowest: number, highest: number): Map<number, number> {
  const still = stillHours(table, longestMs);
  const means = new Map<number, number>();
  for (const [at, { mean, count }] of table)
    if (count > 0 && mean >= lowest && mean <= highest && !still.has(at)) means.set(at, mean);
  return means;
}
