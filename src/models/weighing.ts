/**
 * Fits a mix to a pot that was soaked, drained and weighed daily while it dried: what it holds, how long it evaporates
 * freely, and how much the surface gives off. Replaces the catalogue's starting values by the grower's own.
 */
import type { Mix, Pot } from '../domain/catalogue.js';
import { LeafturnError, type Problem } from '../domain/errors.js';
import { lossPerReferenceMm, type PotCapacities } from './pot-water.js';

export interface Weighing {
  /** Weight at the end of the day, g. */
  readonly weightG: number;
  /** Reference evaporation under the cover since the weighing before (or since draining), mm. */
  readonly referenceEtMm: number;
}

export interface DryDown {
  readonly pot: Pot;
  /** The mix as the catalogue has it: keeps the share of water plants cannot take. */
  readonly mix: Mix;
  /** The pot after long dryness, g. */
  readonly dryWeightG: number;
  /** The same pot soaked and drained for an hour, g. */
  readonly drainedWeightG: number;
  /** Daily weighings after that, in order; a week or more is best. */
  readonly weighings: readonly Weighing[];
}

export interface FittedMix {
  /** Volumetric water content after draining, in this pot's depth. */
  readonly thetaContainerCapacity: number;
  readonly thetaLowerLimit: number;
  readonly readilyEvaporableMm: number;
  /** What top dressing and pot wall make of the evaporation of a bare plastic pot. */
  readonly surfaceFactor: number;
  /** Root mean square difference between weighed and fitted depletion, mm. */
  readonly misfitMm: number;
}

const FEWEST_WEIGHINGS = 5;
/** Share of the lower limit left in an air-dry mix: half of a wilting point at 0.6 of the lower limit, as in the pot model. */
const AIR_DRY_PART = 0.3;

/**
 * Held water = (drained - dry) / surface; the rest by least squares over readily evaporable water and surface factor, on a
 * grid that is halved ten times.
 * @throws LeafturnError naming every weighing that cannot be right
 */
export function fitMix(dryDown: DryDown): FittedMix {
  refuseImpossible(dryDown);
  const mmPerG = 10 / dryDown.pot.areaCm2;
  const heldMm = (dryDown.drainedWeightG - dryDown.dryWeightG) * mmPerG;
  const depthM = dryDown.pot.depthCm / 100;
  const shareBelowLimit = dryDown.mix.thetaLowerLimit / dryDown.mix.thetaContainerCapacity;
  // Bone dry still holds 0.3 of the lower limit: θcc (1 - 0.3 share) z = held water.
  const theta = heldMm / (1000 * depthM * (1 - AIR_DRY_PART * shareBelowLimit));
  const bare: Omit<PotCapacities, 'readilyEvaporableMm' | 'topFactor'> = {
    thetaContainerCapacity: theta,
    depthM,
    totalAvailableMm: 1000 * theta * (1 - shareBelowLimit) * depthM,
    totalEvaporableMm: heldMm,
    dryAtMm: heldMm,
    mlPerMm: 1 / mmPerG,
    lightDrinkMm: 1,
    // A pot for weighing has no plant, or one so small that the surface decides.
    coverFraction: 0,
    wallFactor: 1,
  };
  const measured = dryDown.weighings.map((weighing) => (dryDown.drainedWeightG - weighing.weightG) * mmPerG);
  const misfitOf = (readilyEvaporableMm: number, topFactor: number): number => {
    const pot: PotCapacities = { ...bare, readilyEvaporableMm, topFactor };
    let depletion = 0;
    const squares = dryDown.weighings.map((weighing, i) => {
      // Quarter days: a day of strong sun dries a small pot by more than one straight line can follow.
      for (let part = 0; part < 4; part += 1) {
        const loss = (lossPerReferenceMm(pot, depletion, 0) * weighing.referenceEtMm) / 4;
        depletion = Math.min(depletion + loss, heldMm);
      }
      return (depletion - (measured[i] as number)) ** 2;
    });
    return Math.sqrt(squares.reduce((sum, square) => sum + square, 0) / squares.length);
  };
  const best = narrowedGrid([0.02 * heldMm, 0.8 * heldMm], [0.1, 3], misfitOf);
  return {
    thetaContainerCapacity: theta,
    thetaLowerLimit: theta * shareBelowLimit,
    readilyEvaporableMm: best.first,
    surfaceFactor: best.second,
    misfitMm: best.misfit,
  };
}

type Span = readonly [number, number];

function narrowedGrid(firstSpan: Span, secondSpan: Span, misfitOf: (first: number, second: number) => number) {
  const points = 21;
  let best = { first: firstSpan[0], second: secondSpan[0], misfit: Number.POSITIVE_INFINITY };
  let spans: [Span, Span] = [firstSpan, secondSpan];
  for (let round = 0; round < 10; round += 1) {
    const [[firstLow, firstHigh], [secondLow, secondHigh]] = spans;
    for (let i = 0; i < points; i += 1)
      for (let j = 0; j < points; j += 1) {
        const first = firstLow + ((firstHigh - firstLow) * i) / (points - 1);
        const second = secondLow + ((secondHigh - secondLow) * j) / (points - 1);
        const misfit = misfitOf(first, second);
        if (misfit < best.misfit) best = { first, second, misfit };
      }
    const around = (centre: number, [low, high]: Span, [least, most]: Span): Span => {
      // Half of the span at each round: the two trade against each other, and the best point lies on a slanting ridge.
      const half = (high - low) / 4;
      return [Math.max(least, centre - half), Math.min(most, centre + half)];
    };
    spans = [around(best.first, spans[0], firstSpan), around(best.second, spans[1], secondSpan)];
  }
  return best;
}

function refuseImpossible({ dryWeightG, drainedWeightG, weighings }: DryDown): void {
  const problems: Problem[] = [];
  const add = (path: string, expected: string, got: unknown, mend?: string): void => {
    problems.push({ path, expected, got: String(got), ...(mend && { mend }) });
  };
  if (!(dryWeightG > 0)) add('dryWeightG', 'a weight above 0 g', dryWeightG);
  if (!(drainedWeightG > dryWeightG))
    add(
      'drainedWeightG',
      `more than the dry weight (${dryWeightG} g)`,
      drainedWeightG,
      'Weigh once after long dryness, and once an hour after a soak.',
    );
  if (weighings.length < FEWEST_WEIGHINGS)
    add('weighings', `at least ${FEWEST_WEIGHINGS} daily weighings`, weighings.length);
  for (const [i, weighing] of weighings.entries()) {
    const before = i === 0 ? drainedWeightG : weighings[i - 1]?.weightG;
    if (!(weighing.weightG >= dryWeightG * 0.98 && weighing.weightG <= (before ?? 0) * 1.01))
      add(
        `weighings[${i}].weightG`,
        `between the dry weight (${dryWeightG} g) and the weighing before (${before} g)`,
        weighing.weightG,
        'A pot that gains weight was watered: weigh again from a new soak.',
      );
    if (!(weighing.referenceEtMm >= 0))
      add(`weighings[${i}].referenceEtMm`, 'evaporation of at least 0 mm', weighing.referenceEtMm);
  }
  if (weighings.length > 0 && !(weighings.reduce((sum, weighing) => sum + weighing.referenceEtMm, 0) > 0))
    add('weighings', 'some evaporation over the days', '0 mm');
  if (problems.length > 0) throw new LeafturnError('invalid-input', 'These weighings cannot be fitted.', problems);
}
