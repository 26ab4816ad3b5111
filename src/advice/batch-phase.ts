import type { SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import type { BatchState, Look } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import { civilNoon, localDayOf } from '../domain/time.js';
import type { CycleLabel } from '../models/cycle-ring.js';
import {
  type CycleBelief,
  currentPhase,
  nextChange,
  observeSigns,
  type PhaseView,
  startCycle,
  stepCycle,
  withNeighbours,
} from '../models/growth-cycle.js';
import { seasonAngleAhead, seasonAngleDeg } from '../science/season.js';
import { MS_PER_86400_S } from '../science/units.js';
import type { PhaseInput } from './fact-inputs.js';
import { whenAndWho } from './wording.js';

/** A look at the growth of more than this ago says nothing of this year's cycle. */
const LOOKS_BACK_MS = 330 * MS_PER_86400_S;
/** An entered phase counts as known this long (starting value); after it the calendar has its say. */
const ENTERED_KNOWN_MS = 21 * MS_PER_86400_S;
/** The warmth and light of the last week stand for no more than the last month. */
const DRIVERS_BACK_DEG = 30;
/** More neighbours than this add nothing that can be shown. */
const NEIGHBOURS_HEARD = 8;

export interface PhaseContext {
  readonly atMs: number;
  readonly latitudeDeg: number;
  readonly zone: string;
  /** Means of the last week in this house. */
  readonly drivers: Readonly<Partial<Record<'nightMinC' | 'dayMaxC' | 'dli', number>>>;
}

export interface BatchBelief {
  readonly batch: BatchState;
  readonly group: SpeciesGroup;
  /** The same for batches that share their belief. */
  readonly key: string;
  /** Undefined near the equator, where the season angle means nothing. */
  readonly belief: CycleBelief | undefined;
}

/**
 * What the looks at the batches of one house and the calendar make of their phases. Batches of a group that were seen
 * alike on the same days, as when a whole bench is noted at once, share one belief and are worked out once.
 */
export function beliefBook(context: PhaseContext): (batch: BatchState, group: SpeciesGroup) => BatchBelief {
  const book = new Map<string, CycleBelief | undefined>();
  return (batch, group) => {
    const looks = batch.looks.filter((look) => look.at >= context.atMs - LOOKS_BACK_MS && tellsPhase(look));
    const key = `${group.id} ${looks.map((look) => lookKey(look, context.zone)).join(' ')}`;
    if (!book.has(key)) book.set(key, beliefOf(looks, group, context));
    return { batch, group, key, belief: book.get(key) };
  };
}

const lookKey = (look: Look, zone: string): string =>
  [
    localDayOf(zone, look.at),
    look.phase,
    look.phase && look.by,
    look.stage,
    look.oldPair,
    look.newPair,
    look.sheathed,
    look.signs.includes('closed-tips'),
  ].join(',');

function beliefOf(looks: readonly Look[], group: SpeciesGroup, context: PhaseContext): CycleBelief | undefined {
  const angle = seasonAngleDeg(context.atMs, context.latitudeDeg);
  if (angle === undefined) return undefined;
  const first = looks[0];
  if (!first) return startCycle(group, angle);
  // The season of a look is that of its day's noon, so that looks of one day count alike.
  const angleAt = (atMs: number) =>
    seasonAngleDeg(civilNoon(context.zone, localDayOf(context.zone, atMs)), context.latitudeDeg) as number;
  let belief = startCycle(group, angleAt(first.at));
  for (const look of looks) {
    belief = stepCycle(group, belief, angleAt(look.at));
    belief = observeSigns(group, belief, look);
  }
  const left = seasonAngleAhead(belief.seasonAngleDeg, angle);
  // What the weather was longer ago is not kept; the calendar stands for it.
  if (left > DRIVERS_BACK_DEG) belief = stepCycle(group, belief, belief.seasonAngleDeg + left - DRIVERS_BACK_DEG);
  return stepCycle(group, belief, angle, context.drivers);
}

const tellsPhase = (look: Look): boolean =>
  look.phase !== undefined ||
  look.oldPair !== undefined ||
  look.newPair !== undefined ||
  look.sheathed !== undefined ||
  look.signs.includes('closed-tips');

/**
 * Phases of the batches of one house: their own signs, the calendar, and, weakly, their neighbours of the same group.
 * @param book phases worked out before for the same house and morning; brought up to date
 */
export function phasesOfHouse(
  beliefs: readonly BatchBelief[],
  context: PhaseContext,
  book: Map<string, PhaseInput> = new Map(),
): Map<string, PhaseInput | undefined> {
  const phases = new Map<string, PhaseInput | undefined>();
  for (const members of byGroup(beliefs).values()) {
    const told = members
      .filter((member) => member.belief && member.belief.looks > 0)
      .sort((a, b) => lastLook(b) - lastLook(a));
    const neighboursOf = new Map<string, readonly BatchBelief[]>();
    for (const member of members) {
      const { batch, belief, key } = member;
      if (!belief) {
        phases.set(batch.batchId, enteredOnly(batch, context));
        continue;
      }
      // Batches noted together are one witness, not several.
      const neighbours = neighboursOf.get(key) ?? distinct(told, key);
      neighboursOf.set(key, neighbours);
      const shelf = [key, ...neighbours.map((other) => other.key)].join('|');
      let input = book.get(shelf);
      if (!input) {
        const view = withNeighbours(
          member.group,
          belief,
          neighbours.map((other) => other.belief as CycleBelief),
        );
        input = phaseInput(member, belief, view, view.neighbours, context);
        book.set(shelf, input);
      }
      phases.set(batch.batchId, input);
    }
  }
  return phases;
}

function distinct(told: readonly BatchBelief[], except: string): BatchBelief[] {
  const keys = new Set([except]);
  const found: BatchBelief[] = [];
  for (const member of told) {
    if (keys.has(member.key)) continue;
    keys.add(member.key);
    found.push(member);
    if (found.length === NEIGHBOURS_HEARD) break;
  }
  return found;
}

const lastLook = (member: BatchBelief): number => member.batch.looks.at(-1)?.at ?? 0;

function byGroup(beliefs: readonly BatchBelief[]): Map<string, BatchBelief[]> {
  const groups = new Map<string, BatchBelief[]>();
  for (const member of beliefs) {
    const members = groups.get(member.group.id);
    if (members) members.push(member);
    else groups.set(member.group.id, [member]);
  }
  return groups;
}

function phaseInput(
  member: BatchBelief,
  belief: CycleBelief,
  view: PhaseView,
  neighbours: number,
  context: PhaseContext,
): PhaseInput {
  const { batch, group } = member;
  const entered = batch.phase;
  const label = view.stage ?? view.phase;
  const fresh =
    entered !== undefined && context.atMs - entered.at <= ENTERED_KNOWN_MS && entered.value.phase === view.phase;
  const second = secondOf(view.probabilities, label as CycleLabel);
  const next = nextChange(group, belief, context.drivers);
  const own = currentPhase(group, belief);
  return {
    phase: view.phase,
    probability: view.probability,
    certainty: fresh ? 'known' : 'estimated',
    from: fromWords(batch, belief, fresh, neighbours, context),
    ...defined({
      stage: view.stage,
      daysInPhase: fresh && entered ? Math.max(0, context.atMs - entered.at) / MS_PER_86400_S : undefined,
      second,
      next:
        next && own.phase === view.phase
          ? {
              phase: (next.stage ?? next.phase) as WaterPhase,
              inDays: next.days,
              spreadDays: Math.max(1, (next.lateDays - next.earlyDays) / 2.56),
            }
          : undefined,
    }),
  };
}

function secondOf(probabilities: PhaseView['probabilities'], best: CycleLabel): PhaseInput['second'] {
  let found: [CycleLabel, number] | undefined;
  for (const [label, share] of Object.entries(probabilities) as [CycleLabel, number][])
    if (label !== best && share > (found?.[1] ?? 0.02)) found = [label, share];
  if (!found) return undefined;
  const [label, probability] = found;
  return label === 'forming' || label === 'splitting' || label === 'papery'
    ? { phase: 'leaf-replacement', stage: label, probability }
    : { phase: label, probability };
}

function fromWords(
  batch: BatchState,
  belief: CycleBelief,
  fresh: boolean,
  neighbours: number,
  context: PhaseContext,
): string {
  if (fresh && batch.phase) return `entered ${whenAndWho(batch.phase, context.zone)}`;
  const parts = [belief.looks > 0 ? 'signs seen and the season' : 'the season'];
  if (neighbours > 0) parts.push(`${neighbours} ${neighbours === 1 ? 'neighbour' : 'neighbours'} of its kind`);
  return parts.join(', and ');
}

/** Near the equator there is no season to go by: the phase is what somebody entered, surer the fresher it is. */
function enteredOnly(batch: BatchState, context: PhaseContext): PhaseInput | undefined {
  const entered = batch.phase;
  if (!entered) return undefined;
  const ageDays = Math.max(0, context.atMs - entered.at) / MS_PER_86400_S;
  if (ageDays > 90) return undefined;
  return {
    ...entered.value,
    probability: Math.max(0.5, 0.95 - ageDays / 120),
    certainty: context.atMs - entered.at <= ENTERED_KNOWN_MS ? 'known' : 'estimated',
    from: `entered ${whenAndWho(entered, context.zone)}; no season can be told this near the equator`,
    daysInPhase: ageDays,
  };
}
