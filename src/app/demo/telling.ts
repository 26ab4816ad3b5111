import type { Catalogue, Pot, SpeciesGroup } from '../../domain/catalogue.js';
import type { JournalEventInput } from '../../domain/journal.js';
import type { Amount, Firmness, OldPairState } from '../../domain/plants.js';
import type { Site } from '../../domain/site.js';
import type { LocalDay } from '../../domain/time.js';
import type { DemoBatch, DemoBench, DemoSite } from './scenario.js';
import { stepProgress, usualDaysToDry, usualDrink, usualStep } from './season.js';

/** An entry of the invented journal, on its way to the keeper. */
export interface StoryEntry {
  readonly siteId: string;
  readonly happenedAt: number;
  readonly enteredAt: number;
  readonly by: string;
  readonly event: StoryEvent;
  readonly note?: string;
  /** A name to take it back by. */
  readonly tag?: string;
}

/** The number of an entry is known only once it is written, so the story takes back by name. */
export type StoryEvent =
  | JournalEventInput
  | { readonly kind: 'take-back'; readonly tag: string; readonly reason: string };

export interface StoryInput {
  readonly site: Site;
  readonly demo: DemoSite;
  readonly catalogue: Catalogue;
  readonly seed: number;
  /** First day of the history, and the day the demo was begun. */
  readonly firstDay: LocalDay;
  readonly lastDay: LocalDay;
}

/** A batch as the story keeps it while it is told. */
export interface Told {
  readonly id: string;
  readonly batch: DemoBatch;
  readonly group: SpeciesGroup;
  readonly pot: Pot;
  bench: DemoBench;
  /** Day on which it is entered. */
  readonly arrives: number;
  /** Its phase is written down by the people of the site. */
  readonly watched: boolean;
  lastDrinkDay: number;
  lastAmount: Amount;
  /** Overlooked from this day on. */
  leftDryFrom: number;
}

export type Write = (
  day: number,
  clock: string,
  by: string,
  event: StoryEvent,
  more?: { note?: string; enteredDaysLater?: number; tag?: string },
) => void;

export interface Telling {
  readonly input: StoryInput;
  readonly days: number;
  readonly batches: readonly Told[];
  readonly write: Write;
  readonly chance: (stream: string, n: number) => number;
  readonly seasonOn: (day: number) => number;
}

/** Days since its last drink at which the people of the site take a batch to be thirsty; undefined: it stays dry. */
export function thirstyAfter(told: Told, seasonDeg: number): { days: number; amount: Amount } | undefined {
  if (told.batch.ageMonths < 12) return { days: 5, amount: 'light' };
  const drink = usualDrink(told.group, seasonDeg);
  if (!drink) return undefined;
  // A light drink is gone sooner than a full one.
  const toDry = usualDaysToDry(seasonDeg) * (told.lastAmount === 'light' ? 0.5 : 1);
  return { days: toDry + drink.gapDays, amount: drink.amount };
}

/** A drink as people measure it: to the next 5 mL, small ones to the next mL. */
export function mlPerPot(pot: Pot, amount: Amount): number {
  const ml = amount === 'light' ? pot.areaCm2 * 0.15 : pot.volumeMl * 0.16;
  return ml < 20 ? Math.max(1, Math.round(ml)) : Math.round(ml / 5) * 5;
}

export const phaseEvent = (told: Told, seasonDeg: number): JournalEventInput => {
  const step = usualStep(told.group, seasonDeg);
  return { kind: 'signs', batchIds: [told.id], phase: step.phase, ...(step.stage && { stage: step.stage }) };
};

const OLD_PAIRS: readonly OldPairState[] = ['firm', 'slightly-soft', 'soft', 'shrivelled', 'papery'];

/** What a batch looks like by how long it has been dry and how far its year has come. */
export function looks(
  told: Told,
  day: number,
  seasonDeg: number,
): Omit<Extract<JournalEventInput, { kind: 'signs' }>, 'kind' | 'batchIds'> {
  const dryFor = (day - told.lastDrinkDay) / (usualDaysToDry(seasonDeg) + 6);
  const step = usualStep(told.group, seasonDeg);
  if (step.phase === 'leaf-replacement' && told.group.leafChange === 'pair') {
    const progress = stepProgress(told.group, seasonDeg);
    const shrunk = { forming: 0, splitting: 1, papery: 3 }[step.stage ?? 'forming'] + progress * 1.9;
    return {
      oldPair: OLD_PAIRS[Math.min(OLD_PAIRS.length - 1, Math.floor(shrunk))] as OldPairState,
      newPair: step.stage === 'forming' ? 'hidden' : step.stage === 'papery' && dryFor > 1.5 ? 'slightly-soft' : 'firm',
    };
  }
  const sheathed = told.group.leafChange === 'sheath' && step.phase === 'dormant-warm';
  const firmness: Firmness = dryFor < 0.8 ? 'firm' : dryFor < 2.2 ? 'slightly-soft' : dryFor < 4 ? 'soft' : 'very-soft';
  return { ...(sheathed ? { sheathed } : { firmness }) };
}
