import { z } from 'zod';
import type { Collection } from '../domain/collection.js';
import { LeafturnError, type Problem } from '../domain/errors.js';
import type { JournalEventInput } from '../domain/journal.js';
import {
  AMOUNTS,
  type Amount,
  FIRMNESS,
  PAIR_STATES,
  PHASES,
  SIGNS,
  STAGES,
  substrateNoteSchema,
} from '../domain/plants.js';
import { idSchema } from '../domain/site.js';
import { isLocalDay } from '../domain/time.js';

/** Waiting on a phone longer than this, a note belongs to the moment it arrives. */
const LONGEST_WAIT_MS = 7 * 24 * 3_600_000;

/** A field given once is a text, given several times a list. */
export const many = <T extends z.ZodType>(item: T) =>
  z.preprocess(
    (value) => (value === undefined || value === '' ? [] : Array.isArray(value) ? value : [value]),
    z.array(item),
  );
export const optional = <T extends z.ZodType>(item: T) =>
  z.preprocess((value) => (value === '' ? undefined : value), item.optional());

/** Made with the page, so that the same form counts once. */
export const formKey = z.string().regex(/^[A-Za-z0-9-]{8,64}$/, 'the key that came with the page; open the page again');
/** The key of a form whose other fields are read later. */
export const formKeyOf = (body: unknown): string => readForm(z.object({ key: formKey }), body).key;
const common = {
  key: formKey,
  back: z.string().max(2000).optional(),
  /** How long it waited on the phone, ms. Elapsed time, because the clock of a phone may be wrong. */
  ago: optional(z.coerce.number().min(0)),
};
const day = z.string().refine(isLocalDay, 'a date such as 2026-10-25');

const ANSWERS = ['as-advised', 'another-amount', 'skipped'] as const;
type Answer = (typeof ANSWERS)[number];

export interface TickItem {
  readonly batchId: string;
  readonly amount: Amount;
  readonly mlPerPot?: number;
}
/** One tap on a button of the list. */
export interface Tick {
  readonly answer: Answer;
  readonly lineId?: string;
  readonly items: readonly TickItem[];
}

/**
 * What a button says, as its value: `as-advised/line-2/tray-4:full:35,tray-5:full:35`. It carries the amounts that
 * the person saw, so that a list made anew in between cannot change what was noted.
 */
export function tickValue(tick: Tick): string {
  const items = tick.items.map(({ batchId, amount, mlPerPot }) =>
    [batchId, amount, ...(mlPerPot === undefined || mlPerPot === 0 ? [] : [mlPerPot])].join(':'),
  );
  return `${tick.answer}/${tick.lineId ?? ''}/${items.join(',')}`;
}

const partedSchema = z.object({
  answer: z.enum(ANSWERS),
  lineId: idSchema.optional(),
  items: z
    .array(
      z.object({
        batchId: idSchema,
        amount: z.enum(AMOUNTS),
        mlPerPot: z.coerce.number().min(0).max(20_000).optional(),
      }),
    )
    .min(1)
    .max(20_000),
});

const tickSchema = z
  .string()
  .max(200_000)
  .transform((text, context): Tick => {
    const [answer, lineId, list = ''] = text.split('/');
    const items = list.split(',').map((item) => {
      const [batchId, amount, mlPerPot] = item.split(':');
      return { batchId, amount, mlPerPot };
    });
    const parted = partedSchema.safeParse({ answer, lineId: lineId || undefined, items });
    if (!parted.success) {
      context.addIssue({ code: 'custom', message: 'a button of the list; open the list again' });
      return z.NEVER;
    }
    return {
      answer: parted.data.answer,
      ...(parted.data.lineId && { lineId: parted.data.lineId }),
      items: parted.data.items.map(({ mlPerPot, ...item }) => ({
        ...item,
        ...(mlPerPot !== undefined && { mlPerPot }),
      })),
    };
  });

export const tickFormSchema = z.object({ ...common, day, tick: tickSchema });
export type TickForm = z.infer<typeof tickFormSchema>;

/** One entry per amount, so that each batch is told what its pots got. */
export function tickEvents({ tick, day }: Pick<TickForm, 'tick' | 'day'>): JournalEventInput[] {
  const byDrink = new Map<string, TickItem[]>();
  for (const item of tick.items) {
    const key = `${item.amount}:${item.mlPerPot ?? ''}`;
    const same = byDrink.get(key);
    if (same) same.push(item);
    else byDrink.set(key, [item]);
  }
  return [...byDrink.values()].map((items) => {
    const { amount, mlPerPot } = items[0] as TickItem;
    const skipped = tick.answer === 'skipped';
    return {
      kind: 'watering',
      batchIds: items.map((item) => item.batchId),
      ...(tick.lineId && { lineId: tick.lineId }),
      amount: skipped ? 'none' : amount,
      ...(mlPerPot !== undefined && !skipped && { mlPerPot }),
      answer: tick.answer,
      day,
    };
  });
}

/** An amount typed in on the page of one batch. */
export const amountFormSchema = z.object({
  ...common,
  day,
  batch: idSchema,
  amount: z.enum(['light', 'full']),
  ml: optional(z.coerce.number('a number of millilitres, such as 25').min(0).max(20_000)),
});

export const undoFormSchema = z.object({
  ...common,
  entry: many(z.coerce.number().int().positive()).refine((ids) => ids.length > 0),
});

export const readFormSchema = z.object({
  back: common.back,
  mark: z.string().regex(/^\d{4}-\d{2}-\d{2}\.\d{1,9}$/, 'a day and a revision'),
});

export const clothFormSchema = z.object({ ...common, house: idSchema, cloth: z.union([z.literal('none'), idSchema]) });

export const noteFormSchema = z.object({
  ...common,
  batch: z.string().trim().max(120).optional(),
  bench: optional(idSchema),
  firmness: optional(z.enum(FIRMNESS)),
  oldPair: optional(z.enum(PAIR_STATES)),
  newPair: optional(z.enum([...PAIR_STATES, 'hidden'])),
  phase: optional(z.enum(PHASES)),
  stage: optional(z.enum(STAGES)),
  substrate: optional(substrateNoteSchema),
  sheathed: optional(z.enum(['yes', 'no'])),
  signs: many(z.enum(SIGNS)),
  gone: many(z.enum(SIGNS)),
  text: z.string().trim().max(2000).default(''),
});
export type NoteForm = z.infer<typeof noteFormSchema>;

const refuse = (path: string, message: string, expected: string, got: string, mend: string): never => {
  throw new LeafturnError('invalid-input', message, [{ path, expected, got, mend }]);
};

/** Batches the note is about: every living batch of a bench, or one batch by its id or its name. */
export function noteBatches(form: Pick<NoteForm, 'batch' | 'bench'>, collection: Collection): string[] {
  const living = [...collection.batches.values()].filter((batch) => batch.endedAt === undefined && batch.potCount > 0);
  if (form.bench) {
    const ids = living.filter((batch) => batch.benchId === form.bench).map((batch) => batch.batchId);
    if (ids.length === 0)
      refuse('batch', 'No batch stands on this bench.', 'a bench with plants on it', form.bench, 'Name a batch.');
    return ids;
  }
  const wanted = form.batch ?? '';
  const named = living.filter((batch) => batch.batchId === wanted || batch.name.toLowerCase() === wanted.toLowerCase());
  if (named.length !== 1)
    refuse(
      'batch',
      named.length === 0 ? 'There is no such batch.' : 'Several batches have this name.',
      'the label or name of one batch',
      wanted || 'nothing',
      'Find the batch by search and note it there.',
    );
  return named.map((batch) => batch.batchId);
}

export function noteEvents(form: NoteForm, batchIds: string[]): JournalEventInput[] {
  // A stage belongs to leaf-pair replacement, so another phase beside it is a contradiction to be asked about.
  if (form.stage && form.phase && form.phase !== 'leaf-replacement')
    refuse(
      'stage',
      'A stage of the leaf pair goes with "replacing its leaf pair" only.',
      'no stage, or the phase "replacing its leaf pair"',
      `stage ${form.stage} with phase ${form.phase}`,
      'Take one of the two away.',
    );
  const looked = {
    ...(form.phase && { phase: form.phase }),
    ...(form.stage && { stage: form.stage }),
    ...(form.firmness && { firmness: form.firmness }),
    ...(form.oldPair && { oldPair: form.oldPair }),
    ...(form.newPair && { newPair: form.newPair }),
    ...(form.substrate && { substrate: form.substrate }),
    ...(form.sheathed && { sheathed: form.sheathed === 'yes' }),
  };
  const gone = form.gone.filter((sign) => !form.signs.includes(sign));
  const sawSomething = Object.keys(looked).length > 0 || form.signs.length > 0 || gone.length > 0;
  if (!sawSomething && form.text === '')
    refuse('firmness', 'Nothing was noted.', 'at least one thing you saw', 'an empty form', 'Tick what you saw.');
  return [
    ...(sawSomething ? [{ kind: 'signs' as const, batchIds, ...looked, signs: form.signs, gone }] : []),
    ...(form.text ? [{ kind: 'note' as const, batchIds, text: form.text }] : []),
  ];
}

/** Reads a form, or says everything that is wrong with it. */
export function readForm<T extends z.ZodType>(schema: T, body: unknown): z.infer<T> {
  const result = schema.safeParse(body ?? {});
  if (result.success) return result.data;
  const problems = result.error.issues.map((issue): Problem => {
    const path = issue.path.map(String).join('.');
    const value = issue.path.reduce<unknown>(
      (at, step) => (at as Record<PropertyKey, unknown> | undefined)?.[step],
      body ?? {},
    );
    return {
      path,
      expected: issue.message,
      got: value === undefined ? 'nothing' : String(value).slice(0, 60),
    };
  });
  throw new LeafturnError('invalid-input', 'This could not be noted.', problems);
}

/** When it happened: now, less what it waited on the phone. */
export const happenedAt = (now: number, ago: number | undefined): number =>
  ago === undefined || ago > LONGEST_WAIT_MS ? now : now - ago;
