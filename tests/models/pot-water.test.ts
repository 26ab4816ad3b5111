import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { catalogueEntry } from '../../src/domain/catalogue.js';
import {
  daysToDry,
  depletionShare,
  depthFactor,
  drinkMm,
  fullPotWater,
  isPotDry,
  mlFromMm,
  mmFromMl,
  observeDepletion,
  observeMoisture,
  observeNote,
  observeWeight,
  type PotCapacities,
  type PotWaterState,
  potCapacities,
  probabilityPotDry,
  stepPotWater,
  unknownPotWater,
} from '../../src/models/pot-water.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { catalogue, usualPot } from './catalogue.js';

const pot = potCapacities(usualPot());
const day = (referenceEtMm: number, waterMm = 0) => ({ hours: 24, referenceEtMm, basalCoefficient: 0.08, waterMm });

const sixCentimetres = (mixId: string, change: Partial<PotCapacities> = {}): PotCapacities => {
  const capacities = potCapacities(
    usualPot({
      mix: { ...catalogueEntry('mix', catalogue.mixes, mixId), mineral: false },
      pot: { ...usualPot().pot, depthCm: 6 },
    }),
  );
  return { ...capacities, ...change };
};

describe('what a pot holds', () => {
  it('6 cm of 80:20 mix: TAW 10.2, TEW 13.1 mm; pure mineral: 7.2 and 9.7 (FAO-56 Eq. 73 and 82 by hand)', () => {
    expect(sixCentimetres('mineral-80-20')).toMatchObject({
      totalAvailableMm: expect.closeTo(10.2, 6),
      totalEvaporableMm: expect.closeTo(13.14, 6),
    });
    expect(sixCentimetres('pure-mineral')).toMatchObject({
      totalAvailableMm: expect.closeTo(7.2, 6),
      totalEvaporableMm: expect.closeTo(9.72, 6),
    });
  });
  it('follows the depth table between its entries and holds it beyond them', () => {
    const table = catalogue.mineralDepthFactors;
    expect(depthFactor(7, table)).toBe(1);
    expect(depthFactor(9, table)).toBeCloseTo(0.93, 10);
    expect(depthFactor(2, table)).toBe(1.2);
    expect(depthFactor(30, table)).toBe(0.86);
  });
  it('turns mm into mL by the surface: 4.5 mL per mm on 45 cm²', () => {
    expect(mlFromMm(pot, 1.5)).toBeCloseTo(6.75, 10);
    expect(mmFromMl(pot, 6.75)).toBeCloseTo(1.5, 10);
  });
});

describe('days from full to dry (computed table: REW 3, Kcb 0.08, cover 0.3, depth 6 cm, dry at 85 % of TAW)', () => {
  const columns = {
    'mineral-80-20, grit top': sixCentimetres('mineral-80-20'),
    'mineral-80-20, bare': sixCentimetres('mineral-80-20', { topFactor: 1 }),
    'pure-mineral, grit top': sixCentimetres('pure-mineral'),
    'mineral-80-20 in clay': sixCentimetres('mineral-80-20', { wallFactor: 1.6 }),
  };
  const table: [number, number[]][] = [
    [0.55, [31, 19, 21, 19]],
    [1.32, [13, 8, 9, 8]],
    [2.42, [7, 5, 5, 5]],
    [4.07, [4, 3, 3, 3]],
    [5.36, [3, 2, 2, 2]],
  ];
  it.each(table)('reference evaporation %d mm a day', (et, expected) => {
    const days = Object.values(columns).map((capacities) => {
      let state: PotWaterState = fullPotWater(capacities);
      let count = 0;
      while (!isPotDry(capacities, state)) {
        state = stepPotWater(capacities, state, day(et));
        count += 1;
      }
      return count;
    });
    expect(days).toEqual(expected);
  });
});

describe('a step', () => {
  it('gives water first, then takes the loss, and drains what does not fit', () => {
    const dry = { depletionMm: 8, spreadMm: 0.1, dryDays: 4 };
    const after = stepPotWater(pot, dry, day(2, 10));
    // 10 mm on 8 mm gone: 2 mm drain, and a little more because the drink itself is known to 15 % only.
    expect(after.drainageMm).toBeGreaterThan(2);
    expect(after.drainageMm).toBeLessThan(2.1);
    expect(after.depletionMm).toBeCloseTo(dry.depletionMm - 10 + after.drainageMm + after.lossMm, 10);
    expect(after.dryDays).toBe(0);
  });
  it('counts dry days from the hour the limit is passed, over days of 23 and 25 hours', () => {
    let state: PotWaterState = { depletionMm: pot.dryAtMm, spreadMm: 0.5, dryDays: 0 };
    for (const hours of [24, 23, 25]) state = stepPotWater(pot, state, { ...day(0.2), hours });
    expect(state.dryDays).toBeCloseTo(3, 10);
    const passing = stepPotWater(pot, { depletionMm: pot.dryAtMm - 0.1, spreadMm: 0.5, dryDays: 0 }, day(2));
    expect(passing.dryDays).toBeGreaterThan(0);
    expect(passing.dryDays).toBeLessThan(1);
  });
  it('24 hourly steps end near one daily step', () => {
    let hourly: PotWaterState = { depletionMm: 2, spreadMm: 0.5, dryDays: 0 };
    for (let hour = 0; hour < 24; hour += 1)
      hourly = stepPotWater(pot, hourly, { hours: 1, referenceEtMm: 1.2 / 24, basalCoefficient: 0.08 });
    const daily = stepPotWater(pot, { depletionMm: 2, spreadMm: 0.5, dryDays: 0 }, day(1.2));
    expect(hourly.depletionMm).toBeCloseTo(daily.depletionMm, 1);
    expect(hourly.spreadMm).toBeCloseTo(daily.spreadMm, 1);
  });
  it('narrows the doubt as two pots that began apart come together', () => {
    // A wetter and a drier pot stepped side by side narrow as the spread does, once the error of the loss itself (a fifth of
    // it) is taken off.
    const apart = 0.01;
    for (const depletionMm of [1, 3.5, 5, 7.5]) {
      const drier = stepPotWater(pot, { depletionMm: depletionMm + apart, spreadMm: 0, dryDays: 0 }, day(0.5));
      const wetter = stepPotWater(pot, { depletionMm, spreadMm: 0, dryDays: 0 }, day(0.5));
      const narrowing = (drier.depletionMm - wetter.depletionMm) / apart;
      const doubted = stepPotWater(pot, { depletionMm, spreadMm: 2, dryDays: 0 }, day(0.5));
      expect((doubted.spreadMm - 0.2 * doubted.lossMm) / 2, `at ${depletionMm} mm`).toBeCloseTo(narrowing, 3);
    }
  });
  it('refuses NaN, a step without length and negative water', () => {
    const state = fullPotWater(pot);
    expect(() => stepPotWater(pot, state, day(Number.NaN))).toThrow(PhysicsRangeError);
    expect(() => stepPotWater(pot, state, { ...day(1), hours: 0 })).toThrow(/hours/);
    expect(() => stepPotWater(pot, state, day(1, -2))).toThrow(/waterMm/);
  });
  it('keeps the depletion between full and bone dry, and wetter in stays wetter out', () => {
    const step = fc.record({
      et: fc.double({ min: 0, max: 8, noNaN: true }),
      water: fc.double({ min: 0, max: 15, noNaN: true }),
    });
    fc.assert(
      fc.property(
        fc.array(step, { minLength: 1, maxLength: 60 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (steps, share) => {
          let wetter: PotWaterState = { depletionMm: share * 4, spreadMm: 1, dryDays: 0 };
          let drier: PotWaterState = { depletionMm: share * 4 + 3, spreadMm: 1, dryDays: 0 };
          for (const { et, water } of steps) {
            wetter = stepPotWater(pot, wetter, day(et, water));
            drier = stepPotWater(pot, drier, day(et, water));
            for (const state of [wetter, drier]) {
              expect(state.depletionMm).toBeGreaterThanOrEqual(0);
              expect(state.depletionMm).toBeLessThanOrEqual(pot.totalEvaporableMm + 1e-9);
              expect(state.spreadMm).toBeGreaterThanOrEqual(0);
            }
            // A day of more than 5 mm can carry the wetter pot a little past the drier one: one step is a straight line.
            expect(wetter.depletionMm).toBeLessThanOrEqual(drier.depletionMm + 0.5);
          }
        },
      ),
    );
  });
});

describe('drinks', () => {
  it('a light one is 1.5 mm, a full one refills with a tenth to drain, none is none', () => {
    const state = { depletionMm: 8, spreadMm: 1, dryDays: 2 };
    expect(drinkMm(pot, state, 'none')).toBe(0);
    expect(drinkMm(pot, state, 'light')).toBe(1.5);
    expect(drinkMm(pot, state, 'full')).toBeCloseTo(8.8, 10);
    expect(mlFromMm(pot, drinkMm(pot, state, 'light'))).toBeCloseTo(6.75, 10);
  });
});

describe('what sensors and people say', () => {
  const believed: PotWaterState = { depletionMm: 5, spreadMm: 2, dryDays: 0 };
  it('a measurement pulls by its share of the doubt and narrows it (Kalman by hand: gain 4/5)', () => {
    const after = observeDepletion(pot, believed, 8, 1);
    expect(after.depletionMm).toBeCloseTo(7.4, 10);
    expect(after.spreadMm).toBeCloseTo(Math.sqrt(0.8), 10);
  });
  it('moisture and weight are read as depletion', () => {
    const moisturePct = (pot.thetaContainerCapacity - 0.08) * 100;
    const eightPercent = observeMoisture(pot, { ...believed, spreadMm: 1000 }, moisturePct);
    expect(eightPercent.depletionMm).toBeCloseTo(0.08 * 1000 * pot.depthM, 2);
    const lighter = observeWeight(pot, { ...believed, spreadMm: 1000 }, 300 - 27, 300);
    expect(lighter.depletionMm).toBeCloseTo(27 / 4.5, 2);
  });
  it('"looked dry" moves a pot believed moist towards dry and hardly moves one known to be dry', () => {
    const moved = observeNote(pot, believed, 'looked-dry');
    expect(moved.depletionMm).toBeGreaterThan(believed.depletionMm);
    expect(moved.spreadMm).toBeLessThan(believed.spreadMm);
    const surelyDry = { depletionMm: pot.totalAvailableMm, spreadMm: 0.3, dryDays: 9 };
    expect(observeNote(pot, surelyDry, 'looked-dry').depletionMm).toBeCloseTo(pot.totalAvailableMm, 1);
    expect(observeNote(pot, surelyDry, 'looked-dry').dryDays).toBe(9);
  });
  it('"still moist" moves the other way, and a second note less than the first', () => {
    const dry = { depletionMm: pot.totalAvailableMm, spreadMm: 2, dryDays: 3 };
    const once = observeNote(pot, dry, 'still-moist');
    const twice = observeNote(pot, once, 'still-moist');
    expect(once.depletionMm).toBeLessThan(dry.depletionMm);
    expect(once.depletionMm - twice.depletionMm).toBeLessThan(dry.depletionMm - once.depletionMm);
    expect(twice.dryDays).toBe(0);
  });
  it('never leaves the pot or makes the spread grow, whatever is said', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 12, noNaN: true }),
        fc.double({ min: 0.01, max: 6, noNaN: true }),
        fc.constantFrom('looked-dry' as const, 'still-moist' as const),
        (depletionMm, spreadMm, note) => {
          const after = observeNote(pot, { depletionMm, spreadMm, dryDays: 1 }, note);
          expect(after.depletionMm).toBeGreaterThanOrEqual(0);
          expect(after.depletionMm).toBeLessThanOrEqual(pot.totalEvaporableMm);
          expect(after.spreadMm).toBeLessThanOrEqual(Math.max(spreadMm, 0.03 * pot.totalAvailableMm) + 1e-9);
        },
      ),
    );
  });
  it('a pot of which nothing is known is as likely moist as dry, and a drink settles it', () => {
    const unknown = unknownPotWater(pot);
    expect(probabilityPotDry(pot, unknown)).toBeGreaterThan(0.2);
    expect(probabilityPotDry(pot, unknown)).toBeLessThan(0.8);
    const soaked = stepPotWater(pot, unknown, day(0, 30));
    expect(soaked.depletionMm).toBeLessThan(0.1);
    expect(soaked.spreadMm).toBeLessThan(0.5);
    expect(probabilityPotDry(pot, soaked)).toBeLessThan(0.001);
  });
});

describe('days to dry', () => {
  it('agrees with stepping day by day, and brackets it', () => {
    let state: PotWaterState = fullPotWater(pot);
    let count = 0;
    while (!isPotDry(pot, state)) {
      state = stepPotWater(pot, state, day(1.3));
      count += 1;
    }
    const ahead = daysToDry(pot, fullPotWater(pot), [1.3, 1.3], 0.08);
    expect(Math.ceil(ahead?.days as number)).toBe(count);
    expect(ahead?.early).toBeLessThan(ahead?.days as number);
    expect(ahead?.late).toBeGreaterThan(ahead?.days as number);
  });
  it('is 0 for a dry pot, undefined without a forecast, and open-ended in a house without evaporation', () => {
    expect(daysToDry(pot, { depletionMm: 12, spreadMm: 0.1, dryDays: 3 }, [2], 0.08)?.days).toBe(0);
    expect(daysToDry(pot, fullPotWater(pot), [], 0.08)).toBeUndefined();
    expect(daysToDry(pot, fullPotWater(pot), [0], 0.08)?.days).toBeUndefined();
  });
  it('a hotter forecast never makes it later', () => {
    const et = fc.array(fc.double({ min: 0.1, max: 6, noNaN: true }), { minLength: 1, maxLength: 7 });
    fc.assert(
      fc.property(et, fc.double({ min: 1, max: 2, noNaN: true }), (days, hotter) => {
        const cool = daysToDry(pot, fullPotWater(pot), days, 0.08)?.days ?? 1e9;
        const hot =
          daysToDry(
            pot,
            fullPotWater(pot),
            days.map((value) => value * hotter),
            0.08,
          )?.days ?? 1e9;
        expect(hot).toBeLessThanOrEqual(cool + 1);
      }),
    );
  });
  it('share of the available water gone stays between 0 and 1', () => {
    expect(depletionShare(pot, { depletionMm: 99, spreadMm: 1, dryDays: 0 })).toBe(1);
    expect(depletionShare(pot, fullPotWater(pot))).toBe(0);
  });
});
