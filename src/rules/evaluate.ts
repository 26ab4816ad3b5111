import { FACT_NAMES, FACTS, factUnit } from '../domain/facts.js';
import type { Facts, FactValue, Met, TraceCondition, TraceRow } from '../domain/verdict.js';
import { type SeasonWindow, withinSeasonWindow } from '../science/season.js';
import type { Condition, LimitValue, Operator, Row } from './schema.js';

/** Values of the named limits that hold for one batch in one phase. */
export type LimitValues = Readonly<Record<string, LimitValue>>;

/** Values of all declared facts in their order, null where unknown: what rows are held against, thousands of times a second. */
export type FactSheet = readonly (FactValue | null)[];

const FACT_AT = new Map(FACT_NAMES.map((name, index) => [name, index]));

export const sheetOf = (facts: Facts): FactSheet => FACT_NAMES.map((name) => facts[name]?.value ?? null);

/** The value of a declared fact; null when it is unknown. */
export function valueIn(sheet: FactSheet, name: string): FactValue | null {
  const value = sheet[FACT_AT.get(name) ?? -1];
  return isUnknown(value) ? null : value;
}

/** A copy in which some facts have other values. */
export function changedSheet(sheet: FactSheet, changes: Readonly<Record<string, FactValue | null>>): FactSheet {
  const copy = [...sheet];
  for (const name of Object.keys(changes)) copy[FACT_AT.get(name) as number] = changes[name] ?? null;
  return copy;
}

/** A condition made ready: names looked up once, words turned into ranks. */
interface CompiledCondition {
  readonly fact: string;
  /** Place of the fact in a sheet; -1 for a choice, which is a limit. */
  readonly at: number;
  readonly op: Operator;
  readonly test: (left: FactValue, right: Exclude<LimitValue, null>) => boolean;
  readonly value: LimitValue;
  readonly limit: string | undefined;
  readonly unit: string;
  /** What the condition said last. */
  said: TraceCondition | undefined;
}
export interface Compiled {
  readonly table: string;
  readonly row: Row;
  readonly conditions: readonly CompiledCondition[];
  /** What the row said last. */
  said: TraceRow | undefined;
}

export const compileRow = (table: string, row: Row): Compiled => ({
  table,
  row,
  conditions: row.when.map(compileCondition),
  said: undefined,
});

function compileCondition(condition: Condition): CompiledCondition {
  const name = condition.fact ?? (condition.choice as string);
  const words = condition.fact === undefined ? undefined : FACTS[condition.fact];
  return {
    fact: name,
    at: FACT_AT.get(condition.fact ?? '') ?? -1,
    op: condition.op,
    test: testOf(condition.op, words?.kind === 'rank' ? words.words : undefined),
    value: condition.value === undefined ? null : (condition.value as LimitValue),
    limit: condition.limit,
    unit: condition.fact === undefined ? '' : factUnit(condition.fact),
    said: undefined,
  };
}

function testOf(op: Operator, ranks: readonly string[] | undefined): CompiledCondition['test'] {
  const level: (value: unknown) => number = ranks
    ? (value) => {
        const at = ranks.indexOf(value as string);
        return at < 0 ? Number.NaN : at;
      }
    : (value) => value as number;
  switch (op) {
    case 'is':
      return (left, right) => left === right;
    case 'is-not':
      return (left, right) => left !== right;
    case 'one-of':
      return (left, right) => (right as unknown as readonly FactValue[]).includes(left);
    case 'none-of':
      return (left, right) => !(right as unknown as readonly FactValue[]).includes(left);
    case 'below':
      return (left, right) => level(left) < level(right);
    case 'at-most':
      return (left, right) => level(left) <= level(right);
    case 'at-least':
      return (left, right) => level(left) >= level(right);
    case 'above':
      return (left, right) => level(left) > level(right);
    case 'in-season':
      return (left, right) => inSeason(left as number, right);
    case 'out-of-season':
      return (left, right) => !inSeason(left as number, right);
  }
}

const inSeason = (angleDeg: number, windows: Exclude<LimitValue, null>): boolean =>
  (windows as readonly SeasonWindow[]).some((window) => withinSeasonWindow(angleDeg, window));

const isUnknown = (value: FactValue | null | undefined): value is null | undefined =>
  value === null || value === undefined || (typeof value === 'number' && Number.isNaN(value));

/**
 * Three-valued: a limit that is not asked (null) never bites; a fact that is not known is unknown.
 */
function metOf(condition: CompiledCondition, left: FactValue | null | undefined, right: LimitValue): Met {
  if (right === null) return 'no';
  if (isUnknown(left)) return 'unknown';
  return condition.test(left, right) ? 'yes' : 'no';
}

const leftOf = (condition: CompiledCondition, sheet: FactSheet, limits: LimitValues): FactValue | null | undefined =>
  condition.at < 0 ? (limits[condition.fact] as FactValue | null | undefined) : sheet[condition.at];
const rightOf = (condition: CompiledCondition, limits: LimitValues): LimitValue =>
  condition.limit === undefined ? condition.value : (limits[condition.limit] ?? null);

/** Whether a row applies: no beats unknown beats yes. Stops at the first no. */
export function rowMet(row: Compiled, sheet: FactSheet, limits: LimitValues): Met {
  let met: Met = 'yes';
  for (const condition of row.conditions) {
    const one = metOf(condition, leftOf(condition, sheet, limits), rightOf(condition, limits));
    if (one === 'no') return 'no';
    if (one === 'unknown') met = 'unknown';
  }
  return met;
}

/**
 * The same, with every condition, its actual value and its limit. The batches of a house have most of their facts in
 * common, so what was said of the one before is given again where nothing differs: traces of thousands of batches would
 * otherwise fill the memory with copies.
 */
export function explainRow(row: Compiled, sheet: FactSheet, limits: LimitValues): TraceRow {
  const { said, conditions } = row;
  let same = said !== undefined;
  let met: Met = 'yes';
  for (let index = 0; index < conditions.length; index += 1) {
    const condition = conditions[index] as CompiledCondition;
    const one = explainCondition(condition, sheet, limits);
    if (one.met === 'no') met = 'no';
    else if (one.met === 'unknown' && met === 'yes') met = 'unknown';
    if (same && said?.conditions[index] !== one) same = false;
    condition.said = one;
  }
  if (same && said) return said;
  row.said = {
    table: row.table,
    row: row.row.id,
    met,
    conditions: conditions.map((one) => one.said as TraceCondition),
  };
  return row.said;
}

function explainCondition(condition: CompiledCondition, sheet: FactSheet, limits: LimitValues): TraceCondition {
  const left = leftOf(condition, sheet, limits);
  const limit = rightOf(condition, limits) as TraceCondition['limit'];
  const actual = left ?? null;
  const { said } = condition;
  if (said && Object.is(said.actual, actual) && Object.is(said.limit, limit)) return said;
  const { fact, op, unit } = condition;
  return { fact, op, limit, unit, actual, met: metOf(condition, left, limit as LimitValue) };
}

/** Facts whose being unknown keeps the row from being settled. */
export const unknownFacts = (row: TraceRow): string[] =>
  row.conditions.filter((condition) => condition.met === 'unknown').map((condition) => condition.fact);
