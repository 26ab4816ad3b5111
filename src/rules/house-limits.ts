import { type Catalogue, type SpeciesGroup, WATER_PHASES, type WaterPhase } from '../domain/catalogue.js';
import type { Problem } from '../domain/errors.js';
import type { HouseSettings, LimitScope, SetLimit } from '../domain/house-settings.js';
import { AMOUNTS, type Amount } from '../domain/plants.js';
import { didYouMean, shown } from '../domain/problems.js';
import type { LimitValues } from './evaluate.js';
import { limitsFor } from './limits.js';
import type { Rulebook } from './rulebook.js';
import type { LimitDeclaration } from './schema.js';
import { valueProblems } from './vocabulary.js';
import { inWords, settingInWords } from './words.js';

/*
 * What a grower may set for a house: each value by itself, and the values of all limits as they come out together.
 */

/** Whether a limit is asked of each drink of a phase, so that it can be set for one of them. */
export const isPerDrink = (rulebook: Rulebook, name: string): boolean =>
  rulebook.tables.policy.rows.some(({ row }) => row.when.some((one) => one.limit === name || one.choice === name));

/** Whether a limit may be set to "not asked": one that is always asked cannot be taken away. */
export const mayBeUnasked = (limit: LimitDeclaration): boolean => limit.default === null;

/** The same limit for the same plants: the later value takes the place of the earlier. */
export const scopeKey = ({ name, group, phase, drink }: LimitScope): string =>
  JSON.stringify([name, group ?? null, phase ?? null, drink ?? null]);

/** What is wrong with one value by itself, or nothing. Paths are JSON pointers under `path`. */
export function entryProblems(rulebook: Rulebook, catalogue: Catalogue, entry: SetLimit, path: string): Problem[] {
  const limit = rulebook.limits.get(entry.name);
  const names = [...rulebook.limits.keys()];
  const problems = [
    ...known(`${path}/name`, 'the name of a limit', entry.name, names),
    ...known(
      `${path}/group`,
      'a species group of the catalogue',
      entry.group,
      catalogue.speciesGroups.map(({ id }) => id),
    ),
    ...known(`${path}/phase`, `one of ${WATER_PHASES.join(', ')}`, entry.phase, WATER_PHASES),
    ...known(`${path}/drink`, `one of ${AMOUNTS.join(', ')}`, entry.drink, AMOUNTS),
  ];
  if (!limit) return problems;
  if (entry.drink !== undefined && !isPerDrink(rulebook, limit.name))
    problems.push({
      path: `${path}/drink`,
      expected: `no drink: ${limit.name} is not asked drink by drink`,
      got: shown(entry.drink),
      mend: 'Take it out.',
    });
  if (entry.value === null && !mayBeUnasked(limit))
    problems.push({
      path: `${path}/value`,
      expected: `a value: ${limit.name} is always asked`,
      got: 'null',
      mend: 'Set a value, or take your own value out to have the usual one.',
    });
  return [...problems, ...valueProblems(`${path}/value`, limit, entry.value)];
}

/** What holds of a house, as far as the present rulebook and catalogue know it: the same array where they know all of it. */
export function limitsInForce(
  rulebook: Rulebook,
  catalogue: Catalogue,
  { limits }: Pick<HouseSettings, 'limits'>,
): readonly SetLimit[] {
  const good = limits.filter((entry) => entryProblems(rulebook, catalogue, entry, '').length === 0);
  return good.length === limits.length ? limits : good;
}

function known(path: string, expected: string, got: string | undefined, words: readonly string[]): Problem[] {
  if (got === undefined || words.includes(got)) return [];
  const mend = didYouMean(got, words);
  return [{ path, expected, got: shown(got), ...(mend && { mend }) }];
}

/** Two limits of which the lower end has come to stand above the upper. */
export interface Crossing {
  readonly lower: LimitDeclaration;
  readonly upper: LimitDeclaration;
  readonly values: readonly [number, number];
  /** Where it is so, in words: `Conophytum, growing, light drink`. */
  readonly where: string;
}

export const crossingInWords = ({ lower, upper, values: [low, high] }: Crossing): Omit<Problem, 'path'> => ({
  expected: `${lower.name} not above ${upper.name}`,
  got: `${settingInWords(lower, low)} and ${settingInWords(upper, high)}`,
});

/** Pairs that are turned round in one set of values. */
export function crossedIn(rulebook: Rulebook, values: LimitValues, where: string): Crossing[] {
  return rulebook.file.limits.flatMap((lower) => {
    const upper = lower.notAbove === undefined ? undefined : rulebook.limits.get(lower.notAbove);
    const low = values[lower.name];
    const high = upper && values[upper.name];
    if (!upper || typeof low !== 'number' || typeof high !== 'number' || low <= high) return [];
    return [{ lower, upper, values: [low, high] as const, where }];
  });
}

/** Where one set of values holds: a group in a phase, or one drink of it. */
export interface Place {
  readonly group: SpeciesGroup;
  readonly phase: WaterPhase;
  readonly drink?: Amount;
  readonly values: LimitValues;
}

/** Every set of values of a house. Limits asked drink by drink have their values in the places with a drink. */
export function placesOf(rulebook: Rulebook, catalogue: Catalogue, limits: readonly SetLimit[]): Place[] {
  return catalogue.speciesGroups.flatMap((group) => {
    const { phases } = limitsFor(rulebook, group, catalogue.general, limits);
    return WATER_PHASES.flatMap((phase): Place[] => [
      { group, phase, values: phases[phase].values },
      ...phases[phase].drinks.map(({ amount, values }) => ({ group, phase, drink: amount, values })),
    ]);
  });
}

export const placeInWords = ({ group, phase, drink }: Omit<Place, 'values'>): string =>
  [group.name, inWords(phase), ...(drink === undefined ? [] : [`${drink} drink`])].join(', ');

/** Pairs that come to stand turned round under what is set for a house, each told once. */
export function crossings(rulebook: Rulebook, catalogue: Catalogue, limits: readonly SetLimit[]): Crossing[] {
  const found = new Map<string, Crossing>();
  for (const place of placesOf(rulebook, catalogue, limits))
    for (const crossing of crossedIn(rulebook, place.values, placeInWords(place)))
      if (!found.has(crossing.lower.name)) found.set(crossing.lower.name, crossing);
  return [...found.values()];
}
