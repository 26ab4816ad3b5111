import { z } from 'zod';
import type { Collection } from '../domain/collection.js';
import { freeId } from '../domain/free-id.js';
import type { JournalEventInput } from '../domain/journal.js';
import { defined } from '../domain/optional.js';
import { END_REASONS, LOSS_CAUSES } from '../domain/plants.js';
import { idSchema } from '../domain/site.js';
import { isLocalDay } from '../domain/time.js';
import { formKey, optional, readForm } from './forms.js';

/** Forms that keep the collection: a new batch, and what becomes of one. */

const name = z.string('a name').trim().min(1, 'a name').max(120, 'at most 120 letters');
const pots = z.coerce
  .number('a number of pots')
  .int('a whole number of pots')
  .min(1, 'at least one pot')
  .max(100_000, 'at most 100000 pots');
const cause = z.enum(LOSS_CAUSES, `one of ${LOSS_CAUSES.join(', ')}`);

/** What a lost pot costs beside others. */
export const WORTHS = ['1', '3', '10'] as const;

export const newBatchSchema = z
  .object({
    key: formKey,
    name,
    group: idSchema,
    bench: optional(idSchema),
    newBench: optional(name),
    house: optional(idSchema),
    pots,
    sownOn: optional(z.string().refine(isLocalDay, 'a date such as 2024-03-15, or nothing')),
    pot: idSchema,
    mix: idSchema,
    worth: z.enum(WORTHS).default('1'),
  })
  .refine((form) => form.bench !== undefined || form.newBench !== undefined, {
    path: ['bench'],
    message: 'a bench, or the name of a new one',
  })
  .refine((form) => form.bench === undefined || form.newBench === undefined, {
    path: ['newBench'],
    message: 'either a bench that is there or a new one, not both',
  })
  .refine((form) => form.newBench === undefined || form.house !== undefined, {
    path: ['house'],
    message: 'the house in which the new bench stands',
  });
export type NewBatchForm = z.infer<typeof newBatchSchema>;

export function newBatchEvents(form: NewBatchForm, { benches, batches }: Collection): JournalEventInput[] {
  const benchId = form.bench ?? freeId(form.newBench ?? '', (id) => benches.has(id), 'bench');
  return [
    ...(form.newBench !== undefined && form.house !== undefined
      ? [{ kind: 'bench-added' as const, benchId, houseId: form.house, name: form.newBench }]
      : []),
    {
      kind: 'batch-created',
      batchId: freeId(form.name, (id) => batches.has(id), 'batch'),
      name: form.name,
      group: form.group,
      benchId,
      potCount: form.pots,
      potId: form.pot,
      mixId: form.mix,
      worth: Number(form.worth),
      ...defined({ sownOn: form.sownOn }),
    },
  ];
}

type Make<T> = (form: T, batchId: string, collection: Collection) => JournalEventInput;
/** A form and the entry it makes. */
const keeping = <T extends z.ZodType>(schema: T, make: Make<z.infer<T>>) => ({
  eventOf: (body: unknown, batchId: string, collection: Collection): JournalEventInput =>
    make(readForm(schema, body), batchId, collection),
});

/** What becomes of a batch, by the word in the address of the form. */
const KEEPING = {
  move: keeping(z.object({ bench: idSchema }), ({ bench }, batchId) => ({
    kind: 'batch-moved',
    batchId,
    benchId: bench,
  })),
  split: keeping(z.object({ pots, name, bench: idSchema }), (form, batchId, { batches }) => ({
    kind: 'batch-split',
    batchId,
    newBatchId: freeId(form.name, (id) => batches.has(id), 'batch'),
    newName: form.name,
    potCount: form.pots,
    benchId: form.bench,
  })),
  repot: keeping(z.object({ pot: idSchema, mix: idSchema, roots: z.enum(['cut', 'whole']) }), (form, batchId) => ({
    kind: 'repotting',
    batchIds: [batchId],
    potId: form.pot,
    mixId: form.mix,
    rootsCut: form.roots === 'cut',
  })),
  lose: keeping(z.object({ pots, cause }), (form, batchId) => ({
    kind: 'loss',
    batchId,
    potCount: form.pots,
    cause: form.cause,
  })),
  end: keeping(
    z.object({ reason: z.enum(END_REASONS, `one of ${END_REASONS.join(', ')}`), cause: optional(cause) }),
    (form, batchId) => ({ kind: 'batch-ended', batchId, reason: form.reason, ...defined({ cause: form.cause }) }),
  ),
} as const;
export type Keeping = keyof typeof KEEPING;
export const isKeeping = (word: string): word is Keeping => Object.hasOwn(KEEPING, word);

export const keepingEvent = (act: Keeping, body: unknown, batchId: string, collection: Collection): JournalEventInput =>
  KEEPING[act].eventOf(body, batchId, collection);
