import { z } from 'zod';
import { angleWindow, days, range, sourceKeys, tempC } from './catalogue-parts.js';
import { AMOUNTS, FIRMNESS, ORIGIN_ZONES, PHASES, STAGES, WATER_PHASES } from './plants.js';
import { idSchema } from './site.js';
import { taskSchema } from './tasks.js';

export { sourceKeys } from './catalogue-parts.js';
export { WATER_PHASES, type WaterPhase } from './plants.js';
export { type SpeciesTask, TASK_KINDS, type TaskKind } from './tasks.js';

/*
 * What the service knows of plants, mixes, pots, covers and cloths before anybody has measured anything: data files a
 * grower may edit. Every section names its sources; a key of `sources` stands for a publication, for common practice,
 * or for a starting value of ours, and says which.
 */

// --- sources ---------------------------------------------------------------------------------------------------------

export const SOURCE_KINDS = ['publication', 'common-practice', 'remembered', 'starting-value', 'computed'] as const;
const sourceEntrySchema = z.strictObject({
  kind: z.enum(SOURCE_KINDS),
  text: z.string().trim().min(5).max(500),
});
export type SourceEntry = z.infer<typeof sourceEntrySchema>;

export const sourcesSchema = z.record(idSchema, sourceEntrySchema);

// --- species groups --------------------------------------------------------------------------------------------------

/** What a season's course depends on beside the calendar. */
export const CYCLE_DRIVERS = ['nightMinC', 'dayMaxC', 'dli', 'potDepletion'] as const;
export type CycleDriver = (typeof CYCLE_DRIVERS)[number];

/** The step comes up to `deg` later where the driver stands at the first value, and as much earlier at the second. */
const shiftSchema = z.strictObject({
  driver: z.enum(CYCLE_DRIVERS),
  at: z.tuple([z.number(), z.number()]).refine(([late, early]) => late !== early, 'two different values'),
  deg: z.number().min(0).max(45),
});

/** The share of plants that go through a step others skip; `usual` holds while the driver is not known. */
const chanceSchema = z.strictObject({
  usual: z.number().min(0.01).max(1),
  driver: z.enum(CYCLE_DRIVERS).optional(),
  at: z.tuple([z.number(), z.number()]).optional(),
  share: z.tuple([z.number().min(0).max(1), z.number().min(0).max(1)]).optional(),
});

const cycleStepSchema = z.strictObject({
  phase: z.enum(PHASES),
  stage: z.enum(STAGES).optional(),
  /** Nine of ten plants begin the step inside this window. */
  begins: angleWindow,
  chance: chanceSchema.optional(),
  shift: shiftSchema.optional(),
});
export type CycleStep = z.infer<typeof cycleStepSchema>;

const calendarSchema = z.strictObject({
  source: sourceKeys,
  /** Published and customary windows; they may overlap. */
  water: z.array(angleWindow).min(1),
  flowering: z.array(angleWindow).min(1),
  seedRipe: z.array(angleWindow).default([]),
  replacement: angleWindow.optional(),
  restWarm: angleWindow.optional(),
  restCold: angleWindow.optional(),
});

/** Where softness is looked for. `working`: the body that lives now; during replacement the pairs are told apart. */
export const SOFTNESS_BODIES = ['working', 'new-pair', 'older-pair'] as const;

const waterOptionSchema = z.strictObject({
  amount: z.enum(AMOUNTS),
  /** Least days since the substrate became dry. */
  gapDays: days.default(0),
  /** The plant must be at least this soft. Left out: a dry pot is enough. */
  softness: z.enum(FIRMNESS).exclude(['firm']).optional(),
  body: z.enum(SOFTNESS_BODIES).default('working'),
  /** Only when the last drink was a light one, this many days ago: the full drink that follows it. */
  afterLightDrinkDays: range(days).optional(),
  /** Only inside this season window. */
  season: angleWindow.optional(),
  /** Least mean night minimum of the last week. */
  nightMinAtLeastC: tempC.optional(),
  /** Warmest mean night minimum of the last week. */
  nightMinAtMostC: tempC.optional(),
  /** Least mean of the day, last week: the middle of night minimum and day maximum. */
  dayMeanAtLeastC: tempC.optional(),
  /** Least daily light of the last week, mol m⁻² d⁻¹. */
  dliAtLeast: z.number().min(0).max(60).optional(),
  /** The highest day maximum of the coming days must stay below this. */
  forecastDayMaxBelowC: tempC.optional(),
});
export type WaterOption = z.infer<typeof waterOptionSchema>;

/** Options in order; the first whose conditions hold is the policy, and none of them holding means none. */
const phaseWaterSchema = z.strictObject({
  options: z.array(waterOptionSchema),
  /** Never more than this, however soft the plant. */
  atMost: z.enum(AMOUNTS).default('full'),
  /** One sentence a grower understands. */
  note: z.string().trim().min(5).max(300),
});
export type PhaseWater = z.infer<typeof phaseWaterSchema>;

const waterSchema = z.strictObject({
  source: sourceKeys,
  /** A firm plant of this group is never watered, whatever the phase. */
  firmNeverWatered: z.boolean().default(false),
  /** A full drink is given as this many light ones, `splitDoseGapDays` apart. */
  splitDoses: z.number().int().min(1).max(4).default(1),
  splitDoseGapDays: z.number().int().min(1).max(30).default(5),
  phases: z.partialRecord(z.enum(WATER_PHASES), phaseWaterSchema),
});

const climateSchema = z.strictObject({
  source: sourceKeys,
  /** Dry plant, still air, one night. */
  minSafeDryC: tempC,
  minSafeWetC: tempC,
  growthDayC: range(tempC),
  growthNightC: range(tempC),
  /** Above either, growth stops: treat as warm rest. */
  heatStallDayMaxC: tempC,
  heatStallNightMinC: tempC,
  /** Air in the sun: act at once. */
  damageDayMaxC: tempC,
  /** The same for shaded plants at rest. */
  damageDayMaxAtRestC: tempC.optional(),
});

const shadeTriggerSchema = z.strictObject({
  when: z.enum(['always-in-warm-rest', 'newly-split', 'newly-moved', 'hot-spell', 'day-max-above', 'peak-ppfd-above']),
  limit: z.number().optional(),
  /** Nominal shade that is wanted, % of cloth. */
  shadePct: range(z.number().min(0).max(95)),
});
export type ShadeTrigger = z.infer<typeof shadeTriggerSchema>;

const lightSchema = z.strictObject({
  source: sourceKeys,
  /** Below this the plant stretches, mol m⁻² d⁻¹ at the plant. */
  dliLow: z.number().min(0).max(60),
  dliTarget: range(z.number().min(0).max(60)),
  dliTargetAtRest: range(z.number().min(0).max(60)).optional(),
  /** Peak it is comfortable with, µmol m⁻² s⁻¹. */
  ppfdPeakUmol: range(z.number().min(0).max(2500)),
  /** Least daily light the ramp never asks to stay under. */
  rampFloorDli: z.number().min(0).max(20),
  shadeWhen: z.array(shadeTriggerSchema).default([]),
});

const flowersSchema = z.strictObject({
  source: sourceKeys,
  /** In words, e.g. `mid-afternoon to sunset`. */
  hours: z.string().trim().min(3).max(120),
  /** Local solar hours the flowers are open, for the pollination task; may run through midnight. */
  openSolarHours: z.tuple([z.number().min(0).lt(24), z.number().min(0).lt(24)]),
});

/** How the plant changes its leaves: which signs can be seen at all. */
export const LEAF_CHANGES = ['pair', 'sheath', 'leaf-by-leaf', 'rosette'] as const;
export const GROWTH_TYPES = ['winter', 'summer', 'autumn-spring', 'opportunist'] as const;

export const speciesGroupSchema = z.strictObject({
  id: idSchema,
  name: z.string().trim().min(1).max(80),
  genera: z.array(z.string().min(2)).min(1),
  /** Which plants of a genus that stands in two groups belong here; from memory unless a source says otherwise. */
  species: z.string().max(500).optional(),
  originZones: z.array(z.enum(ORIGIN_ZONES)).min(1),
  growthType: z.enum(GROWTH_TYPES),
  leafChange: z.enum(LEAF_CHANGES),
  /** Fraction of the pot's surface a grown plant covers. */
  coverFraction: z.number().min(0.05).max(1).default(0.3),
  /** Transpiration beside reference evaporation (basal crop coefficient). */
  basalCoefficient: z.strictObject({
    source: sourceKeys,
    rest: z.number().min(0).max(1),
    coolGrowth: z.number().min(0).max(1),
    warmGrowth: z.number().min(0).max(1),
  }),
  calendar: calendarSchema,
  /** Steps of the year in their order round the ring. */
  cycle: z.strictObject({ source: sourceKeys, steps: z.array(cycleStepSchema).min(2).max(16) }),
  water: waterSchema,
  climate: climateSchema,
  light: lightSchema,
  flowers: flowersSchema,
  tasks: z.array(taskSchema).default([]),
});
export type SpeciesGroup = z.infer<typeof speciesGroupSchema>;

/** What holds for every group. */
export const generalSchema = z.strictObject({
  source: sourceKeys,
  /** Depth of a light drink over the pot's surface. */
  lightDrinkMm: z.number().min(0.2).max(10),
  /** Share of the available water gone at which a pot counts as dry. */
  dryAtDepletion: z.number().min(0.5).max(1),
  seedlings: z.array(
    z.strictObject({
      underAgeMonths: z.number().positive().max(36),
      gapDays: range(z.number().min(0).max(60)),
      amount: z.enum(AMOUNTS),
    }),
  ),
  /** Dry days after roots were cut. */
  repotDryDays: range(z.number().min(0).max(60)),
  tasks: z.array(taskSchema).default([]),
});
export type GeneralCare = z.infer<typeof generalSchema>;

// --- mixes, pots, covers, cloths -------------------------------------------------------------------------------------

export const mixSchema = z.strictObject({
  id: idSchema,
  name: z.string().trim().min(1).max(80),
  source: sourceKeys,
  /** Volumetric water content after draining, in a pot 7 cm deep. */
  thetaContainerCapacity: z.number().min(0.02).max(0.9),
  /** Volumetric water content at which the plants' uptake ends, about -0.5 MPa. */
  thetaLowerLimit: z.number().min(0).max(0.6),
  /** Water that evaporates freely from the surface before the mix holds it back. */
  readilyEvaporableMm: z.number().min(0).max(15),
  /** Mineral mixes change their capacity with depth by the table of depth factors. */
  mineral: z.boolean(),
  usedFor: z.string().max(200).default(''),
});
export type Mix = z.infer<typeof mixSchema>;

export const depthFactorSchema = z.strictObject({
  depthCm: z.number().positive().max(60),
  factor: z.number().min(0.3).max(2),
});

export const potSchema = z.strictObject({
  id: idSchema,
  name: z.string().trim().min(1).max(80),
  source: sourceKeys,
  shape: z.enum(['square', 'round', 'tray']),
  material: z.enum(['plastic', 'clay']),
  volumeMl: z.number().positive().max(50_000),
  areaCm2: z.number().positive().max(10_000),
  depthCm: z.number().positive().max(60),
});
export type Pot = z.infer<typeof potSchema>;

export const coverSchema = z.strictObject({
  id: idSchema,
  name: z.string().trim().min(1).max(80),
  source: sourceKeys,
  /** Share of plant light that passes when new, straight on. */
  transmissionNew: range(z.number().min(0.05).max(1)),
  /** Whole house over the day, frame and angle included. */
  transmissionHouse: range(z.number().min(0.05).max(1)),
  /** Condensation begins this far above the dew point under the cover. */
  wetMarginC: z.number().min(0).max(10),
  /** Leaves run this much below the air on a clear night. */
  clearNightLeafDropC: z.number().min(0).max(6),
});
export type Cover = z.infer<typeof coverSchema>;

export const clothKindSchema = z.strictObject({
  id: idSchema,
  name: z.string().trim().min(1).max(80),
  source: sourceKeys,
  shadePct: z.number().min(1).max(95),
  /** True shade differs from the nominal by about this much, share of light. */
  transmissionSpread: z.number().min(0).max(0.5),
  place: z.enum(['inside', 'outside']),
  colour: z.enum(['black', 'white', 'aluminised', 'green']),
  /** What it takes off the day's maximum, °C. */
  dayMaxChangeC: range(z.number().min(-10).max(5)),
});
export type Cloth = z.infer<typeof clothKindSchema>;
