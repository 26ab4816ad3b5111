import type { SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import { AMOUNTS, type Amount, amountRank } from '../domain/plants.js';
import { calendarPhase, waterPhaseOf } from './growth-cycle.js';

/*
 * A watering line waters everything on it. Where plants of opposite seasons hang on one, no morning's advice can mend it:
 * only moving a bench can. Whose seasons clash is told by the calendars of their groups.
 */

/** A half month of season. */
const SLOT_DEG = 15;
const SLOTS = 360 / SLOT_DEG;
const MONTHS_PER_SLOT = 12 / SLOTS;
/** Less than this of a year is watered by hand sooner than a bench is moved (starting value). */
const LASTING_MONTHS = 3;
/** A plan of more benches than this is a new house plan, not a move. */
const BENCHES_AT_MOST = 3;

/** Pots of one group on a bench. */
export interface BenchPots {
  readonly benchId: string;
  readonly group: SpeciesGroup;
  readonly pots: number;
}
export interface LineLoad {
  readonly lineId: string;
  readonly load: readonly BenchPots[];
}

export interface BenchMove {
  readonly benchIds: readonly string[];
  /** Another line of the house; null: off the line, watered by hand. */
  readonly toLineId: string | null;
  readonly pots: number;
}
export interface LineConflict {
  readonly lineId: string;
  /** Months of the year in which some are in their season while others must stay dry. */
  readonly months: number;
  /** The two groups that clash longest, the thirsty one first. */
  readonly between: readonly [SpeciesGroup, SpeciesGroup];
  /** Benches that hold both sides themselves: moving the bench would move the conflict. */
  readonly mixedBenchIds: readonly string[];
  /** The smallest move that ends it; absent where only separating the batches of a bench would. */
  readonly move?: BenchMove;
}

/** `drinks`: in its season. `rests`: must stay dry, but for a rescue by hand. `either`: small drinks, or none, do no harm. */
export type SeasonNeed = 'drinks' | 'rests' | 'either';

/** In these a drink that is allowed at all is a rescue, unless it is a full one. */
const RESTING: readonly WaterPhase[] = ['forming', 'splitting', 'papery', 'dormant-warm', 'dormant-cold'];

/**
 * What a group needs in each half month of the season, by its calendar.
 * @returns one need for each 15° of the season angle, from the autumn equinox on
 */
export function seasonNeeds(group: SpeciesGroup): readonly SeasonNeed[] {
  const known = needs.get(group);
  if (known) return known;
  const slots = Array.from({ length: SLOTS }, (_, slot) => mostAt(group, (slot + 0.5) * SLOT_DEG));
  const most = Math.max(...slots.map(({ amount }) => amountRank(amount)));
  const made = slots.map(({ amount, phase }): SeasonNeed => {
    if (phase === undefined) return 'either';
    if (amount === 'none' || (amount !== 'full' && RESTING.includes(phase))) return 'rests';
    return amountRank(amount) === most ? 'drinks' : 'either';
  });
  needs.set(group, made);
  return made;
}
const needs = new WeakMap<SpeciesGroup, readonly SeasonNeed[]>();

/** The most the phase of the calendar may give. */
function mostAt(group: SpeciesGroup, angleDeg: number): { readonly phase: WaterPhase | undefined; amount: Amount } {
  const view = calendarPhase(group, angleDeg);
  const phase = view && waterPhaseOf(view.phase, view.stage);
  const options = (phase && group.water.phases[phase]?.options) || [];
  const amounts = options.map((option) => option.amount);
  return { phase, amount: AMOUNTS.findLast((amount) => amounts.includes(amount)) ?? 'none' };
}

/** Lasting conflicts of the lines of one house, and the bench move that would end each. */
export function lineConflicts(lines: readonly LineLoad[]): LineConflict[] {
  return lines.flatMap((line) => {
    const year = yearOfLoad(line.load);
    const between = worstPair(line.load);
    if (!isLasting(year) || !between) return [];
    const mixedBenchIds = [...byBench(line.load)].filter(([, load]) => isLasting(yearOfLoad(load))).map(([id]) => id);
    const move = smallestMove(line, lines);
    return [{ lineId: line.lineId, months: clashMonths(year), between, mixedBenchIds, ...(move && { move }) }];
  });
}

function byBench(load: readonly BenchPots[]): Map<string, BenchPots[]> {
  const benches = new Map<string, BenchPots[]>();
  for (const pots of load) benches.set(pots.benchId, [...(benches.get(pots.benchId) ?? []), pots]);
  return benches;
}

/** The half months of the season as bits: in which somebody drinks, and in which somebody must rest. */
interface Year {
  readonly drinks: number;
  readonly rests: number;
}
const EMPTY_YEAR: Year = { drinks: 0, rests: 0 };

const years = new WeakMap<SpeciesGroup, Year>();
function yearOf(group: SpeciesGroup): Year {
  const known = years.get(group);
  if (known) return known;
  const slotsOf = (need: SeasonNeed): number =>
    seasonNeeds(group).reduce((bits, one, slot) => (one === need ? bits | (1 << slot) : bits), 0);
  const year = { drinks: slotsOf('drinks'), rests: slotsOf('rests') };
  years.set(group, year);
  return year;
}

const together = (all: readonly Year[]): Year =>
  all.reduce((sum, one) => ({ drinks: sum.drinks | one.drinks, rests: sum.rests | one.rests }), EMPTY_YEAR);
const yearOfLoad = (load: readonly BenchPots[]): Year => together(load.map(({ group }) => yearOf(group)));

function countBits(bits: number): number {
  let count = 0;
  for (let left = bits; left !== 0; left &= left - 1) count += 1;
  return count;
}

/** Months in which one of them is in its season and another must stay dry. */
const clashMonths = ({ drinks, rests }: Year): number => MONTHS_PER_SLOT * countBits(drinks & rests);
const isLasting = (year: Year): boolean => clashMonths(year) >= LASTING_MONTHS;

function worstPair(load: readonly BenchPots[]): readonly [SpeciesGroup, SpeciesGroup] | undefined {
  const groups = [...new Set(load.map(({ group }) => group))];
  let worst: { readonly slots: number; readonly pair: readonly [SpeciesGroup, SpeciesGroup] } | undefined;
  for (const thirsty of groups)
    for (const dry of groups) {
      const slots = countBits(yearOf(thirsty).drinks & yearOf(dry).rests);
      if (slots > (worst?.slots ?? 0)) worst = { slots, pair: [thirsty, dry] };
    }
  return worst?.pair;
}

/** Fewest pots first; another line before watering by hand, where it takes no more pots. */
function smallestMove(line: LineLoad, lines: readonly LineLoad[]): BenchMove | undefined {
  const benches = [...byBench(line.load)].map(([benchId, load]) => ({
    benchId,
    year: yearOfLoad(load),
    pots: potsOf(load),
  }));
  const others = lines
    .filter(({ lineId }) => lineId !== line.lineId)
    .map(({ lineId, load }) => ({ lineId, year: yearOfLoad(load) }));
  let best: BenchMove | undefined;
  for (const chosen of choices(benches)) {
    const pots = potsOf(chosen);
    if (best && pots >= best.pots) continue;
    const moved = together(chosen.map(({ year }) => year));
    const left = benches.filter((bench) => !chosen.includes(bench));
    if (left.length === 0 || isLasting(moved) || isLasting(together(left.map(({ year }) => year)))) continue;
    const host = others.find(({ year }) => !isLasting(together([year, moved])));
    best = { benchIds: chosen.map(({ benchId }) => benchId), toLineId: host?.lineId ?? null, pots };
  }
  return best;
}

const potsOf = (load: readonly { readonly pots: number }[]): number => load.reduce((sum, { pots }) => sum + pots, 0);

/** Every set of up to three benches. */
function* choices<T>(benches: readonly T[], from = 0, chosen: readonly T[] = []): Generator<readonly T[]> {
  for (let index = from; index < benches.length; index += 1) {
    const next = [...chosen, benches[index] as T];
    yield next;
    if (next.length < BENCHES_AT_MOST) yield* choices(benches, index + 1, next);
  }
}
