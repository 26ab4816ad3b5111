/** Which tasks are due for one batch this morning. */
import type { SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import { type Amount, amountRank, type Phase } from '../domain/plants.js';
import type { SpeciesTask, TaskKind } from '../domain/tasks.js';
import { daysBetween, type LocalDay, shortDay } from '../domain/time.js';
import { count } from '../domain/wording.js';
import type { PotSurface } from './pest-pressure.js';
import type { OpenWindow, Seasons } from './task-season.js';

/** Something that was done, on a day of the site. */
export interface DayDone {
  readonly task: TaskKind;
  readonly day: LocalDay;
  readonly at: number;
  readonly by: string;
  readonly entryId: number;
}

/** What the tasks ask of a batch. */
export interface TaskBatch {
  readonly batchId: string;
  readonly benchId: string;
  readonly benchName: string;
  readonly potCount: number;
  readonly group: SpeciesGroup;
  /** Left out: taken as grown. */
  readonly ageMonths?: number;
  readonly sownOn?: LocalDay;
  /** Left out: nothing can be said. */
  readonly phase?: BelievedPhase & { readonly second?: BelievedPhase };
  /** What today's list gives it. */
  readonly drink: Amount;
  /** The line it hangs on, where that waters from above. */
  readonly fromAbove?: string;
  /** Phases that were noted, oldest first. */
  readonly noted: readonly { readonly day: LocalDay; readonly phase: Phase }[];
  readonly done: readonly DayDone[];
  /** Asked only of seed trays. */
  surface(): PotSurface;
}
interface BelievedPhase {
  readonly label: WaterPhase;
  readonly probability: number;
}

/** A batch for which a task is due, with what is said of it. */
export interface Due {
  /** The same sentence for all batches of a line; may be empty. */
  readonly common: string;
  /** What differs: lower case, without a full stop. */
  readonly own: string;
  readonly dueSince?: LocalDay;
  readonly until?: LocalDay;
}

/** A phase is believed from this share on; one that forbids a task, from this share on (starting values). */
const BELIEVED = 0.5;
const FEARED = 1 / 3;
/** Plants without an age are taken as grown, as the list takes them. */
const GROWN_MONTHS = 36;
/** A task that is counted without a season window counts this far back. */
const SEASON_DAYS = 180;
/** A flowering nobody confirmed for so long is over (starting value). */
const FLOWERING_NOTED_DAYS = 21;
/** Looks further back than this tell of another flowering. */
const SAME_FLOWERING_DAYS = 60;
/** Seed of another year. */
const SEED_DAYS = 365;

export const isOfAge = (task: SpeciesTask, batch: TaskBatch): boolean => {
  const age = batch.ageMonths ?? GROWN_MONTHS;
  return task.ageMonths === undefined || (age >= task.ageMonths[0] && age < task.ageMonths[1]);
};

function isInPhase({ phases, notWhile }: SpeciesTask, { phase }: TaskBatch): boolean {
  if (phases.length === 0 && notWhile.length === 0) return true;
  if (!phase) return false;
  const believed = [phase, ...(phase.second ? [phase.second] : [])];
  const share = believed.reduce((sum, one) => sum + (phases.includes(one.label) ? one.probability : 0), 0);
  const feared = believed.some((one) => notWhile.includes(one.label) && one.probability >= FEARED);
  return !feared && (phases.length === 0 || (phases.includes(phase.label) && share >= BELIEVED));
}

/** What was done before this morning: what is done today answers the list and does not change it. */
export const doneBefore = (done: readonly DayDone[], task: TaskKind, day: LocalDay): readonly DayDone[] =>
  done.length === 0 ? done : done.filter((one) => one.task === task && one.day < day);

/** First day of the flowering that was noted last and is not over. */
export function firstFlower(batch: TaskBatch, day: LocalDay): LocalDay | undefined {
  const last = batch.noted.at(-1);
  if (last?.phase !== 'flowering' || daysBetween(last.day, day) > FLOWERING_NOTED_DAYS) return undefined;
  let first = last.day;
  for (let index = batch.noted.length - 1; index >= 0; index -= 1) {
    const look = batch.noted[index] as TaskBatch['noted'][number];
    if (look.phase !== 'flowering' || daysBetween(look.day, last.day) > SAME_FLOWERING_DAYS) break;
    first = look.day;
  }
  return first;
}

/** Since when seed ripens that nobody has taken: from pollination, else from when it was first noted. */
export function seedSince(batch: TaskBatch, day: LocalDay): LocalDay | undefined {
  const taken = doneBefore(batch.done, 'harvest-capsules', day).at(-1)?.day;
  // Seed of before the last harvest is taken; what was noted since is another crop.
  const isStanding = (at: LocalDay): boolean =>
    at <= day && daysBetween(at, day) <= SEED_DAYS && (taken === undefined || at > taken);
  const pollinated = doneBefore(batch.done, 'pollinate', day).at(-1)?.day;
  if (pollinated !== undefined && isStanding(pollinated)) return pollinated;
  return batch.noted.find((look) => look.phase === 'seed-set' && isStanding(look.day))?.day;
}

/** `3 March`, with the year where it is not of these months. */
export const dayWords = (at: LocalDay, day: LocalDay): string =>
  daysBetween(at, day) > 300 ? `${shortDay(at)} ${at.slice(0, 4)}` : shortDay(at);

const later = (days: readonly (LocalDay | undefined)[]): LocalDay | undefined =>
  days.reduce((latest, one) => (one !== undefined && (latest === undefined || one > latest) ? one : latest), undefined);

/** Whether a task of a batch is due, and why. Tasks of a house or of the site have functions of their own. */
export function dueForBatch(task: SpeciesTask, batch: TaskBatch, day: LocalDay, seasons: Seasons): Due | undefined {
  if (!isOfAge(task, batch) || !isInPhase(task, batch)) return undefined;
  if (task.withDrink && amountRank(batch.drink) < amountRank(task.withDrink)) return undefined;
  const open = seasons.open(task.seasons);
  // Near the equator no season can be told; there a phase that was entered decides alone.
  const seasonTold = seasons.angleDeg !== undefined || task.phases.length === 0;
  if (task.seasons.length > 0 && !open && seasonTold) return undefined;
  const event = task.after && eventOf(task, batch, day, seasons);
  if (task.after && !event) return undefined;

  const done = doneBefore(batch.done, task.kind, day);
  const countedFrom = open?.from ?? event?.since ?? seasons.plus(day, -SEASON_DAYS);
  const times = done.filter((one) => one.day >= countedFrom).length;
  if (task.atMost !== undefined && times >= task.atMost) return undefined;
  const last = done.at(-1)?.day;
  const { everyDays } = task;
  const again = (from: LocalDay | undefined): LocalDay | undefined =>
    everyDays === undefined || from === undefined ? undefined : seasons.plus(from, everyDays);
  // What was never done is counted from sowing; since when it is due is then not for us to say.
  const notBefore = again(last ?? batch.sownOn);
  if (notBefore !== undefined && notBefore > day) return undefined;
  const dueSince = later([open?.from, event?.from, again(last)]);
  // What goes with a drink is done with today's, or waits for the next.
  const until = task.withDrink ? day : (event?.until ?? open?.until);
  return {
    ...sentences(task.kind, batch, { day, last, times, ...(open && { open }), ...(event && { since: event.since }) }),
    ...(dueSince !== undefined && { dueSince }),
    ...(until !== undefined && { until }),
  };
}

interface TaskEvent {
  readonly since: LocalDay;
  readonly from: LocalDay;
  readonly until?: LocalDay;
}

function eventOf(task: SpeciesTask, batch: TaskBatch, day: LocalDay, seasons: Seasons): TaskEvent | undefined {
  const { event, days } = task.after as NonNullable<SpeciesTask['after']>;
  const since = event === 'first-flower' ? firstFlower(batch, day) : seedSince(batch, day);
  if (since === undefined) return undefined;
  const end = seasons.plus(since, days[1]);
  const until = end >= day ? { until: end } : {};
  if (event === 'first-flower') {
    const from = seasons.plus(since, days[0]);
    return from <= day ? { since, from, ...until } : undefined;
  }
  const grown = seasons.plus(since, days[0]);
  // Seed that was seen may be ripe as soon as the season of its group says so.
  const isSeen = batch.noted.at(-1)?.phase === 'seed-set';
  const season = isSeen ? seasons.open(batch.group.calendar.seedRipe)?.from : undefined;
  const seen = season && later([season, since]);
  const from = seen !== undefined && seen < grown ? seen : grown;
  if (from > day) return undefined;
  return wetToday(batch) ? { since, from, until: day } : { since, from, ...until };
}

/** Water that would open a capsule today. */
const wetToday = (batch: TaskBatch): boolean =>
  batch.drink === 'full' || (batch.fromAbove !== undefined && batch.drink !== 'none');

interface Told {
  readonly day: LocalDay;
  readonly last: LocalDay | undefined;
  readonly times: number;
  readonly open?: OpenWindow;
  readonly since?: LocalDay;
}

function sentences(kind: TaskKind, batch: TaskBatch, told: Told): Pick<Due, 'common' | 'own'> {
  const { day, last, times, open, since = day } = told;
  const on = last === undefined ? '' : dayWords(last, day);
  switch (kind) {
    case 'harvest-capsules':
      return {
        common: capsuleWater(batch),
        own: `seed since ${dayWords(since, day)}, ${count(daysBetween(since, day), 'day')}`,
      };
    case 'pollinate':
      return {
        common: `Open ${batch.group.flowers.hours}.`,
        own: `first flower noted on ${dayWords(since, day)}, ${count(daysBetween(since, day), 'day')} ago${
          times > 0 ? `; pollinated on ${on}` : ''
        }`,
      };
    case 'repot':
      return {
        common: open
          ? `Their own growth begins: good for repotting until ${shortDay(open.until)}.`
          : 'They are in growth.',
        own: last ? `last repotted on ${on}` : 'no repotting on record',
      };
    default:
      return {
        common:
          batch.drink === 'none' ? '' : `${batch.drink === 'full' ? 'A full' : 'A light'} drink is on today’s list.`,
        own: last ? `${times > 1 ? `done ${times} times this season, ` : ''}last on ${on}` : 'not done yet on record',
      };
  }
}

function capsuleWater({ drink, fromAbove }: TaskBatch): string {
  if (fromAbove === undefined) return drink === 'full' ? 'A full drink is on today’s list: take them first.' : '';
  const today = drink === 'none' ? '' : ', and a drink is on today’s list: take them first';
  return `${fromAbove} waters from above${today}.`;
}
