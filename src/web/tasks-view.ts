import { type Collection, isLiving } from '../domain/collection.js';
import { compareNames } from '../domain/names.js';
import type { Site } from '../domain/site.js';
import { type DueTask, TASK_KINDS, type TaskDone, type TaskKind } from '../domain/tasks.js';
import { localDayOf } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';

export interface TaskView {
  readonly task: DueTask;
  /** Names of the batches, by bench; empty where the house as a whole is meant. */
  readonly names: readonly { readonly benchName: string; readonly names: readonly string[] }[];
  readonly done?: {
    readonly at: number;
    readonly by: string;
    /** Only when one entry did it: that one can be taken back. */
    readonly entryId?: number;
  };
}

/**
 * The second list with what has been done since, read from the journal: an entry stands on the page at once, and an
 * undone one is gone at once.
 */
export function tasksView(site: Site, round: Round, collection: Collection): TaskView[] {
  const living = new Map<string, string[]>();
  for (const batch of collection.batches.values()) {
    if (!isLiving(batch)) continue;
    const { benchId, batchId } = batch;
    const bench = living.get(benchId);
    if (bench) bench.push(batchId);
    else living.set(benchId, [batchId]);
  }
  const nameOf = (batchId: string): string => collection.batches.get(batchId)?.name ?? batchId;
  return round.tasks.map((task): TaskView => {
    const batchIds = task.benches.flatMap((bench) =>
      bench.batchIds.length > 0 ? bench.batchIds : (living.get(bench.benchId) ?? []),
    );
    const done = doneToday(site, round, collection, task, batchIds);
    return {
      task,
      names: task.benches
        .filter((bench) => bench.batchIds.length > 0)
        .map(({ benchName, batchIds: ids }) => ({ benchName, names: ids.map(nameOf).sort(compareNames) })),
      ...(done && { done }),
    };
  });
}

function doneToday(
  site: Site,
  round: Round,
  collection: Collection,
  { kind, done: known }: DueTask,
  batchIds: readonly string[],
): TaskView['done'] | undefined {
  const answers = batchIds.map((batchId) =>
    collection.batches
      .get(batchId)
      ?.tasksDone.findLast((one) => one.task === kind && localDayOf(site.zone, one.at) === round.day),
  );
  const there = answers.filter((one) => one !== undefined);
  // The list may count a task as done by fewer entries than there are batches; it does so while these stand.
  const stands = known?.entryIds.every((entryId) => there.some((one) => one.entryId === entryId));
  const newest = there.reduce<TaskDone | undefined>((last, one) => (last && last.at > one.at ? last : one), undefined);
  if (!newest || (there.length < answers.length && !stands)) return undefined;
  const entryIds = new Set(there.map(({ entryId }) => entryId));
  return { at: newest.at, by: newest.by, ...(entryIds.size === 1 && { entryId: newest.entryId }) };
}

/** When each kind of task was last done for a batch, in the order of the kinds. */
export function lastDone(done: readonly TaskDone[]): TaskDone[] {
  const last = new Map<TaskKind, TaskDone>();
  for (const one of done) {
    const before = last.get(one.task);
    if (!before || one.at >= before.at) last.set(one.task, one);
  }
  return TASK_KINDS.flatMap((kind) => last.get(kind) ?? []);
}
