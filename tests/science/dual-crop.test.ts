import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type EvaporationDay,
  evaporationLayerDay,
  evaporationReduction,
  maximumCropCoefficient,
  totalAvailableWaterMm,
  totalEvaporableWaterMm,
  waterStressCoefficient,
} from '../../src/science/dual-crop.js';
import { PhysicsRangeError } from '../../src/science/guards.js';

const day = fc.record({
  depletionMm: fc.double({ min: 0, max: 18, noNaN: true }),
  wettingMm: fc.double({ min: 0, max: 60, noNaN: true }),
  referenceEtMm: fc.double({ min: 0, max: 12, noNaN: true }),
  maximumCoefficient: fc.double({ min: 1, max: 1.3, noNaN: true }),
  basalCoefficient: fc.double({ min: 0, max: 0.95, noNaN: true }),
  exposedWetted: fc.double({ min: 0, max: 1, noNaN: true }),
  totalEvaporableMm: fc.constant(18),
  readilyEvaporableMm: fc.constant(8),
});

describe('surface layer', () => {
  it('keeps its water: what came in is stored, drained or evaporated', () => {
    fc.assert(
      fc.property(day, (input: EvaporationDay) => {
        const result = evaporationLayerDay(input);
        const stored = input.depletionMm - result.depletionEndMm;
        expect(input.wettingMm).toBeCloseTo(stored + result.drainageMm + result.evaporationMm, 9);
        expect(result.depletionEndMm).toBeGreaterThanOrEqual(0);
        expect(result.depletionEndMm).toBeLessThanOrEqual(18);
        expect(result.evaporationMm).toBeGreaterThanOrEqual(0);
        expect(input.basalCoefficient + result.coefficient).toBeLessThanOrEqual(input.maximumCoefficient + 1e-12);
      }),
    );
  });

  it('a wetter start never evaporates less, and dries to no less water', () => {
    fc.assert(
      fc.property(day, fc.double({ min: 0, max: 5, noNaN: true }), (input: EvaporationDay, more) => {
        const dry = evaporationLayerDay(input);
        const wet = evaporationLayerDay({ ...input, wettingMm: input.wettingMm + more });
        expect(wet.evaporationMm).toBeGreaterThanOrEqual(dry.evaporationMm - 1e-9);
        expect(wet.reduction).toBeGreaterThanOrEqual(dry.reduction);
      }),
    );
  });
});

describe('coefficients', () => {
  it('reduction and stress run from one to zero and never turn back', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 30, noNaN: true }), (depletion) => {
        const reduction = evaporationReduction(depletion, 18, 8);
        const stress = waterStressCoefficient(depletion, 18, 0.5);
        for (const value of [reduction, stress]) {
          expect(value).toBeGreaterThanOrEqual(0);
          expect(value).toBeLessThanOrEqual(1);
        }
        expect(evaporationReduction(depletion + 1, 18, 8)).toBeLessThanOrEqual(reduction);
        expect(waterStressCoefficient(depletion + 1, 18, 0.5)).toBeLessThanOrEqual(stress);
      }),
    );
    expect(evaporationReduction(8, 18, 8)).toBe(1);
    expect(evaporationReduction(18, 18, 8)).toBe(0);
    expect(waterStressCoefficient(9, 18, 0.5)).toBe(1);
  });

  it('the upper limit rises with wind and dry air and is never below the plant by less than 0.05', () => {
    expect(maximumCropCoefficient(0.3, 3, 30, 1)).toBeGreaterThan(maximumCropCoefficient(0.3, 2, 30, 1));
    expect(maximumCropCoefficient(0.3, 2, 30, 1)).toBeGreaterThan(maximumCropCoefficient(0.3, 2, 60, 1));
    expect(maximumCropCoefficient(1.4, 2, 45, 1)).toBeCloseTo(1.45, 12);
  });

  it('more evaporable than available water: the surface dries below the wilting point', () => {
    expect(totalEvaporableWaterMm(0.2, 0.08, 0.1)).toBeGreaterThan(totalAvailableWaterMm(0.2, 0.08, 0.1));
  });
});

describe('refusals', () => {
  it('NaN and impossible soils are refused with a named error', () => {
    const good: EvaporationDay = {
      depletionMm: 5,
      wettingMm: 0,
      referenceEtMm: 3,
      maximumCoefficient: 1.2,
      basalCoefficient: 0.3,
      exposedWetted: 0.8,
      totalEvaporableMm: 18,
      readilyEvaporableMm: 8,
    };
    for (const key of Object.keys(good)) {
      expect(() => evaporationLayerDay({ ...good, [key]: Number.NaN }), key).toThrow(PhysicsRangeError);
    }
    expect(() => totalEvaporableWaterMm(0.1, 0.2, 0.1)).toThrow(PhysicsRangeError);
    expect(() => evaporationReduction(1, 8, 8)).toThrow(PhysicsRangeError);
    expect(() => waterStressCoefficient(1, 0, 0.5)).toThrow(PhysicsRangeError);
  });
});
