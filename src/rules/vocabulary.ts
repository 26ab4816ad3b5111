import type { Problem } from '../domain/errors.js';
import { FACT_NAMES, FACTS, type FactInfo } from '../domain/facts.js';
import { didYouMean, shown } from '../domain/problems.js';
import type { Condition, LimitDeclaration, LimitValue, Row, RulebookFile } from './schema.js';

/*
 * Whether a rulebook speaks of things that exist, in their own units and inside their bounds. Everything that is wrong
 * is listed at once, with its place and how to mend it.
 */

const ORDERED = ['below', 'at-most', 'at-least', 'above'];
const LISTS = ['one-of', 'none-of'];
const SEASONS = ['in-season', 'out-of-season'];

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
    ...unusedLimits(file),
  ];
}

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
  ];
  const [low, high] = limit.bounds ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  if (low > high)
    problems.push({
      path: `${path}.bounds`,
      expected: 'the lower end first',
      got: shown(limit.bounds),
      mend: 'Swap.',
    });
  if (limit.customary && limit.customary[0] > limit.customary[1])
    problems.push({ path: `${path}.customary`, expected: 'the lower end first', got: shown(limit.customary) });
  if (limit.kind === 'number' && limit.default !== null && !limit.bounds)
    problems.push({ path: `${path}.bounds`, expected: 'lowest and highest value that may be set', got: 'nothing' });
  if (limit.kind === 'word' && !limit.words)
    problems.push({ path: `${path}.words`, expected: 'the words that may be chosen', got: 'nothing' });
  problems.push(...valueProblems(`${path}.default`, limit, limit.default));
  limit.set.forEach((entry, index) => {
    problems.push(...valueProblems(`${path}.set[${index}].value`, limit, entry.value));
    if (entry.group === undefined && entry.phase === undefined)
      problems.push({ path: `${path}.set[${index}]`, expected: 'a group or a phase it holds for', got: 'neither' });
    if (entry.source) problems.push(...sourceProblem(`${path}.set[${index}].source`, entry.source, file));
  });
  return problems;
}

const isSeasonWindow = (window: unknown): boolean =>
  Array.isArray(window) &&
  window.length === 2 &&
  window.every((end) => typeof end === 'number' && end >= 0 && end <= 360);

/** Whether a value may be given to a limit: also asked before a grower's own value is taken. */
export function valueProblems(path: string, limit: LimitDeclaration, value: LimitValue): Problem[] {
  const wrong = (expected: string): Problem[] => [{ path, expected, got: shown(value) }];
  if (value === null) return [];
  const [low, high] = limit.bounds ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
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
      const [from, to] = value as [number, number];
      if (from > to) return [{ path, expected: 'the lower end first', got: shown(value), mend: 'Swap the two.' }];
      return within(from) && within(to) ? [] : wrong(`${low} to ${high} ${limit.unit}`.trim());
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
  const named = [
    typeof row.effect.cap === 'object' ? row.effect.cap.limit : undefined,
    typeof row.effect.shade === 'object' ? row.effect.shade.limit : undefined,
  ];
  for (const name of named)
    if (name !== undefined && !limits.has(name)) problems.push(unknownLimit(`${path}.effect`, name));
  for (const [, name] of row.because.matchAll(/\{([^}]+)\}/g))
    if (name !== undefined && !FACTS[name] && !limits.has(name))
      problems.push({
        path: `${path}.because`,
        expected: 'names of facts or limits in braces',
        got: `{${name}}`,
        mend: didYouMean(name, [...FACT_NAMES, ...limitNames]) ?? 'Correct the name.',
      });
  return problems;
}

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
  const info = FACTS[name];
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
  const problems: Problem[] = [];
  const can = [
    ...(info.kind === 'number' ? [] : ['is', 'is-not']),
    ...(info.kind === 'word' || info.kind === 'rank' ? LISTS : []),
    ...(info.kind === 'number' || info.kind === 'rank' ? ORDERED : []),
    ...(fact === 'seasonAngleDeg' ? SEASONS : []),
  ];
  if (!can.includes(op))
    problems.push({ path: `${path}.op`, expected: `one of ${can.join(', ')} for ${fact}`, got: shown(op) });
  if (!limit) return problems;
  const fits = SEASONS.includes(op)
    ? limit.kind === 'season'
    : info.kind === 'number'
      ? limit.kind === 'number'
      : limit.kind === 'word' && (!info.words || (limit.words ?? []).every((one) => info.words?.includes(one)));
  if (!fits)
    problems.push({
      path: `${path}.limit`,
      expected: `a limit of the kind of ${fact} (${info.kind})`,
      got: `${limit.name}, a ${limit.kind}`,
    });
  else if (info.kind === 'number' && !SEASONS.includes(op) && limit.unit !== info.unit)
    problems.push({
      path: `${path}.limit`,
      expected: `the unit of ${fact}: ${info.unit || 'none'}`,
      got: `${limit.name} in ${limit.unit || 'no unit'}`,
      mend: 'Give the limit the unit of the fact.',
    });
  return problems;
}

function literalProblems(path: string, { fact, op, value }: Condition, info: FactInfo): Problem[] {
  if (value === undefined) return [];
  const wrong = (expected: string, got: unknown, mend?: string): Problem[] => [
    { path: `${path}.value`, expected, got: shown(got), ...(mend && { mend }) },
  ];
  if (LISTS.includes(op) !== Array.isArray(value))
    return wrong(`${LISTS.includes(op) ? 'a list' : 'one value'}`, value);
  if (info.kind === 'flag') return typeof value === 'boolean' ? [] : wrong('true or false', value);
  if (info.kind === 'number') {
    if (typeof value !== 'number') return wrong(`a number, ${info.unit || 'no unit'}`, value);
    const [low, high] = info.bounds ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
    return value >= low && value <= high ? [] : wrong(`what ${fact} can be: ${low} to ${high} ${info.unit}`, value);
  }
  const words = Array.isArray(value) ? value : [value];
  return words.flatMap((one) => {
    if (typeof one !== 'string') return wrong('a word', one);
    if (!info.words || info.words.includes(one)) return [];
    return wrong(`one of ${info.words.join(', ')}`, one, didYouMean(one, info.words));
  });
}

function unusedLimits(file: RulebookFile): Problem[] {
  const used = new Set(ENGINE_LIMITS);
  for (const table of file.tables)
    for (const row of table.rows) {
      for (const condition of row.when)
        for (const name of [condition.limit, condition.choice]) if (name) used.add(name);
      if (typeof row.effect.cap === 'object') used.add(row.effect.cap.limit);
      if (typeof row.effect.shade === 'object') used.add(row.effect.shade.limit);
      for (const [, name] of row.because.matchAll(/\{([^}]+)\}/g)) if (name) used.add(name);
    }
  const missing = [...ENGINE_LIMITS].filter((name) => !file.limits.some((limit) => limit.name === name));
  return [
    ...missing.map((name) => ({
      path: 'limits',
      expected: `the limit ${name}, which the decision itself needs`,
      got: 'nothing',
      mend: 'Add it as in the default rulebook.',
    })),
    ...file.limits
      .map((limit, index) => ({ limit, index }))
      .filter(({ limit }) => !used.has(limit.name))
      .map(({ limit, index }) => ({
        path: `limits[${index}]`,
        expected: `some row that uses the limit ${limit.name}`,
        got: 'nothing that uses it',
        mend: 'Take it out, or use it.',
      })),
  ];
}

/** Limits the steps outside the tables read: amounts, doses, how sure a phase must be, and what a look saves. */
export const ENGINE_LIMITS: ReadonlySet<string> = new Set([
  'phase-sure',
  'harm-of-wrong-drink',
  'harm-of-wrong-dry',
  'thirst-half-days',
  'stall-applies',
  'light-drink-mm',
  'full-drink-share',
  'split-doses',
  'split-dose-gap-days',
]);
