/** The second list of a morning: what is due beside the watering, one line for many batches, the most urgent first. */
import type { GeneralCare, SpeciesGroup } from '../domain/catalogue.js';
import { compareNames } from '../domain/names.js';
import { type DueTask, type SpeciesTask, TASK_KINDS, TASK_REACH, type TaskBench } from '../domain/tasks.js';
import { addDays, civilNoon, daysBetween, type LocalDay, shortDay } from '../domain/time.js';
import { capital, count } from '../domain/wording.js';
import { sunTimes } from '../science/sun.js';
import { MS_PER_86400_S, MS_PER_HOUR } from '../science/units.js';
import { type DayDone, type Due, dayWords, doneBefore, dueForBatch, type TaskBatch } from './due-tasks.js';
import { dueForHouse, type HouseOfTasks } from './house-looks.js';
import { type Seasons, seasonsOf } from './task-season.js';

export interface TaskMorning {
  readonly zone: string;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly day: LocalDay;
  readonly general: GeneralCare;
  /** What a source key stands for. */
  readonly sources: Readonly<Record<string, { readonly text: string }>>;
  readonly houses: readonly HouseOfTasks[];
}

/** One line of the list while it is put together. */
interface Line {
  readonly task: SpeciesTask;
  /** Undefined: the site as a whole. */
  readonly house?: HouseOfTasks;
  readonly common: string;
  readonly hours?: { readonly fromMs: number; readonly toMs: number };
  readonly members: { readonly batch: TaskBatch; readonly due: Due }[];
}

/** A task without an end is as urgent as one that ends so many days after it became due (starting value). */
const NO_END_DAYS = 14;
/** More different reasons than this are not read. */
const REASONS_TOLD = 3;

/** A group's own tasks of a kind stand for the general ones of that kind. */
export const tasksOf = (group: SpeciesGroup, general: GeneralCare): SpeciesTask[] => [
  ...group.tasks,
  ...general.tasks.filter((task) => !group.tasks.some(({ kind }) => kind === task.kind)),
];

/**
 * All tasks that are due this morning.
 * @throws PhysicsRangeError for a place that is none, or climate figures that are NaN
 */
export function dueTasks(morning: TaskMorning): DueTask[] {
  const seasons = seasonsOf(morning.zone, morning.day, morning.latitudeDeg);
  const lines = new Map<string, Line>();
  const hoursOf = flowerHours(morning);
  const tasksByGroup = new Map<string, SpeciesTask[]>();
  const tasksFor = (group: SpeciesGroup): SpeciesTask[] => {
    const known = tasksByGroup.get(group.id) ?? tasksOf(group, morning.general);
    tasksByGroup.set(group.id, known);
    return known;
  };
  /** What tells a task from others, short enough to be put together for every batch. */
  const numbers = new Map<SpeciesTask, number>();
  const alike = new Map<string, number>();
  const numberOf = (task: SpeciesTask): number => {
    const known = numbers.get(task);
    if (known !== undefined) return known;
    const words = JSON.stringify([task.kind, task.text, task.source]);
    const number = alike.get(words) ?? alike.size;
    alike.set(words, number);
    numbers.set(task, number);
    return number;
  };
  const add = (task: SpeciesTask, batch: TaskBatch, due: Due, house?: HouseOfTasks): void => {
    const hours = task.inFlowerHours ? hoursOf(batch.group) : undefined;
    const key = `${numberOf(task)} ${house?.houseId ?? ''} ${hours?.fromMs ?? ''} ${hours?.toMs ?? ''} ${due.common}`;
    const line = lines.get(key);
    if (line) line.members.push({ batch, due });
    else
      lines.set(key, {
        task,
        common: due.common,
        members: [{ batch, due }],
        ...(house && { house }),
        ...(hours && { hours }),
      });
  };

  for (const house of morning.houses) {
    const wanted = (task: SpeciesTask) => !house.tasksOff.includes(task.kind);
    for (const batch of house.batches)
      for (const task of tasksFor(batch.group)) {
        if (TASK_REACH[task.kind] !== 'batches' || !wanted(task)) continue;
        const due = dueForBatch(task, batch, morning.day, seasons);
        if (due) add(task, batch, due, house);
      }
    for (const [task, batches] of looksOf(house, tasksFor))
      if (wanted(task))
        for (const { batch, due } of dueForHouse(task, { ...house, batches }, morning.day))
          add(task, batch, due, house);
  }
  for (const { task, batch, due } of sowings(morning, seasons, tasksFor)) add(task, batch, due);
  return inOrder([...lines.values()], morning);
}

/** Looks of a house, each with the batches whose group asks for it. */
function looksOf(house: HouseOfTasks, tasksFor: (group: SpeciesGroup) => SpeciesTask[]): Map<SpeciesTask, TaskBatch[]> {
  const looks = new Map<SpeciesTask, TaskBatch[]>();
  for (const batch of house.batches)
    for (const task of tasksFor(batch.group)) {
      if (TASK_REACH[task.kind] !== 'house') continue;
      const batches = looks.get(task);
      if (batches) batches.push(batch);
      else looks.set(task, [batch]);
    }
  return looks;
}

/** Sowing is for a group, wherever it stands: done for one of its batches it is done for the season. */
function sowings(
  { houses, day }: TaskMorning,
  seasons: Seasons,
  tasksFor: (group: SpeciesGroup) => SpeciesTask[],
): { task: SpeciesTask; batch: TaskBatch; due: Due }[] {
  const byGroup = new Map<SpeciesGroup, TaskBatch[]>();
  for (const house of houses)
    for (const batch of house.tasksOff.includes('sow') ? [] : house.batches) {
      const batches = byGroup.get(batch.group);
      if (batches) batches.push(batch);
      else byGroup.set(batch.group, [batch]);
    }
  return [...byGroup].flatMap(([group, batches]) =>
    tasksFor(group)
      .filter(({ kind }) => kind === 'sow')
      .flatMap((task) => {
        const open = seasons.open(task.seasons);
        if (!open) return [];
        const last = batches
          .flatMap(({ done }) => doneBefore(done, 'sow', day).at(-1)?.day ?? [])
          .sort()
          .at(-1);
        if (last !== undefined && (last >= open.from || addDays(last, task.everyDays ?? 0) > day)) return [];
        const due: Due = {
          common: `Sowing season until ${shortDay(open.until)}.`,
          own: last ? `last sown on ${dayWords(last, day)}` : 'no sowing on record',
          dueSince: open.from,
          until: open.until,
        };
        return batches.map((batch) => ({ task, batch, due }));
      }),
  );
}

/** Hours the flowers of a group are open today; local solar hours, turned into instants. */
function flowerHours({ zone, day, latitudeDeg, longitudeDeg }: TaskMorning) {
  const { solarNoonMs } = sunTimes(civilNoon(zone, day), latitudeDeg, longitudeDeg);
  return ({ flowers }: SpeciesGroup) => {
    const [from, to] = flowers.openSolarHours;
    const fromMs = Math.round(solarNoonMs + (from - 12) * MS_PER_HOUR);
    const toMs = Math.round(solarNoonMs + (to - 12) * MS_PER_HOUR);
    return { fromMs, toMs: to <= from ? toMs + MS_PER_86400_S : toMs };
  };
}

function inOrder(lines: readonly Line[], morning: TaskMorning): DueTask[] {
  const houseRank = new Map(morning.houses.map(({ houseId }, index) => [houseId, index]));
  const ranked = lines.map((line) => ({ line, days: daysLeft(line, morning.day) }));
  ranked.sort(
    (a, b) =>
      a.days - b.days ||
      TASK_KINDS.indexOf(a.line.task.kind) - TASK_KINDS.indexOf(b.line.task.kind) ||
      (houseRank.get(a.line.house?.houseId ?? '') ?? -1) - (houseRank.get(b.line.house?.houseId ?? '') ?? -1),
  );
  const seen = new Map<string, number>();
  return ranked.map(({ line }) => {
    const place = `${line.task.kind}-${line.house?.houseId ?? 'site'}`;
    const number = (seen.get(place) ?? 0) + 1;
    seen.set(place, number);
    return told(line, `${place}-${number}`, morning);
  });
}

const earliest = (days: readonly (LocalDay | undefined)[]): LocalDay | undefined =>
  days.flatMap((one) => one ?? []).sort()[0];
const endOf = ({ members }: Line): LocalDay | undefined => earliest(members.map(({ due }) => due.until));
const beginningOf = ({ members }: Line): LocalDay | undefined => earliest(members.map(({ due }) => due.dueSince));

function daysLeft(line: Line, day: LocalDay): number {
  const until = endOf(line);
  if (until !== undefined) return daysBetween(day, until);
  const since = beginningOf(line);
  // What is long due is as urgent as what ends tomorrow; what ends today cannot be done any more.
  return Math.max(1, NO_END_DAYS - (since === undefined ? 0 : daysBetween(since, day)));
}

function told(line: Line, id: string, { day, sources }: TaskMorning): DueTask {
  const { task, house, hours, members } = line;
  const batches = members.map(({ batch }) => batch);
  const until = endOf(line);
  const dueSince = beginningOf(line);
  const done = doneToday(line, day);
  return {
    id,
    kind: task.kind,
    houseId: house?.houseId ?? null,
    houseName: house?.name ?? '',
    groupNames: [...new Set(batches.map(({ group }) => group.name))].sort(compareNames),
    batches: batches.length,
    pots: batches.reduce((pots, { potCount }) => pots + potCount, 0),
    benches: benchesOf(batches, TASK_REACH[task.kind] === 'house'),
    reason: reasonOf(line),
    text: task.text,
    source: task.source.map((key) => sources[key]?.text ?? key).join('; '),
    ...(dueSince !== undefined && { dueSince }),
    ...(until !== undefined && { until }),
    ...(hours && { hours }),
    ...(task.caution !== undefined && { caution: task.caution }),
    ...(done && { done }),
  };
}

function benchesOf(batches: readonly TaskBatch[], isWholeHouse: boolean): TaskBench[] {
  const benches = new Map<string, { name: string; ids: string[] }>();
  for (const { benchId, benchName, batchId } of batches) {
    const bench = benches.get(benchId) ?? { name: benchName, ids: [] };
    bench.ids.push(batchId);
    benches.set(benchId, bench);
  }
  return [...benches]
    .map(([benchId, { name, ids }]) => ({
      benchId,
      benchName: name,
      batches: ids.length,
      batchIds: isWholeHouse ? [] : ids,
    }))
    .sort((a, b) => compareNames(a.benchName, b.benchName));
}

/** What all have in common, then what differs with how many it is true of. */
function reasonOf({ common, members }: Line): string {
  const counts = new Map<string, number>();
  for (const { due } of members) counts.set(due.own, (counts.get(due.own) ?? 0) + 1);
  const all = [...counts].sort((a, b) => b[1] - a[1]);
  const first = all.slice(0, REASONS_TOLD);
  const owns =
    all.length === 1
      ? first.map(([own]) => own)
      : first.map(([own, batches]) => `${own} (${count(batches, 'batch', 'batches')})`);
  const more = all.length > first.length ? '; others alike' : '';
  const sentence = owns.join('; ') + more;
  return [common, sentence && `${capital(sentence)}.`].filter(Boolean).join(' ');
}

/** What must be answered one by one: the batches, but of a site's task the groups. */
function askedOf({ task, members }: Line): TaskBatch[][] {
  const batches = members.map(({ batch }) => batch);
  if (TASK_REACH[task.kind] !== 'site') return batches.map((batch) => [batch]);
  const groups = new Set(batches.map(({ group }) => group));
  return [...groups].map((group) => batches.filter((batch) => batch.group === group));
}

/** Done when everything it asks was done today. */
function doneToday(line: Line, day: LocalDay): DueTask['done'] | undefined {
  const { task, house } = line;
  const of = (done: readonly DayDone[]) => done.findLast((one) => one.task === task.kind && one.day === day);
  const whole = house && TASK_REACH[task.kind] === 'house' ? of(house.done) : undefined;
  const answers = whole ? [whole] : askedOf(line).map((batches) => batches.flatMap(({ done }) => of(done) ?? [])[0]);
  const known = answers.filter((one) => one !== undefined);
  const last = known.reduce<DayDone | undefined>(
    (latest, one) => (latest && latest.at >= one.at ? latest : one),
    undefined,
  );
  if (!last || known.length < answers.length) return undefined;
  return { entryIds: [...new Set(known.map(({ entryId }) => entryId))], at: last.at, by: last.by };
}
