import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FactInputs, Known } from '../../src/advice/fact-inputs.js';
import { gatherFacts } from '../../src/advice/facts.js';
import { phaseOfWaterPhase } from '../../src/advice/work-out-phase.js';
import { WATER_PHASES, type WaterPhase } from '../../src/domain/catalogue.js';
import { amountRank, type Firmness, newPairSchema, PAIR_STATES, SIGNS } from '../../src/domain/plants.js';
import type { Facts, Verdict } from '../../src/domain/verdict.js';
import { limitsFor } from '../../src/rules/limits.js';
import { decide } from '../../src/rules/verdict.js';
import { catalogue, rulebook } from '../rules/support.js';

/* What must hold for every batch, on every morning, whatever the rulebook's numbers. 1,200 seeded runs each. */

const RUNS = { numRuns: 1200, seed: 20261125 };

const known = <T>(value: T): Known<T> => ({ value, from: 'test' });
const maybe = <T>(arb: fc.Arbitrary<T>): fc.Arbitrary<Known<T> | undefined> =>
  fc.option(arb.map(known), { nil: undefined, freq: 12 });
const number = (min: number, max: number): fc.Arbitrary<number> =>
  fc.integer({ min: min * 2, max: max * 2 }).map((n) => n / 2);
const series = (min: number, max: number): fc.Arbitrary<number[] | undefined> =>
  fc.option(fc.array(number(min, max), { minLength: 1, maxLength: 5 }), { nil: undefined });

const defined = <T extends object>(parts: T): { [K in keyof T]?: Exclude<T[K], undefined> } =>
  Object.fromEntries(Object.entries(parts).filter(([, value]) => value !== undefined)) as {
    [K in keyof T]?: Exclude<T[K], undefined>;
  };

/** Mostly what lets a plant drink, now and then anything. */
const lean = <T>(usual: fc.Arbitrary<T>, any: fc.Arbitrary<T>): fc.Arbitrary<T> =>
  fc.oneof({ weight: 5, arbitrary: usual }, { weight: 1, arbitrary: any });

const phaseArb = fc.record({
  name: fc.constantFrom(...WATER_PHASES),
  probability: lean(fc.constant(0.95), fc.constant(0.6)),
});

/** A batch on a morning that leans towards what calls for water, so that the runs are not all dry. */
const inputArb: fc.Arbitrary<FactInputs> = fc
  .record({
    group: fc.constantFrom(...catalogue.speciesGroups),
    angle: fc.integer({ min: 0, max: 359 }),
    south: fc.boolean(),
    phase: phaseArb,
    second: fc.constantFrom(...WATER_PHASES),
    plant: fc.record({
      firmness: maybe(lean<Firmness>(fc.constantFrom('slightly-soft', 'soft', 'very-soft'), fc.constant('firm'))),
      oldPair: maybe(fc.constantFrom(...PAIR_STATES)),
      newPair: maybe(fc.constantFrom(...newPairSchema.options)),
      sheathed: maybe(fc.boolean()),
      ageMonths: maybe(fc.constantFrom(1, 6, 11, 20, 60)),
      repottedDaysAgo: lean(fc.constant(undefined), number(0, 40).map(known)),
    }),
    signs: fc.subarray([...SIGNS], { maxLength: 1 }),
    sick: fc.integer({ min: 0, max: 5 }),
    pot: fc.record({
      dryDays: maybe(lean(fc.integer({ min: 8, max: 60 }), fc.integer({ min: 0, max: 8 }))),
      depletion: fc.constant(undefined),
    }),
    last: fc.option(
      fc.record({
        daysAgo: fc.integer({ min: 0, max: 30 }),
        amount: fc.constantFrom('light' as const, 'full' as const),
      }),
      { nil: undefined },
    ),
    recent: fc.record({
      nightMinC: maybe(lean(number(8, 15), number(0, 24))),
      dayMaxC: maybe(lean(number(18, 27), number(10, 38))),
      dli: maybe(lean(number(12, 26), number(3, 38))),
      peakPpfdUmol: maybe(number(100, 1900)),
    }),
    tonight: fc.record({
      minC: maybe(lean(number(8, 14), number(-2, 22))),
      wetHours: maybe(lean(fc.constant(0), fc.constantFrom(2, 5, 6, 9))),
      maxRelHumidityPct: maybe(lean(fc.integer({ min: 40, max: 85 }), fc.integer({ min: 85, max: 100 }))),
    }),
    ahead: fc.record({
      dayMaxC: lean(series(18, 29), series(12, 40)),
      nightMinC: lean(series(8, 14), series(-2, 24)),
      dli: lean(series(10, 24), series(3, 38)),
      peakPpfdUmol: series(100, 1900),
      hotSpell: lean(fc.constant(undefined), fc.boolean()),
    }),
  })
  .map((one): FactInputs => {
    const probability = one.phase.probability;
    return {
      day: '2026-10-25',
      latitudeDeg: one.south ? -38 : 38,
      seasonAngleDeg: one.angle,
      group: one.group,
      general: catalogue.general,
      plant: {
        ...defined(one.plant),
        phase: {
          ...phaseOfWaterPhase(one.phase.name),
          probability,
          certainty: probability > 0.9 ? 'known' : 'estimated',
          from: 'test',
          ...(probability < 0.9 && { second: { ...phaseOfWaterPhase(one.second), probability: 0.35 } }),
        },
        signs: one.sick === 0 ? one.signs.map(known) : [],
      },
      pot: {
        mlPerMm: 4.5,
        availableMm: 10,
        ...defined(one.pot),
        ...(one.last && { lastWatering: { ...one.last, from: 'test' } }),
      },
      house: {
        recent: defined(one.recent),
        tonight: defined(one.tonight),
        ahead: { ...defined(one.ahead), from: 'test' },
      },
    };
  });

const verdictOf = (facts: Facts, groupId: string): Verdict => {
  const group = catalogue.speciesGroups.find((one) => one.id === groupId);
  if (!group) throw new Error(groupId);
  return decide(rulebook, facts, limitsFor(rulebook, group, catalogue.general), { withoutNearest: true });
};
const advise = (input: FactInputs): Verdict => verdictOf(gatherFacts(input), input.group.id);
const rank = (input: FactInputs): number => amountRank(advise(input).amount);

const inPhase = (input: FactInputs, name: WaterPhase): FactInputs => ({
  ...input,
  plant: {
    ...input.plant,
    phase: { ...phaseOfWaterPhase(name), probability: 0.95, certainty: 'known', from: 'test' },
  },
});
const aged = (input: FactInputs, months: number): FactInputs => ({
  ...input,
  plant: { ...input.plant, ageMonths: known(months) },
});

describe('for every batch and morning', () => {
  it('gives water often enough for the rest to mean something', () => {
    const amounts = fc.sample(inputArb, { numRuns: 1200, seed: 7 }).map((input) => advise(input).amount);
    expect(amounts.filter((amount) => amount === 'light').length).toBeGreaterThan(40);
    expect(amounts.filter((amount) => amount === 'full').length).toBeGreaterThan(40);
  });

  it('gives mirrored hemispheres at equal season angle and climate the same verdict', () => {
    fc.assert(
      fc.property(inputArb, (input) => {
        const mirrored = { ...input, latitudeDeg: -input.latitudeDeg };
        expect(advise(mirrored)).toEqual(advise(input));
      }),
      RUNS,
    );
  });

  it('never gives more for a rot flag, nor for one of fresh repotting', () => {
    fc.assert(
      fc.property(inputArb, fc.integer({ min: 0, max: 20 }), (input, daysAgo) => {
        const rotten = { ...input, plant: { ...input.plant, signs: [...input.plant.signs, known('rot' as const)] } };
        expect(rank(rotten)).toBe(0);
        const { repottedDaysAgo: _, ...plant } = input.plant;
        const settled = { ...input, plant };
        const repotted = { ...input, plant: { ...plant, repottedDaysAgo: known(daysAgo) } };
        expect(rank(repotted)).toBeLessThanOrEqual(rank(settled));
      }),
      RUNS,
    );
  });

  it('never gives more when any fact is taken away', () => {
    fc.assert(
      fc.property(inputArb, fc.infiniteStream(fc.double({ min: 0, max: 1, noNaN: true })), (input, chance) => {
        const facts = gatherFacts(input);
        const before = amountRank(verdictOf(facts, input.group.id).amount);
        const names = Object.keys(facts);
        const one = names[Math.floor((chance.next().value as number) * (names.length - 0.001))] as string;
        const { [one]: _, ...without } = facts;
        expect(amountRank(verdictOf(without, input.group.id).amount), one).toBeLessThanOrEqual(before);
        const half = Object.fromEntries(Object.entries(facts).filter(() => (chance.next().value as number) < 0.7));
        expect(amountRank(verdictOf(half, input.group.id).amount)).toBeLessThanOrEqual(before);
      }),
      { ...RUNS, numRuns: 3000 },
    );
  });

  it('never gives water when nothing is known at all', () => {
    for (const group of catalogue.speciesGroups) expect(verdictOf({}, group.id).amount).toBe('none');
  });

  it('never gives a grown plant that changes its pair a full drink', () => {
    fc.assert(
      fc.property(inputArb, fc.constantFrom('forming' as const, 'splitting' as const), (input, stage) => {
        expect(advise(inPhase(aged(input, 36), stage)).amount).not.toBe('full');
      }),
      RUNS,
    );
  });

  it('keeps strict rest dry, and other warm rest of sheathed plants below a full drink', () => {
    const strict = ['monilaria-oophytum', 'lithops-winter-rain'];
    fc.assert(
      fc.property(inputArb, (input) => {
        const amount = advise(inPhase(input, 'dormant-warm')).amount;
        if (strict.includes(input.group.id)) expect(amount).toBe('none');
        if (input.group.id === 'conophytum') expect(amount).not.toBe('full');
      }),
      RUNS,
    );
  });

  it('never gives more for a wetter or a colder night', () => {
    fc.assert(
      fc.property(inputArb, number(0, 8), number(0, 8), (input, wetter, colder) => {
        const { wetHours, minC } = input.house.tonight;
        const tonight = {
          ...input.house.tonight,
          ...(wetHours && { wetHours: known(Math.min(24, wetHours.value + wetter)) }),
          ...(minC && { minC: known(minC.value - colder) }),
        };
        const worse = { ...input, house: { ...input.house, tonight } };
        expect(rank(worse)).toBeLessThanOrEqual(rank(input));
      }),
      RUNS,
    );
  });

  it('never gives a seedling less than a grown plant while the pair changes', () => {
    fc.assert(
      fc.property(inputArb, fc.constantFrom('forming' as const, 'splitting' as const), (input, stage) => {
        const changing = inPhase(input, stage);
        expect(rank(aged(changing, 7))).toBeGreaterThanOrEqual(rank(aged(changing, 36)));
      }),
      RUNS,
    );
  });

  it('never waters a grown plant in a moist pot', () => {
    fc.assert(
      fc.property(inputArb, fc.integer({ min: 0, max: 84 }), (input, percent) => {
        const moist = { ...aged(input, 36), pot: { ...input.pot, depletion: known(percent / 100) } };
        expect(rank(moist)).toBe(0);
      }),
      RUNS,
    );
  });

  it('says the same twice, and postpones only what is dry today', () => {
    fc.assert(
      fc.property(inputArb, (input) => {
        const verdict = advise(input);
        expect(JSON.stringify(advise(structuredClone(input)))).toBe(JSON.stringify(verdict));
        if (verdict.postponed) expect(verdict.amount).toBe('none');
        if (verdict.amount === 'none') expect(verdict.mlPerPot).toBe(0);
        else expect(verdict.mlPerPot).toBeGreaterThan(0);
        expect(verdict.sentence).not.toMatch(/[{}]|undefined|null|NaN|unknown value|not asked/);
      }),
      RUNS,
    );
  });
});
