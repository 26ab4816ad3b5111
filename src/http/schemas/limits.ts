import { z } from 'zod';
import { ALERT_KINDS } from '../../domain/alerts.js';
import { WATER_PHASES } from '../../domain/catalogue.js';
import { AMOUNTS } from '../../domain/plants.js';
import { LIMIT_KINDS } from '../../rules/schema.js';
import { instant } from './common.js';
import { verdictView } from './round.js';

const pair = z.tuple([z.number(), z.number()]);
const setValue = z
  .union([z.number(), z.string().max(60), z.boolean(), pair, z.array(pair).min(1).max(12), z.null()])
  .describe('null: not asked. Two numbers: a band. A list of pairs: season windows, degrees of season angle.');

/** Names are checked against the rulebook and the catalogue, so that all mistakes are told at once with the nearest name. */
const name = z.string().min(1).max(60);
const scope = {
  name: name.describe('The limit.'),
  group: name.optional().describe('Only for this species group.'),
  phase: name.optional().describe(`Only in this phase: ${WATER_PHASES.join(', ')}.`),
  drink: name.optional().describe(`Only for this drink of the phase: ${AMOUNTS.join(', ')}.`),
};

const changeFields = {
  limits: z
    .array(z.strictObject({ ...scope, value: setValue }))
    .max(200)
    .optional()
    .describe('Values to set. Each takes the place of the one that was set for the same plants.'),
  unset: z
    .array(z.strictObject(scope))
    .max(200)
    .optional()
    .describe('Values of the house to take out: the usual ones hold again.'),
  alertLimits: z
    .record(name, z.number().nullable())
    .optional()
    .describe('Limits of alerts by name; null: the usual again.'),
  tasksOff: z.array(name).max(100).optional().describe('All kinds of task that shall not be shown.'),
};
const expected = z
  .number()
  .int()
  .min(0)
  .describe(
    'The revision that was seen: 0 where nothing was ever set. If another one is in force, nothing is changed.',
  );
const why = z.string().trim().min(1).max(500);

/** A change by itself: what is tried, and what a form of the pages carries from the preview to the setting. */
export const changeSchema = z.strictObject(changeFields);

export const changeBody = changeSchema.extend({
  why: why.describe('The reason, for whoever reads it later.'),
  expected,
});
export const tryBody = changeSchema.extend({
  given: z.looseObject({}).optional().describe('A batch in the form of a decision case, to be decided both ways.'),
});
export const backBody = z.strictObject({
  expected,
  to: z.number().int().min(0).optional().describe('Left out: the revision before. 0: nothing set.'),
  why: why.optional(),
});

const ownValue = z.object({ ...scope, value: setValue });
const sinceFields = { revision: z.number().int(), at: instant, by: z.string(), why: z.string() };
const ownValueSince = ownValue.extend(sinceFields);

export const limitView = z
  .object({
    name: z.string(),
    label: z.string(),
    section: z.string(),
    kind: z.enum(LIMIT_KINDS),
    unit: z.string(),
    bounds: pair.optional().describe('What may be set, both ends included.'),
    words: z.array(z.string()).optional().describe('The words that may be set.'),
    whole: z.boolean().describe('Whole numbers only.'),
    mayBeUnasked: z.boolean().describe('Whether null may be set.'),
    perDrink: z.boolean().describe('Whether it may be set for one drink of a phase.'),
    notAbove: z.string().optional().describe('A limit that must not be lower.'),
    default: setValue,
    customary: pair.optional().describe('Where growers’ opinions usually lie.'),
    reason: z.string(),
    source: z.string(),
    usual: z
      .array(setValue)
      .describe('What is usual for the plants asked about, each value once; several: it depends on the plants.'),
    now: z.array(setValue).describe('What holds for them in this house.'),
    differs: z.boolean(),
    own: z.array(ownValueSince).describe('What was set for this house, by whom, when and why.'),
  })
  .meta({ id: 'Limit' });

const settingsFields = {
  siteId: z.string(),
  houseId: z.string(),
  revision: z.number().int().describe('0: nothing was ever set.'),
  at: instant,
  by: z.string(),
  why: z.string(),
  alertLimits: z.record(z.string(), z.number()),
  tasksOff: z.array(z.string()),
};

export const limitsView = z
  .object({
    ...settingsFields,
    rulebookRevision: z.string(),
    sections: z.array(z.object({ id: z.string(), heading: z.string() })),
    items: z.array(limitView),
    alertItems: z.array(
      z.object({
        name: z.string(),
        label: z.string(),
        kind: z.enum(ALERT_KINDS).describe('The alert it belongs to.'),
        unit: z.string(),
        default: z.number(),
        bounds: pair,
        customary: pair,
        whole: z.boolean().optional(),
        notAbove: z.string().optional(),
        reason: z.string(),
        source: z.string(),
        now: z.number(),
        differs: z.boolean(),
        own: z.object({ value: z.number(), ...sinceFields }).optional(),
      }),
    ),
    leftOut: z
      .array(ownValueSince)
      .describe('Values that the present rulebook does not know or take. They do not hold.'),
  })
  .meta({ id: 'HouseLimits' });

export const revisionView = z
  .object({
    ...settingsFields,
    limits: z.array(ownValue),
    changes: z.array(z.string()).describe('What it changed, in words.'),
  })
  .meta({ id: 'LimitsRevision' });

const answer = z.looseObject(verdictView.pick({ amount: true, postponed: true, inspect: true, sentence: true }).shape);
export const triedView = z
  .object({
    revision: z.number().int().describe('What it was tried against.'),
    limits: z.array(ownValue).describe('What the house would have.'),
    changes: z.array(z.string()),
    today: z.object({
      day: z.string(),
      batches: z.number().int(),
      differing: z.array(
        z.object({
          batchId: z.string(),
          name: z.string(),
          benchName: z.string(),
          potCount: z.number().int(),
          differences: z.array(z.object({ what: z.string(), before: z.string(), after: z.string() })),
          sentence: z.string(),
        }),
      ),
      lines: z.array(z.object({ name: z.string(), before: z.string(), after: z.string() })),
    }),
    given: z.object({ before: answer, after: answer }).optional(),
  })
  .meta({ id: 'TriedLimits' });
