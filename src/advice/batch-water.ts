import type { SpeciesGroup } from '../domain/catalogue.js';
import type { BatchState, WateringDone } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import type { Phase, SubstrateNote } from '../domain/plants.js';
import { daysBetween, type LocalDay, localDayOf } from '../domain/time.js';
import type { ClimateDay } from '../models/house-climate.js';
import {
  daysToDry,
  depletionShare,
  drinkMm,
  fullPotWater,
  isPotDry,
  observeNote,
  type PotCapacities,
  type PotWaterState,
  stepPotWater,
  unknownPotWater,
} from '../models/pot-water.js';
import type { PotInput } from './fact-inputs.js';

/** Mean day temperature from which growth counts as warm, °C (starting value). */
const WARM_GROWTH_C = 18;
/** Share of the days since the start of the count that may lack a climate before the pot's water is called unknown. */
const GAPS_ALLOWED = 0.34;

export interface PotContext {
  readonly zone: string;
  /** The morning asked about: drinks of this day are answers to its list and do not count yet. */
  readonly day: LocalDay;
  /** Days before it, oldest first, without holes. */
  readonly past: readonly ClimateDay[];
  /** Expected evaporation of the coming days, today first. */
  readonly aheadEtMm: readonly number[];
}

/** Transpiration beside reference evaporation, by what the plant does. */
export function basalCoefficientOf(
  group: SpeciesGroup,
  phase: Phase | undefined,
  meanTempC: number | undefined,
): number {
  const { rest, coolGrowth, warmGrowth } = group.basalCoefficient;
  // Not knowing the phase, the slower loss is taken: a pot must not be called dry too early.
  if (phase === undefined || phase === 'dormant-warm' || phase === 'dormant-cold' || phase === 'leaf-replacement')
    return rest;
  return meanTempC !== undefined && meanTempC >= WARM_GROWTH_C ? warmGrowth : coolGrowth;
}

/** Water in the pots of a batch this morning, from its drinks, its notes and the climate of its house. */
export function potOf(
  batch: BatchState,
  group: SpeciesGroup,
  pot: PotCapacities,
  phase: Phase | undefined,
  context: PotContext,
): PotInput {
  const drinks = drinksByDay(batch, context);
  const notes = notesByDay(batch, context);
  const start = startOf(batch, pot, context, drinks, notes);
  const run = runPot(pot, group, phase, context, start, drinks, notes);
  const last = [...batch.waterings].reverse().find((done) => done.amount !== 'none' && isBefore(done, context));
  return {
    mlPerMm: pot.mlPerMm,
    availableMm: pot.totalAvailableMm,
    ...defined({
      lastWatering: last && {
        daysAgo: daysBetween(localDayOf(context.zone, last.at), context.day),
        amount: last.amount,
        from: `entered by ${last.by}`,
      },
      ...(run && told(pot, run, group, phase, context)),
    }),
  };
}

function told(
  pot: PotCapacities,
  run: PotRun,
  group: SpeciesGroup,
  phase: Phase | undefined,
  context: PotContext,
): Pick<PotInput, 'dryDays' | 'depletion' | 'daysToDry'> {
  const from = run.noted ? 'drinks, the house climate and what was felt' : 'drinks and the house climate';
  const share = depletionShare(pot, run.state);
  const ahead = isPotDry(pot, run.state)
    ? { days: 0 }
    : daysToDry(pot, run.state, context.aheadEtMm, basalCoefficientOf(group, phase, undefined));
  return {
    dryDays: { value: Math.round(run.state.dryDays * 10) / 10, certainty: 'estimated', from },
    depletion: {
      value: share,
      certainty: 'estimated',
      spread: run.state.spreadMm / pot.totalAvailableMm,
      from,
    },
    ...(ahead?.days !== undefined && {
      daysToDry: { value: ahead.days, certainty: 'estimated' as const, from: 'the pot and the last days’ evaporation' },
    }),
  };
}

type Drinks = ReadonlyMap<LocalDay, readonly WateringDone[]>;

const isBefore = (done: { readonly at: number }, context: PotContext): boolean =>
  localDayOf(context.zone, done.at) < context.day;

function drinksByDay(batch: BatchState, context: PotContext): Drinks {
  const days = new Map<LocalDay, WateringDone[]>();
  for (const done of batch.waterings) {
    if (done.amount === 'none' || !isBefore(done, context)) continue;
    const day = localDayOf(context.zone, done.at);
    days.set(day, [...(days.get(day) ?? []), done]);
  }
  return days;
}

function notesByDay(batch: BatchState, context: PotContext): ReadonlyMap<LocalDay, SubstrateNote> {
  const days = new Map<LocalDay, SubstrateNote>();
  for (const look of batch.looks) if (look.substrate) days.set(localDayOf(context.zone, look.at), look.substrate);
  return days;
}

interface PotRun {
  readonly state: PotWaterState;
  readonly noted: boolean;
}

/**
 * Where the count begins: at the last full drink, which settles what came before; else at the oldest day there is, but
 * never before the batch was entered, for nobody told of its drinks until then. A pot entered lately may have been filled
 * that morning: unless somebody felt it, it counts as full.
 */
function startOf(
  batch: BatchState,
  pot: PotCapacities,
  context: PotContext,
  drinks: Drinks,
  notes: ReadonlyMap<LocalDay, SubstrateNote>,
): { index: number; state: PotWaterState } {
  for (let index = context.past.length - 1; index >= 0; index -= 1) {
    const day = context.past[index] as ClimateDay;
    if (drinks.get(day.day)?.some((done) => done.amount === 'full')) return { index, state: unknownPotWater(pot) };
  }
  const entered = localDayOf(context.zone, batch.createdAt);
  const since = context.past.findIndex(({ day }) => day >= entered);
  if (since === 0) return { index: 0, state: unknownPotWater(pot) };
  const index = since === -1 ? context.past.length : since;
  return { index, state: notes.size > 0 ? unknownPotWater(pot) : fullPotWater(pot) };
}

function runPot(
  pot: PotCapacities,
  group: SpeciesGroup,
  phase: Phase | undefined,
  context: PotContext,
  start: { readonly index: number; readonly state: PotWaterState },
  drinks: Drinks,
  notes: ReadonlyMap<LocalDay, SubstrateNote>,
): PotRun | undefined {
  let state = start.state;
  let noted = false;
  let gaps = 0;
  const days = context.past.slice(start.index);
  for (const day of days) {
    const given = drinks.get(day.day) ?? [];
    // A full drink settles whatever was believed before it; light ones of the same day change little beside it.
    const full = given.some((done) => done.amount === 'full');
    if (full) state = fullPotWater(pot);
    const waterMm = full ? 0 : given.reduce((sum, done) => sum + drunkMm(pot, state, done), 0);
    const et = day.referenceEtMm?.value;
    if (et === undefined) gaps += 1;
    state = stepPotWater(pot, state, {
      hours: 24,
      // A day nobody measured dries nothing: too wet a guess keeps the can away, too dry a one would not.
      referenceEtMm: et ?? 0,
      basalCoefficient: basalCoefficientOf(group, phase, day.meanTempC?.value),
      waterMm,
    });
    const note = notes.get(day.day);
    if (note) {
      state = observeNote(pot, state, note);
      noted = true;
    }
  }
  const today = notes.get(context.day);
  if (today) {
    state = observeNote(pot, state, today);
    noted = true;
  }
  if (days.length === 0 && !noted) return undefined;
  if (!noted && gaps > GAPS_ALLOWED * days.length) return undefined;
  return { state, noted };
}

const drunkMm = (pot: PotCapacities, state: PotWaterState, done: WateringDone): number =>
  done.mlPerPot === undefined ? drinkMm(pot, state, done.amount) : done.mlPerPot / pot.mlPerMm;
