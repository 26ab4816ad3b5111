import { addDays, type LocalDay } from '../../src/domain/time.js';
import { advised } from './advice-custom.js';
import { houseDays } from './glasshouse.js';
import { type BatchPlan, MixedHouse } from './mixed-house.js';
import type { Place } from './places.js';

/** What the advice gave one batch over a year, by season. */
export interface GivenDrink {
  readonly angle: number;
  readonly day: LocalDay;
  readonly amount: 'light' | 'full';
}

const SENSORS_BEFORE_DAYS = 60;
/** The first months settle what was not known at the beginning. */
const RUN_IN_DAYS = 120;
const YEAR_DAYS = 365;
const BATCHES = 4;
const VISITS = [0, 2, 4];

/** Years of grown plants of some groups under the advice, one for each seed; what every batch was given. */
export function calendarYears(
  place: Place,
  groups: readonly string[],
  seeds: readonly number[],
): Map<string, readonly (readonly GivenDrink[])[]> {
  const years = seeds.map((seed) => calendarYear(place, groups, seed));
  return new Map(groups.map((group) => [group, years.flatMap((year) => year.get(group) ?? [])]));
}

function calendarYear(
  place: Place,
  groups: readonly string[],
  seed: number,
): Map<string, readonly (readonly GivenDrink[])[]> {
  const first = place.latitudeDeg > 0 ? '2026-02-01' : '2025-08-04';
  const all = houseDays(
    place,
    seed,
    addDays(first, -SENSORS_BEFORE_DAYS),
    SENSORS_BEFORE_DAYS + RUN_IN_DAYS + YEAR_DAYS,
  );
  const days = all.slice(SENSORS_BEFORE_DAYS);
  const plans = groups.flatMap((group) =>
    Array.from({ length: BATCHES }, (_, number): BatchPlan => ({ id: `${group}-${number}`, group, young: false })),
  );
  const given = new Map(plans.map(({ id }) => [id, [] as GivenDrink[]]));
  const custom = advised(place, seed, all.slice(0, SENSORS_BEFORE_DAYS), days, {
    looksAtMost: 6,
    onVerdicts(day, verdicts) {
      if (day.day < addDays(first, RUN_IN_DAYS)) return;
      for (const [batchId, { amount }] of verdicts)
        if (amount !== 'none') given.get(batchId)?.push({ angle: day.seasonAngleDeg, day: day.day, amount });
    },
  });
  new MixedHouse(plans, seed, days[0]?.seasonAngleDeg ?? 0).year(days, custom, VISITS);
  return new Map(
    groups.map((group) => [group, plans.filter((plan) => plan.group === group).map(({ id }) => given.get(id) ?? [])]),
  );
}
