import type { CycleStep, SpeciesGroup, WaterOption, WaterPhase } from '../../domain/catalogue.js';
import { seasonAngleDeg, withinSeasonWindow } from '../../science/season.js';

/** What the invented people and plants of the demo do in the course of a year, read off the catalogue's calendars. */

const middle = ([from, to]: readonly [number, number]): number => (from + ((to - from + 360) % 360) / 2) % 360;

/** The step of the year most plants of a group have reached. */
export function usualStep(group: SpeciesGroup, seasonDeg: number): CycleStep {
  const common = group.cycle.steps.filter((step) => (step.chance?.usual ?? 1) >= 0.5);
  const sinceBegun = (step: CycleStep): number => (seasonDeg - middle(step.begins) + 720) % 360;
  return common.reduce((latest, step) => (sinceBegun(step) < sinceBegun(latest) ? step : latest));
}

/** How far a step has come, 0 at its usual beginning to 1 at the next one. */
export function stepProgress(group: SpeciesGroup, seasonDeg: number): number {
  const common = group.cycle.steps.filter((step) => (step.chance?.usual ?? 1) >= 0.5);
  const now = usualStep(group, seasonDeg);
  const next = common[(common.indexOf(now) + 1) % common.length] as CycleStep;
  const length = (middle(next.begins) - middle(now.begins) + 360) % 360 || 360;
  return ((seasonDeg - middle(now.begins) + 720) % 360) / length;
}

export const waterPhaseOf = (step: CycleStep): WaterPhase => (step.stage ?? step.phase) as WaterPhase;

/** The drink people give in a step without a special reason; undefined: they leave it dry. */
export function usualDrink(group: SpeciesGroup, seasonDeg: number): WaterOption | undefined {
  const inSeason = group.calendar.water.some((window) => withinSeasonWindow(seasonDeg, window));
  if (!inSeason) return undefined;
  return group.water.phases[waterPhaseOf(usualStep(group, seasonDeg))]?.options.find(
    (option) =>
      option.amount !== 'none' &&
      option.body !== 'new-pair' &&
      (option.softness === undefined || option.softness === 'slightly-soft') &&
      (option.season === undefined || withinSeasonWindow(seasonDeg, option.season)),
  );
}

/** Days a full pot takes to dry, from high summer to midwinter; round numbers for the demo. */
export function usualDaysToDry(seasonDeg: number): number {
  const warmth = (1 + Math.cos(((seasonDeg - 295) * Math.PI) / 180)) / 2;
  return 16 - 11 * warmth;
}

/** Cloth over a house by the season: index into its cloths, lightest first; undefined: none. */
export function usualCloth(houseId: string, cloths: number, seasonDeg: number): number | undefined {
  if (cloths === 0) return undefined;
  // Winter growers rest in the dark half of the light year: more shade, longer.
  const heavy = houseId === 'winter-house' ? [215, 335] : [245, 320];
  const light = houseId === 'winter-house' ? [195, 350] : [215, 345];
  if (cloths > 1 && withinSeasonWindow(seasonDeg, heavy as [number, number])) return 1;
  return withinSeasonWindow(seasonDeg, light as [number, number]) ? 0 : undefined;
}

/** Season angle of an instant; the demo's sites lie far enough from the equator to have one. */
export function seasonAt(atMs: number, latitude: number): number {
  const angle = seasonAngleDeg(atMs, latitude);
  if (angle === undefined)
    throw new RangeError(`a site at latitude ${latitude} has no seasons for the demo to follow.`);
  return angle;
}
