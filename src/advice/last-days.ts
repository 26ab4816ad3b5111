import type { HouseHours } from '../models/house-climate.js';
import type { WeatherSpread } from '../models/house-thermal/outlook-input.js';
import type { OutsideHour } from '../models/house-thermal/rolled-hours.js';
import { MS_PER_HOUR } from '../science/units.js';

/** Yesterday's weather for the days to come, and how far such a guess was off in the last month. */
export interface LastDaysAgain {
  readonly expected: (startMs: number) => OutsideHour | undefined;
  readonly spreadOf: (startMs: number) => WeatherSpread;
}

const DAY_MS = 24 * MS_PER_HOUR;
const DAYS_COMPARED = 30;
const DAYS_AHEAD = 4;
/** Nothing is surer than this about a day nobody told anything of (starting values). */
const LEAST: WeatherSpread = { airTempC: 2, radiationShare: 0.3 };
/** Days apart without hours to compare. */
const UNKNOWN: WeatherSpread = { airTempC: 4, radiationShare: 0.5 };
const MOST_RADIATION_SHARE = 0.8;

/**
 * @param told weather of past hours where no sensor spoke
 * @param nowMs start of the hour that is running
 */
export function lastDaysAgain(
  outside: HouseHours,
  told: ReadonlyMap<number, OutsideHour>,
  nowMs: number,
): LastDaysAgain {
  const at = (startMs: number): OutsideHour | undefined => {
    const airTempC = outside.airTempC?.get(startMs)?.mean ?? told.get(startMs)?.airTempC ?? null;
    if (airTempC === null) return undefined;
    return {
      airTempC,
      relHumidityPct: outside.relHumidityPct?.get(startMs)?.mean ?? told.get(startMs)?.relHumidityPct ?? null,
      radiationWm2: outside.radiationWm2?.get(startMs)?.mean ?? told.get(startMs)?.radiationWm2 ?? null,
    };
  };
  const daysBack = (startMs: number): number => Math.max(1, Math.floor((startMs - nowMs) / DAY_MS) + 1);
  const spreads = Array.from({ length: DAYS_AHEAD + 1 }, (_, days) => spreadAcross(at, nowMs, Math.max(1, days)));
  return {
    expected: (startMs) => at(startMs - daysBack(startMs) * DAY_MS),
    spreadOf: (startMs) => spreads[Math.min(DAYS_AHEAD, daysBack(startMs))] ?? UNKNOWN,
  };
}

/** How much the same hours of two days differ that lie so many days apart. */
function spreadAcross(at: (startMs: number) => OutsideHour | undefined, nowMs: number, days: number): WeatherSpread {
  let squares = 0;
  let count = 0;
  let lightSquares = 0;
  let light = 0;
  let lit = 0;
  for (let startMs = nowMs - DAYS_COMPARED * DAY_MS; startMs < nowMs; startMs += MS_PER_HOUR) {
    const [one, other] = [at(startMs), at(startMs - days * DAY_MS)];
    if (!one || !other) continue;
    if (one.airTempC !== null && other.airTempC !== null) {
      squares += (one.airTempC - other.airTempC) ** 2;
      count += 1;
    }
    if (one.radiationWm2 !== null && other.radiationWm2 !== null && one.radiationWm2 + other.radiationWm2 > 20) {
      lightSquares += (one.radiationWm2 - other.radiationWm2) ** 2;
      light += one.radiationWm2;
      lit += 1;
    }
  }
  if (count < 24) return UNKNOWN;
  const share = lit > 12 && light > 0 ? Math.sqrt(lightSquares / lit) / (light / lit) : UNKNOWN.radiationShare;
  return {
    airTempC: Math.max(LEAST.airTempC, Math.sqrt(squares / count)),
    radiationShare: Math.min(MOST_RADIATION_SHARE, Math.max(LEAST.radiationShare, share)),
  };
}
