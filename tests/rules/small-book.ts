import { WATER_PHASES, type WaterPhase } from '../../src/domain/catalogue.js';
import type { Amount } from '../../src/domain/plants.js';
import { compileRow, type LimitValues } from '../../src/rules/evaluate.js';
import type { DrinkLimits, Limits, PhaseLimits } from '../../src/rules/limits.js';
import type { CompiledTable, Rulebook } from '../../src/rules/rulebook.js';
import type { Condition, Effect, Row, Step } from '../../src/rules/schema.js';
import { STEPS } from '../../src/rules/schema.js';

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

/** Limits of a group whose phases give nothing but what is said here. */
export function smallLimits(
  phases: Partial<Record<WaterPhase, Partial<PhaseLimits>>> = {},
  base: LimitValues = {},
): Limits {
  return {
    group: 'stone',
    groupName: 'Stone plants',
    base,
    phases: Object.fromEntries(
      WATER_PHASES.map((phase): [WaterPhase, PhaseLimits] => [
        phase,
        { values: base, drinks: [], atMost: 'none', ...phases[phase] },
      ]),
    ) as Record<WaterPhase, PhaseLimits>,
  };
}
