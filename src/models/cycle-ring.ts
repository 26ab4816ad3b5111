/**
 * The year of a species group as a ring of steps, turned into a hidden Markov chain over the season angle. Every plant
 * goes round the ring in order; when it begins the next step is uncertain in two ways: some plants are early or late the
 * whole year round (the lateness, learnt from signs), and every beginning has a scatter of its own.
 */
import type { CycleDriver, CycleStep, SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import { clamp, requireFinite } from '../science/guards.js';
import { wrapDegrees } from '../science/units.js';

/** Phase, or stage of leaf replacement: the words a policy is found by. */
export type CycleLabel = WaterPhase;

export const labelOf = (step: Pick<CycleStep, 'phase' | 'stage'>): CycleLabel =>
  step.phase === 'leaf-replacement' ? (step.stage ?? 'forming') : step.phase;

/** Means of the last week that shift the beginnings of steps. What is not known shifts nothing. */
export type CycleDrivers = Readonly<Partial<Record<CycleDriver, number>>>;

/** Half of the width of a window that holds nine of ten plants, in standard deviations of a normal distribution. */
const WINDOW_HALF_WIDTH_SD = 1.645;
/** Share of the variance of a beginning that is the plant's own lateness; the rest is scatter (starting value). */
const LATENESS_SHARE = 0.5;
/** Lateness of a plant in its standard deviations: a grid with normal weights. */
export const LATENESS = [-2.25, -1.5, -0.75, 0, 0.75, 1.5, 2.25] as const;
export const LATENESS_WEIGHTS: readonly number[] = (() => {
  const weights = LATENESS.map((z) => Math.exp((-z * z) / 2));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
})();

const GRID = LATENESS.length;

/** The middle and the spreads of a beginning, degrees of season angle. */
export interface Beginning {
  readonly middleDeg: number;
  readonly latenessSdDeg: number;
  /** Scale of the logistic scatter. */
  readonly scatterScaleDeg: number;
  /** A season angle counts as before the middle for this many degrees back, and as after it for the rest of the year. */
  readonly beforeDeg: number;
}

export interface RingState {
  readonly position: number;
  /** What a grower sees: the label of this step, or of the last one not skipped. */
  readonly label: CycleLabel;
  /** States entered when the next step begins: with it, and without it where plants may skip it. */
  readonly taken: number;
  readonly skipped: number | undefined;
}

export interface Ring {
  readonly steps: readonly CycleStep[];
  readonly beginnings: readonly Beginning[];
  readonly states: readonly RingState[];
  readonly labels: readonly CycleLabel[];
  /** Labels that come just before or after a label somewhere on the ring: what it may be mistaken for. */
  readonly neighbours: ReadonlyMap<CycleLabel, ReadonlySet<CycleLabel>>;
  /** Room for the sums of one move; holds nothing between two. */
  readonly scratch: Scratch;
}

interface Scratch {
  readonly moved: Float64Array;
  readonly odds: Float64Array;
  readonly factors: Float64Array;
  readonly chances: Float64Array;
  readonly known: Uint8Array;
}

/** When a step begins, from its window and from when the step before it begins. */
export function beginningOf(step: CycleStep, stepBefore: CycleStep): Beginning {
  const [from, to] = step.begins;
  const width = wrapDegrees(to - from);
  const sd = Math.max(width, 6) / 2 / WINDOW_HALF_WIDTH_SD;
  const middleDeg = wrapDegrees(from + width / 2);
  const middleBefore = stepBefore.begins[0] + wrapDegrees(stepBefore.begins[1] - stepBefore.begins[0]) / 2;
  return {
    middleDeg,
    latenessSdDeg: sd * Math.sqrt(LATENESS_SHARE),
    // A logistic distribution of scale s has the standard deviation s π / √3.
    scatterScaleDeg: (sd * Math.sqrt(1 - LATENESS_SHARE) * Math.sqrt(3)) / Math.PI,
    // Plants wait for this beginning from the one before it on; the seam lies in the middle of the rest of the year.
    beforeDeg: (360 + wrapDegrees(middleDeg - middleBefore)) / 2,
  };
}

const rings = new WeakMap<SpeciesGroup, Ring>();

/** The ring of a group; built once per group. */
export function ringOf(group: SpeciesGroup): Ring {
  const known = rings.get(group);
  if (known) return known;
  const steps = group.cycle.steps;
  const first = steps.findIndex((step) => step.chance === undefined);
  const keys: { position: number; from: number }[] = [];
  // A step that may be skipped can also be stood in under every label that was possible before it.
  let possible: number[] = [];
  for (let turn = 0; turn < steps.length; turn += 1) {
    const position = (first + turn) % steps.length;
    possible = steps[position]?.chance ? [position, ...possible] : [position];
    for (const from of possible) keys.push({ position, from });
  }
  const find = (position: number, from: number): number =>
    keys.findIndex((key) => key.position === position && key.from === from);
  const states = keys.map(({ position, from }): RingState => {
    const next = (position + 1) % steps.length;
    const mayBeSkipped = steps[next]?.chance !== undefined;
    return {
      position,
      label: labelOf(steps[from] as CycleStep),
      taken: find(next, next),
      skipped: mayBeSkipped ? find(next, from) : undefined,
    };
  });
  const ring: Ring = {
    steps,
    beginnings: steps.map((step, k) => beginningOf(step, steps.at(k - 1) as CycleStep)),
    states,
    labels: [...new Set(states.map((state) => state.label))],
    neighbours: neighboursOf(states),
    scratch: {
      moved: new Float64Array(states.length * GRID),
      odds: new Float64Array(steps.length * GRID),
      factors: new Float64Array(steps.length),
      chances: new Float64Array(steps.length),
      known: new Uint8Array(steps.length),
    },
  };
  rings.set(group, ring);
  return ring;
}

function neighboursOf(states: readonly RingState[]): Map<CycleLabel, Set<CycleLabel>> {
  const neighbours = new Map<CycleLabel, Set<CycleLabel>>();
  const join = (one: CycleLabel, other: CycleLabel): void => {
    if (one === other) return;
    neighbours.set(one, (neighbours.get(one) ?? new Set()).add(other));
    neighbours.set(other, (neighbours.get(other) ?? new Set()).add(one));
  };
  for (const state of states)
    for (const next of [state.taken, state.skipped])
      if (next !== undefined) join(state.label, (states[next] as RingState).label);
  return neighbours;
}

/**
 * Share of the way from the first to the second value, held in 0-1; undefined when the driver is not known.
 * @throws PhysicsRangeError for NaN
 */
function way(value: number | undefined, [from, to]: readonly [number, number]): number | undefined {
  return value === undefined ? undefined : clamp((requireFinite('driver', value, '') - from) / (to - from), 0, 1);
}

/** Degrees by which a step begins later (positive) or earlier under the drivers. */
export function shiftDeg(step: CycleStep, drivers: CycleDrivers): number {
  if (!step.shift) return 0;
  const share = way(drivers[step.shift.driver], step.shift.at);
  return share === undefined ? 0 : step.shift.deg * (1 - 2 * share);
}

/** Share of plants that go through a step rather than skip it. */
export function chanceOf(step: CycleStep, drivers: CycleDrivers): number {
  const chance = step.chance;
  if (!chance) return 1;
  const { driver, at, share } = chance;
  if (!driver || !at || !share) return chance.usual;
  const along = way(drivers[driver], at);
  return along === undefined ? chance.usual : share[0] + along * (share[1] - share[0]);
}

/** Longest stretch taken at once: about a day, so that hardly anybody begins two steps in it. */
const LONGEST_STRETCH_DEG = 1;
/** Weights and shares below this are rounding. */
const NOTHING = 1e-15;

/** Odds exp((θ - middle) / scale) that a step has begun at a season angle, for every lateness. */
function fillBegunOdds(ring: Ring, k: number, angleDeg: number, shift: number, odds: Float64Array): void {
  const { middleDeg, latenessSdDeg, scatterScaleDeg, beforeDeg } = ring.beginnings[k] as Beginning;
  for (let l = 0; l < GRID; l += 1) {
    const middle = middleDeg + shift + (LATENESS[l] as number) * latenessSdDeg;
    odds[k * GRID + l] = Math.exp((wrapDegrees(angleDeg - middle + beforeDeg) - beforeDeg) / scatterScaleDeg);
  }
}

/**
 * Moves the weights of states × lateness along the season, in place. A plant that has not begun a step at one angle has
 * begun it a little later with probability 1 - S(later) / S(sooner), S logistic: with odds E and E f, E (f - 1) / (1 + E f).
 * @param aheadDeg degrees to go, at least 0 and less than a year
 */
export function advanceWeights(
  ring: Ring,
  weights: number[],
  fromDeg: number,
  aheadDeg: number,
  drivers: CycleDrivers,
): void {
  if (aheadDeg === 0) return;
  const parts = Math.ceil(aheadDeg / LONGEST_STRETCH_DEG);
  const stretch = aheadDeg / parts;
  const { moved, odds, factors, chances, known } = ring.scratch;
  const stepCount = ring.steps.length;
  moved.fill(0);
  for (let part = 0; part < parts; part += 1) {
    // Only the steps somebody waits for need odds, and growing odds are cheaper than new ones. Now and then they are made
    // anew, because growing ones do not know of the seam of the year.
    if (part % 30 === 0) known.fill(0);
    let anyMoved = false;
    for (let s = 0; s < ring.states.length; s += 1) {
      const state = ring.states[s] as RingState;
      const next = state.position + 1 === stepCount ? 0 : state.position + 1;
      const { taken, skipped } = state;
      for (let l = 0; l < GRID; l += 1) {
        const weight = weights[s * GRID + l] as number;
        if (weight < NOTHING) continue;
        if (known[next] === 0) {
          const step = ring.steps[next] as CycleStep;
          fillBegunOdds(ring, next, fromDeg + part * stretch, shiftDeg(step, drivers), odds);
          factors[next] = Math.exp(stretch / (ring.beginnings[next] as Beginning).scatterScaleDeg);
          chances[next] = chanceOf(step, drivers);
          known[next] = 1;
        }
        const sooner = odds[next * GRID + l] as number;
        if (sooner < NOTHING) continue;
        anyMoved = true;
        const factor = factors[next] as number;
        const leaving = (weight * sooner * (factor - 1)) / (1 + sooner * factor);
        weights[s * GRID + l] = weight - leaving;
        const chance = chances[next] as number;
        moved[taken * GRID + l] = (moved[taken * GRID + l] as number) + leaving * chance;
        if (skipped !== undefined)
          moved[skipped * GRID + l] = (moved[skipped * GRID + l] as number) + leaving * (1 - chance);
      }
    }
    if (anyMoved) {
      for (let i = 0; i < weights.length; i += 1) weights[i] = (weights[i] as number) + (moved[i] as number);
      moved.fill(0);
    }
    if (part + 1 === parts) return;
    for (let k = 0; k < stepCount; k += 1)
      if (known[k] === 1)
        for (let l = 0; l < GRID; l += 1) odds[k * GRID + l] = (odds[k * GRID + l] as number) * (factors[k] as number);
  }
}

const calendars = new WeakMap<SpeciesGroup, readonly (readonly number[])[]>();

/** What the calendar alone says at a season angle: the chain after a year without any sign or driver. */
export function calendarWeights(group: SpeciesGroup, seasonAngleDeg: number): number[] {
  let table = calendars.get(group);
  if (!table) {
    const ring = ringOf(group);
    const weights = new Array<number>(ring.states.length * GRID).fill(0);
    // Any start will do: a year brings everybody round. State 0 is a step nobody skips.
    const start = ring.states[0] as RingState;
    const from = (ring.beginnings[start.position] as Beginning).middleDeg;
    LATENESS_WEIGHTS.forEach((weight, l) => {
      weights[l] = weight;
    });
    const rounded = Math.ceil(from);
    advanceWeights(ring, weights, from, rounded - from + 360, {});
    const degrees: number[][] = new Array(360);
    for (let degree = 0; degree < 360; degree += 1) {
      degrees[(rounded + degree) % 360] = weights.slice();
      advanceWeights(ring, weights, rounded + degree, 1, {});
    }
    table = degrees;
    calendars.set(group, table);
  }
  const angle = wrapDegrees(seasonAngleDeg);
  const below = Math.floor(angle) % 360;
  const share = angle - Math.floor(angle);
  const low = table[below] as readonly number[];
  const high = table[(below + 1) % 360] as readonly number[];
  return share === 0 ? low.slice() : low.map((weight, i) => weight + share * ((high[i] as number) - weight));
}
