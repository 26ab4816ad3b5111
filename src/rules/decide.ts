import type { WaterPhase } from '../domain/catalogue.js';
import { FACTS, factValue } from '../domain/facts.js';
import { AMOUNTS, type Amount, amountRank } from '../domain/plants.js';
import type { Facts, Met, TraceRow } from '../domain/verdict.js';
import { type Compiled, explainRow, type LimitValues, unknownFacts } from './evaluate.js';
import type { Limits, PhaseLimits } from './limits.js';
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
  /** The most the row leaves; absent on rows that do not cap. */
  readonly cap?: Amount;
}
export interface Outcome {
  readonly amount: Amount;
  /** What one look could turn it into, at best. */
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
  /** Rows that hold the drink down, in the order of the decision, the strictest that counted first in each step. */
  readonly bites: readonly Bite[];
  /** The row that raised the amount above the policy. */
  readonly raisedBy?: Bite;
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
const onlyALookMissing = (trace: TraceRow): boolean => unknownFacts(trace).every(canBeSeen);

interface Run {
  readonly facts: Facts;
  readonly limits: Limits;
  readonly values: LimitValues;
  readonly trace: TraceRow[];
  readonly bites: Bite[];
}

/** One decision on the amount, for one phase. */
export function weigh(rulebook: Rulebook, facts: Facts, limits: Limits): Outcome {
  const phase = factValue(facts, 'waterPhase') as WaterPhase | null;
  const own = phase === null ? undefined : limits.phases[phase];
  const run: Run = { facts, limits, values: own?.values ?? limits.base, trace: [], bites: [] };
  const { tables } = rulebook;

  const safety = collectCaps(tables.safety, run);
  const pot = collectCaps(tables.pot, run);
  const { pair: policy, policyPhase } = policyOf(rulebook, run, phase, own);
  const rescue = collectRaises(tables.rescue, withPolicyAmount(run, policy.known), policy, own?.atMost ?? 'none');
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
    inspect: run.trace.length > 0 && run.bites.some((bite) => counted(bite) && bite.row.row.effect.inspect === true),
    bites: run.bites,
    ...(raisedBy && final.known !== 'none' && { raisedBy }),
    trace: run.trace,
  };
}

/** A row with what it did, as kept in the trace. */
export function traced(row: Compiled, run: Pick<Run, 'facts' | 'values'>, of?: string): TraceRow {
  const plain = explainRow(row, run.facts, run.values);
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
    const trace = traced(row, run);
    run.trace.push(trace);
    if (trace.met === 'no') continue;
    const cap = capOf(row.row.effect, run.values) ?? 'full';
    run.bites.push({ trace, row, met: trace.met, cap });
    pair = {
      known: lesser(pair.known, cap),
      byLook: trace.met === 'unknown' && onlyALookMissing(trace) ? pair.byLook : lesser(pair.byLook, cap),
    };
  }
  return pair;
}

/** Raises: only rows that surely apply count; a look could make others apply. */
function collectRaises(table: CompiledTable, run: Run, from: Pair, atMost: Amount): { pair: Pair; by?: Bite } {
  let pair = from;
  let by: Bite | undefined;
  for (const row of table.rows) {
    const trace = traced(row, run);
    run.trace.push(trace);
    if (trace.met === 'no') continue;
    const raise = lesser(row.row.effect.raise ?? 'none', atMost);
    const bite: Bite = { trace, row, met: trace.met };
    if (trace.met === 'yes') {
      if (amountRank(raise) > amountRank(pair.known)) by = bite;
      run.bites.push(bite);
      pair = { known: greater(pair.known, raise), byLook: greater(pair.byLook, raise) };
    } else if (onlyALookMissing(trace)) pair = { ...pair, byLook: greater(pair.byLook, raise) };
  }
  return { pair, ...(by && { by }) };
}

const withPolicyAmount = (run: Run, amount: Amount): Run => ({
  ...run,
  facts: {
    ...run.facts,
    policyAmount: { value: amount, certainty: 'known', from: 'worked out by the rules' },
  },
});

/** What the phase gives, or the rest that heat or cold has put the plant into, whichever is stricter. */
function policyOf(
  rulebook: Rulebook,
  run: Run,
  phase: WaterPhase | null,
  own: PhaseLimits | undefined,
): { pair: Pair; policyPhase: WaterPhase | null } {
  const rows = rulebook.tables.stall.rows.map((row) => ({ row, trace: traced(row, run) }));
  run.trace.push(...rows.map(({ trace }) => trace));
  if (phase === null || !own) return { pair: { known: 'none', byLook: 'full' }, policyPhase: null };
  let pair = drinksOf(rulebook, run, phase, own);
  let policyPhase = phase;
  if (run.values['stall-applies'] !== true) return { pair, policyPhase };
  const seen = new Set<WaterPhase>([phase]);
  for (const { row, trace } of rows) {
    const rest = row.row.effect.policy;
    if (trace.met === 'no' || rest === undefined || rest === 'as-entered' || seen.has(rest)) continue;
    seen.add(rest);
    const other = drinksOf(rulebook, run, rest, run.limits.phases[rest]);
    if (amountRank(other.known) < amountRank(pair.known)) {
      policyPhase = rest;
      run.bites.push({ trace, row, met: trace.met, cap: other.known });
    }
    pair = lesserPair(pair, other);
  }
  return { pair, policyPhase };
}

/** The first drink of the phase that nothing stands against. */
function drinksOf(rulebook: Rulebook, run: Run, phase: WaterPhase, { drinks, note }: PhaseLimits): Pair {
  // From the last to the first, so that an unsettled drink can be weighed against what would come after it.
  let pair: Pair = { known: 'none', byLook: 'none' };
  const against: Bite[][] = [];
  for (let index = drinks.length - 1; index >= 0; index -= 1) {
    const drink = drinks[index];
    if (!drink) continue;
    const of = `${phase}, ${drink.amount} drink${drinks.length > 1 ? ` (${index + 1} of ${drinks.length})` : ''}`;
    const traces = rulebook.tables.policy.rows.map((row) => ({
      row,
      trace: traced(row, { facts: run.facts, values: drink.values }, of),
    }));
    run.trace.push(...traces.map(({ trace }) => trace));
    const open = traces.filter(({ trace }) => trace.met !== 'no');
    against.push(open.map(({ row, trace }) => ({ row, trace, met: trace.met, cap: 'none' })));
    const refused = open.some(({ trace }) => trace.met === 'yes');
    if (refused) continue;
    const settled = open.length === 0;
    const lookSettles = open.every(({ trace }) => onlyALookMissing(trace));
    pair = {
      known: settled ? drink.amount : lesser(drink.amount, pair.known),
      byLook: settled
        ? drink.amount
        : lookSettles
          ? greater(drink.amount, pair.byLook)
          : lesser(drink.amount, pair.byLook),
    };
  }
  run.trace.push({
    table: 'phase',
    row: phase,
    met: 'yes',
    conditions: [],
    effect: pair.known === 'none' ? 'no water' : `${pair.known} drink`,
    ...(note !== undefined && { because: note }),
    source: 'species catalogue',
  });
  if (pair.known === 'none') {
    // The least demanding drink says most plainly what is missing; settled reasons before open ones.
    const reasons = [...(against[0] ?? [])].sort((a, b) => Number(b.met === 'yes') - Number(a.met === 'yes'));
    run.bites.push(...reasons);
  }
  return pair;
}
