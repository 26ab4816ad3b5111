import { z } from 'zod';
import { angleWindow, range, sourceKeys, tempC } from './catalogue-parts.js';
import { WATER_PHASES } from './plants.js';
import type { LocalDay } from './time.js';

/** The rest of the work round the list. */
export const TASK_KINDS = [
  'harvest-capsules',
  'pollinate',
  'repot',
  'sow',
  'feed',
  'inspect-mealybugs',
  'inspect-mites',
  'inspect-gnats',
] as const;
export const taskKindSchema = z.enum(TASK_KINDS);
export type TaskKind = (typeof TASK_KINDS)[number];

/** What one doing answers for: the batches it names, the whole house, or a group wherever it stands. */
export const TASK_REACH: Readonly<Record<TaskKind, 'batches' | 'house' | 'site'>> = {
  'harvest-capsules': 'batches',
  pollinate: 'batches',
  repot: 'batches',
  sow: 'site',
  feed: 'batches',
  'inspect-mealybugs': 'house',
  'inspect-mites': 'house',
  'inspect-gnats': 'house',
};

/** A person takes in so many at once; the rest is counted. */
export const TASKS_SHOWN_FIRST = 8;

const wholeDays = z.number().int().min(1).max(3000);
/** While the warmth is not known, the calendar stands for it. */
const unknownEveryDays = wholeDays;

const triggerSchema = z.discriminatedUnion('kind', [
  /** Warmth since the last look has sufficed for a generation. */
  z.strictObject({
    kind: z.literal('degree-days'),
    /** Whose generation, e.g. `citrus mealybug`. */
    pest: z.string().trim().min(3).max(60),
    lowerC: tempC,
    degreeDays: z.number().positive().max(5000),
    unknownEveryDays,
  }),
  /** So many days in a row, since the last look, that were hot and dry. */
  z.strictObject({
    kind: z.literal('hot-dry-days'),
    /** Mean from sunrise to sunset. */
    vpdAboveKPa: z.number().min(0).max(8),
    dayMaxAboveC: tempC,
    days: z.number().int().min(1).max(30),
  }),
  /** The surface of the pots was wet on more than this share of the last days, at such temperatures. */
  z.strictObject({
    kind: z.literal('wet-surface'),
    lastDays: z.number().int().min(3).max(60),
    shareAbove: z.number().min(0).lt(1),
    meanTempC: range(tempC),
    unknownEveryDays,
  }),
]);
export type TaskTrigger = z.infer<typeof triggerSchema>;
export type TriggerOf<K extends TaskTrigger['kind']> = Extract<TaskTrigger, { kind: K }>;

/** A task as the catalogue tells it. Everything given must hold for it to be due. */
export const taskSchema = z
  .strictObject({
    kind: taskKindSchema,
    source: sourceKeys,
    /** Season windows it belongs to; left out: any season. */
    seasons: z.array(angleWindow).default([]),
    /** Only in these phases; left out: any. */
    phases: z.array(z.enum(WATER_PHASES)).default([]),
    /** Not while one of these is believed with a third or more. */
    notWhile: z.array(z.enum(WATER_PHASES)).default([]),
    /** From this age on and below that one. */
    ageMonths: range(z.number().min(0).max(1200)).optional(),
    /** Days from one doing to the next. */
    everyDays: wholeDays.optional(),
    /** In one season window, or one flowering, at most so often. */
    atMost: z.number().int().min(1).max(50).optional(),
    /** Only on a day whose list gives at least this drink. */
    withDrink: z.enum(['light', 'full']).optional(),
    /** Days after the first flower, or after pollination or the first seed noted: the window it is best done in. */
    after: z
      .strictObject({ event: z.enum(['first-flower', 'seed-set']), days: range(z.number().int().min(0).max(500)) })
      .optional(),
    /** Only while the flowers of the group are open. */
    inFlowerHours: z.boolean().default(false),
    /** One of them suffices. */
    triggers: z.array(triggerSchema).default([]),
    text: z.string().trim().min(5).max(400),
    caution: z.string().trim().min(5).max(400).optional(),
  })
  .superRefine((task, context) => {
    const wrong = (path: string, message: string) => context.addIssue({ code: 'custom', path: [path], message });
    if (task.triggers.length > 0 && TASK_REACH[task.kind] !== 'house')
      wrong('triggers', `none with ${task.kind}: only looks for pests are called for by the weather`);
    if (task.triggers.length === 0 && TASK_REACH[task.kind] === 'house')
      wrong('triggers', `at least one with ${task.kind}, such as degree-days`);
    if (task.inFlowerHours && task.after?.event !== 'first-flower')
      wrong('inFlowerHours', 'only with `after: { event: first-flower, days: [...] }`');
  });
export type SpeciesTask = z.infer<typeof taskSchema>;

/** A task somebody did, as the journal tells it. */
export interface TaskDone {
  readonly task: TaskKind;
  readonly at: number;
  readonly by: string;
  readonly entryId: number;
}

/** Plants of one bench that a task is about. */
export interface TaskBench {
  readonly benchId: string;
  readonly benchName: string;
  readonly batches: number;
  /** Empty where the house as a whole is meant. */
  readonly batchIds: readonly string[];
}

/** A task that is due this morning: one line, however many batches it is about. */
export interface DueTask {
  /** The same for the same task of the same list. */
  readonly id: string;
  readonly kind: TaskKind;
  /** null: anywhere on the site. */
  readonly houseId: string | null;
  readonly houseName: string;
  readonly groupNames: readonly string[];
  readonly batches: number;
  readonly pots: number;
  readonly benches: readonly TaskBench[];
  /** Why now, with the numbers. */
  readonly reason: string;
  /** How it is done. */
  readonly text: string;
  readonly source: string;
  /** First day on which it was due, where a day can be told. */
  readonly dueSince?: LocalDay;
  /** Last day of its window. */
  readonly until?: LocalDay;
  /** Hours of the day, UTC ms. */
  readonly hours?: { readonly fromMs: number; readonly toMs: number };
  readonly caution?: string;
  /** All of it was done today. */
  readonly done?: { readonly entryIds: readonly number[]; readonly at: number; readonly by: string };
}
