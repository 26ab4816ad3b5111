import { describe, expect, it } from 'vitest';
import type { GeneralCare, SpeciesGroup } from '../../src/domain/catalogue.js';
import type { SetLimit } from '../../src/domain/house-settings.js';
import { limitsFor, limitsRevision } from '../../src/rules/limits.js';
import type { Rulebook } from '../../src/rules/rulebook.js';
import type { LimitDeclaration } from '../../src/rules/schema.js';
import { smallBook } from './small-book.js';
import { catalogue, groupOf, rulebook } from './support.js';

const of = (group: string, overrides: Parameters<typeof limitsFor>[3] = []) =>
  limitsFor(rulebook, groupOf(group), catalogue.general, overrides);

describe('where a limit comes from', () => {
  it('is the catalogue where that has a value, else the default', () => {
    expect(of('conophytum').base['min-wet']).toBe(groupOf('conophytum').climate.minSafeWetC);
    expect(of('conophytum').base['wet-night-hours']).toBe(6);
    expect(of('dinteranthus').base['shade-peak']).toBeNull();
  });

  it('is the rulebook where it names the group or the phase', () => {
    expect(of('echeveria').base['hot-spell-cap']).toBe('full');
    expect(of('conophytum').base['hot-spell-cap']).toBe('none');
    expect(of('conophytum').phases['dormant-warm'].values.rescue).toBe(true);
    expect(of('monilaria-oophytum').phases['dormant-warm'].values.rescue).toBe(false);
  });

  it('is the house before all, the narrower the sooner', () => {
    const limits = of('lithops-winter-rain', [
      { name: 'drink-gap', value: 8 },
      { name: 'drink-gap', phase: 'growing', value: 9 },
      { name: 'drink-gap', phase: 'growing', drink: 'light', value: 15 },
      { name: 'drink-gap', group: 'echeveria', phase: 'growing', value: 40 },
    ]);
    expect(limits.phases.growing.drinks.map((drink) => drink.values['drink-gap'])).toEqual([9, 15]);
    expect(limits.phases.papery.drinks.every((drink) => drink.values['drink-gap'] === 8)).toBe(true);
  });

  it('gives each drink of the phase its own values, in the order of the policy', () => {
    const { drinks, note } = of('conophytum').phases['dormant-cold'];
    expect(drinks.map((drink) => drink.amount)).toEqual(['full', 'light']);
    expect(drinks.map((drink) => drink.values['drink-night-least'])).toEqual([5, null]);
    expect(note).toMatch(/nights above 5 °C/);
  });
});

/** A rulebook of these limits only. */
const bookOf = (...limits: Partial<LimitDeclaration>[]): Rulebook => ({
  ...smallBook({}),
  limits: new Map(
    limits.map((limit) => [
      limit.name as string,
      { kind: 'number', unit: '', default: null, set: [], ...limit } as LimitDeclaration,
    ]),
  ),
});
const GENERAL = { dryAtDepletion: 0.85, seedlings: [{ gapDays: [2, 5] }] } as unknown as GeneralCare;
/** As much of a group as limits are taken from. */
const groupWith = (phases: Record<string, unknown>, more: object = {}): SpeciesGroup =>
  ({
    id: 'stone',
    name: 'Stone plants',
    climate: { minSafeWetC: 4 },
    light: {
      shadeWhen: [
        { when: 'day-max-above', limit: 34, shadePct: [30, 50] },
        { when: 'newly-split', limit: 1200, shadePct: [40, 60] },
      ],
    },
    water: { phases, firmNeverWatered: true },
    ...more,
  }) as unknown as SpeciesGroup;

describe('what a limit is taken from in the catalogue', () => {
  const taken = (from: string, kind: LimitDeclaration['kind'] = 'number') =>
    limitsFor(bookOf({ name: 'one', from, kind, default: -1 }), groupWith({}), GENERAL).base.one;

  it.each<[string, unknown]>([
    ['climate.minSafeWetC', 4],
    ['water.firmNeverWatered', true],
    ['general.dryAtDepletion', 0.85],
    ['general.seedlings.0.gapDays.1', 5],
    ['shade.day-max-above', [30, 50]],
    ['shade-limit.day-max-above', 34],
    ['shade.newly-split', [40, 60]],
    ['shade-limit.newly-split', 1200],
  ])('%s', (from, expected) => {
    expect(taken(from)).toEqual(expected);
  });

  it.each([
    'climate.maxSafeWetC',
    'climate.minSafeWetC.low',
    'general.nothing.at.all',
    'shade.always-in-warm-rest',
    'shade-limit.always-in-warm-rest',
    'drink.gapDays',
    'drink.afterLightDrink',
  ])('%s is not there: the default', (from) => {
    expect(taken(from)).toBe(-1);
  });

  it('the drink, where a drink is asked; a season becomes a list of one', () => {
    const book = bookOf(
      { name: 'gap', from: 'drink.gapDays', default: 7 },
      { name: 'after', from: 'drink.afterLightDrink' },
      { name: 'after-least', from: 'drink.afterLightDrinkDays.0' },
      { name: 'season', from: 'drink.season', kind: 'season' },
    );
    const group = groupWith({
      growing: {
        note: 'Twice.',
        options: [
          { amount: 'full', afterLightDrinkDays: [5, 21], season: [330, 60] },
          { amount: 'light', gapDays: 12 },
        ],
      },
    });
    const { phases, base } = limitsFor(book, group, GENERAL);
    expect(phases.growing).toEqual({
      values: { gap: 7, after: null, 'after-least': null, season: null },
      drinks: [
        { amount: 'full', values: { gap: 7, after: 'light', 'after-least': 5, season: [[330, 60]] } },
        { amount: 'light', values: { gap: 12, after: null, 'after-least': null, season: null } },
      ],
      atMost: 'none',
      note: 'Twice.',
    });
    expect(base).toEqual({ gap: 7, after: null, 'after-least': null, season: null });
  });

  it('a phase the group does not have gives nothing and says nothing', () => {
    const limits = limitsFor(
      bookOf(),
      groupWith({ growing: { note: 'Sips.', options: [], atMost: 'light' } }),
      GENERAL,
    );
    expect(limits).toMatchObject({ group: 'stone', groupName: 'Stone plants' });
    expect(limits.phases.growing).toEqual({ values: {}, drinks: [], atMost: 'light', note: 'Sips.' });
    expect(limits.phases.splitting).toEqual({ values: {}, drinks: [], atMost: 'none' });
  });
});

describe('the narrower value goes before the wider', () => {
  const group = groupWith({
    growing: { note: 'Both.', options: [{ amount: 'full' }, { amount: 'light' }] },
    waking: { note: 'One.', options: [{ amount: 'full' }] },
  });
  const seen = (set: LimitDeclaration['set'], own: readonly SetLimit[] = []) => {
    const { base, phases } = limitsFor(bookOf({ name: 'one', default: 0, set }), group, GENERAL, own);
    return {
      base: base.one,
      growing: phases.growing.values.one,
      drinks: phases.growing.drinks.map(({ values }) => values.one),
      waking: phases.waking.values.one,
    };
  };

  it('in the rulebook: a phase before a group, both before either', () => {
    const other = { group: 'other', value: 9 };
    expect(seen([other])).toEqual({ base: 0, growing: 0, drinks: [0, 0], waking: 0 });
    expect(seen([other, { group: 'stone', value: 1 }])).toEqual({ base: 1, growing: 1, drinks: [1, 1], waking: 1 });
    const phase = { phase: 'growing', value: 2 };
    expect(seen([phase, { group: 'stone', value: 1 }])).toEqual({ base: 1, growing: 2, drinks: [2, 2], waking: 1 });
    const both = { group: 'stone', phase: 'growing', value: 3 };
    expect(seen([both, phase, { group: 'stone', value: 1 }])).toEqual({
      base: 1,
      growing: 3,
      drinks: [3, 3],
      waking: 1,
    });
    // Of two alike the first one stands.
    expect(seen([phase, { phase: 'growing', value: 4 }]).growing).toBe(2);
  });

  it('in the house: a drink before a phase before a group, and the house before the rulebook', () => {
    const set = [{ group: 'stone', phase: 'growing', value: 3 }];
    expect(seen(set, [{ name: 'one', value: 5 }])).toEqual({ base: 5, growing: 5, drinks: [5, 5], waking: 5 });
    expect(seen(set, [{ name: 'other', value: 5 }])).toEqual({ base: 0, growing: 3, drinks: [3, 3], waking: 0 });
    expect(seen(set, [{ name: 'one', group: 'other', value: 5 }]).growing).toBe(3);
    expect(
      seen(set, [
        { name: 'one', value: 5 },
        { name: 'one', group: 'stone', value: 6 },
        { name: 'one', phase: 'growing', value: 7 },
        { name: 'one', drink: 'light', value: 8 },
      ]),
    ).toEqual({ base: 6, growing: 7, drinks: [7, 8], waking: 6 });
    // A value for one drink says nothing where no drink is asked; both ends together weigh more than one.
    expect(
      seen(set, [
        { name: 'one', phase: 'growing', value: 7 },
        { name: 'one', group: 'stone', phase: 'growing', value: 10 },
        { name: 'one', group: 'stone', phase: 'growing', drink: 'full', value: 11 },
        { name: 'one', phase: 'growing', drink: 'full', value: 12 },
      ]),
    ).toEqual({ base: 0, growing: 10, drinks: [11, 10], waking: 0 });
  });

  it('a limit may be set to "not asked"', () => {
    expect(seen([{ group: 'stone', value: 1 }], [{ name: 'one', phase: 'growing', value: null }])).toMatchObject({
      base: 1,
      growing: null,
    });
  });
});

describe('limits of a house without values of its own', () => {
  it('are made once for a group and a rulebook, and tell themselves apart by content', () => {
    const [book, other] = [bookOf({ name: 'one', default: 1 }), bookOf({ name: 'one', default: 2 })];
    const group = groupWith({});
    const limits = limitsFor(book, group, GENERAL);
    expect(limitsFor(book, group, GENERAL)).toBe(limits);
    expect(limitsFor(book, groupWith({}, { id: 'other' }), GENERAL)).not.toBe(limits);
    expect(limitsFor(other, group, GENERAL).base.one).toBe(2);
    expect(limitsFor(book, group, GENERAL).base.one).toBe(1);
    const own = limitsFor(book, group, GENERAL, [{ name: 'one', value: 1 }]);
    expect(own).not.toBe(limits);
    expect(own).toEqual(limits);
  });

  it('have a revision that changes with any value and with the rulebook', () => {
    const book = bookOf({ name: 'one', default: 1 });
    const group = groupWith({});
    const usual = limitsRevision(book, limitsFor(book, group, GENERAL));
    expect(usual).toMatch(/^[0-9a-f]{16}$/);
    expect(limitsRevision(book, limitsFor(book, group, GENERAL))).toBe(usual);
    // The same values, set by the house: the same revision.
    expect(limitsRevision(book, limitsFor(book, group, GENERAL, [{ name: 'one', value: 1 }]))).toBe(usual);
    expect(limitsRevision(book, limitsFor(book, group, GENERAL, [{ name: 'one', value: 2 }]))).not.toBe(usual);
    const changed = { ...book, revision: 'another' };
    expect(limitsRevision(changed, limitsFor(changed, group, GENERAL))).not.toBe(usual);
  });
});
