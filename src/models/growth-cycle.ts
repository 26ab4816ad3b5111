/**
 * Where a plant stands in its year: a belief over phases that the calendar moves, the weather shifts, and signs correct.
 * The belief is plain data; every function returns a new one.
 */
import type { SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import { PHASES, type Phase, STAGES, type Stage } from '../domain/plants.js';
import { clamp, requireFinite } from '../science/guards.js';
import { seasonAngleAhead } from '../science/season.js';
import { wrapDegrees } from '../science/units.js';
import { advanceWeights, type CycleDrivers, type CycleLabel, calendarWeights, LATENESS, ringOf } from './cycle-ring.js';
import { labelMatches, type SeenSigns, type SignPart, signLikelihoods } from './cycle-signs.js';

/** Season angle runs this fast on the average. */
export const DEGREES_PER_DAY = 360 / 365.2422;

/** A phase somebody entered that the calendar would not have: held, then given back to the calendar. */
interface HeldPhase {
  readonly label: CycleLabel;
  readonly share: number;
  /** Degrees of season since it was entered. */
  readonly ageDeg: number;
}

export interface CycleBelief {
  readonly groupId: string;
  readonly seasonAngleDeg: number;
  /** Weights of ring state × lateness; with the held share they sum to 1. */
  readonly weights: readonly number[];
  readonly held?: HeldPhase;
  /** Season angle at which each part of a look was last reported. */
  readonly lastSeen: Readonly<Partial<Record<SignPart, number>>>;
  /** Looks that told something, so that "calendar only" can be said. */
  readonly looks: number;
}

/** An entered phase is believed at least this much on the day it is entered: it stays the most likely one. */
const ENTERED_AT_LEAST = 0.6;
/** The same for a phase the ring of the group does not hold, of which the calendar can have no opinion. */
const ENTERED_OFF_RING_AT_LEAST = 0.9;
/** The held share is given back to the calendar like exp(-(age / 45°)²): nine tenths of it are left after a fortnight. */
const HOLD_DEG = 45;
/** Looks at the same part nearer together than this tell less than a full look each. */
const FRESH_LOOK_DEG = 14;

/** What the calendar alone believes at a season angle. @throws PhysicsRangeError for NaN */
export function startCycle(group: SpeciesGroup, seasonAngleDeg: number): CycleBelief {
  requireFinite('seasonAngleDeg', seasonAngleDeg, 'degrees');
  return {
    groupId: group.id,
    seasonAngleDeg: wrapDegrees(seasonAngleDeg),
    weights: calendarWeights(group, seasonAngleDeg),
    lastSeen: {},
    looks: 0,
  };
}

/**
 * The belief at a later season angle, less than a year on.
 * @param drivers means of the last week; what is not known shifts nothing
 */
export function stepCycle(
  group: SpeciesGroup,
  belief: CycleBelief,
  toAngleDeg: number,
  drivers: CycleDrivers = {},
): CycleBelief {
  const ahead = seasonAngleAhead(belief.seasonAngleDeg, toAngleDeg);
  const weights = belief.weights.slice();
  advanceWeights(ringOf(group), weights, belief.seasonAngleDeg, ahead, drivers);
  const { held, ...rest } = belief;
  const next = { ...rest, seasonAngleDeg: wrapDegrees(toAngleDeg) };
  if (!held) return { ...next, weights };
  const ageDeg = held.ageDeg + ahead;
  const kept = held.share * Math.exp((held.ageDeg / HOLD_DEG) ** 2 - (ageDeg / HOLD_DEG) ** 2);
  const calendar = calendarWeights(group, toAngleDeg);
  for (let i = 0; i < weights.length; i += 1)
    weights[i] = (weights[i] as number) + (held.share - kept) * (calendar[i] as number);
  if (kept < 0.001) return normalised({ ...next, weights });
  return { ...next, weights, held: { label: held.label, share: kept, ageDeg } };
}

function normalised(belief: CycleBelief): CycleBelief {
  const total = belief.weights.reduce((sum, weight) => sum + weight, belief.held?.share ?? 0);
  return {
    ...belief,
    weights: belief.weights.map((weight) => weight / total),
    ...(belief.held && { held: { ...belief.held, share: belief.held.share / total } }),
  };
}

/**
 * The belief after a look. Signs move it by their likelihoods; the same part of a plant looked at again within a
 * fortnight counts for less, because what was odd about it then is still odd.
 */
export function observeSigns(group: SpeciesGroup, belief: CycleBelief, seen: SeenSigns): CycleBelief {
  const ring = ringOf(group);
  const labels = belief.held ? [...new Set([...ring.labels, belief.held.label])] : ring.labels;
  const lastSeen: Partial<Record<SignPart, number>> = { ...belief.lastSeen };
  let told = false;
  const factor = (label: CycleLabel): number => {
    let product = 1;
    for (const [part, likelihood] of Object.entries(signLikelihoods(group, seen, label))) {
      const last = belief.lastSeen[part as SignPart];
      const fresh =
        last === undefined ? 1 : clamp(seasonAngleAhead(last, belief.seasonAngleDeg) / FRESH_LOOK_DEG, 0, 1);
      product *= likelihood ** (part === 'phase' ? 1 : fresh);
      lastSeen[part as SignPart] = belief.seasonAngleDeg;
      told = true;
    }
    return product;
  };
  const factors = new Map(labels.map((label) => [label, factor(label)]));
  if (!told) return belief;
  const grid = LATENESS.length;
  const weighed: CycleBelief = {
    ...belief,
    weights: belief.weights.map(
      (weight, i) => weight * (factors.get(ring.states[Math.floor(i / grid)]?.label as CycleLabel) as number),
    ),
    ...(belief.held && {
      held: { ...belief.held, share: belief.held.share * (factors.get(belief.held.label) as number) },
    }),
    lastSeen,
    looks: belief.looks + 1,
  };
  const updated = normalised(weighed);
  return seen.phase ? holdEntered(group, updated, seen.phase, seen.stage) : updated;
}

/** A phase a person entered stands, even where the calendar would not have it: the person has seen the plant. */
function holdEntered(group: SpeciesGroup, belief: CycleBelief, phase: Phase, stage?: Stage): CycleBelief {
  const probabilities = labelProbabilities(group, belief);
  const entered = Object.entries(probabilities).reduce(
    (sum, [label, share]) => sum + (labelMatches(label as CycleLabel, phase, stage) ? (share as number) : 0),
    0,
  );
  const ring = ringOf(group);
  const onRing = ring.labels.some((label) => labelMatches(label, phase, stage));
  const atLeast = onRing ? ENTERED_AT_LEAST : ENTERED_OFF_RING_AT_LEAST;
  if (entered >= atLeast) return belief;
  const label: CycleLabel = phase === 'leaf-replacement' ? (stage ?? likeliestStage(probabilities)) : phase;
  // Whatever was held before gives way to what was entered now.
  const heldBefore = belief.held && belief.held.label !== label ? 0 : (belief.held?.share ?? 0);
  const onRingShare = belief.weights.reduce((sum, weight) => sum + weight, 0);
  const matchingRing = entered - (belief.held && labelMatches(belief.held.label, phase, stage) ? belief.held.share : 0);
  // Share h so that the matching part of the ring and the held share together reach the floor.
  const matching = onRingShare > 0 ? clamp(matchingRing / onRingShare, 0, 1) : 0;
  const share = Math.max(heldBefore, (atLeast - matching) / (1 - matching));
  return {
    ...belief,
    weights: belief.weights.map((weight) => (onRingShare > 0 ? (weight / onRingShare) * (1 - share) : 0)),
    held: { label, share, ageDeg: 0 },
  };
}

const likeliestStage = (probabilities: Readonly<Partial<Record<CycleLabel, number>>>): Stage =>
  STAGES.reduce((best, stage) => ((probabilities[stage] ?? 0) > (probabilities[best] ?? 0) ? stage : best));

/** Probability of each label. */
export function labelProbabilities(
  group: SpeciesGroup,
  belief: CycleBelief,
): Readonly<Partial<Record<CycleLabel, number>>> {
  const probabilities: Partial<Record<CycleLabel, number>> = {};
  const grid = LATENESS.length;
  ringOf(group).states.forEach((state, s) => {
    let share = 0;
    for (let l = 0; l < grid; l += 1) share += belief.weights[s * grid + l] as number;
    probabilities[state.label] = (probabilities[state.label] ?? 0) + share;
  });
  if (belief.held) probabilities[belief.held.label] = (probabilities[belief.held.label] ?? 0) + belief.held.share;
  return probabilities;
}

export interface PhaseView {
  readonly phase: Phase;
  readonly stage?: Stage;
  /** Probability of the phase and its stage. */
  readonly probability: number;
  /** Probability of each phase; the stages of leaf replacement apart. */
  readonly probabilities: Readonly<Partial<Record<CycleLabel, number>>>;
}

const isStage = (label: CycleLabel): label is Stage => (STAGES as readonly string[]).includes(label);

/** The most likely phase. Leaf replacement is weighed as a whole against the other phases, then its likeliest stage named. */
export function phaseView(probabilities: Readonly<Partial<Record<CycleLabel, number>>>): PhaseView {
  const replacement = STAGES.reduce((sum, stage) => sum + (probabilities[stage] ?? 0), 0);
  let best: { phase: Phase; share: number } = { phase: 'leaf-replacement', share: replacement };
  for (const phase of PHASES) {
    const share = phase === 'leaf-replacement' ? 0 : (probabilities[phase] ?? 0);
    if (share > best.share) best = { phase, share };
  }
  if (best.phase !== 'leaf-replacement') return { phase: best.phase, probability: best.share, probabilities };
  const stage = likeliestStage(probabilities);
  return { phase: best.phase, stage, probability: probabilities[stage] ?? 0, probabilities };
}

/** The phase as the water policies name it: the stages of leaf-pair replacement have policies of their own. */
export const waterPhaseOf = (phase: Phase, stage: Stage | undefined): WaterPhase | undefined =>
  phase === 'leaf-replacement' ? stage : phase;

/** Most likely phase of a belief. */
export const currentPhase = (group: SpeciesGroup, belief: CycleBelief): PhaseView =>
  phaseView(labelProbabilities(group, belief));

/**
 * Phase by the calendar alone: what holds when nothing was ever entered.
 * @returns undefined near the equator, where the season angle means nothing and only a look can tell
 */
export const calendarPhase = (group: SpeciesGroup, seasonAngleDeg: number | undefined): PhaseView | undefined =>
  seasonAngleDeg === undefined ? undefined : currentPhase(group, startCycle(group, seasonAngleDeg));

export interface NextChange {
  /** What it changes to, most likely. */
  readonly phase: Phase;
  readonly stage?: Stage;
  /** Days until half of such plants have changed, and a tenth, and nine tenths. */
  readonly days: number;
  readonly earlyDays: number;
  readonly lateDays: number;
}

/**
 * When the most likely phase is expected to end, given that it is the true one.
 * @returns undefined when it is not expected to end within a year
 */
export function nextChange(
  group: SpeciesGroup,
  belief: CycleBelief,
  drivers: CycleDrivers = {},
): NextChange | undefined {
  const ring = ringOf(group);
  const view = currentPhase(group, belief);
  const label: CycleLabel = view.stage ?? (view.phase as CycleLabel);
  const grid = LATENESS.length;
  const inside = ring.states.map((state) => state.label === label);
  const start = belief.weights.map((weight, i) => (inside[Math.floor(i / grid)] ? weight : 0));
  const total = start.reduce((sum, weight) => sum + weight, 0);
  // A held phase is not on the ring where the plant stands: it ends where the hold ends.
  if (belief.held?.label === label && belief.held.share > total) return endOfHold(group, belief, belief.held);
  const left = new Map<CycleLabel, number>();
  const quantiles = [0.1, 0.5, 0.9];
  const days: number[] = [];
  let remaining = 1;
  let weights = start.map((weight) => weight / total);
  for (let day = 1; day <= 366 && days.length < quantiles.length; day += 1) {
    const angle = belief.seasonAngleDeg + (day - 1) * DEGREES_PER_DAY;
    advanceWeights(ring, weights, angle, DEGREES_PER_DAY, drivers);
    weights = weights.map((weight, i) => {
      const state = Math.floor(i / grid);
      if (inside[state]) return weight;
      if (weight > 0) {
        const to = ring.states[state]?.label as CycleLabel;
        left.set(to, (left.get(to) ?? 0) + weight);
      }
      return 0;
    });
    const after = weights.reduce((sum, weight) => sum + weight, 0);
    while (days.length < quantiles.length && 1 - after >= (quantiles[days.length] as number)) {
      const share = (quantiles[days.length] as number) - (1 - remaining);
      days.push(day - 1 + clamp(share / Math.max(remaining - after, 1e-12), 0, 1));
    }
    remaining = after;
  }
  const [earlyDays, middle, lateDays] = days;
  const [to] = [...left].sort((a, b) => b[1] - a[1])[0] ?? [];
  if (earlyDays === undefined || middle === undefined || to === undefined) return undefined;
  return { ...phaseOf(to), days: middle, earlyDays, lateDays: lateDays ?? 366 };
}

function endOfHold(group: SpeciesGroup, belief: CycleBelief, held: HeldPhase): NextChange | undefined {
  // Age at which a share of those still held has been given back.
  const daysAt = (share: number): number =>
    (Math.sqrt(held.ageDeg ** 2 - HOLD_DEG ** 2 * Math.log(1 - share)) - held.ageDeg) / DEGREES_PER_DAY;
  const days = daysAt(0.5);
  const then = calendarPhase(group, belief.seasonAngleDeg + days * DEGREES_PER_DAY);
  if (!then) return undefined;
  const { phase, stage } = then;
  return { phase, ...(stage && { stage }), days, earlyDays: daysAt(0.1), lateDays: daysAt(0.9) };
}

const phaseOf = (label: CycleLabel): { phase: Phase; stage?: Stage } =>
  isStage(label) ? { phase: 'leaf-replacement', stage: label } : { phase: label };

/** How much one neighbour's signs count beside the plant's own, and all of them together at the most. */
const NEIGHBOUR_WEIGHT = 0.12;
const NEIGHBOURS_AT_MOST = 0.4;

export interface NeighbourView extends PhaseView {
  /** Neighbours whose signs were used, and the phase the plant's own signs alone would give. */
  readonly neighbours: number;
  readonly own: PhaseView;
}

/**
 * The phase when neighbouring batches of the same group in the same house are heard: what their signs add to the calendar,
 * raised to a small power. The result is for reading and is not stored, so that batches cannot talk each other into
 * anything; `own` shows what the plant's own signs say.
 */
export function withNeighbours(
  group: SpeciesGroup,
  belief: CycleBelief,
  neighbours: readonly CycleBelief[],
): NeighbourView {
  const own = labelProbabilities(group, belief);
  const heard = neighbours.filter((other) => other.groupId === belief.groupId && other.looks > 0);
  const view = phaseView(own);
  if (heard.length === 0) return { ...view, neighbours: 0, own: view };
  const power = Math.min(NEIGHBOUR_WEIGHT, NEIGHBOURS_AT_MOST / heard.length);
  const weighed = Object.entries(own).map(([label, share]) => {
    const factor = heard.reduce((product, other) => {
      const calendar = labelProbabilities(group, startCycle(group, other.seasonAngleDeg));
      const seen = labelProbabilities(group, other);
      // The floor keeps one sure neighbour from ruling a phase out.
      const ratio = ((seen[label as CycleLabel] ?? 0) + 0.01) / ((calendar[label as CycleLabel] ?? 0) + 0.01);
      return product * ratio ** power;
    }, 1);
    return [label, (share as number) * factor] as const;
  });
  const total = weighed.reduce((sum, [, share]) => sum + share, 0);
  const probabilities = Object.fromEntries(weighed.map(([label, share]) => [label, share / total]));
  return { ...phaseView(probabilities), neighbours: heard.length, own: view };
}
