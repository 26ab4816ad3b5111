import type { TaskKind } from '../../src/domain/tasks.js';
import { addDays, instantOnDay, type LocalDay } from '../../src/domain/time.js';
import type { DayDone, TaskBatch } from '../../src/models/due-tasks.js';
import type { HouseOfTasks } from '../../src/models/house-looks.js';
import type { TaskMorning } from '../../src/models/task-list.js';
import { catalogue, group } from './catalogue.js';

/** Invented batches and houses for the tests of tasks. */
export const NORTH = { zone: 'Europe/Berlin', latitudeDeg: 51, longitudeDeg: 10 };
/** The same seasons half a year later. */
export const SOUTH = { zone: 'Australia/Sydney', latitudeDeg: -34, longitudeDeg: 151 };

let entries = 0;
export const done = (task: TaskKind, day: LocalDay): DayDone => ({
  task,
  day,
  at: instantOnDay('UTC', day, '08:00'),
  by: 'Ada',
  entryId: ++entries,
});

let batches = 0;
export const batch = (groupId: string, more: Partial<TaskBatch> = {}): TaskBatch => ({
  batchId: `b${++batches}`,
  benchId: 'one',
  benchName: 'Bench 1',
  potCount: 20,
  group: group(groupId),
  drink: 'none',
  noted: [],
  done: [],
  surface: () => ({ readilyEvaporableMm: 3, topFactor: 1, drinksMm: new Map() }),
  ...more,
});
export const growing = { label: 'growing', probability: 0.9 } as const;

export const house = (members: readonly TaskBatch[], more: Partial<HouseOfTasks> = {}): HouseOfTasks => ({
  houseId: 'north',
  name: 'North house',
  done: [],
  tasksOff: [],
  batches: members,
  extremes: new Map(),
  past: [],
  ...more,
});

export const morning = (day: LocalDay, houses: readonly HouseOfTasks[], place: typeof NORTH = NORTH): TaskMorning => ({
  ...place,
  day,
  general: catalogue.general,
  sources: catalogue.sources['species-groups'],
  houses,
});

/** Days before a morning at a steady temperature. */
export const steadyAir = (day: LocalDay, days: number, tempC: number): HouseOfTasks['extremes'] =>
  new Map(Array.from({ length: days }, (_, back) => [addDays(day, -1 - back), { minC: tempC, maxC: tempC }]));
