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
const LEAST_C = 2;
const LEAST_LIT_WM2 = 60;
/** Where no hours can be compared. */
const UNKNOWN_C = 4;
const UNKNOWN_SHARE = 0.5;

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
    spreadOf: (startMs) => {
      const days = Math.min(DAYS_AHEAD, daysBack(startMs));
      return (spreads[days] as Spread)(startMs, at(startMs - daysBack(startMs) * DAY_MS));
    },
  };
}

type Spread = (startMs: number, expected: OutsideHour | undefined) => WeatherSpread;

/** How much the same hours of two days differ that lie so many days apart: the air at all hours, the light hour by hour. */
function spreadAcross(at: (startMs: number) => OutsideHour | undefined, nowMs: number, days: number): Spread {
  let squares = 0;
  let count = 0;
  const light = Array.from({ length: 24 }, () => ({ squares: 0, count: 0, brightest: 0 }));
  for (let startMs = nowMs - DAYS_COMPARED * DAY_MS; startMs < nowMs; startMs += MS_PER_HOUR) {
    const [one, other] = [at(startMs), at(startMs - days * DAY_MS)];
    if (!one || !other) continue;
    if (one.airTempC !== null && other.airTempC !== null) {
      squares += (one.airTempC - other.airTempC) ** 2;
      count += 1;
    }
    if (one.radiationWm2 !== null && other.radiationWm2 !== null) {
      const ofHour = light[hourOf(startMs)] as (typeof light)[number];
      ofHour.squares += (one.radiationWm2 - other.radiationWm2) ** 2;
      ofHour.count += 1;
      ofHour.brightest = Math.max(ofHour.brightest, one.radiationWm2);
    }
  }
  const airTempC = count < 24 ? UNKNOWN_C : Math.max(LEAST_C, Math.sqrt(squares / count));
  return (startMs, expected) => {
    const ofHour = light[hourOf(startMs)] as (typeof light)[number];
    const known = ofHour.count > 0 && ofHour.brightest > LEAST_LIT_WM2;
    const radiationWm2 = known
      ? Math.max(LEAST_LIT_WM2, Math.sqrt(ofHour.squares / ofHour.count))
      : UNKNOWN_SHARE * (expected?.radiationWm2 ?? 0);
    return { airTempC, radiationWm2 };
  };
}

/** Hour of the UTC day: the sun stands alike at it from day to day. */
const hourOf = (startMs: number): number => Math.floor(startMs / MS_PER_HOUR) % 24;
