import { z } from 'zod';
import {
  amountSchema,
  firmnessSchema,
  newPairSchema,
  oldPairSchema,
  phaseSchema,
  signSchema,
  stageSchema,
} from '../../domain/plants.js';
import { taskKindSchema } from '../../domain/tasks.js';
import { instant } from './common.js';

const factValue = z.union([z.number(), z.string(), z.boolean()]);

export const traceRowView = z
  .object({
    table: z.string(),
    row: z.string(),
    met: z.enum(['yes', 'no', 'unknown']),
    conditions: z.array(
      z.object({
        fact: z.string(),
        op: z.string(),
        limit: z.union([factValue, z.array(factValue)]).nullable(),
        unit: z.string(),
        actual: factValue.nullable(),
        met: z.enum(['yes', 'no', 'unknown']),
      }),
    ),
    effect: z.string().optional(),
    because: z.string().optional(),
    source: z.string().optional(),
  })
  .meta({ id: 'TraceRow' });

export const verdictView = z
  .object({
    amount: amountSchema,
    postponed: z.boolean(),
    postponedUntil: z.string().optional(),
    inspect: z.boolean().describe('Go and look before deciding.'),
    lightRamp: z.boolean().describe('Light must be raised in steps.'),
    shade: z.object({ minPct: z.number(), maxPct: z.number() }).nullable().optional(),
    alerts: z.array(z.string()),
    mlPerPot: z.number(),
    doses: z
      .object({ count: z.number().int(), gapDays: z.number() })
      .optional()
      .describe('A full drink given as several light ones; mlPerPot is one of them.'),
    window: z.enum(['by-10', 'by-09', 'evening']).optional().describe('Sun time to be done by.'),
    lookFor: z.string().optional(),
    lookSaves: z
      .number()
      .optional()
      .describe('What a look is expected to save per pot; 1 is one pot that went without a drink it needed.'),
    sentence: z.string(),
    decidedBy: z.object({ table: z.string(), row: z.string() }),
    vetoes: z.array(z.string()),
    nearestChange: z
      .object({
        amount: amountSchema,
        sentence: z.string(),
        fact: z.string(),
        expectedOn: z.string().optional(),
      })
      .optional(),
    trace: z.array(traceRowView).optional().describe('With `trace=true`, and for one batch alone.'),
  })
  .meta({ id: 'Verdict' });

export const batchAdviceView = z
  .object({
    batchId: z.string(),
    name: z.string(),
    group: z.string(),
    groupName: z.string(),
    benchId: z.string(),
    benchName: z.string(),
    potCount: z.number().int(),
    phase: z.object({
      phase: phaseSchema,
      stage: stageSchema.optional(),
      probability: z.number(),
      from: z.string(),
    }),
    lastSeen: z
      .object({
        at: instant,
        firmness: firmnessSchema.optional(),
        oldPair: oldPairSchema.optional(),
        newPair: newPairSchema.optional(),
        signs: z.array(signSchema),
      })
      .optional(),
    verdict: verdictView,
    litres: z.number(),
    done: z
      .object({
        entryId: z.number().int(),
        at: instant,
        by: z.string(),
        answer: z.string(),
        amount: amountSchema,
        mlPerPot: z.number().optional(),
      })
      .optional(),
  })
  .meta({ id: 'BatchAdvice' });

const lineAdviceView = z
  .object({
    lineId: z.string().nullable(),
    name: z.string(),
    action: z.enum(['run', 'leave', 'by-hand']),
    amount: amountSchema,
    litres: z.number(),
    minutes: z.number().optional(),
    sentence: z.string(),
    lasting: z.string().optional(),
    potsKeptDry: z.number().int(),
    batches: z.array(batchAdviceView),
  })
  .meta({ id: 'LineAdvice' });

const nullableNumber = z.number().nullable();
const houseAdviceView = z
  .object({
    houseId: z.string(),
    name: z.string(),
    settingsRevision: z
      .number()
      .int()
      .optional()
      .describe('Revision of the limits of the house it was decided under; left out: nothing was set.'),
    climate: z.object({
      nightMinC: nullableNumber,
      dayMaxC: nullableNumber,
      meanVpdKPa: nullableNumber,
      dli: nullableNumber,
      peakPpfdUmol: nullableNumber,
      dewPointMarginMinC: nullableNumber,
      sensorsHeard: z.number().int(),
      lastReadingAt: instant.nullable(),
      sentence: z.string(),
    }),
    shade: z
      .object({
        clothId: z.string().nullable(),
        since: z.number().int().describe('Since when this cloth is advised.'),
        hungId: z.string().nullable(),
        sentence: z.string(),
        reason: z.string().optional(),
        from: z.number().int().optional(),
        until: z.number().int().optional(),
        buys: z.string().optional(),
        benches: z.array(z.object({ benchId: z.string(), clothId: z.string(), sentence: z.string() })),
        warnings: z.array(z.string()),
      })
      .optional()
      .describe('Which cloth the house wants; left out where light is not known.'),
    lines: z.array(lineAdviceView),
  })
  .meta({ id: 'HouseAdvice' });

const dueTaskView = z
  .object({
    id: z.string().describe('The same for the same task of one list.'),
    kind: taskKindSchema,
    houseId: z.string().nullable().describe('null: anywhere on the site.'),
    houseName: z.string(),
    groupNames: z.array(z.string()),
    batches: z.number().int(),
    pots: z.number().int(),
    benches: z.array(
      z.object({
        benchId: z.string(),
        benchName: z.string(),
        batches: z.number().int(),
        batchIds: z.array(z.string()).describe('Empty where the house as a whole is meant.'),
      }),
    ),
    reason: z.string().describe('Why now, with the numbers.'),
    text: z.string().describe('How it is done.'),
    source: z.string(),
    dueSince: z.string().optional(),
    until: z.string().optional().describe('Last day of its window.'),
    hours: z
      .object({ fromMs: instant, toMs: instant })
      .optional()
      .describe('Part of the day: while the flowers are open.'),
    caution: z.string().optional(),
    done: z
      .object({ entryIds: z.array(z.number().int()), at: instant, by: z.string() })
      .optional()
      .describe('All of it was done today.'),
  })
  .meta({ id: 'DueTask' });

export const roundView = z
  .object({
    siteId: z.string(),
    day: z.string(),
    revision: z.number().int(),
    madeAt: instant,
    journalId: z.number().int(),
    rulebookRevision: z.string(),
    dayHours: z.number(),
    seasonAngleDeg: nullableNumber,
    houses: z.array(houseAdviceView),
    look: z.array(
      z.object({
        batchId: z.string(),
        batchName: z.string(),
        houseId: z.string(),
        benchId: z.string(),
        benchName: z.string(),
        lookFor: z.string(),
        saves: z.number().optional(),
        why: z.string(),
      }),
    ),
    tasks: z.array(dueTaskView).describe('The rest of the work, the most urgent first.'),
    counts: z.object({
      none: z.number().int(),
      light: z.number().int(),
      full: z.number().int(),
      postponed: z.number().int(),
      inspect: z.number().int(),
    }),
    changes: z.array(z.string()),
  })
  .meta({ id: 'Round' });

export const roundDayView = z
  .object({ day: z.string(), revision: z.number().int(), madeAt: instant, address: z.string() })
  .meta({ id: 'RoundDay' });
