import type { Site } from '../domain/site.js';
import type { HouseHours } from '../models/house-climate.js';
import { ppfdFromGlobalUmol, ppfdFromLuxUmol } from '../science/light.js';
import { sunPosition } from '../science/sun.js';
import { type LightPair, measuredTransmission } from '../science/transmission.js';
import { MS_PER_HOUR } from '../science/units.js';

/** Days of paired light that tell what the cover and the hung cloth let through. */
const DAYS_BACK = 7;

interface BothSides {
  readonly inside: HouseHours;
  readonly outside: HouseHours;
}

/**
 * Share of outside light that reaches the bench, by sensors on both sides.
 * @param sinceMs when the cloth that hangs was hung: light before that tells nothing of now
 * @returns undefined where one side is not measured, or the figures cannot be
 */
export function measuredHouseTransmission(
  { inside, outside }: BothSides,
  site: Site,
  at: number,
  sinceMs = 0,
): number | undefined {
  const fromMs = Math.max(sinceMs, at - DAYS_BACK * 24 * MS_PER_HOUR);
  const above = lightOf(outside);
  const pairs = [...lightOf(inside)].flatMap(([startMs, ppfd]): LightPair[] => {
    const over = above.get(startMs);
    if (over === undefined || startMs < fromMs || startMs + MS_PER_HOUR > at) return [];
    const { altitudeDeg } = sunPosition(startMs + MS_PER_HOUR / 2, site.latitude, site.longitude);
    return [{ inside: ppfd, above: over, sunAltitudeDeg: altitudeDeg }];
  });
  return measuredTransmission(pairs)?.transmission;
}

/** Plant light by hour, from whichever sensor tells it. */
function lightOf(place: HouseHours): Map<number, number> {
  const light = new Map<number, number>();
  const sources = [
    [place.ppfdUmol, (value: number) => value],
    [place.radiationWm2, (value: number) => ppfdFromGlobalUmol(value)],
    [place.illuminanceLux, (value: number) => ppfdFromLuxUmol(value)],
  ] as const;
  for (const [table, toPpfd] of sources)
    for (const [startMs, { count, mean }] of table ?? [])
      if (count > 0 && mean >= 0 && !light.has(startMs)) light.set(startMs, toPpfd(mean));
  return light;
}
