import { describe, expect, it } from 'vitest';
import { LeafturnError, problemLine } from '../../src/domain/errors.js';
import { fullPotWater, type PotWaterState, potCapacities, stepPotWater } from '../../src/models/pot-water.js';
import { type DryDown, fitMix } from '../../src/models/weighing.js';
import { usualPot } from './catalogue.js';

/** A dry-down of a known pot without a plant, weighed to a tenth of a gram. */
function dryDown(change: { readilyEvaporableMm?: number; topFactor?: number; noiseG?: number } = {}): DryDown {
  const setup = usualPot({ coverFraction: 0 });
  const pot = { ...potCapacities(setup), ...change };
  const dryWeightG = 260;
  const drainedWeightG = dryWeightG + pot.totalEvaporableMm * pot.mlPerMm;
  const demand = [2.1, 2.6, 1.4, 0.9, 2.4, 2.8, 2.2, 1.9, 2.5, 2.3];
  let state: PotWaterState = { ...fullPotWater(pot), spreadMm: 0 };
  const weighings = demand.map((referenceEtMm, i) => {
    for (let part = 0; part < 4; part += 1)
      state = stepPotWater(pot, state, { hours: 6, referenceEtMm: referenceEtMm / 4, basalCoefficient: 0 });
    const noise = (change.noiseG ?? 0) * (i % 2 === 0 ? 1 : -1);
    return { weightG: drainedWeightG - state.depletionMm * pot.mlPerMm + noise, referenceEtMm };
  });
  return { pot: setup.pot, mix: setup.mix, dryWeightG, drainedWeightG, weighings };
}

describe('fitting a mix', () => {
  it('finds the pot it was made from', () => {
    const pot = potCapacities(usualPot());
    const fitted = fitMix(dryDown());
    expect(fitted.thetaContainerCapacity).toBeCloseTo(pot.thetaContainerCapacity, 2);
    expect(fitted.readilyEvaporableMm).toBeCloseTo(3, 1);
    expect(fitted.surfaceFactor).toBeCloseTo(0.6, 1);
    expect(fitted.misfitMm).toBeLessThan(0.02);
  });
  it('tells a bare pot from a grit-topped one, and a freely evaporating mix from a holding one', () => {
    expect(fitMix(dryDown({ topFactor: 1 })).surfaceFactor).toBeCloseTo(1, 1);
    expect(fitMix(dryDown({ readilyEvaporableMm: 5 })).readilyEvaporableMm).toBeGreaterThan(
      fitMix(dryDown({ readilyEvaporableMm: 2 })).readilyEvaporableMm + 1.5,
    );
  });
  it('bears half a gram of weighing error and says how far it is off', () => {
    const fitted = fitMix(dryDown({ noiseG: 0.5 }));
    expect(Math.abs(fitted.surfaceFactor - 0.6)).toBeLessThan(0.12);
    expect(fitted.misfitMm).toBeGreaterThan(0.05);
    expect(fitted.misfitMm).toBeLessThan(0.2);
  });
  it('refuses what cannot be a dry-down, naming every weighing', () => {
    const good = dryDown();
    const lines = (bad: DryDown): string[] => {
      try {
        fitMix(bad);
        return [];
      } catch (error) {
        return error instanceof LeafturnError ? error.problems.map(problemLine) : [];
      }
    };
    expect(lines({ ...good, drainedWeightG: 200 })[0]).toMatch(/drainedWeightG: expected more than the dry weight/);
    expect(lines({ ...good, weighings: good.weighings.slice(0, 3) })).toEqual([
      'weighings: expected at least 5 daily weighings, got 3.',
    ]);
    const watered = good.weighings.map((weighing, i) => (i === 4 ? { ...weighing, weightG: 400 } : weighing));
    expect(lines({ ...good, weighings: watered })[0]).toMatch(/weighings\[4\]\.weightG.*was watered/);
    const still = good.weighings.map((weighing) => ({ ...weighing, referenceEtMm: 0 }));
    expect(lines({ ...good, weighings: still })).toEqual([
      'weighings: expected some evaporation over the days, got 0 mm.',
    ]);
    expect(lines({ ...good, dryWeightG: Number.NaN }).length).toBeGreaterThan(0);
  });
});
