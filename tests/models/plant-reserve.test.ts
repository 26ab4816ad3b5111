import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WATER_PHASES, type WaterPhase } from '../../src/domain/catalogue.js';
import { FIRMNESS } from '../../src/domain/plants.js';
import {
  expectedFirmness,
  observeFirmness,
  type PlantReserve,
  type ReserveInput,
  stepReserve,
  unknownReserve,
} from '../../src/models/plant-reserve.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { group } from './catalogue.js';

const lithops = group('lithops-summer-rain');
const echeveria = group('echeveria');
const plump: PlantReserve = { body: { share: 1, spread: 0.02 } };

function over(days: number, from: PlantReserve, input: Partial<ReserveInput> & { phase: WaterPhase }, of = lithops) {
  let reserve = from;
  for (let day = 0; day < days; day += 1)
    reserve = stepReserve(of, reserve, {
      days: 1,
      potDepletion: 1,
      dryDays: day,
      referenceEtMm: 2,
      ...input,
    });
  return reserve;
}

describe('filling and draining', () => {
  it('a shrunk plant recovers within three days of a drink in growth (what growers see)', () => {
    const shrunk: PlantReserve = { body: { share: 0.7, spread: 0.05 } };
    const after = over(3, shrunk, { phase: 'growing', potDepletion: 0, dryDays: 0 });
    expect(after.body.share).toBeGreaterThan(0.9);
    expect(expectedFirmness(after.body).firmness).toBe('firm');
  });
  it('hardly drinks at rest, however wet the pot', () => {
    const shrunk: PlantReserve = { body: { share: 0.7, spread: 0.05 } };
    const resting = over(3, shrunk, { phase: 'dormant-warm', potDepletion: 0, dryDays: 0 });
    expect(resting.body.share).toBeLessThan(0.8);
  });
  it('a stone plant at rest lasts months: soft after about four, not badly sunk after five', () => {
    expect(over(30, plump, { phase: 'dormant-cold' }).body.share).toBeGreaterThan(0.9);
    expect(over(150, plump, { phase: 'dormant-cold' }).body.share).toBeGreaterThan(0.55);
    expect(over(150, plump, { phase: 'dormant-cold' }).body.share).toBeLessThan(0.85);
  });
  it('thin leaves empty sooner than a thick pair', () => {
    const days = { phase: 'growing' as const };
    expect(over(30, plump, days, echeveria).body.share).toBeLessThan(over(30, plump, days, lithops).body.share);
  });
  it('loses no water it could drink: in a wet pot a plump plant stays plump', () => {
    expect(over(60, plump, { phase: 'growing', potDepletion: 0.1, dryDays: 0 }).body.share).toBeGreaterThan(0.97);
  });
});

describe('old pair to new pair', () => {
  it('the old pair empties in about two months and the new one stays firm without a drop (Plant Biosystems 2016)', () => {
    const forming = over(60, plump, { phase: 'splitting' });
    expect(forming.body.share).toBeLessThan(0.2);
    expect(forming.newPair?.share).toBeGreaterThan(0.9);
  });
  it('in the papery stage the new pair drinks, and becomes the body when growth begins', () => {
    const papery: PlantReserve = { body: { share: 0.1, spread: 0.05 }, newPair: { share: 0.8, spread: 0.05 } };
    const drunk = over(4, papery, { phase: 'papery', potDepletion: 0, dryDays: 0 });
    expect(drunk.newPair?.share).toBeGreaterThan(0.9);
    const grown = over(1, drunk, { phase: 'growing', potDepletion: 0, dryDays: 0 });
    expect(grown.newPair).toBeUndefined();
    expect(grown.body.share).toBeGreaterThan(0.9);
  });
  it('does not happen in rosettes', () => {
    expect(over(30, plump, { phase: 'splitting' }, echeveria).newPair).toBeUndefined();
  });
});

describe('firmness', () => {
  it('moves the reserve towards what was felt and narrows it', () => {
    const felt = observeFirmness(unknownReserve, 'soft');
    expect(felt.body.share).toBeLessThan(unknownReserve.body.share);
    expect(felt.body.share).toBeGreaterThan(0.7);
    expect(felt.body.spread).toBeLessThan(unknownReserve.body.spread);
  });
  it('gives back the word that was felt, whichever it was, when nothing was known before', () => {
    for (const word of FIRMNESS) {
      const felt = observeFirmness({ body: { share: 0.8, spread: 0.5 } }, word);
      expect(expectedFirmness(felt.body).firmness).toBe(word);
    }
  });
  it('of the new pair is kept apart from the old one', () => {
    const felt = observeFirmness(plump, 'slightly-soft', 'new-pair');
    expect(felt.body).toEqual(plump.body);
    expect(felt.newPair?.share).toBeCloseTo(0.85, 1);
  });
  it('has probabilities that sum to 1', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 0.3, noNaN: true }),
        (share, spread) => {
          const { probabilities } = expectedFirmness({ share, spread });
          expect(Object.values(probabilities).reduce((sum, value) => sum + value, 0)).toBeCloseTo(1, 10);
        },
      ),
    );
  });
});

describe('properties', () => {
  const input = fc.record({
    days: fc.constant(1),
    phase: fc.constantFrom(...WATER_PHASES),
    potDepletion: fc.double({ min: 0, max: 1, noNaN: true }),
    dryDays: fc.double({ min: 0, max: 200, noNaN: true }),
    referenceEtMm: fc.double({ min: 0, max: 7, noNaN: true }),
  });
  it('stays between empty and plump, with a spread that stays bounded', () => {
    fc.assert(
      fc.property(fc.array(input, { maxLength: 200 }), fc.constantFrom(lithops, echeveria), (days, of) => {
        let reserve: PlantReserve = unknownReserve;
        for (const day of days) {
          reserve = stepReserve(of, reserve, day);
          for (const body of [reserve.body, reserve.newPair ?? reserve.body]) {
            expect(body.share >= 0 && body.share <= 1).toBe(true);
            expect(body.spread >= 0 && body.spread <= 0.2).toBe(true);
          }
        }
      }),
      { numRuns: 50 },
    );
  });
  it('a wetter pot never leaves a drier plant', () => {
    fc.assert(
      fc.property(input, fc.double({ min: 0, max: 1, noNaN: true }), (day, wetter) => {
        const dry = stepReserve(lithops, unknownReserve, day);
        const wet = stepReserve(lithops, unknownReserve, { ...day, potDepletion: day.potDepletion * wetter });
        expect(wet.body.share).toBeGreaterThanOrEqual(dry.body.share - 1e-12);
      }),
    );
  });
  it('refuses NaN and a step without length', () => {
    const day = { days: 1, phase: 'growing' as const, potDepletion: 0.5, dryDays: 0, referenceEtMm: 1 };
    expect(() => stepReserve(lithops, plump, { ...day, referenceEtMm: Number.NaN })).toThrow(PhysicsRangeError);
    expect(() => stepReserve(lithops, plump, { ...day, days: 0 })).toThrow(/days/);
  });
});
