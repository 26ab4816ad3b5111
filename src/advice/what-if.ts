import { z } from 'zod';
import { type Catalogue, catalogueEntry } from '../domain/catalogue.js';
import { LeafturnError } from '../domain/errors.js';
import type { SetLimit } from '../domain/house-settings.js';
import {
  AMOUNTS,
  amountSchema,
  firmnessSchema,
  newPairSchema,
  oldPairSchema,
  originZoneSchema,
  phaseSchema,
  signSchema,
  stageSchema,
} from '../domain/plants.js';
import { type PathForm, schemaProblems } from '../domain/problems.js';
import { idSchema } from '../domain/site.js';
import { isLocalDay } from '../domain/time.js';
import type { Facts, Verdict } from '../domain/verdict.js';
import { potCapacities } from '../models/pot-water.js';
import { limitsFor, limitsRevision } from '../rules/limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import { decide } from '../rules/verdict.js';
import { seasonAngleDeg } from '../science/season.js';
import type { FactInputs, Known } from './fact-inputs.js';
import { gatherFacts } from './facts.js';
import { workOutPhase } from './work-out-phase.js';

const tempC = z.number().min(-40).max(70);
const dli = z.number().min(0).max(80);
const ppfd = z.number().min(0).max(3000);
const days = z.number().min(0).max(3650);
const shortForecast = <T extends z.ZodType>(item: T) => z.array(item).min(1).max(16);

/** One batch on one morning, in the form of a decision case. What is left out, or null, is unknown. */
export const givenSchema = z.strictObject({
  group: idSchema,
  on: z.strictObject({
    latitude: z.number().min(-90).max(90),
    date: z.string().refine(isLocalDay, 'a date such as 2026-10-25'),
  }),
  plant: z
    .strictObject({
      phase: phaseSchema.optional(),
      stage: stageSchema.optional(),
      firmness: firmnessSchema.optional(),
      oldPair: oldPairSchema.optional(),
      newPair: newPairSchema.optional(),
      sheathed: z.boolean().optional(),
      ageMonths: z.number().min(0).max(1200).optional(),
      repottedDaysAgo: days.optional(),
      originZone: originZoneSchema.optional(),
      signs: z.array(signSchema).max(20).optional(),
      lightHistory: z.strictObject({ dli, days: days.optional(), peakPpfd: ppfd.optional() }).optional(),
    })
    .refine((plant) => plant.stage === undefined || plant.phase === undefined || plant.phase === 'leaf-replacement', {
      path: ['stage'],
      message: 'no stage unless the phase is leaf-replacement',
    })
    .default({}),
  pot: z
    .strictObject({
      dryDays: days.optional(),
      depletion: z.number().min(0).max(2).optional(),
      lastWatering: z.strictObject({ daysAgo: days, amount: amountSchema }).optional(),
      pot: idSchema.optional(),
      mix: idSchema.optional(),
    })
    .default({}),
  house: z
    .strictObject({
      recent: z
        .strictObject({
          nightMin: tempC.optional(),
          dayMax: tempC.optional(),
          dli: dli.optional(),
          peakPpfd: ppfd.optional(),
        })
        .default({}),
      tonight: z
        .strictObject({
          min: tempC.optional(),
          max: tempC.optional(),
          wetHours: z.number().min(0).max(24).optional(),
          maxRelHumidity: z.number().min(0).max(100).optional(),
        })
        .default({}),
      ahead: z
        .strictObject({
          dayMax: shortForecast(tempC).optional(),
          nightMin: shortForecast(tempC).optional(),
          dli: shortForecast(dli).optional(),
          peakPpfd: shortForecast(ppfd).optional(),
          hotSpell: z.boolean().optional(),
        })
        .default({}),
      stillAir: z.boolean().optional(),
    })
    .default({ recent: {}, tonight: {}, ahead: {} }),
});
export type Given = z.infer<typeof givenSchema>;

export interface WhatIfContext {
  readonly rulebook: Rulebook;
  readonly catalogue: Catalogue;
  /** Limits of the house the question is about. */
  readonly overrides?: readonly SetLimit[];
  /** How paths are written in errors; a JSON pointer for answers of the API. */
  readonly pathForm?: PathForm;
}

export interface WhatIfAnswer {
  readonly amount: Verdict['amount'];
  readonly postponed: boolean;
  readonly postponedUntil?: string;
  readonly shade: 'none' | 'unknown' | { readonly min: number; readonly max: number };
  readonly light: 'steady' | 'ramp';
  readonly inspect: boolean;
  readonly lookFor?: string;
  readonly alerts: readonly string[];
  readonly mlPerPot: number;
  readonly doses?: { readonly count: number; readonly gapDays: number };
  readonly window?: string;
  readonly sentence: string;
  readonly decidedBy: Verdict['decidedBy'];
  readonly vetoes: readonly string[];
  readonly nearestChange?: Verdict['nearestChange'];
  readonly revision: string;
  readonly facts: Facts;
  readonly trace: Verdict['trace'];
}

/**
 * The verdict for a batch that need not exist. Pure: the same question and context give the same answer.
 * @throws LeafturnError `invalid-input` with every mistake of the body
 */
export function whatIf(body: unknown, context: WhatIfContext): WhatIfAnswer {
  const given = parseGiven(body, context);
  const input = inputsOf(given, context.catalogue);
  const facts = gatherFacts(input);
  const limits = limitsFor(context.rulebook, input.group, input.general, context.overrides);
  const verdict = decide(context.rulebook, facts, limits);
  return answerOf(verdict, facts, limitsRevision(context.rulebook, limits));
}

function parseGiven(body: unknown, { catalogue, pathForm }: WhatIfContext): Given {
  const content = withoutNulls(body);
  const parsed = givenSchema.safeParse(content);
  const groups = catalogue.speciesGroups.map((group) => group.id);
  if (!parsed.success)
    throw new LeafturnError(
      'invalid-input',
      'The batch in question is not described as expected.',
      schemaProblems(givenSchema, content, parsed.error, pathForm),
    );
  if (!groups.includes(parsed.data.group))
    throw new LeafturnError('invalid-input', `There is no species group called ${parsed.data.group}.`, [
      {
        path: pathForm ? pathForm(['group']) : 'group',
        expected: `one of ${groups.join(', ')}`,
        got: parsed.data.group,
      },
    ]);
  return parsed.data;
}

/** A field that is null is one that is not known. */
function withoutNulls(value: unknown): unknown {
  if (Array.isArray(value)) return value;
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .filter(([, item]) => item !== null)
      .map(([key, item]) => [key, withoutNulls(item)]),
  );
}

const DEFAULT_POT = 'square-7cm-plastic';
const DEFAULT_MIX = 'mineral-80-20';

const given = <T>(value: T): Known<T> => ({ value, from: 'as given' });
/** `{ name: Known }` when there is a value, else nothing. */
const some = <K extends string, T>(name: K, value: T | undefined): { [P in K]?: Known<T> } =>
  value === undefined ? {} : ({ [name]: given(value) } as { [P in K]?: Known<T> });

/** A question in the form of a decision case, as what has to be known about a batch. */
export function inputsOf(question: Given, catalogue: Catalogue): FactInputs {
  const { plant, pot, house, on } = question;
  const group = catalogueEntry('species group', catalogue.speciesGroups, question.group);
  const capacities = potCapacities({
    mix: catalogueEntry('mix', catalogue.mixes, pot.mix ?? DEFAULT_MIX),
    pot: catalogueEntry('pot', catalogue.pots, pot.pot ?? DEFAULT_POT),
    topDressing: 'grit',
    coverFraction: group.coverFraction,
    clayFactor: catalogue.clayFactor,
    gritTopFactor: catalogue.gritTopFactor,
    mineralDepthFactors: catalogue.mineralDepthFactors,
    lightDrinkMm: catalogue.general.lightDrinkMm,
    dryAtDepletion: catalogue.general.dryAtDepletion,
  });
  const angle = seasonAngleDeg(Date.parse(`${on.date}T12:00:00Z`), on.latitude);
  const phaseName = plant.phase ?? (plant.stage && 'leaf-replacement');
  const { recent, tonight, ahead } = house;
  const phase =
    phaseName &&
    workOutPhase(group, angle, {
      phase: phaseName,
      ...(plant.stage && { stage: plant.stage }),
      ...(plant.oldPair && { oldPair: plant.oldPair }),
      ...(plant.newPair && { newPair: plant.newPair }),
      ...(plant.sheathed !== undefined && { sheathed: plant.sheathed }),
      signs: plant.signs ?? [],
    });
  return {
    day: on.date,
    latitudeDeg: on.latitude,
    ...(angle !== undefined && { seasonAngleDeg: angle }),
    group,
    general: catalogue.general,
    ...(plant.originZone && { originZone: plant.originZone }),
    plant: {
      ...(phase && { phase }),
      ...some('firmness', plant.firmness),
      ...some('oldPair', plant.oldPair),
      ...some('newPair', plant.newPair),
      ...some('sheathed', plant.sheathed),
      ...some('ageMonths', plant.ageMonths),
      ...some('repottedDaysAgo', plant.repottedDaysAgo),
      signs: (plant.signs ?? []).map(given),
    },
    pot: {
      mlPerMm: capacities.mlPerMm,
      availableMm: capacities.totalAvailableMm,
      ...some('dryDays', pot.dryDays),
      ...some('depletion', pot.depletion),
      ...(pot.lastWatering && { lastWatering: { ...pot.lastWatering, from: 'as given' } }),
    },
    ...(plant.lightHistory && {
      lightHistory: {
        dli: given(plant.lightHistory.dli),
        ...(plant.lightHistory.days !== undefined && { days: plant.lightHistory.days }),
        ...some('peakPpfdUmol', plant.lightHistory.peakPpfd),
      },
    }),
    house: {
      recent: {
        ...some('nightMinC', recent.nightMin),
        ...some('dayMaxC', recent.dayMax),
        ...some('dli', recent.dli),
        ...some('peakPpfdUmol', recent.peakPpfd),
      },
      tonight: {
        ...some('minC', tonight.min),
        ...some('maxC', tonight.max),
        ...some('wetHours', tonight.wetHours),
        ...some('maxRelHumidityPct', tonight.maxRelHumidity),
      },
      ahead: {
        ...(ahead.dayMax && { dayMaxC: ahead.dayMax }),
        ...(ahead.nightMin && { nightMinC: ahead.nightMin }),
        ...(ahead.dli && { dli: ahead.dli }),
        ...(ahead.peakPpfd && { peakPpfdUmol: ahead.peakPpfd }),
        ...(ahead.hotSpell !== undefined && { hotSpell: ahead.hotSpell }),
        from: 'as given',
      },
      ...(house.stillAir !== undefined && { stillAir: house.stillAir }),
    },
  };
}

function answerOf(verdict: Verdict, facts: Facts, revision: string): WhatIfAnswer {
  const { shade, lightRamp, amount, postponed, inspect, alerts, mlPerPot, sentence, decidedBy, vetoes, trace } =
    verdict;
  return {
    amount,
    postponed,
    ...(verdict.postponedUntil && { postponedUntil: verdict.postponedUntil }),
    shade: shade === undefined ? 'unknown' : shade === null ? 'none' : { min: shade.minPct, max: shade.maxPct },
    light: lightRamp ? 'ramp' : 'steady',
    inspect,
    ...(verdict.lookFor && { lookFor: verdict.lookFor }),
    alerts,
    mlPerPot,
    ...(verdict.doses && { doses: verdict.doses }),
    ...(verdict.window && { window: verdict.window }),
    sentence,
    decidedBy,
    vetoes,
    ...(verdict.nearestChange && { nearestChange: verdict.nearestChange }),
    revision,
    facts,
    trace,
  };
}

const bandSchema = z
  .strictObject({ min: z.number().min(0).max(100), max: z.number().min(0).max(100) })
  .refine(({ min, max }) => min <= max, 'the lower end in `min`');

/** A decision case: what is given, and what the list should say. */
export const decisionCaseSchema = z.strictObject({
  id: z.string().min(1),
  source: z.string().min(1),
  note: z.string().optional(),
  given: z.unknown(),
  expect: z
    .strictObject({
      amount: z.enum(AMOUNTS).optional(),
      postponed: z.boolean().optional(),
      shade: z.literal('none').or(bandSchema).optional(),
      /** `none` means the same as `steady`: nothing need be raised in steps. */
      light: z.enum(['ramp', 'steady', 'none']).optional(),
      inspect: z.boolean().optional(),
      alert: z.union([z.string(), z.array(z.string())]).optional(),
    })
    .refine((expect) => Object.keys(expect).length > 0, 'at least one expectation'),
});
export type DecisionCase = z.infer<typeof decisionCaseSchema>;

/** What differs from what a case expects, in words; empty when it passes. */
export function caseFailures(expect: DecisionCase['expect'], answer: WhatIfAnswer): string[] {
  const failures: string[] = [];
  const differs = (what: string, wanted: unknown, got: unknown): void => {
    if (wanted !== undefined && wanted !== got)
      failures.push(`${what}: expected ${String(wanted)}, got ${String(got)}`);
  };
  differs('amount', expect.amount, answer.amount);
  differs('postponed', expect.postponed, answer.postponed);
  differs('light', expect.light === 'none' ? 'steady' : expect.light, answer.light);
  differs('inspect', expect.inspect, answer.inspect);
  for (const alert of [expect.alert ?? []].flat())
    if (!answer.alerts.includes(alert))
      failures.push(`alert: expected ${alert}, got ${answer.alerts.join(', ') || 'none'}`);
  if (expect.shade !== undefined && !shadeAgrees(expect.shade, answer.shade))
    failures.push(`shade: expected ${shadeText(expect.shade)}, got ${shadeText(answer.shade)}`);
  return failures;
}

type Shade = WhatIfAnswer['shade'];
const shadeText = (shade: Shade): string => (typeof shade === 'string' ? shade : `${shade.min}-${shade.max} %`);
const shadeAgrees = (wanted: Shade, got: Shade): boolean =>
  typeof wanted === 'string' || typeof got === 'string'
    ? wanted === got
    : got.min >= wanted.min && got.max <= wanted.max;
