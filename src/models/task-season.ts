import { civilNoon, type LocalDay, localDayOf } from '../domain/time.js';
import { instantOfSeasonAngle, type SeasonWindow, seasonAngleDeg, withinSeasonWindow } from '../science/season.js';
import { MS_PER_86400_S } from '../science/units.js';

/** A season window that is open this morning, as days of the site. */
export interface OpenWindow {
  readonly from: LocalDay;
  readonly until: LocalDay;
}

export interface Seasons {
  /** Undefined near the equator. */
  readonly angleDeg: number | undefined;
  /** The first of the windows that is open; undefined: none is, or no season can be told here. */
  open(windows: readonly SeasonWindow[]): OpenWindow | undefined;
}

/** The first degrees of a year's turn lie in the last 365 days of 86,400 s; a whole turn takes a quarter of a day more. */
const BACK_MS = 365 * MS_PER_86400_S;

/**
 * Season windows of one morning. Each is turned into days once.
 * @throws PhysicsRangeError for a latitude outside -90 to 90 or NaN
 */
export function seasonsOf(zone: string, day: LocalDay, latitudeDeg: number): Seasons {
  const noonMs = civilNoon(zone, day);
  const angleDeg = seasonAngleDeg(noonMs, latitudeDeg);
  const known = new Map<string, OpenWindow | undefined>();
  const openOne = (window: SeasonWindow): OpenWindow | undefined => {
    if (angleDeg === undefined || !withinSeasonWindow(angleDeg, window)) return undefined;
    const dayOf = (angle: number, notBeforeMs: number) =>
      localDayOf(zone, instantOfSeasonAngle(angle, latitudeDeg, notBeforeMs) as number);
    return { from: dayOf(window[0], noonMs - BACK_MS), until: dayOf(window[1], noonMs) };
  };
  return {
    angleDeg,
    open(windows) {
      for (const window of windows) {
        const key = window.join();
        if (!known.has(key)) known.set(key, openOne(window));
        const open = known.get(key);
        if (open) return open;
      }
      return undefined;
    },
  };
}
