import type { CycleStep, SpeciesGroup } from '../../src/domain/catalogue.js';
import { newPairSchema, PAIR_STATES } from '../../src/domain/plants.js';
import { type CycleLabel, ringOf } from '../../src/models/cycle-ring.js';
import { type SeenSigns, signLikelihoods } from '../../src/models/cycle-signs.js';

/**
 * Plants with a known year, written apart from the filter: it draws the day each step begins from the catalogue's windows
 * and never computes a belief. A window holds nine of ten beginnings; half of the variance is the plant's own lateness,
 * the same for every step of its year, the rest is logistic scatter.
 */
export type Random = () => number;

/** Small generator with a seed, so that a failure can be run again. Source: mulberry32, public domain. */
export function seeded(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

const normal = (random: Random): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());

export interface PlantYear {
  /** Label at a season angle counted on over the years, 360 to 1080. */
  labelAt(angleDeg: number): CycleLabel;
}

const nameOf = (step: CycleStep): CycleLabel => step.stage ?? (step.phase as CycleLabel);

/** Four years of a plant; the first is run in. */
export function simulatePlant(group: SpeciesGroup, random: Random): PlantYear {
  const steps = group.cycle.steps;
  const first = steps.findIndex((step) => !step.chance);
  const lateness = normal(random);
  const begun: { at: number; label: CycleLabel }[] = [];
  let middle = steps[first]?.begins[0] ?? 0;
  let before = Number.NEGATIVE_INFINITY;
  let label: CycleLabel = nameOf(steps[first] as CycleStep);
  for (let turn = 0; turn < steps.length * 4; turn += 1) {
    const step = steps[(first + turn) % steps.length] as CycleStep;
    const width = (step.begins[1] - step.begins[0] + 360) % 360;
    const centre = (step.begins[0] + width / 2) % 360;
    middle += turn === 0 ? width / 2 : (centre - (middle % 360) + 360) % 360;
    const sd = Math.max(6, width) / 3.29;
    const expected = middle + lateness * sd * Math.SQRT1_2;
    const scale = (sd * Math.SQRT1_2 * Math.sqrt(3)) / Math.PI;
    // A step cannot begin before the one before it: the logistic distribution is cut there.
    const gone = 1 / (1 + Math.exp(-(before - expected) / scale));
    const share = gone + (1 - gone) * random();
    const at =
      gone > 1 - 1e-9 ? before - scale * Math.log(1 - random()) : expected + scale * Math.log(share / (1 - share));
    before = Math.max(before, at);
    if (!step.chance || random() < step.chance.usual) label = nameOf(step);
    begun.push({ at: before, label });
  }
  return {
    labelAt: (angleDeg) => begun.findLast((entry) => entry.at <= angleDeg)?.label ?? label,
  };
}

function pick<T>(random: Random, options: readonly T[], weight: (option: T) => number): T {
  const weights = options.map(weight);
  let left = random() * weights.reduce((sum, value) => sum + value, 0);
  for (const [i, option] of options.entries()) {
    left -= weights[i] as number;
    if (left < 0) return option;
  }
  return options.at(-1) as T;
}

/** A look at a plant: the phase as a person names it (right 98 times of 100, else the one before or after it), or a sign with the frequency stated for it. */
export function look(group: SpeciesGroup, truth: CycleLabel, kind: 'phase' | 'sign', random: Random): SeenSigns {
  if (kind === 'phase') {
    const beside = [...(ringOf(group).neighbours.get(truth) ?? [])];
    const named = random() < 0.98 || beside.length === 0 ? truth : pick(random, beside, () => 1);
    return named === 'forming' || named === 'splitting' || named === 'papery'
      ? { phase: 'leaf-replacement', stage: named }
      : { phase: named };
  }
  const chance = (seen: SeenSigns): number => {
    const [likelihood] = Object.values(signLikelihoods(group, seen, truth));
    return likelihood ?? 1;
  };
  if (group.leafChange === 'sheath' && random() < 0.5) return { sheathed: random() < chance({ sheathed: true }) };
  if (group.leafChange === 'pair' || group.leafChange === 'sheath')
    return random() < 0.5
      ? { newPair: pick(random, newPairSchema.options, (newPair) => chance({ newPair })) }
      : { oldPair: pick(random, PAIR_STATES, (oldPair) => chance({ oldPair })) };
  // Nothing is reported of open tips: the look is then a second naming of the phase.
  return random() < chance({ signs: ['closed-tips'] })
    ? { signs: ['closed-tips'] }
    : look(group, truth, 'phase', random);
}
