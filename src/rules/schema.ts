import { z } from 'zod';
import type { SetValue } from '../domain/house-settings.js';
import { AMOUNTS } from '../domain/plants.js';
import { idSchema } from '../domain/site.js';

/*
 * A rulebook is data: decision tables whose rows compare facts with named limits, and the limits themselves. Two ways
 * of hitting only: `unique`, where exactly one row can apply, and `collect`, where all that apply count and the
 * strictest wins.
 */

/** Comparisons. `below` to `above` need a number or ranked words; the season ones need a season angle. */
export const OPERATORS = [
  'is',
  'is-not',
  'one-of',
  'none-of',
  'below',
  'at-most',
  'at-least',
  'above',
  'in-season',
  'out-of-season',
] as const;
export type Operator = (typeof OPERATORS)[number];

const literalSchema = z.union([z.number(), z.string().min(1), z.boolean(), z.array(z.string().min(1)).min(1)]);

/** One comparison: a fact (or a limit that stands for a choice) with a literal value or a named limit. */
export const conditionSchema = z
  .strictObject({
    fact: z.string().min(1).optional(),
    /** A limit compared with a literal: a choice made per house, group or phase. */
    choice: idSchema.optional(),
    op: z.enum(OPERATORS),
    value: literalSchema.optional(),
    limit: idSchema.optional(),
  })
  .refine((c) => (c.fact === undefined) !== (c.choice === undefined), 'either `fact` or `choice`')
  .refine((c) => (c.value === undefined) !== (c.limit === undefined), 'either `value` or `limit`');
export type Condition = z.infer<typeof conditionSchema>;

export const ALERT_KINDS = ['hot-spell', 'frost', 'wet-night', 'burn-risk'] as const;
export const WINDOWS = ['by-10', 'by-09', 'evening'] as const;
export type Window = (typeof WINDOWS)[number];

/** Where the band of cloth comes from: a limit, or worked out so that the light stays at what the plant may get. */
const shadeSchema = z.union([z.strictObject({ limit: idSchema }), z.enum(['hold-to-step', 'hold-to-liking'])]);

export const effectSchema = z
  .strictObject({
    /** At most this amount. */
    cap: z
      .enum(AMOUNTS)
      .or(z.strictObject({ limit: idSchema }))
      .optional(),
    /** At least this amount, below what safety and weather allow. */
    raise: z.enum(AMOUNTS).optional(),
    /** Which phase's policy holds. */
    policy: z.enum(['as-entered', 'dormant-warm', 'dormant-cold']).optional(),
    /** The cap is the weather's: the drink is put off, not refused. */
    postpone: z.literal(true).optional(),
    inspect: z.literal(true).optional(),
    lightRamp: z.literal(true).optional(),
    alert: z.enum(ALERT_KINDS).optional(),
    shade: shadeSchema.optional(),
    window: z.enum(WINDOWS).optional(),
  })
  .refine((effect) => Object.keys(effect).length > 0, 'at least one effect');
export type Effect = z.infer<typeof effectSchema>;

export const rowSchema = z.strictObject({
  id: idSchema,
  when: z.array(conditionSchema).min(1).max(12),
  effect: effectSchema,
  /** One sentence; `{factName}` and `{limit-name}` are filled in with unit. */
  because: z.string().trim().min(5).max(300),
  source: z.string().min(1),
});
export type Row = z.infer<typeof rowSchema>;

/** The order of a decision. Each step has one table, `policy` is walked once per drink the phase may give. */
export const STEPS = [
  'safety',
  'pot',
  'stall',
  'policy',
  'rescue',
  'guard',
  'climate',
  'seedlings',
  'light',
  'alerts',
] as const;
export type Step = (typeof STEPS)[number];

export const tableSchema = z.strictObject({
  id: z.enum(STEPS),
  hit: z.enum(['unique', 'collect']),
  about: z.string().trim().min(5).max(300),
  rows: z.array(rowSchema).min(1).max(100),
});
export type Table = z.infer<typeof tableSchema>;

const seasonWindow = z.tuple([z.number().min(0).max(360), z.number().min(0).max(360)]);
const limitValueSchema = z.union([
  z.number(),
  z.boolean(),
  z.string().min(1),
  z.tuple([z.number(), z.number()]),
  z.array(seasonWindow).min(1),
  z.null(),
]);
/** What a limit can be set to: in the rulebook, or for a house. */
export type LimitValue = SetValue;

export const LIMIT_KINDS = ['number', 'word', 'flag', 'band', 'season'] as const;

export const limitSchema = z.strictObject({
  name: idSchema,
  /** What a grower reads, e.g. `Dry days after repotting`. */
  label: z.string().trim().min(3).max(80),
  /** The heading it stands under, a key of `sections`. */
  section: idSchema,
  kind: z.enum(LIMIT_KINDS),
  unit: z.string().max(30).default(''),
  /** Whole numbers only. */
  whole: z.boolean().default(false),
  /** Values that may be set, both ends included. */
  bounds: z.tuple([z.number(), z.number()]).optional(),
  words: z.array(z.string().min(1)).min(2).optional(),
  default: limitValueSchema,
  /** Where growers' opinions usually lie. */
  customary: z.tuple([z.number(), z.number()]).optional(),
  /** Another limit that must not be lower than this one, whatever is set. */
  notAbove: idSchema.optional(),
  /** Taken from the species catalogue where it gives a value, e.g. `climate.minSafeWetC`. */
  from: z.string().optional(),
  reason: z.string().trim().min(5).max(300),
  source: z.string().min(1),
  /** Values for some groups or phases. */
  set: z
    .array(
      z.strictObject({
        group: idSchema.optional(),
        phase: idSchema.optional(),
        value: limitValueSchema,
        source: z.string().min(1).optional(),
      }),
    )
    .default([]),
});
export type LimitDeclaration = z.infer<typeof limitSchema>;

export const rulebookFileSchema = z.strictObject({
  format: z.literal(1),
  name: z.string().trim().min(1).max(120),
  sources: z.record(idSchema, z.string().trim().min(5).max(500)),
  /** Headings of the limits, in the order in which they are shown. */
  sections: z.record(idSchema, z.string().trim().min(3).max(80)),
  limits: z.array(limitSchema).min(1),
  tables: z.array(tableSchema).min(1),
});
export type RulebookFile = z.infer<typeof rulebookFileSchema>;
