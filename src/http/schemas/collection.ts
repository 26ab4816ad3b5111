import { z } from 'zod';
import { journalEventSchema } from '../../domain/journal.js';
import {
  amountSchema,
  firmnessSchema,
  newPairSchema,
  oldPairSchema,
  originZoneSchema,
  phaseSchema,
  signSchema,
  stageSchema,
  substrateNoteSchema,
} from '../../domain/plants.js';
import { EXPOSURES } from '../../domain/site.js';
import { taskKindSchema } from '../../domain/tasks.js';
import { instant, seenSchema } from './common.js';

export const benchView = z
  .object({
    benchId: z.string(),
    houseId: z.string(),
    name: z.string(),
    lineId: z.string().nullable().describe('null: hand-watered.'),
    exposure: z.enum(EXPOSURES),
    batches: z.number().int(),
    pots: z.number().int(),
  })
  .meta({ id: 'Bench' });

const wateringView = z
  .object({
    entryId: z.number().int(),
    at: instant,
    by: z.string(),
    amount: amountSchema,
    mlPerPot: z.number().optional(),
    answer: z.string(),
    day: z.string().optional(),
    lineId: z.string().optional(),
  })
  .meta({ id: 'Watering' });

export const batchView = z
  .object({
    batchId: z.string(),
    name: z.string(),
    group: z.string(),
    benchId: z.string(),
    houseId: z.string().nullable(),
    lineId: z.string().nullable(),
    potCount: z.number().int(),
    lostPots: z.number().int(),
    sownOn: z.string().optional(),
    potId: z.string(),
    mixId: z.string(),
    topDressing: z.enum(['none', 'grit']),
    originZone: originZoneSchema.optional(),
    worth: z.number(),
    createdAt: instant,
    endedAt: instant.optional(),
    endReason: z.string().optional(),
    phase: seenSchema(z.object({ phase: phaseSchema, stage: stageSchema.optional() })).optional(),
    firmness: seenSchema(firmnessSchema).optional(),
    oldPair: seenSchema(oldPairSchema).optional(),
    newPair: seenSchema(newPairSchema).optional(),
    sheathed: seenSchema(z.boolean()).optional(),
    substrate: seenSchema(substrateNoteSchema).optional(),
    signs: z.array(seenSchema(signSchema)),
    repotted: seenSchema(z.object({ rootsCut: z.boolean() })).optional(),
    lastWatering: wateringView.optional(),
  })
  .meta({ id: 'Batch' });

export const batchDetailView = z
  .object({
    ...batchView.shape,
    places: z.array(z.object({ benchId: z.string(), from: instant })).describe('Benches it stood on, oldest first.'),
    looks: z
      .array(
        z.object({
          at: instant,
          by: z.string(),
          phase: phaseSchema.optional(),
          stage: stageSchema.optional(),
          firmness: firmnessSchema.optional(),
          oldPair: oldPairSchema.optional(),
          newPair: newPairSchema.optional(),
          sheathed: z.boolean().optional(),
          substrate: substrateNoteSchema.optional(),
          signs: z.array(signSchema),
        }),
      )
      .describe('What each look said. Newest last.'),
    waterings: z.array(wateringView).describe('Newest last.'),
    tasksDone: z
      .array(z.object({ task: taskKindSchema, at: instant, by: z.string(), entryId: z.number().int() }))
      .describe('The last few of each kind, for the batch or for the house it stood in. Newest last.'),
  })
  .meta({ id: 'BatchDetail' });

export const eventView = journalEventSchema.meta({ id: 'JournalEvent' });

export const entryView = z
  .object({
    id: z.number().int(),
    siteId: z.string(),
    happenedAt: instant,
    enteredAt: instant,
    by: z.string(),
    event: eventView,
    note: z.string().optional(),
    undoneBy: z.number().int().optional().describe('The entry that took this one back.'),
  })
  .meta({ id: 'JournalEntry' });

export const entriesView = z.object({ entries: z.array(entryView) }).meta({ id: 'Entered' });
