import { WATER_PHASES } from '../domain/catalogue.js';
import type { Problem } from '../domain/errors.js';
import { FACT_NAMES, type FactInfo, factInfo, isFactName } from '../domain/facts.js';
import { AMOUNTS } from '../domain/plants.js';
import { didYouMean, shown } from '../domain/problems.js';
import type { Condition, Effect, LimitDeclaration, LimitValue, Row, RulebookFile } from './schema.js';

/*
 * Whether a rulebook speaks of things that exist, in their own units and inside their bounds. Everything that is wrong
 * is listed at once, with its place and how to mend it.
 */

type SetEntry = LimitDeclaration['set'][number];

const ORDERED = ['below', 'at-most', 'at-least', 'above'];
const LISTS = ['one-of', 'none-of'];
const SEASONS = ['in-season', 'out-of-season'];
/** Ends of what has no bounds. */
export const UNBOUNDED: readonly [number, number] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];

export function vocabularyProblems(file: RulebookFile): Problem[] {
  const limits = new Map(file.limits.map((limit) => [limit.name, limit]));
  return [
    ...duplicates(file),
    ...file.limits.flatMap((limit, index) =>
      inside(`limit ${limit.name}`, limitProblems(`limits[${index}]`, limit, file)),
    ),
    ...file.tables.flatMap((table, t) =>
      table.rows.flatMap((row, r) =>
        inside(`row ${table.id}/${row.id}`, rowProblems(`tables[${t}].rows[${r}]`, row, limits, file)),
      ),
    ),
    ...engineLimits(file),
    ...unusedLimits(file),
  ];
}

/** The names in braces that a sentence wants filled in. */
const namesIn = (because: string): string[] => [...because.matchAll(/\{([^}]+)\}/g)].map(([, name]) => name as string);

/** Says by name where a problem lies; its path stays one that finds the line in the file. */
const inside = (where: string, problems: readonly Problem[]): Problem[] =>
  problems.map((problem) => ({ ...problem, expected: `${problem.expected} (${where})` }));

function duplicates(file: RulebookFile): Problem[] {
  const twice = (path: string, names: readonly string[]): Problem[] =>
    names
      .map((name, index) => ({ name, index }))
      .filter(({ name, index }) => names.indexOf(name) !== index)
      .map(({ name, index }) => ({
        path: `${path}[${index}]`,
        expected: 'a name used once',
        got: name,
        mend: 'Rename one of them, or put them together.',
      }));
  return [
    ...twice(
      'limits',
      file.limits.map((limit) => limit.name),
    ),
    ...twice(
      'limits',
      file.limits.map((limit) => limit.label),
    ),
    ...twice(
      'tables',
      file.tables.map((table) => table.id),
    ),
    ...file.tables.flatMap((table, t) =>
      twice(
        `tables[${t}].rows`,
        table.rows.map((row) => row.id),
      ),
    ),
  ];
}

const sourceProblem = (path: string, source: string, file: RulebookFile): Problem[] =>
  Object.hasOwn(file.sources, source)
    ? []
    : [
        {
          path,
          expected: `a key of \`sources\` (${Object.keys(file.sources).join(', ')})`,
          got: shown(source),
          mend: didYouMean(source, Object.keys(file.sources)) ?? 'Add the publication, or say `practice`.',
        },
      ];

const sectionProblem = (path: string, section: string, file: RulebookFile): Problem[] => {
  const sections = Object.keys(file.sections);
  if (sections.includes(section)) return [];
  const mend = didYouMean(section, sections) ?? 'Add a heading for it under `sections`.';
  return [{ path, expected: `a key of \`sections\` (${sections.join(', ')})`, got: shown(section), mend }];
};

function notAboveProblem(path: string, limit: LimitDeclaration, file: RulebookFile): Problem[] {
  if (limit.notAbove === undefined) return [];
  const names = file.limits.map(({ name }) => name);
  const other = file.limits.find(({ name }) => name === limit.notAbove);
  if (!other) {
    const mend = didYouMean(limit.notAbove, names) ?? 'Declare it under `limits`.';
    return [{ path, expected: 'the name of a limit', got: shown(limit.notAbove), mend }];
  }
  if (limit.kind === 'number' && other.kind === 'number' && other.unit === limit.unit) return [];
  return [
    {
      path,
      expected: `two numbers with the same unit, ${limit.unit || 'none'}`,
      got: `${other.name}, a ${other.kind} with ${other.unit || 'no unit'}`,
    },
  ];
}

function limitProblems(path: string, limit: LimitDeclaration, file: RulebookFile): Problem[] {
  const problems = [
    ...sourceProblem(`${path}.source`, limit.source, file),
    ...sectionProblem(`${path}.section`, limit.section, file),
    ...notAboveProblem(`${path}.notAbove`, limit, file),
    ...turnedProblem(`${path}.bounds`, limit.bounds),
    ...turnedProblem(`${path}.customary`, limit.customary),
  ];
  if (limit.kind === 'number' && limit.default !== null && !limit.bounds)
    problems.push({ path: `${path}.bounds`, expected: 'lowest and highest value that may be set', got: 'nothing' });
  if (limit.kind === 'word' && !limit.words)
    problems.push({ path: `${path}.words`, expected: 'the words that may be chosen', got: 'nothing' });
  problems.push(...valueProblems(`${path}.default`, limit, limit.default));
  limit.set.forEach((entry, index) => {
    problems.push(...setProblems(`${path}.set[${index}]`, limit, entry, file));
  });
  return problems;
}

function setProblems(path: string, limit: LimitDeclaration, entry: SetEntry, file: RulebookFile): Problem[] {
  const { group, phase, value, source } = entry;
  const problems = valueProblems(`${path}.value`, limit, value);
  if (group === undefined && phase === undefined)
    problems.push({ path, expected: 'a group or a phase it holds for', got: 'neither' });
  if (phase !== undefined && !WATER_PHASES.some((one) => one === phase))
    problems.push({
      path: `${path}.phase`,
      expected: `one of ${WATER_PHASES.join(', ')}`,
      got: shown(phase),
      mend: didYouMean(phase, WATER_PHASES) ?? 'Name one of them.',
    });
  if (source !== undefined) problems.push(...sourceProblem(`${path}.source`, source, file));
  return problems;
}

const turnedProblem = (path: string, ends: readonly [number, number] | undefined): Problem[] =>
  ends && ends[0] > ends[1] ? [{ path, expected: 'the lower end first', got: shown(ends), mend: 'Swap the two.' }] : [];

const isSeasonWindow = (window: unknown): boolean =>
  Array.isArray(window) &&
  window.length === 2 &&
  window.every((end) => typeof end === 'number' && end >= 0 && end <= 360);

/** Whether a value may be given to a limit: also asked before a grower's own value is taken. */
export function valueProblems(path: string, limit: LimitDeclaration, value: LimitValue): Problem[] {
  const wrong = (expected: string): Problem[] => [{ path, expected, got: shown(value) }];
  if (value === null) return [];
  const [low, high] = limit.bounds ?? UNBOUNDED;
  const within = (number: number): boolean => number >= low && number <= high;
  switch (limit.kind) {
    case 'number':
      if (typeof value !== 'number' || Number.isNaN(value)) return wrong(`a number, ${limit.unit || 'no unit'}`);
      if (limit.whole && !Number.isInteger(value))
        return wrong(`a whole number, ${low} to ${high} ${limit.unit}`.trim());
      return within(value) ? [] : wrong(`${low} to ${high} ${limit.unit}`.trim());
    case 'word':
      return typeof value === 'string' && (limit.words ?? []).includes(value)
        ? []
        : wrong(`one of ${(limit.words ?? []).join(', ')}`);
    case 'flag':
      return typeof value === 'boolean' ? [] : wrong('yes or no (true or false)');
    case 'band': {
      if (!Array.isArray(value) || value.length !== 2 || value.some((end) => typeof end !== 'number'))
        return wrong('a band [low, high]');
      const ends = value as [number, number];
      const turned = turnedProblem(path, ends);
      return turned.length > 0 || ends.every(within) ? turned : wrong(`${low} to ${high} ${limit.unit}`.trim());
    }
    case 'season':
      return Array.isArray(value) && value.length > 0 && value.every(isSeasonWindow)
        ? []
        : wrong('a list of season windows such as [[330, 60]], in degrees from 0 to 360');
  }
}

function rowProblems(
  path: string,
  row: Row,
  limits: ReadonlyMap<string, LimitDeclaration>,
  file: RulebookFile,
): Problem[] {
  const problems = [...sourceProblem(`${path}.source`, row.source, file)];
  const limitNames = [...limits.keys()];
  const unknownLimit = (at: string, name: string): Problem => ({
    path: at,
    expected: 'the name of a limit',
    got: shown(name),
    mend: didYouMean(name, limitNames) ?? 'Declare it under `limits`.',
  });
  row.when.forEach((condition, index) => {
    problems.push(...conditionProblems(`${path}.when[${index}]`, condition, limits, unknownLimit));
  });
  problems.push(...effectProblems(`${path}.effect`, row.effect, limits, unknownLimit));
  for (const name of namesIn(row.because))
    if (!isFactName(name) && !limits.has(name))
      problems.push({
        path: `${path}.because`,
        expected: 'names of facts or limits in braces',
        got: `{${name}}`,
        mend: didYouMean(name, [...FACT_NAMES, ...limitNames]) ?? 'Correct the name.',
      });
  return problems;
}

/** A cap that is no amount, or cloth that is no band, would silently be no cap and no cloth. */
function effectProblems(
  path: string,
  { cap, shade }: Effect,
  limits: ReadonlyMap<string, LimitDeclaration>,
  unknownLimit: (at: string, name: string) => Problem,
): Problem[] {
  const isAmount = ({ kind, words }: LimitDeclaration): boolean => kind === 'word' && onlyOf(words, AMOUNTS);
  const wanted: [string, string | undefined, (limit: LimitDeclaration) => boolean, string][] = [
    ['cap', typeof cap === 'object' ? cap.limit : undefined, isAmount, `a limit with words of ${AMOUNTS.join(', ')}`],
    [
      'shade',
      typeof shade === 'object' ? shade.limit : undefined,
      ({ kind }) => kind === 'band',
      'a limit that is a band',
    ],
  ];
  return wanted.flatMap(([key, name, fits, expected]) => {
    if (name === undefined) return [];
    const at = `${path}.${key}.limit`;
    const limit = limits.get(name);
    if (!limit) return [unknownLimit(at, name)];
    return fits(limit) ? [] : [{ path: at, expected, got: described(limit) }];
  });
}

const onlyOf = (words: readonly string[] | undefined, known: readonly string[]): boolean =>
  words?.every((one) => known.includes(one)) ?? false;

const described = ({ name, kind, words }: LimitDeclaration): string =>
  `${name}, a ${kind}${words ? ` of ${words.join(', ')}` : ''}`;

function conditionProblems(
  path: string,
  condition: Condition,
  limits: ReadonlyMap<string, LimitDeclaration>,
  unknownLimit: (at: string, name: string) => Problem,
): Problem[] {
  const right = condition.limit === undefined ? undefined : limits.get(condition.limit);
  if (condition.limit !== undefined && !right) return [unknownLimit(`${path}.limit`, condition.limit)];
  if (condition.choice !== undefined) {
    const choice = limits.get(condition.choice);
    if (!choice) return [unknownLimit(`${path}.choice`, condition.choice)];
    if (condition.value === undefined || Array.isArray(condition.value) || !['is', 'is-not'].includes(condition.op))
      return [{ path, expected: 'a choice compared by `is` or `is-not` with a value', got: shown(condition) }];
    return valueProblems(`${path}.value`, choice, condition.value);
  }
  const name = condition.fact as string;
  const info = factInfo(name);
  if (!info)
    return [
      {
        path: `${path}.fact`,
        expected: 'a fact a rule can see',
        got: shown(name),
        mend: didYouMean(name, FACT_NAMES) ?? 'See the list of what a rule can see.',
      },
    ];
  return [...operatorProblems(path, condition, info, right), ...literalProblems(path, condition, info)];
}

function operatorProblems(
  path: string,
  { fact, op }: Condition,
  info: FactInfo,
  limit: LimitDeclaration | undefined,
): Problem[] {
  const can = [
    ...(info.kind === 'number' ? [] : ['is', 'is-not']),
    ...(info.kind === 'word' || info.kind === 'rank' ? LISTS : []),
    ...(info.kind === 'number' || info.kind === 'rank' ? ORDERED : []),
    ...(fact === 'seasonAngleDeg' ? SEASONS : []),
  ];
  if (!can.includes(op))
    return [{ path: `${path}.op`, expected: `one of ${can.join(', ')} for ${fact}`, got: shown(op) }];
  if (!limit) return [];
  const at = `${path}.limit`;
  if (LISTS.includes(op)) return [{ path: at, expected: 'a list in `value`', got: `the limit ${limit.name}` }];
  const kind = SEASONS.includes(op) ? 'season' : info.kind === 'rank' ? 'word' : info.kind;
  const { words } = info;
  if (limit.kind !== kind || (words && !onlyOf(limit.words, words))) {
    const expected = `a limit for ${fact} that is a ${kind}${words ? ` of ${words.join(', ')}` : ''}`;
    return [{ path: at, expected, got: described(limit) }];
  }
  if (kind !== 'number' || limit.unit === info.unit) return [];
  return [
    {
      path: at,
      expected: `the unit of ${fact}: ${info.unit || 'none'}`,
      got: `${limit.name} in ${limit.unit || 'no unit'}`,
      mend: 'Give the limit the unit of the fact.',
    },
  ];
}

function literalProblems(path: string, { fact, op, value }: Condition, info: FactInfo): Problem[] {
  if (value === undefined) return [];
  const wrong = (expected: string, got: unknown, mend?: string): Problem[] => [
    { path: `${path}.value`, expected, got: shown(got), ...(mend && { mend }) },
  ];
  if (SEASONS.includes(op)) return wrong('a `limit` with season windows', value);
  if (LISTS.includes(op) !== Array.isArray(value)) return wrong(LISTS.includes(op) ? 'a list' : 'one value', value);
  if (info.kind === 'flag') return typeof value === 'boolean' ? [] : wrong('true or false', value);
  if (info.kind === 'number') {
    if (typeof value !== 'number') return wrong(`a number, ${info.unit || 'no unit'}`, value);
    const [low, high] = info.bounds ?? UNBOUNDED;
    if (value >= low && value <= high) return [];
    return wrong(`what ${fact} can be: ${low} to ${high} ${info.unit}`.trim(), value);
  }
  const words = Array.isArray(value) ? value : [value];
  return words.flatMap((one) => {
    if (typeof one !== 'string') return wrong('a word', one);
    if (!info.words || info.words.includes(one)) return [];
    return wrong(`one of ${info.words.join(', ')}`, one, didYouMean(one, info.words));
  });
}

function unusedLimits(file: RulebookFile): Problem[] {
  const used = new Set(ENGINE_LIMITS.keys());
  for (const table of file.tables)
    for (const row of table.rows) {
      for (const condition of row.when)
        for (const name of [condition.limit, condition.choice]) if (name) used.add(name);
      if (typeof row.effect.cap === 'object') used.add(row.effect.cap.limit);
      if (typeof row.effect.shade === 'object') used.add(row.effect.shade.limit);
      for (const name of namesIn(row.because)) used.add(name);
    }
  return file.limits.flatMap((limit, index) =>
    used.has(limit.name)
      ? []
      : [
          {
            path: `limits[${index}]`,
            expected: `some row that uses the limit ${limit.name}`,
            got: 'nothing that uses it',
            mend: 'Take it out, or use it.',
          },
        ],
  );
}

/** A limit of another kind or unit would be taken for a number of its own unit: for so many mm, say. */
function engineLimits(file: RulebookFile): Problem[] {
  return [...ENGINE_LIMITS].flatMap(([name, { kind, unit }]) => {
    const index = file.limits.findIndex((limit) => limit.name === name);
    const limit = file.limits[index];
    const mend = 'Have it as in the default rulebook.';
    if (!limit)
      return [{ path: 'limits', expected: `the limit ${name}, which the decision itself needs`, got: 'nothing', mend }];
    const values = [limit.default, ...limit.set.map(({ value }) => value)];
    if (limit.kind === kind && limit.unit === unit && !values.includes(null)) return [];
    const expected = `${name} as a ${kind} with ${unit || 'no unit'} and a value: the decision itself needs it`;
    const got = `a ${limit.kind} with ${limit.unit || 'no unit'}, ${values.map(shown).join(' and ')}`;
    return [{ path: `limits[${index}]`, expected, got, mend }];
  });
}

/** Limits the steps outside the tables read: amounts, doses, how sure a phase must be, and what a look saves. */
export const ENGINE_LIMITS: ReadonlyMap<string, Pick<LimitDeclaration, 'kind' | 'unit'>> = new Map([
  ['phase-sure', { kind: 'number', unit: '' }],
  ['harm-of-wrong-drink', { kind: 'number', unit: '' }],
  ['harm-of-wrong-dry', { kind: 'number', unit: '' }],
  ['thirst-half-days', { kind: 'number', unit: 'days' }],
  ['stall-applies', { kind: 'flag', unit: '' }],
  ['light-drink-mm', { kind: 'number', unit: 'mm' }],
  ['full-drink-share', { kind: 'number', unit: '' }],
  ['split-doses', { kind: 'number', unit: '' }],
  ['split-dose-gap-days', { kind: 'number', unit: 'days' }],
]);
