import type { WaterPhase } from '../domain/catalogue.js';
import { FACTS } from '../domain/facts.js';
import { AMOUNTS, type Amount, amountRank } from '../domain/plants.js';
import type { Met, TraceRow } from '../domain/verdict.js';
import {
  type Compiled,
  changedSheet,
  explainRow,
  type FactSheet,
  type LimitValues,
  rowMet,
  unknownFacts,
  valueIn,
} from './evaluate.js';
import type { DrinkLimits, Limits, PhaseLimits } from './limits.js';
import type { CompiledTable, Rulebook } from './rulebook.js';
import type { Effect } from './schema.js';

/*
 * The way of a decision: safety, is the pot dry, has growth stalled, what the phase gives, badly sunken plants, guards,
 * the weather, seedlings. Every step keeps two amounts: the one that holds with what is known, where an unknown row
 * counts as the stricter answer, and the one that a look at the bench could lead to.
 */

/** An effect that counts, with the row it came from. */
export interface Bite {
  readonly trace: TraceRow;
  readonly row: Compiled;
  readonly met: Met;
  /** Limits it was held against: those of the phase, or of one drink. */
  readonly values: LimitValues;
  /** The most the row leaves; absent on rows that do not cap. */
  readonly cap?: Amount;
}
export interface Outcome {
  readonly amount: Amount;
  /** What a look might turn it into, at best: where it is no more than `amount`, no look can help. */
  readonly byLook: Amount;
  /** What would be given but for the weather. */
  readonly withoutWeather: Amount;
  readonly postponed: boolean;
  readonly phase: WaterPhase | null;
  /** Phase whose policy held, when heat or cold stalled growth. */
  readonly policyPhase: WaterPhase | null;
  /** Whether the phase gives nothing, whatever a look could tell. */
  readonly phaseIsDry: boolean;
  readonly inspect: boolean;
  /**
   * Rows that hold the drink down, in the order of the decision, the strictest that counted first in each step; and those
   * that raise it, or might if somebody looked.
   */
  readonly bites: readonly Bite[];
  /** The row that raised the amount above the policy. */
  readonly raisedBy?: Bite;
  /** The drink of the phase that is given. */
  readonly drink?: DrinkLimits;
  /** Limits of the rows that were asked per drink, for their texts. */
  readonly drinkValues: ReadonlyMap<TraceRow, LimitValues>;
  readonly trace: readonly TraceRow[];
}

/** The amount known and the amount a look could lead to. */
interface Pair {
  readonly known: Amount;
  readonly byLook: Amount;
}
const FULL: Pair = { known: 'full', byLook: 'full' };

export const lesser = (a: Amount, b: Amount): Amount => (amountRank(a) <= amountRank(b) ? a : b);
export const greater = (a: Amount, b: Amount): Amount => (amountRank(a) >= amountRank(b) ? a : b);
const lesserPair = (a: Pair, b: Pair): Pair => ({
  known: lesser(a.known, b.known),
  byLook: lesser(a.byLook, b.byLook),
});

export const canBeSeen = (fact: string): boolean => FACTS[fact]?.look !== undefined;
/** A row that caps goes away when one of its conditions turns out not to hold. */
const aLookMayLift = (trace: TraceRow): boolean => unknownFacts(trace).some(canBeSeen);
/** A row that raises needs all of its conditions. */
const aLookMayMeet = (trace: TraceRow): boolean => unknownFacts(trace).every(canBeSeen);

interface Run {
  readonly sheet: FactSheet;
  readonly limits: Limits;
  readonly values: LimitValues;
  readonly trace: TraceRow[];
  readonly bites: Bite[];
  readonly drinkValues: Map<TraceRow, LimitValues>;
  /** Rows that are not met leave no trace. */
  readonly quiet: boolean;
}

/**
 * One decision on the amount, for one phase.
 * @param quiet leave rows that are not met out of the trace: for the many trials of "what would change it"
 */
export function weigh(rulebook: Rulebook, sheet: FactSheet, limits: Limits, quiet = false): Outcome {
  const phase = valueIn(sheet, 'waterPhase') as WaterPhase | null;
  const own = phase === null ? undefined : limits.phases[phase];
  const values = own?.values ?? limits.base;
  const run: Run = { sheet, limits, values, trace: [], bites: [], drinkValues: new Map(), quiet };
  const { tables } = rulebook;

  const safety = collectCaps(tables.safety, run);
  const pot = collectCaps(tables.pot, run);
  const { pair: policy, policyPhase, drink } = policyOf(rulebook, run, phase, own);
  // A stalled plant is rescued by the rules of the rest it is in, not by those of growth.
  const held = policyPhase === null ? undefined : limits.phases[policyPhase];
  const rescue = collectRaises(
    tables.rescue,
    withPolicyAmount(run, policy.known, held),
    policy,
    held?.atMost ?? 'none',
  );
  const guard = collectCaps(tables.guard, run);
  const climate = collectCaps(tables.climate, run);
  const mature = lesserPair(pot, lesserPair(rescue.pair, guard));
  const seedlings = collectRaises(tables.seedlings, run, mature, 'light');

  const before = lesserPair(safety, seedlings.pair);
  const final = lesserPair(before, climate);
  const counted = (bite: Bite): boolean => bite.met === 'yes';
  const postponed =
    final.known === 'none' &&
    before.known !== 'none' &&
    run.bites.some((bite) => counted(bite) && bite.cap === 'none' && bite.row.row.effect.postpone === true);
  const raisedBy = seedlings.by ?? rescue.by;
  return {
    amount: final.known,
    byLook: final.byLook,
    withoutWeather: before.known,
    postponed,
    phase,
    policyPhase,
    phaseIsDry: phase !== null && rescue.pair.byLook === 'none',
    inspect: run.bites.some((bite) => counted(bite) && bite.row.row.effect.inspect === true),
    bites: run.bites,
    ...(raisedBy && final.known !== 'none' && { raisedBy }),
    ...(drink && { drink }),
    drinkValues: run.drinkValues,
    trace: run.trace,
  };
}

/** A row that is met or open, put into the trace; undefined when it is not met, which the trace keeps unless quiet. */
function openRow(row: Compiled, run: Run, values: LimitValues, of?: string): TraceRow | undefined {
  if (run.quiet && rowMet(row, run.sheet, values) === 'no') return undefined;
  const trace = traced(row, { sheet: run.sheet, values }, of);
  run.trace.push(trace);
  return trace.met === 'no' ? undefined : trace;
}

/** A row with what it did, as kept in the trace. */
export function traced(row: Compiled, run: Pick<Run, 'sheet' | 'values'>, of?: string): TraceRow {
  const plain = explainRow(row, run.sheet, run.values);
  if (plain.met !== 'yes' && of === undefined) return plain;
  return {
    ...plain,
    ...(of !== undefined && { of }),
    ...(plain.met === 'yes' && {
      effect: effectText(row.row.effect, run.values),
      because: row.row.because,
      source: row.row.source,
    }),
  };
}

function effectText(effect: Effect, values: LimitValues): string {
  const cap = capOf(effect, values);
  return [
    cap && (cap === 'none' ? 'no water' : `at most ${cap}`),
    effect.raise && `at least ${effect.raise}`,
    effect.policy && `policy ${effect.policy}`,
    effect.postpone && 'wait for the weather',
    effect.inspect && 'look',
    effect.lightRamp && 'light in steps',
    effect.alert && `alert ${effect.alert}`,
    effect.shade && 'shade',
  ]
    .filter((part): part is string => typeof part === 'string')
    .join(', ');
}

export function capOf(effect: Effect, values: LimitValues): Amount | undefined {
  if (effect.cap === undefined) return undefined;
  if (typeof effect.cap === 'string') return effect.cap;
  const value = values[effect.cap.limit];
  return AMOUNTS.find((amount) => amount === value);
}

/** Caps: the strictest wins; a row that is not settled caps what is known. */
function collectCaps(table: CompiledTable, run: Run): Pair {
  let pair = FULL;
  for (const row of table.rows) {
    const trace = openRow(row, run, run.values);
    if (!trace) continue;
    const cap = capOf(row.row.effect, run.values) ?? 'full';
    run.bites.push({ trace, row, met: trace.met, values: run.values, cap });
    pair = {
      known: lesser(pair.known, cap),
      byLook: trace.met === 'unknown' && aLookMayLift(trace) ? pair.byLook : lesser(pair.byLook, cap),
    };
  }
  return pair;
}

/** Raises: only rows that surely apply count; a look could make others apply. */
function collectRaises(table: CompiledTable, run: Run, from: Pair, atMost: Amount): { pair: Pair; by?: Bite } {
  let pair = from;
  let by: Bite | undefined;
  for (const row of table.rows) {
    const trace = openRow(row, run, run.values);
    if (!trace) continue;
    const raise = lesser(row.row.effect.raise ?? 'none', atMost);
    const bite: Bite = { trace, row, met: trace.met, values: run.values };
    if (trace.met === 'yes') {
      if (amountRank(raise) > amountRank(pair.known)) by = bite;
      run.bites.push(bite);
      pair = { known: greater(pair.known, raise), byLook: greater(pair.byLook, raise) };
    } else if (aLookMayMeet(trace)) {
      // A plant kept dry that may need rescue is worth a look; one that gets a light drink can wait for it.
      if (pair.known === 'none' && raise !== 'none') run.bites.push(bite);
      pair = { ...pair, byLook: greater(pair.byLook, raise) };
    }
  }
  return { pair, ...(by && { by }) };
}

const withPolicyAmount = (run: Run, amount: Amount, held: PhaseLimits | undefined): Run => ({
  ...run,
  values: held?.values ?? run.values,
  sheet: changedSheet(run.sheet, { policyAmount: amount }),
});

interface Given {
  readonly pair: Pair;
  /** The drink behind what is known. */
  readonly drink?: DrinkLimits;
}

/** What the phase gives, or the rest that heat or cold has put the plant into, whichever is stricter. */
function policyOf(
  rulebook: Rulebook,
  run: Run,
  phase: WaterPhase | null,
  own: PhaseLimits | undefined,
): Given & { policyPhase: WaterPhase | null } {
  const rows = rulebook.tables.stall.rows.map((row) => ({ row, trace: openRow(row, run, run.values) }));
  if (phase === null || !own) return { pair: { known: 'none', byLook: 'full' }, policyPhase: null };
  let given = drinksOf(rulebook, run, phase, own);
  let policyPhase = phase;
  if (run.values['stall-applies'] !== true) return { ...given, policyPhase };
  const tried = new Set<WaterPhase>([phase]);
  for (const { row, trace } of rows) {
    const rest = row.row.effect.policy;
    if (!trace || rest === undefined || rest === 'as-entered' || tried.has(rest)) continue;
    tried.add(rest);
    const before = run.bites.length;
    const other = drinksOf(rulebook, run, rest, run.limits.phases[rest]);
    const stricter = amountRank(other.pair.known) < amountRank(given.pair.known);
    // The stall is the reason, and what the rest lacks comes after it; a rest that is no stricter is no reason at all.
    if (stricter)
      run.bites.splice(before, 0, { trace, row, met: trace.met, values: run.values, cap: other.pair.known });
    else run.bites.length = before;
    if (stricter) policyPhase = rest;
    given = { ...(stricter ? other : given), pair: lesserPair(given.pair, other.pair) };
  }
  return { ...given, policyPhase };
}

/** The first drink of the phase that nothing stands against. */
function drinksOf(rulebook: Rulebook, run: Run, phase: WaterPhase, { drinks, note }: PhaseLimits): Given {
  // From the last to the first, so that an unsettled drink can be weighed against what would come after it.
  let given: Given = { pair: { known: 'none', byLook: 'none' } };
  let leastDemanding: readonly Bite[] = [];
  for (let index = drinks.length - 1; index >= 0; index -= 1) {
    const drink = drinks[index] as DrinkLimits;
    const of = `${phase}, ${drink.amount} drink${drinks.length > 1 ? ` (${index + 1} of ${drinks.length})` : ''}`;
    const against = againstDrink(rulebook.tables.policy, run, drink, of);
    if (index === drinks.length - 1) leastDemanding = against;
    if (against.some((bite) => bite.met === 'yes')) continue;
    const { known, byLook } = given.pair;
    if (against.length === 0) given = { pair: { known: drink.amount, byLook: drink.amount }, drink };
    else {
      const better = against.every((bite) => aLookMayLift(bite.trace)) ? greater : lesser;
      const least = lesser(drink.amount, known);
      given = { ...given, pair: { known: least, byLook: better(drink.amount, byLook) } };
    }
  }
  run.trace.push({
    table: 'phase',
    row: phase,
    met: 'yes',
    conditions: [],
    effect: given.pair.known === 'none' ? 'no water' : `${given.pair.known} drink`,
    ...(note !== undefined && { because: note }),
    source: 'species catalogue',
  });
  // The least demanding drink says most plainly what is missing.
  if (given.pair.known === 'none') run.bites.push(...leastDemanding);
  return given;
}

/** Rows that stand, or may stand, against one drink. */
function againstDrink(table: CompiledTable, run: Run, { values }: DrinkLimits, of: string): Bite[] {
  const against: Bite[] = [];
  for (const row of table.rows) {
    const trace = openRow(row, run, values, of);
    if (!trace) continue;
    run.drinkValues.set(trace, values);
    against.push({ trace, row, met: trace.met, values, cap: 'none' });
  }
  return against;
}
