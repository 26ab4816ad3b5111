import { QUANTITIES, type Quantity, quantityInfo, type RollUp } from '../domain/quantities.js';
import { MS_PER_HOUR } from '../science/units.js';
import type { ClearSkyMean } from './forecast-hours.js';
import type { HourTable, HouseHours } from './house-climate.js';

/** Below this clear-sky radiation a light sensor may well show the same for hours, W/m². */
export const DAYLIGHT_WM2 = 100;
/** The light of a day does not stand still for so long: a cloudless noon changes within minutes (starting value). */
export const STILL_DAYLIGHT_MS = 3 * MS_PER_HOUR;
const LIGHT: readonly Quantity[] = ['radiationWm2', 'ppfdUmol', 'illuminanceLux'];

export interface StillOptions {
  /** Values that may last: darkness, saturated air. */
  readonly restValues?: readonly number[];
  /** Hours of which so many in a row make a run too long; left out: all. The others of the run are still with them. */
  readonly counts?: (startMs: number) => boolean;
}

/**
 * Hours of runs in which no reading differs from another: a sensor that is stuck or dead. A gap ends a run.
 * @param longestMs a run of this length or more is still, from its first hour on
 */
export function stillHours(table: HourTable, longestMs: number, options: StillOptions = {}): Set<number> {
  const { restValues = [], counts = () => true } = options;
  const still = new Set<number>();
  let run: number[] = [];
  let value: number | undefined;
  const close = (): void => {
    let inARow = 0;
    const tooLong = run.some((at) => {
      inARow = counts(at) ? inARow + 1 : 0;
      return inARow > 0 && inARow * MS_PER_HOUR >= longestMs;
    });
    if (tooLong) for (const at of run) still.add(at);
    run = [];
  };
  for (const at of [...table.keys()].sort((a, b) => a - b)) {
    const { min, max } = table.get(at) as RollUp;
    const same = min === max && !restValues.includes(min);
    if (!same || min !== value || at - (run.at(-1) ?? at) > MS_PER_HOUR) close();
    if (same) run.push(at);
    value = same ? min : undefined;
  }
  close();
  return still;
}

/** Hours of a house or a site without those in which a sensor was stuck or dead; light must move by day. */
export function movingHours(hours: HouseHours, clearSky: ClearSkyMean): HouseHours {
  const moving: { [Q in Quantity]?: HourTable } = {};
  for (const quantity of Object.keys(QUANTITIES) as Quantity[]) {
    const table = hours[quantity];
    if (!table) continue;
    const { stuckAfterMinutes, restValues = [] } = quantityInfo(quantity);
    const still =
      stuckAfterMinutes === undefined
        ? new Set<number>()
        : stillHours(table, (stuckAfterMinutes / 60) * MS_PER_HOUR, { restValues });
    const dead = LIGHT.includes(quantity)
      ? stillHours(table, STILL_DAYLIGHT_MS, { counts: (at) => clearSky(at) >= DAYLIGHT_WM2 })
      : new Set<number>();
    moving[quantity] = new Map([...table].filter(([at]) => !still.has(at) && !dead.has(at)));
  }
  return moving;
}
