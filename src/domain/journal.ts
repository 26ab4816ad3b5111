import { z } from 'zod';
import {
  amountSchema,
  END_REASONS,
  firmnessSchema,
  LOSS_CAUSES,
  newPairSchema,
  oldPairSchema,
  originZoneSchema,
  phaseSchema,
  signSchema,
  stageSchema,
  substrateNoteSchema,
} from './plants.js';
import { EXPOSURES, idSchema } from './site.js';
import { taskKindSchema } from './tasks.js';
import { isLocalDay } from './time.js';

const name = z.string().trim().min(1).max(120);
const batchIds = z.array(idSchema).min(1).max(20_000);
const potCount = z.number().int().min(1).max(100_000);
const localDay = z.string().refine(isLocalDay, 'a date such as 2026-10-25');

/**
 * What people did and saw. One schema per kind; `kind` tells them apart. Rows are never changed: a mistake is answered
 * by an `undo` entry. Ids of batches and benches are chosen by the writer or by the service, never reused.
 */
export const journalEventSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('bench-added'),
    benchId: idSchema,
    houseId: idSchema,
    name,
    lineId: idSchema.optional(),
    exposure: z.enum(EXPOSURES).default('open'),
  }),
  z.strictObject({
    kind: z.literal('bench-changed'),
    benchId: idSchema,
    name: name.optional(),
    /** null takes the bench off its line: hand-watered. */
    lineId: idSchema.nullable().optional(),
    exposure: z.enum(EXPOSURES).optional(),
  }),
  z.strictObject({
    kind: z.literal('batch-created'),
    batchId: idSchema,
    name,
    /** A species group of the catalogue. */
    group: idSchema,
    benchId: idSchema,
    potCount,
    sownOn: localDay.optional(),
    /** A pot, a mix and a top dressing of the catalogue. */
    potId: idSchema.default('square-7cm-plastic'),
    mixId: idSchema.default('mineral-80-20'),
    topDressing: z.enum(['none', 'grit']).default('grit'),
    originZone: originZoneSchema.optional(),
    /** What a lost pot costs beside others: 1 = ordinary, 10 = irreplaceable. */
    worth: z.number().min(0.1).max(100).default(1),
  }),
  z.strictObject({
    kind: z.literal('batch-changed'),
    batchId: idSchema,
    name: name.optional(),
    group: idSchema.optional(),
    potCount: potCount.optional(),
    sownOn: localDay.optional(),
    originZone: originZoneSchema.optional(),
    worth: z.number().min(0.1).max(100).optional(),
  }),
  z.strictObject({ kind: z.literal('batch-moved'), batchId: idSchema, benchId: idSchema }),
  z.strictObject({
    kind: z.literal('batch-split'),
    batchId: idSchema,
    newBatchId: idSchema,
    newName: name,
    /** Pots that go to the new batch; the rest stay. */
    potCount,
    benchId: idSchema,
  }),
  z.strictObject({
    kind: z.literal('batch-ended'),
    batchId: idSchema,
    reason: z.enum(END_REASONS),
    cause: z.enum(LOSS_CAUSES).optional(),
  }),
  z.strictObject({
    kind: z.literal('loss'),
    batchId: idSchema,
    potCount,
    cause: z.enum(LOSS_CAUSES),
  }),
  z.strictObject({
    kind: z.literal('watering'),
    batchIds,
    /** The line that ran, when one did. */
    lineId: idSchema.optional(),
    amount: amountSchema,
    mlPerPot: z.number().min(0).max(20_000).optional(),
    /** How it stands to the list of the day; `skipped` goes with amount none. */
    answer: z.enum(['as-advised', 'another-amount', 'skipped', 'unasked']).default('unasked'),
    /** The morning it answers. */
    day: localDay.optional(),
  }),
  z.strictObject({
    kind: z.literal('signs'),
    batchIds,
    phase: phaseSchema.optional(),
    stage: stageSchema.optional(),
    firmness: firmnessSchema.optional(),
    oldPair: oldPairSchema.optional(),
    newPair: newPairSchema.optional(),
    sheathed: z.boolean().optional(),
    substrate: substrateNoteSchema.optional(),
    /** Seen now. */
    signs: z.array(signSchema).max(10).default([]),
    /** Looked for and no longer there. */
    gone: z.array(signSchema).max(10).default([]),
  }),
  z.strictObject({
    kind: z.literal('repotting'),
    batchIds,
    potId: idSchema.optional(),
    mixId: idSchema.optional(),
    rootsCut: z.boolean().default(true),
  }),
  z.strictObject({
    kind: z.literal('cloth'),
    houseId: idSchema,
    /** null: nothing hung. */
    clothId: idSchema.nullable(),
  }),
  z.strictObject({
    kind: z.literal('task-done'),
    task: taskKindSchema,
    /** Either the batches it was done for, or the house as a whole. */
    batchIds: batchIds.optional(),
    houseId: idSchema.optional(),
  }),
  z.strictObject({
    kind: z.literal('note'),
    houseId: idSchema.optional(),
    benchId: idSchema.optional(),
    batchIds: batchIds.optional(),
    text: z.string().trim().min(1).max(2000),
  }),
  z.strictObject({
    kind: z.literal('undo'),
    entryId: z.number().int().positive(),
    reason: z.string().max(500).optional(),
  }),
]);
export type JournalEvent = z.infer<typeof journalEventSchema>;
/** As a person or another program sends it: defaults may be left out. */
export type JournalEventInput = z.input<typeof journalEventSchema>;
export type JournalKind = JournalEvent['kind'];

/** A row of the journal. */
export interface JournalEntry {
  /** Rising number, unique over the service: the place to continue from. */
  readonly id: number;
  readonly siteId: string;
  /** When it happened, UTC ms. */
  readonly happenedAt: number;
  /** When it was entered, UTC ms: replay uses only what had been entered by that morning. */
  readonly enteredAt: number;
  /** Who entered it. */
  readonly by: string;
  readonly event: JournalEvent;
  readonly note?: string;
}
