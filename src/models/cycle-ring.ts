/**
 * The year of a species group as a ring of steps, turned into a hidden Markov chain over the season angle. Every plant
 * goes round the ring in order; when it begins the next step is uncertain in two ways: some plants are early or late the
 * whole year round (the lateness, learnt from signs), and every beginning has a scatter of its own.
 */
import type { CycleDriver, CycleStep, SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import { clamp } from '../science/guards.js';
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

/** The middle and the spreads of a beginning, degrees of season angle. */
export interface Beginning {
  readonly middleDeg: number;
  readonly latenessSdDeg: number;
  /** Scale of the logistic scatter. */
  readonly scatterScaleDeg: number;
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
}

/** When a step begins, from its window. */
export function beginningOf(step: CycleStep): Beginning {
  const [from, to] = step.begins;
  const width = wrapDegrees(to - from);
  const sd = Math.max(width, 6) / 2 / WINDOW_HALF_WIDTH_SD;
  return {
    middleDeg: wrapDegrees(from + width / 2),
    latenessSdDeg: sd * Math.sqrt(LATENESS_SHARE),
    // A logistic distribution of scale s has the standard deviation s π / √3.
    scatterScaleDeg: (sd * Math.sqrt(1 - LATENESS_SHARE) * Math.sqrt(3)) / Math.PI,
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
    beginnings: steps.map(beginningOf),
    states,
    labels: [...new Set(states.map((state) => state.label))],
  };
  rings.set(group, ring);
  return ring;
}

/** Share of the way from the first to the second value, held in 0-1; undefined when the driver is not known. */
function way(value: number | undefined, [from, to]: readonly [number, number]): number | undefined {
  return value === undefined ? undefined : clamp((value - from) / (to - from), 0, 1);
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

/** Angle from `toDeg` to `fromDeg`, -180 up to 180. */
const signedDistance = (fromDeg: number, toDeg: number): number => wrapDegrees(fromDeg - toDeg + 180) - 180;

/**
 * Probability that a plant that has not begun the step at one season angle has begun it at a slightly later one:
 * 1 - S(later) / S(sooner), S logistic.
 */
export function beginningProbability(
  beginning: Beginning,
  lateness: number,
  shift: number,
  soonerDeg: number,
  aheadDeg: number,
): number {
  const middle = beginning.middleDeg + shift + lateness * beginning.latenessSdDeg;
  const sooner = signedDistance(soonerDeg, middle);
  const later = sooner + aheadDeg;
  const scale = beginning.scatterScaleDeg;
  if (later < -14 * scale) return 0;
  return 1 - (1 + Math.exp(sooner / scale)) / (1 + Math.exp(later / scale));
}

/** Longest stretch taken at once: short enough that nobody begins two steps in it. */
const LONGEST_STRETCH_DEG = 1.5;

/**
 * Moves the weights of states × lateness along the season, in place.
 * @param aheadDeg degrees to go, at least 0
 */
export function advanceWeights(
  ring: Ring,
  weights: Float64Array,
  fromDeg: number,
  aheadDeg: number,
  drivers: CycleDrivers,
): void {
  const parts = Math.max(1, Math.ceil(aheadDeg / LONGEST_STRETCH_DEG));
  const stretch = aheadDeg / parts;
  const grid = LATENESS.length;
  const shifts = ring.steps.map((step) => shiftDeg(step, drivers));
  const chances = ring.steps.map((step) => chanceOf(step, drivers));
  const moved = new Float64Array(weights.length);
  for (let part = 0; part < parts; part += 1) {
    const angle = fromDeg + part * stretch;
    moved.fill(0);
    for (let s = 0; s < ring.states.length; s += 1) {
      const state = ring.states[s] as RingState;
      const next = (state.position + 1) % ring.steps.length;
      const beginning = ring.beginnings[next] as Beginning;
      const chance = chances[next] as number;
      for (let l = 0; l < grid; l += 1) {
        const weight = weights[s * grid + l] as number;
        if (weight < 1e-15) continue;
        const begun = beginningProbability(beginning, LATENESS[l] as number, shifts[next] as number, angle, stretch);
        const leaving = weight * begun;
        weights[s * grid + l] = weight - leaving;
        const taken = state.taken * grid + l;
        if (state.skipped === undefined) moved[taken] = (moved[taken] as number) + leaving;
        else {
          const skipped = state.skipped * grid + l;
          moved[taken] = (moved[taken] as number) + leaving * chance;
          moved[skipped] = (moved[skipped] as number) + leaving * (1 - chance);
        }
      }
    }
    for (let i = 0; i < weights.length; i += 1) weights[i] = (weights[i] as number) + (moved[i] as number);
  }
}

const calendars = new WeakMap<SpeciesGroup, readonly Float64Array[]>();

/** What the calendar alone says at a season angle: the chain after a year without any sign or driver. */
export function calendarWeights(group: SpeciesGroup, seasonAngleDeg: number): Float64Array {
  let table = calendars.get(group);
  if (!table) {
    const ring = ringOf(group);
    const weights = new Float64Array(ring.states.length * LATENESS.length);
    // Any start will do: a year brings everybody round. State 0 is a step nobody skips.
    const start = ring.states[0] as RingState;
    const from = (ring.beginnings[start.position] as Beginning).middleDeg;
    LATENESS_WEIGHTS.forEach((weight, l) => {
      weights[l] = weight;
    });
    const rounded = Math.ceil(from);
    advanceWeights(ring, weights, from, rounded - from + 360, {});
    const degrees: Float64Array[] = new Array(360);
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
  const low = table[below] as Float64Array;
  const high = table[(below + 1) % 360] as Float64Array;
  return low.map((weight, i) => weight + share * ((high[i] as number) - weight));
}
