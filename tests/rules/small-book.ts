import { WATER_PHASES, type WaterPhase } from '../../src/domain/catalogue.js';
import type { Amount } from '../../src/domain/plants.js';
import type { FactValue, Verdict } from '../../src/domain/verdict.js';
import { type Outcome, weigh } from '../../src/rules/decide.js';
import { compileRow, type LimitValues, sheetOf } from '../../src/rules/evaluate.js';
import type { DrinkLimits, Limits, PhaseLimits } from '../../src/rules/limits.js';
import type { CompiledTable, Rulebook } from '../../src/rules/rulebook.js';
import type { Condition, Effect, Row, Step } from '../../src/rules/schema.js';
import { STEPS } from '../../src/rules/schema.js';
import { decide } from '../../src/rules/verdict.js';
import { facts } from './support.js';

/** A rulebook of a few rows: steps that are not given have none. Only what a decision reads of it is there. */
export function smallBook(tables: Partial<Record<Step, readonly Row[]>>): Rulebook {
  const compiled = Object.fromEntries(
    STEPS.map((id): [Step, CompiledTable] => [
      id,
      {
        id,
        hit: id === 'stall' ? 'unique' : 'collect',
        about: `About ${id}.`,
        rows: (tables[id] ?? []).map((one) => compileRow(id, one)),
      },
    ]),
  ) as Record<Step, CompiledTable>;
  return { name: 'small', revision: 'r', sources: {}, limits: new Map(), tables: compiled } as unknown as Rulebook;
}

export const row = (id: string, effect: Effect, ...when: Condition[]): Row => ({
  id,
  when,
  effect,
  because: `Because of ${id}.`,
  source: 'practice',
});

export const drink = (amount: Amount, values: LimitValues = {}): DrinkLimits => ({ amount, values });

/** A phase counts as known from 80 % on. */
const SURE: LimitValues = { 'phase-sure': 0.8 };

/** Limits of a group whose phases give nothing but what is said here. */
export function smallLimits(
  phases: Partial<Record<WaterPhase, Partial<PhaseLimits>>> = {},
  base: LimitValues = {},
): Limits {
  const ofPhase = (phase: WaterPhase): PhaseLimits => ({
    drinks: [],
    atMost: 'none',
    ...phases[phase],
    values: { ...SURE, ...(phases[phase]?.values ?? base) },
  });
  return {
    group: 'stone',
    groupName: 'Stone plants',
    base: { ...SURE, ...base },
    phases: Object.fromEntries(
      WATER_PHASES.map((phase): [WaterPhase, PhaseLimits] => [phase, ofPhase(phase)]),
    ) as Record<WaterPhase, PhaseLimits>,
  };
}

/*
 * Conditions for rows of a test, and a decision under them.
 */

/** Somebody can see it. */
export const rot: Condition = { fact: 'signRot', op: 'is', value: true };
export const burst: Condition = { fact: 'signBurst', op: 'is', value: true };
export const soft: Condition = { fact: 'workingSoftness', op: 'at-least', value: 'soft' };
export const dry: Condition = { fact: 'dryDays', op: 'at-least', value: 1 };
/** No look tells it. */
export const cold: Condition = { fact: 'tonightMinC', op: 'below', value: 5 };
export const heat: Condition = { fact: 'aheadHotSpell', op: 'is', value: true };

/** Phases that give one drink, or none. */
export const FULL_DRINK = smallLimits({ growing: { drinks: [drink('full')], atMost: 'full', note: 'It drinks.' } });
export const LIGHT_DRINK = smallLimits({ growing: { drinks: [drink('light')], atMost: 'full', note: 'It sips.' } });
export const NO_DRINK = smallLimits({ growing: { drinks: [], atMost: 'light', note: 'It rests.' } });

/** What is decided of a growing plant. */
export function decided(
  tables: Partial<Record<Step, readonly Row[]>>,
  known: Readonly<Record<string, FactValue | null>>,
  limits: Limits = FULL_DRINK,
): Outcome {
  return weigh(smallBook(tables), sheetOf(facts({ waterPhase: 'growing', ...known })), limits);
}
export const amounts = ({ amount, byLook, withoutWeather }: Outcome) => [amount, byLook, withoutWeather];

/** A growing plant that gets a full drink, under these values. */
export const growing = (values: LimitValues, more: Partial<PhaseLimits> = {}, base: LimitValues = {}): Limits =>
  smallLimits(
    { growing: { values, drinks: [drink('full', values)], atMost: 'full', note: 'It drinks.', ...more } },
    base,
  );

/** Everything that is said of it. */
export function said(
  tables: Partial<Record<Step, readonly Row[]>>,
  known: Readonly<Record<string, FactValue | null>> = {},
  limits: Limits = growing({}),
): Verdict {
  const given = facts({ waterPhase: 'growing', phaseProbability: 1, day: '2026-05-20', ...known });
  return decide(smallBook(tables), given, limits, { withoutNearest: true });
}
