/** Looks for pests that are due in a house, by the warmth, the dryness and the wet surfaces since the last look. */
import type { SpeciesTask, TaskKind, TaskTrigger, TriggerOf } from '../domain/tasks.js';
import { addDays, daysBetween, type LocalDay } from '../domain/time.js';
import { type DayDone, type Due, dayWords, doneBefore, isOfAge, type TaskBatch } from './due-tasks.js';
import type { ClimateDay } from './house-climate.js';
import { type DayExtremes, hotDryRun, type WetSurface, warmthSince, wetSurface } from './pest-pressure.js';

export interface HouseOfTasks {
  readonly houseId: string;
  readonly name: string;
  /** What was done for the house as a whole. */
  readonly done: readonly DayDone[];
  /** Kinds the grower does not want to see here. */
  readonly tasksOff: readonly string[];
  readonly batches: readonly TaskBatch[];
  /** Air of the days since the oldest look, as far as they were heard. */
  readonly extremes: ReadonlyMap<LocalDay, DayExtremes>;
  /** Climate of the days before this morning, oldest first, without holes. */
  readonly past: readonly ClimateDay[];
}

const lastLook = (done: readonly DayDone[], task: TaskKind, day: LocalDay): LocalDay | undefined =>
  doneBefore(done, task, day).at(-1)?.day;

/** Batches of a house a look is due for, with why; batches last looked at on the same day are worked out once. */
export function dueForHouse(
  task: SpeciesTask,
  house: HouseOfTasks,
  day: LocalDay,
): { readonly batch: TaskBatch; readonly due: Due }[] {
  const ofHouse = lastLook(house.done, task.kind, day);
  const byAir = new Map<LocalDay | undefined, readonly Due[]>();
  const dueByAirSince = (since: LocalDay | undefined): readonly Due[] => {
    const known =
      byAir.get(since) ??
      task.triggers.flatMap((trigger) =>
        trigger.kind === 'wet-surface' ? [] : (dueByAir(trigger, house, since, day) ?? []),
      );
    byAir.set(since, known);
    return known;
  };
  const found: { batch: TaskBatch; due: Due }[] = [];
  for (const batch of house.batches) {
    if (!isOfAge(task, batch)) continue;
    const own = lastLook(batch.done, task.kind, day);
    // A look at the house is one at every batch in it.
    const since = own !== undefined && (ofHouse === undefined || own > ofHouse) ? own : ofHouse;
    const byWater = task.triggers.flatMap((trigger) =>
      trigger.kind === 'wet-surface' ? (dueByWater(trigger, house, batch, since, day) ?? []) : [],
    );
    const dues = [...dueByAirSince(since), ...byWater];
    if (dues.length > 0) found.push({ batch, due: together(dues) });
  }
  return found;
}

function together(dues: readonly Due[]): Due {
  const [only] = dues;
  if (only && dues.length === 1) return only;
  const since = dues.flatMap(({ dueSince }) => dueSince ?? []).sort()[0];
  return {
    common: '',
    own: dues.map(({ own }) => own).join('; '),
    ...(since !== undefined && { dueSince: since }),
  };
}

const figure = (value: number): string => String(Math.round(value * 10) / 10);

function dueByAir(
  trigger: Exclude<TaskTrigger, { kind: 'wet-surface' }>,
  house: HouseOfTasks,
  since: LocalDay | undefined,
  day: LocalDay,
): Due | undefined {
  return trigger.kind === 'degree-days'
    ? dueByWarmth(trigger, house, since, day)
    : dueByDryHeat(trigger, house, since, day);
}

function dueByWarmth(
  trigger: TriggerOf<'degree-days'>,
  house: HouseOfTasks,
  since: LocalDay | undefined,
  day: LocalDay,
): Due | undefined {
  const { pest, lowerC, degreeDays: needed, unknownEveryDays } = trigger;
  if (since === undefined)
    return { common: '', own: `no look for the ${pest} has been noted yet; the count of warmth begins with one` };
  const warmth = warmthSince(house.extremes, since, day, trigger);
  const lastOn = `the last look on ${dayWords(since, day)}`;
  if (warmth.degreeDays === undefined) {
    const own = `the warmth since ${lastOn} is not known (temperature heard on ${warmth.heard} of ${warmth.days} days), so every ${unknownEveryDays} days`;
    return dueByCalendar(unknownEveryDays, since, day, own);
  }
  if (warmth.reachedOn === undefined) return undefined;
  const missing = warmth.days - warmth.heard;
  const gaps = missing === 0 ? '' : ` (${missing} of ${warmth.days} days not heard, taken like the others)`;
  return {
    common: '',
    own: `${Math.floor(warmth.degreeDays + 1e-9)} degree-days above ${lowerC} °C since ${lastOn}${gaps}; a generation of the ${pest} takes ${needed}`,
    dueSince: warmth.reachedOn,
  };
}

function dueByCalendar(everyDays: number, since: LocalDay, day: LocalDay, own: string): Due | undefined {
  const dueSince = addDays(since, everyDays);
  return dueSince <= day ? { common: '', own, dueSince } : undefined;
}

function dueByDryHeat(
  trigger: TriggerOf<'hot-dry-days'>,
  house: HouseOfTasks,
  since: LocalDay | undefined,
  day: LocalDay,
): Due | undefined {
  const run = hotDryRun(house.past, since, trigger);
  if (!run || run.days < trigger.days) return undefined;
  return {
    common: '',
    own: `${run.days} days in a row above ${trigger.dayMaxAboveC} °C and ${trigger.vpdAboveKPa} kPa by day (yesterday ${figure(run.dayMaxC)} °C, ${figure(run.vpdKPa)} kPa)`,
    dueSince: addDays(day, trigger.days - run.days),
  };
}

function dueByWater(
  trigger: TriggerOf<'wet-surface'>,
  house: HouseOfTasks,
  batch: TaskBatch,
  since: LocalDay | undefined,
  day: LocalDay,
): Due | undefined {
  const { lastDays, shareAbove, meanTempC, unknownEveryDays } = trigger;
  // What was seen at the last look needs the whole span anew.
  if (since !== undefined && daysBetween(since, day) < lastDays) return undefined;
  const wet: WetSurface | undefined = wetSurface(house.past, batch.surface(), lastDays);
  if (!wet) {
    const own = `how wet the surface was is not known (house not heard), so every ${unknownEveryDays} days`;
    return since === undefined ? { common: '', own } : dueByCalendar(unknownEveryDays, since, day, own);
  }
  const isWarm = wet.meanTempC >= meanTempC[0] && wet.meanTempC <= meanTempC[1];
  if (!isWarm || wet.wetDays <= shareAbove * wet.days) return undefined;
  return {
    common: '',
    own: `the surface was wet on ${wet.wetDays} of the last ${wet.days} days at a mean of ${figure(wet.meanTempC)} °C`,
  };
}
