import { describe, expect, it } from 'vitest';
import { problemLine } from '../../src/domain/errors.js';
import type { SetLimit } from '../../src/domain/house-settings.js';
import {
  crossedIn,
  crossingInWords,
  crossings,
  entryProblems,
  isPerDrink,
  limitsInForce,
  mayBeUnasked,
  placeInWords,
  placesOf,
  scopeKey,
} from '../../src/rules/house-limits.js';
import { catalogue, groupOf, rulebook } from './support.js';

const problemsOf = (entry: unknown): string[] =>
  entryProblems(rulebook, catalogue, entry as SetLimit, '/limits/0').map(problemLine);

describe('a value a grower wants to set', () => {
  it.each<[unknown, string]>([
    [
      { name: 'wet-night-hour', value: 5 },
      '/limits/0/name: expected the name of a limit, got "wet-night-hour". Did you mean wet-night-hours?',
    ],
    [{ name: 'wet-night-hours', value: 40 }, '/limits/0/value: expected 2 to 12 h, got 40.'],
    [{ name: 'wet-night-hours', value: 'six' }, '/limits/0/value: expected a number, h, got "six".'],
    [{ name: 'wet-night-hours', value: Number.NaN }, '/limits/0/value: expected a number, h, got null.'],
    [{ name: 'split-doses', value: 1.5 }, '/limits/0/value: expected a whole number, 1 to 4, got 1.5.'],
    [{ name: 'hot-spell-cap', value: 'much' }, '/limits/0/value: expected one of none, light, full, got "much".'],
    [
      { name: 'shade-burn', value: [60, 40] },
      '/limits/0/value: expected the lower end first, got [60,40]. Swap the two.',
    ],
    [{ name: 'firm-never', value: 1 }, '/limits/0/value: expected yes or no (true or false), got 1.'],
    [
      { name: 'drink-season', value: [[330, 400]] },
      '/limits/0/value: expected a list of season windows such as [[330, 60]], in degrees from 0 to 360, got [[330,400]].',
    ],
    [
      { name: 'repot-dry-days', value: null },
      '/limits/0/value: expected a value: repot-dry-days is always asked, got null. Set a value, or take your own value out to have the usual one.',
    ],
    [
      { name: 'min-wet', drink: 'light', value: 5 },
      '/limits/0/drink: expected no drink: min-wet is not asked drink by drink, got "light". Take it out.',
    ],
  ])('%j is refused', (entry, line) => {
    expect(problemsOf(entry)).toEqual([line]);
  });

  it('is refused with everything that is wrong at once, and the nearest name', () => {
    expect(problemsOf({ name: 'min-wet', group: 'conophytun', phase: 'growin', drink: 'ful', value: 99 })).toEqual([
      expect.stringMatching(/^\/limits\/0\/group: .* got "conophytun"\. Did you mean conophytum\?$/),
      expect.stringMatching(/^\/limits\/0\/phase: expected one of growing, .* Did you mean growing\?$/),
      expect.stringMatching(/^\/limits\/0\/drink: expected one of none, light, full, got "ful"/),
      expect.stringMatching(/^\/limits\/0\/drink: expected no drink/),
      expect.stringMatching(/^\/limits\/0\/value: expected -5 to 15 °C, got 99/),
    ]);
  });

  it('is taken inside the bounds, for a group, a phase and a drink, and as not asked where that may be', () => {
    expect(problemsOf({ name: 'wet-night-hours', value: 5 })).toEqual([]);
    expect(problemsOf({ name: 'drink-gap', group: 'conophytum', phase: 'growing', drink: 'light', value: 12 })).toEqual(
      [],
    );
    expect(problemsOf({ name: 'shade-peak', value: null })).toEqual([]);
  });

  it('a name that nothing comes near is refused without a guess', () => {
    expect(problemsOf({ name: 'xyzzy-plugh-quux', value: 5 })).toEqual([
      '/limits/0/name: expected the name of a limit, got "xyzzy-plugh-quux".',
    ]);
  });

  it('only a limit that is not always asked may be left unasked', () => {
    const of = (name: string) => mayBeUnasked(rulebook.limits.get(name) as never);
    expect([of('shade-peak'), of('repot-dry-days')]).toEqual([true, false]);
  });
});

describe('what holds of a house', () => {
  const good = { name: 'wet-night-hours', value: 5 };

  it('is all of it, the same list, while the rulebook and the catalogue know all of it', () => {
    const limits = [good, { name: 'drink-gap', group: 'conophytum', value: 9 }];
    expect(limitsInForce(rulebook, catalogue, { limits })).toBe(limits);
  });

  it('leaves out what they no longer know or allow', () => {
    const limits = [
      { name: 'wet-night-hour', value: 5 },
      good,
      { name: 'drink-gap', group: 'gone', value: 9 },
      { name: 'wet-night-hours', value: 400 },
    ];
    expect(limitsInForce(rulebook, catalogue, { limits })).toEqual([good]);
  });
});

describe('the places where a value holds', () => {
  it('are every phase of every group, and each drink of it', () => {
    const group = groupOf('echeveria');
    const places = placesOf(rulebook, { ...catalogue, speciesGroups: [group] }, [
      { name: 'drink-gap', phase: 'dormant-warm', drink: 'light', value: 4 },
    ]);
    expect(places.map(placeInWords).slice(0, 3)).toEqual([
      'Echeveria, growing',
      'Echeveria, growing, full drink',
      'Echeveria, flowering',
    ]);
    const gaps = places
      .filter(({ phase }) => phase === 'dormant-warm')
      .map(({ drink, values }) => [drink, values['drink-gap']]);
    // The catalogue asks two dry days of either drink of the warm rest; the house four of the light one.
    expect(gaps).toEqual([
      [undefined, 7],
      ['full', 2],
      ['light', 4],
    ]);
  });
});

describe('limits that belong together', () => {
  it('stand the right way round in the default rulebook and catalogue', () => {
    expect(crossings(rulebook, catalogue, [])).toEqual([]);
  });

  it('are told when one value moves past the other, with where it is so', () => {
    const [crossing, ...others] = crossings(rulebook, catalogue, [
      { name: 'repot-dry-days', value: 12 },
      { name: 'repot-light-days', group: 'conophytum', phase: 'growing', value: 10 },
    ]);
    expect(others).toEqual([]);
    expect(crossing).toMatchObject({
      lower: { name: 'repot-dry-days' },
      upper: { name: 'repot-light-days' },
      values: [12, 10],
      where: expect.stringMatching(/^.*onophytum.*, growing$/),
    });
  });

  it('are told when a value of the house meets one of the catalogue', () => {
    // The catalogue gives each group its own coldest nights, dry and wet.
    const tender = catalogue.speciesGroups.filter(({ climate }) => climate.minSafeWetC < 5);
    expect(tender.length).toBeGreaterThan(0);
    const crossed = crossings(rulebook, catalogue, [{ name: 'frost-dry', value: 5 }]);
    expect(crossed.map(({ lower, upper }) => [lower.name, upper.name])).toEqual([['frost-dry', 'min-wet']]);
  });

  it('are told once, at the first place, however many groups it is so for', () => {
    const everywhere = crossings(rulebook, catalogue, [
      { name: 'repot-dry-days', value: 12 },
      { name: 'repot-light-days', value: 10 },
    ]);
    const first = catalogue.speciesGroups[0]?.name ?? '';
    expect(everywhere.map(({ where }) => where)).toEqual([`${first}, growing`]);
    expect(everywhere.map(crossingInWords)).toEqual([
      { expected: 'repot-dry-days not above repot-light-days', got: '12 days and 10 days' },
    ]);
  });

  it('may be equal, and are looked at with what is there', () => {
    const at = (values: Record<string, number | string | null>) =>
      crossedIn(rulebook, values, 'here').map(({ lower, upper, values: both, where }) => [
        lower.name,
        upper.name,
        both,
        where,
      ]);
    expect(at({ 'repot-dry-days': 10, 'repot-light-days': 10 })).toEqual([]);
    expect(at({ 'repot-dry-days': 10.5, 'repot-light-days': 10 })).toEqual([
      ['repot-dry-days', 'repot-light-days', [10.5, 10], 'here'],
    ]);
    expect(at({ 'repot-dry-days': 12 })).toEqual([]);
    expect(at({ 'repot-light-days': 1 })).toEqual([]);
    expect(at({ 'repot-dry-days': null, 'repot-light-days': 1 })).toEqual([]);
    expect(at({ 'repot-dry-days': 12, 'repot-light-days': null })).toEqual([]);
  });

  it('may cross where one of them is not asked', () => {
    expect(crossings(rulebook, catalogue, [{ name: 'drink-night-most', value: null }])).toEqual([]);
  });
});

it('a limit is set anew where name, group, phase and drink are the same', () => {
  expect(scopeKey({ name: 'a', group: 'g' })).toBe(scopeKey({ name: 'a', group: 'g', phase: undefined as never }));
  expect(scopeKey({ name: 'a', group: 'g' })).not.toBe(scopeKey({ name: 'a', phase: 'growing' }));
  expect(isPerDrink(rulebook, 'drink-gap')).toBe(true);
  expect(isPerDrink(rulebook, 'min-wet')).toBe(false);
  const different = [
    { name: 'a' },
    { name: 'b' },
    { name: 'a', group: 'g' },
    { name: 'a', phase: 'growing' },
    { name: 'a', drink: 'light' },
  ] as const;
  expect(new Set(different.map(scopeKey)).size).toBe(different.length);
  // Asked as the limit of a condition, or as a choice.
  expect([isPerDrink(rulebook, 'drink-body'), isPerDrink(rulebook, 'rescue')]).toEqual([true, false]);
});
