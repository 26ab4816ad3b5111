import { describe, expect, it } from 'vitest';
import { basalCoefficientOf, potOf } from '../../src/advice/batch-water.js';
import type { BatchState, Look, WateringDone } from '../../src/domain/collection.js';
import { addDays, instantOnDay } from '../../src/domain/time.js';
import type { ClimateDay } from '../../src/models/house-climate.js';
import { potCapacities } from '../../src/models/pot-water.js';
import { CATALOGUE } from '../support/nursery.js';

const zone = 'Europe/Berlin';
const DAY = '2026-06-10';
const group = CATALOGUE.speciesGroups.find(({ id }) => id === 'echeveria');
const pot = CATALOGUE.pots.find(({ id }) => id === 'square-7cm-plastic');
const mix = CATALOGUE.mixes.find(({ id }) => id === 'mineral-80-20');
if (!group || !pot || !mix) throw new Error('the catalogue changed');
const capacities = potCapacities({
  pot,
  mix,
  topDressing: 'grit',
  coverFraction: group.coverFraction,
  clayFactor: CATALOGUE.clayFactor,
  gritTopFactor: CATALOGUE.gritTopFactor,
  mineralDepthFactors: CATALOGUE.mineralDepthFactors,
  lightDrinkMm: CATALOGUE.general.lightDrinkMm,
  dryAtDepletion: CATALOGUE.general.dryAtDepletion,
});

const drink = (daysAgo: number, amount: 'light' | 'full' | 'none', clock = '08:00'): WateringDone => ({
  entryId: daysAgo + 1,
  at: instantOnDay(zone, addDays(DAY, -daysAgo), clock),
  by: 'Ada',
  amount,
  answer: 'unasked',
});
const felt = (daysAgo: number, substrate: 'looked-dry' | 'still-moist'): Look => ({
  at: instantOnDay(zone, addDays(DAY, -daysAgo), '07:00'),
  by: 'Ada',
  substrate,
  signs: [],
});
const batch = (waterings: readonly WateringDone[], looks: readonly Look[] = []): BatchState => ({
  batchId: 'b',
  name: 'B',
  group: 'echeveria',
  benchId: '1',
  potCount: 10,
  potId: 'square-7cm-plastic',
  mixId: 'mineral-80-20',
  topDressing: 'grit',
  worth: 1,
  createdAt: 0,
  tasksDone: [],
  lostPots: 0,
  places: [],
  signs: new Map(),
  looks,
  waterings,
});
const past = (etMm: (daysAgo: number) => number | undefined, days = 60): ClimateDay[] =>
  Array.from({ length: days }, (_, index) => {
    const daysAgo = days - index;
    const et = etMm(daysAgo);
    return {
      day: addDays(DAY, -daysAgo),
      meanTempC: { value: 20, certainty: 'known' as const },
      ...(et !== undefined && { referenceEtMm: { value: et, certainty: 'known' as const } }),
    };
  });
const potAt = (state: BatchState, days = past(() => 2.5)) =>
  potOf(state, group, capacities, 'growing', { zone, day: DAY, past: days, aheadEtMm: [2.5] });

describe('water in the pots of a batch', () => {
  it('counts from the last full drink: moist the day after, dry within weeks', () => {
    expect(potAt(batch([drink(1, 'full')])).dryDays?.value).toBe(0);
    expect(potAt(batch([drink(1, 'full')])).depletion?.value).toBeLessThan(0.4);
    // 2.5 mm of reference evaporation a day dry a grit-topped 7 cm pot in about a week (dual crop coefficient, FAO-56).
    const dry = potAt(batch([drink(25, 'full')]));
    expect(dry.depletion?.value).toBe(1);
    expect(dry.dryDays?.value).toBeGreaterThan(10);
    expect(dry.dryDays?.value).toBeLessThan(22);
    expect(dry.daysToDry?.value).toBe(0);
  });

  it('leaves the drinks of the morning itself out: they answer its list', () => {
    const before = potAt(batch([drink(25, 'full')]));
    const after = potAt(batch([drink(25, 'full'), drink(0, 'full')]));
    expect(after).toEqual(before);
    expect(after.lastWatering).toMatchObject({ daysAgo: 25, amount: 'full' });
  });

  it('takes a skipped drink for none', () => {
    expect(potAt(batch([drink(25, 'full'), drink(3, 'none')]))).toEqual(potAt(batch([drink(25, 'full')])));
  });

  it('waits anew after a light drink, even one that does not wet a bone-dry pot through', () => {
    const light = potAt(batch([drink(25, 'full'), drink(1, 'light')]));
    expect(light.dryDays?.value).toBe(1);
    expect(potAt(batch([drink(25, 'full'), drink(6, 'light')])).depletion?.value).toBeGreaterThan(0.85);
  });

  it('does not know the pot when too many days since the drink went unmeasured, and never dries on them', () => {
    const silent = past((daysAgo) => (daysAgo <= 10 ? undefined : 2.5));
    expect(potAt(batch([drink(12, 'full')]), silent).dryDays).toBeUndefined();
    const some = past((daysAgo) => (daysAgo % 4 === 0 ? undefined : 2.5));
    const known =
      potAt(
        batch([drink(8, 'full')]),
        past(() => 2.5),
      ).depletion?.value ?? 0;
    expect(potAt(batch([drink(8, 'full')]), some).depletion?.value).toBeLessThan(known);
  });

  it('is moved by what was felt only as far as it was in doubt', () => {
    const doubtful = batch([drink(5, 'full')]);
    const base = potAt(doubtful).depletion?.value ?? 0;
    expect(potAt({ ...doubtful, looks: [felt(0, 'looked-dry')] }).depletion?.value).toBeGreaterThan(base);
    expect(potAt({ ...doubtful, looks: [felt(0, 'still-moist')] }).depletion?.value).toBeLessThan(base);
    const wet = batch([drink(1, 'full')], [felt(0, 'looked-dry')]);
    expect(potAt(wet).dryDays?.value).toBe(0);
  });

  it('starts from not knowing where no full drink is on record, and gets there with time', () => {
    const young = potAt(
      batch([]),
      past(() => 2.5, 2),
    );
    const old = potAt(
      batch([]),
      past(() => 2.5, 60),
    );
    expect(young.depletion?.spread).toBeGreaterThan(0.2);
    expect(old.depletion).toMatchObject({ value: 1 });
  });
});

describe('a batch that was entered lately', () => {
  const entered = (daysAgo: number, looks: readonly Look[] = []): BatchState => ({
    ...batch([], looks),
    createdAt: instantOnDay(zone, addDays(DAY, -daysAgo), '10:00'),
  });

  it('has no dry days from before anybody told of it', () => {
    expect(potAt(entered(0)).dryDays).toBeUndefined();
    expect(potAt(entered(0)).depletion).toBeUndefined();
    expect(potAt(entered(2)).dryDays?.value).toBe(0);
  });

  it('may have been filled the day it came, and is dry when a full pot would be', () => {
    expect(potAt(entered(20)).depletion).toEqual(potAt(batch([drink(20, 'full')])).depletion);
    expect(potAt(entered(20)).dryDays).toEqual(potAt(batch([drink(20, 'full')])).dryDays);
  });

  it('is believed when somebody felt its pots', () => {
    expect(potAt(entered(0, [felt(0, 'looked-dry')])).depletion?.value).toBeGreaterThan(0.6);
    expect(potAt(entered(2, [felt(0, 'looked-dry')])).depletion?.value).toBeGreaterThan(0.8);
  });
});

it('the slower loss is taken for a plant at rest, in leaf change, or in a phase nobody knows', () => {
  const { rest, coolGrowth, warmGrowth } = group.basalCoefficient;
  expect(basalCoefficientOf(group, undefined, 25)).toBe(rest);
  expect(basalCoefficientOf(group, 'dormant-cold', 25)).toBe(rest);
  expect(basalCoefficientOf(group, 'leaf-replacement', 25)).toBe(rest);
  expect(basalCoefficientOf(group, 'growing', 12)).toBe(coolGrowth);
  expect(basalCoefficientOf(group, 'growing', 25)).toBe(warmGrowth);
});
