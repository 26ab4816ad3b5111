import { type BatchState, type Collection, livingBatches } from '../domain/collection.js';
import type { Site } from '../domain/site.js';
import { TASK_REACH, type TaskDone } from '../domain/tasks.js';
import { addDays, type LocalDay, localDayOf } from '../domain/time.js';
import { type DayExtremes, WARMTH_DAYS_BACK } from '../models/pest-pressure.js';
import type { ReadingStore } from '../storage/repositories.js';
import { dayRanges } from './house-days.js';

/**
 * Lowest and highest air of each day since the oldest last look for pests, by house, from the roll-ups by day. A day of
 * which too little was heard is left out. A house without a look on record is not asked about.
 */
export async function loadExtremes(
  readings: Pick<ReadingStore, 'daily'>,
  site: Site,
  collection: Collection,
  day: LocalDay,
): Promise<Map<string, ReadonlyMap<LocalDay, DayExtremes>>> {
  const byHouse = new Map<string, ReadonlyMap<LocalDay, DayExtremes>>();
  const looks = oldestLooks(site, collection);
  for (const house of site.houses) {
    const lookedAt = looks.get(house.id);
    if (lookedAt === undefined) continue;
    const since = localDayOf(site.zone, lookedAt);
    const series = await readings.daily(
      { siteId: site.id, houseId: house.id, placement: 'inside', quantities: ['airTempC'] },
      [since, addDays(day, -WARMTH_DAYS_BACK)].sort()[1] as LocalDay,
      addDays(day, -1),
    );
    const whole = dayRanges(series, site.zone).filter(({ isWhole }) => isWhole);
    byHouse.set(house.id, new Map(whole.map(({ day, min, max }) => [day, { minC: min, maxC: max }])));
  }
  return byHouse;
}

/** Per house the oldest of the last looks at its batches, UTC ms. */
function oldestLooks(site: Site, collection: Collection): Map<string, number> {
  const known = new Set(site.houses.map(({ id }) => id));
  const oldest = new Map<string, number>();
  const take = (houseId: string, done: readonly TaskDone[]): void => {
    for (const at of lastOfKinds(done)) oldest.set(houseId, Math.min(at, oldest.get(houseId) ?? at));
  };
  for (const [houseId, done] of collection.houseTasks) if (known.has(houseId)) take(houseId, done);
  for (const batch of livingBatches(collection)) {
    const houseId = houseOf(batch, collection);
    if (houseId !== undefined && known.has(houseId)) take(houseId, batch.tasksDone);
  }
  return oldest;
}

const houseOf = (batch: BatchState, collection: Collection): string | undefined =>
  collection.benches.get(batch.benchId)?.houseId;

/** Instants of the last look of each kind; looks of today do not count yet, so the one before is kept too. */
function lastOfKinds(done: readonly TaskDone[]): number[] {
  const byKind = new Map<string, number[]>();
  for (const { task, at } of done)
    if (TASK_REACH[task] === 'house') byKind.set(task, [...(byKind.get(task) ?? []), at]);
  return [...byKind.values()].flatMap((instants) => instants.slice(-2));
}
