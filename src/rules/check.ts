import type { Catalogue } from '../domain/catalogue.js';
import type { Problem } from '../domain/errors.js';
import { FACTS, type FactInfo, factUnit } from '../domain/facts.js';
import { didYouMean, shown } from '../domain/problems.js';
import type { FactValue } from '../domain/verdict.js';
import { type Compiled, changedSheet, type FactSheet, type LimitValues, rowMet, sheetOf } from './evaluate.js';
import { crossedIn, crossingInWords } from './house-limits.js';
import { type Limits, limitsFor } from './limits.js';
import type { CompiledTable, Rulebook } from './rulebook.js';
import { UNBOUNDED, valueProblems } from './vocabulary.js';
import { inWords, quantityInWords } from './words.js';

/*
 * What can be wrong with a rulebook that reads well: a `unique` table with gaps or overlaps, rows that can never apply,
 * rows that say the same twice, groups the catalogue does not have, and values of the catalogue outside the bounds of
 * their limit. Every limit is tried as it comes out for each group and phase of the catalogue.
 */

/** Limits of one group in one phase, or for one drink of it. */
interface Scope {
  readonly name: string;
  readonly values: LimitValues;
}

export function checkRules(rulebook: Rulebook, catalogue: Catalogue): Problem[] {
  const all = catalogue.speciesGroups.map((group) => limitsFor(rulebook, group, catalogue.general));
  const phases = all.flatMap(phaseScopes);
  const drinks = all.flatMap(drinkScopes);
  return [
    ...groupProblems(
      rulebook,
      catalogue.speciesGroups.map(({ id }) => id),
    ),
    ...boundProblems(rulebook, [...phases, ...drinks]),
    ...crossedProblems(rulebook, [...phases, ...drinks]),
    ...rulebook.file.tables.flatMap((raw, index) => {
      const table = rulebook.tables[raw.id];
      const scopes = raw.id === 'policy' ? drinks : phases;
      return [
        ...neverProblems(`tables[${index}]`, table, scopes),
        ...twinProblems(`tables[${index}]`, table),
        ...(table.hit === 'unique' ? coverProblems(`tables[${index}]`, table, scopes) : []),
      ];
    }),
  ];
}

const phaseScopes = (limits: Limits): Scope[] =>
  Object.entries(limits.phases).map(([phase, { values }]) => ({
    name: `${limits.groupName}, ${inWords(phase)}`,
    values,
  }));

const drinkScopes = (limits: Limits): Scope[] =>
  Object.entries(limits.phases).flatMap(([phase, { drinks }]) =>
    drinks.map(({ amount, values }) => ({
      name: `${limits.groupName}, ${inWords(phase)}, ${amount} drink`,
      values,
    })),
  );

/** Scopes that differ in what the table asks; thousands of equal ones are tried once. */
function differing(table: CompiledTable, scopes: readonly Scope[]): Scope[] {
  const names = table.rows.flatMap((row) => row.row.when.flatMap((one) => one.limit ?? one.choice ?? []));
  const seen = new Map<string, Scope>();
  for (const scope of scopes) {
    const key = JSON.stringify(names.map((name) => scope.values[name]));
    if (!seen.has(key)) seen.set(key, scope);
  }
  return [...seen.values()];
}

/** What is said of a group that the catalogue does not have never holds. */
function groupProblems(rulebook: Rulebook, groups: readonly string[]): Problem[] {
  const known = (path: string, where: string, group: unknown): Problem[] =>
    typeof group !== 'string' || groups.includes(group)
      ? []
      : [
          {
            path,
            expected: `a species group of the catalogue (${where})`,
            got: shown(group),
            mend: didYouMean(group, groups) ?? 'Correct the name or take it out.',
          },
        ];
  return [
    ...rulebook.file.limits.flatMap((limit, index) =>
      limit.set.flatMap(({ group }, at) => known(`limits[${index}].set[${at}].group`, `limit ${limit.name}`, group)),
    ),
    ...rulebook.file.tables.flatMap((table, t) =>
      table.rows.flatMap((row, r) =>
        row.when.flatMap(({ fact, value }, at) =>
          (fact === 'group' ? [value].flat() : []).flatMap((group) =>
            known(`tables[${t}].rows[${r}].when[${at}].value`, `row ${table.id}/${row.id}`, group),
          ),
        ),
      ),
    ),
  ];
}

function boundProblems(rulebook: Rulebook, scopes: readonly Scope[]): Problem[] {
  return rulebook.file.limits.flatMap((limit, index) => {
    const wrong = scopes.flatMap(({ name, values }) =>
      valueProblems(`limits[${index}]`, limit, values[limit.name] ?? null).map((problem) => ({
        ...problem,
        expected: `${problem.expected} (limit ${limit.name}, for ${name})`,
        mend: 'Mend the catalogue, or widen the bounds of the limit.',
      })),
    );
    return wrong.slice(0, 1);
  });
}

function crossedProblems(rulebook: Rulebook, scopes: readonly Scope[]): Problem[] {
  const crossed = scopes.flatMap(({ name, values }) => crossedIn(rulebook, values, name));
  return rulebook.file.limits.flatMap((limit, index) => {
    const first = crossed.find(({ lower }) => lower === limit);
    if (!first) return [];
    const { expected, got } = crossingInWords(first);
    return [
      {
        path: `limits[${index}]`,
        expected: `${expected} (for ${first.where})`,
        got,
        mend: 'Mend the catalogue or the limits.',
      },
    ];
  });
}

function neverProblems(path: string, table: CompiledTable, scopes: readonly Scope[]): Problem[] {
  const tried = differing(table, scopes);
  return table.rows.flatMap((row, index) => {
    if (tried.some(({ values }) => canApply(row, values))) return [];
    return [
      {
        path: `${path}.rows[${index}]`,
        expected: `conditions that can hold together (row ${table.id}/${row.row.id})`,
        got: 'a row that can never apply, in any group and phase',
        mend: 'Look for limits that cross, a range turned round, or a choice no group makes.',
      },
    ];
  });
}

/** Conditions on different facts do not disturb each other, so each fact is tried by itself. */
function canApply(row: Compiled, values: LimitValues): boolean {
  const hold = (conditions: Compiled['conditions'], facts: Case): boolean =>
    rowMet({ ...row, conditions }, sheetWith(facts), values) === 'yes';
  const choices = row.conditions.filter((one) => one.at < 0);
  return (
    hold(choices, {}) &&
    factsOf([row]).every((fact) => {
      const own = row.conditions.filter((one) => one.fact === fact);
      return valuesToTry(fact, [row], values).some((value) => hold(own, { [fact]: value }));
    })
  );
}

/** Values of the facts a table looks at, of one case that is tried. */
type Case = Readonly<Record<string, FactValue>>;

const NOTHING_KNOWN = sheetOf({});
const sheetWith = (facts: Case): FactSheet => changedSheet(NOTHING_KNOWN, facts);

const factsOf = (rows: readonly Compiled[]): string[] => [
  ...new Set(rows.flatMap((row) => row.conditions.filter((one) => one.at >= 0)).map((one) => one.fact)),
];

/** A value on every cut, between any two of them and at both ends; all the words of a word. */
function valuesToTry(fact: string, rows: readonly Compiled[], values: LimitValues): FactValue[] {
  const info = FACTS[fact] as FactInfo;
  if (info.kind === 'flag') return [true, false];
  if (info.words) return [...info.words];
  const compared = rows
    .flatMap((row) => row.conditions)
    .filter((one) => one.fact === fact)
    .flatMap((one) => [one.limit === undefined ? one.value : (values[one.limit] ?? null)].flat(2));
  // Where any word may stand, those the rows know, and one they do not.
  if (info.kind !== 'number') return [...new Set(compared.filter((one) => typeof one === 'string')), 'another'];
  const cuts = compared.filter((one) => typeof one === 'number').sort((a, b) => a - b);
  const [low, high] = info.bounds ?? UNBOUNDED;
  const between = cuts.slice(1).map((cut, index) => (cut + (cuts[index] as number)) / 2);
  return [...new Set([low, ...cuts, ...between, high])].filter((value) => value >= low && value <= high);
}

function twinProblems(path: string, table: CompiledTable): Problem[] {
  const said = ({ row }: Compiled): string => JSON.stringify([row.when, row.effect]);
  return table.rows.flatMap((row, index) => {
    const first = table.rows.find((other) => said(other) === said(row)) as Compiled;
    if (first === row) return [];
    return [
      {
        path: `${path}.rows[${index}]`,
        expected: 'each row once',
        got: `${table.id}/${row.row.id}, the same as ${first.row.id}`,
        mend: 'Take one of them out.',
      },
    ];
  });
}

/** Combinations tried of one `unique` table in one scope; beyond that the table should be split. */
const MOST_COMBINATIONS = 200_000;

/** Every combination of values must meet exactly one row. */
function coverProblems(path: string, table: CompiledTable, scopes: readonly Scope[]): Problem[] {
  const problems = new Map<string, Problem>();
  const names = factsOf(table.rows);
  for (const scope of differing(table, scopes)) {
    const choices = names.map((name) => valuesToTry(name, table.rows, scope.values));
    const total = choices.reduce((product, list) => product * list.length, 1);
    if (total > MOST_COMBINATIONS)
      return [
        {
          path,
          expected: `a table that can be tried out (${table.id})`,
          got: `${total} combinations`,
          mend: 'Split the table or use fewer facts.',
        },
      ];
    for (let index = 0; index < total; index += 1) {
      const facts = combination(names, choices, index);
      const sheet = sheetWith(facts);
      const hit = table.rows.filter((row) => rowMet(row, sheet, scope.values) === 'yes').map((row) => row.row.id);
      if (hit.length === 1) continue;
      const kind = hit.length === 0 ? 'a gap' : `an overlap of ${hit.join(' and ')}`;
      if (problems.has(kind)) continue;
      problems.set(kind, {
        path,
        expected: `exactly one row for every case (table ${table.id})`,
        got: `${kind}, e.g. ${caseInWords(facts)} (${scope.name})`,
        mend: hit.length === 0 ? 'Add a row for it, or widen one.' : 'Narrow one of the rows.',
      });
    }
  }
  return [...problems.values()];
}

function combination(names: readonly string[], choices: readonly FactValue[][], index: number): Case {
  let rest = index;
  return Object.fromEntries(
    names.map((name, at) => {
      const list = choices[at] as FactValue[];
      const value = list[rest % list.length] as FactValue;
      rest = Math.floor(rest / list.length);
      return [name, value];
    }),
  );
}

const caseInWords = (facts: Case): string =>
  Object.entries(facts)
    .map(([name, value]) => `${name} ${quantityInWords(value, factUnit(name))}`)
    .join(', ');
