import { addDays, civilNoon, type LocalDay, localDayOf } from '../domain/time.js';
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
  /** A number of days later; batches share their days, so each is worked out once. */
  plus(from: LocalDay, days: number): LocalDay;
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
  const later = new Map<string, LocalDay>();
  return {
    angleDeg,
    plus(from, days) {
      const key = `${from} ${days}`;
      const day = later.get(key) ?? addDays(from, days);
      later.set(key, day);
      return day;
    },
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
