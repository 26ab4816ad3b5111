import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  correctedMaximum,
  type ForecastCase,
  learnOutcome,
  type PlaceCorrection,
  type SharedCorrection,
  startPlaceCorrection,
  startSharedCorrection,
  usualPredictors,
} from '../../../src/app/backtest/maximum-correction.js';
import { PhysicsRangeError } from '../../../src/science/guards.js';

const PACE = { forgetting: 1, placeDrift: 0.001 };
const caseOf = (forecastC: number): ForecastCase => ({ forecastC, predictors: [1] });

interface World {
  shared: SharedCorrection;
  places: Map<string, PlaceCorrection>;
}
const newWorld = (): World => ({ shared: startSharedCorrection(1), places: new Map() });
function learn(world: World, place: string, forecastC: number, observedC: number): void {
  const before = world.places.get(place) ?? startPlaceCorrection();
  const learned = learnOutcome(world.shared, before, caseOf(forecastC), observedC, PACE);
  world.shared = learned.shared;
  world.places.set(place, learned.place);
}
const told = (world: World, place: string, forecastC: number) =>
  correctedMaximum(world.shared, world.places.get(place) ?? startPlaceCorrection(), caseOf(forecastC));

describe('a corrected maximum', () => {
  it('begins as the forecast itself, with the spread of a day-ahead forecast', () => {
    expect(told(newWorld(), 'a', 24)).toEqual({ meanC: 24, spreadC: Math.sqrt(3) });
  });

  it('what all places share is told to a new place too; what one place has stays its own', () => {
    const world = newWorld();
    for (let day = 0; day < 200; day += 1)
      for (const [place, offsetC] of [
        ['a', -1],
        ['b', -1],
        ['c', -1],
        ['hollow', 1],
      ] as const)
        learn(world, place, 20 + (day % 7), 20 + (day % 7) + offsetC);
    expect(told(world, 'a', 20).meanC).toBeCloseTo(19, 0);
    expect(told(world, 'hollow', 20).meanC).toBeGreaterThan(20.5);
    // The mean of the four is -0.5: that is all a fifth place may be told.
    const unknown = told(world, 'new', 20).meanC;
    expect(unknown).toBeGreaterThan(19);
    expect(unknown).toBeLessThan(20);
  });

  it('a single outcome moves a place by less than a fifth of its error, and a mistyped one by no more than one of 8 °C', () => {
    const world = newWorld();
    learn(world, 'a', 20, 22);
    expect(told(world, 'a', 20).meanC - 20).toBeGreaterThan(0);
    expect(told(world, 'a', 20).meanC - 20).toBeLessThan(0.4);
    const [eight, mistyped] = [newWorld(), newWorld()];
    learn(eight, 'a', 20, 28);
    learn(mistyped, 'a', 20, 82);
    expect(told(mistyped, 'a', 20)).toEqual(told(eight, 'a', 20));
  });

  it('the spread follows the size of the errors', () => {
    const [calm, rough] = [newWorld(), newWorld()];
    for (let day = 0; day < 300; day += 1) {
      const sign = day % 2 === 0 ? 1 : -1;
      learn(calm, 'a', 20, 20 + 0.5 * sign);
      learn(rough, 'a', 20, 20 + 3 * sign);
    }
    // Half own (0.5 and 3 °C by then), half shared, which hardly moves with one place's 300 outcomes.
    expect(told(calm, 'a', 20).spreadC).toBeLessThan(1.3);
    expect(told(rough, 'a', 20).spreadC).toBeGreaterThan(2);
  });

  it('learning leaves the given state as it is, and never gives NaN', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.double({ min: -40, max: 50, noNaN: true }),
            fc.double({ min: -40, max: 50, noNaN: true }),
            fc.constantFrom('a', 'b'),
          ),
          { maxLength: 40 },
        ),
        (days) => {
          const world = newWorld();
          for (const [forecastC, observedC, place] of days) {
            const before = JSON.stringify(world.shared);
            learnOutcome(world.shared, startPlaceCorrection(), caseOf(forecastC), observedC, PACE);
            expect(JSON.stringify(world.shared)).toBe(before);
            learn(world, place, forecastC, observedC);
            const { meanC, spreadC } = told(world, place, forecastC);
            expect(Math.abs(meanC - forecastC)).toBeLessThanOrEqual(12);
            expect(spreadC).toBeGreaterThan(0);
          }
        },
      ),
    );
  });

  it('catches NaN and another number of predictors', () => {
    const [shared, place] = [startSharedCorrection(1), startPlaceCorrection()];
    expect(() => correctedMaximum(shared, place, caseOf(Number.NaN))).toThrow(PhysicsRangeError);
    expect(() => correctedMaximum(shared, place, { forecastC: 20, predictors: [1, 2] })).toThrow(PhysicsRangeError);
    expect(() => learnOutcome(shared, place, caseOf(20), Number.NaN, PACE)).toThrow(PhysicsRangeError);
  });
});

describe('usual predictors', () => {
  it('what is not known pulls neither way', () => {
    expect(usualPredictors({ forecastC: 15 })).toEqual([1, 0, 0, 0, 0, 0, 0]);
  });

  it('say season, change, leap, last error and warmth, each bounded', () => {
    const known = { forecastC: 25, earlierForecastC: 23, lastObservedC: 20, lastErrorC: -1.5, yearShare: 0.25 };
    const [one, sine, cosine, change, leap, error, warmth] = usualPredictors(known);
    expect([one, change, leap, error, warmth]).toEqual([1, 2, 1, -1.5, 1]);
    expect(sine).toBeCloseTo(1, 12);
    expect(cosine).toBeCloseTo(0, 12);
    expect(usualPredictors({ forecastC: 25, earlierForecastC: -20, lastObservedC: -20, lastErrorC: 40 })).toEqual([
      1, 0, 0, 6, 2, 4, 1,
    ]);
  });

  it('catch NaN', () => {
    expect(() => usualPredictors({ forecastC: Number.NaN })).toThrow(PhysicsRangeError);
    expect(() => usualPredictors({ forecastC: 20, lastErrorC: Number.NaN })).toThrow(PhysicsRangeError);
    expect(() => usualPredictors({ forecastC: 20, yearShare: Number.NaN })).toThrow(PhysicsRangeError);
  });
});
