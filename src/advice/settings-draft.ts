import type { Catalogue } from '../domain/catalogue.js';
import type { Problem } from '../domain/errors.js';
import type { HouseSettings, LimitScope, SetLimit, SettingsChange } from '../domain/house-settings.js';
import { didYouMean, shown } from '../domain/problems.js';
import { TASK_KINDS } from '../domain/tasks.js';
import { alertLimitProblems } from '../models/alert-limits.js';
import { type Crossing, crossings, entryProblems, scopeKey } from '../rules/house-limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import { settingInWords } from '../rules/words.js';

/** Own values a house may have; more than that is a rulebook of its own. */
export const MOST_LIMITS = 500;

export interface DraftContext {
  readonly rulebook: Rulebook;
  readonly catalogue: Catalogue;
}

/** What a house would have after a change, and everything that speaks against it. */
export function settingsDraft(
  now: HouseSettings,
  change: SettingsChange,
  context: DraftContext,
): { readonly settings: HouseSettings; readonly problems: readonly Problem[] } {
  const { limits: set = [], unset = [] } = change;
  const limits = set.length + unset.length === 0 ? now.limits : merged(now.limits, set, unset);
  const alertLimits = change.alertLimits
    ? withoutNulls({ ...now.alertLimits, ...change.alertLimits })
    : now.alertLimits;
  const tasksOff = change.tasksOff ? [...new Set(change.tasksOff)].sort() : now.tasksOff;
  const settings: HouseSettings = { ...now, limits, alertLimits, tasksOff };
  const problems = [
    ...set.flatMap((entry, index) => entryProblems(context.rulebook, context.catalogue, entry, `/limits/${index}`)),
    ...twice(set, unset),
    ...unset.flatMap((scope, index) => notSet(now.limits, scope, `/unset/${index}`)),
    ...(change.alertLimits ? alertLimitProblems(alertLimits) : []),
    ...(change.tasksOff ?? []).flatMap(unknownTask),
  ];
  if (limits.length > MOST_LIMITS)
    problems.push({
      path: '/limits',
      expected: `at most ${MOST_LIMITS} values of a house`,
      got: String(limits.length),
    });
  // Only good values are held against each other: what a wrong one would do is of no interest.
  if (problems.length === 0) problems.push(...crossedByChange(settings, change, context));
  if (problems.length === 0 && same(now, settings))
    problems.push({ path: '', expected: 'a change', got: 'what is in force already' });
  return { settings, problems };
}

function merged(now: readonly SetLimit[], set: readonly SetLimit[], unset: readonly LimitScope[]): readonly SetLimit[] {
  const byScope = new Map(now.map((entry) => [scopeKey(entry), entry]));
  for (const scope of unset) byScope.delete(scopeKey(scope));
  for (const entry of set) byScope.set(scopeKey(entry), entry);
  // In one order, so that the same settings read the same however they came about.
  return [...byScope].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, entry]) => entry);
}

const withoutNulls = (limits: Readonly<Record<string, number | null>>): Record<string, number> =>
  Object.fromEntries(Object.entries(limits).flatMap(([name, value]) => (value === null ? [] : [[name, value]])));

function twice(set: readonly LimitScope[], unset: readonly LimitScope[]): Problem[] {
  const seen = new Set<string>();
  const told = (scope: LimitScope, path: string): Problem[] => {
    const key = scopeKey(scope);
    if (seen.has(key)) return [{ path, expected: 'each limit once for the same plants', got: shown(scope) }];
    seen.add(key);
    return [];
  };
  return [
    ...set.flatMap((scope, index) => told(scope, `/limits/${index}`)),
    ...unset.flatMap((scope, index) => told(scope, `/unset/${index}`)),
  ];
}

const notSet = (now: readonly SetLimit[], scope: LimitScope, path: string): Problem[] =>
  now.some((entry) => scopeKey(entry) === scopeKey(scope))
    ? []
    : [
        {
          path,
          expected: 'a value that is set for this house',
          got: shown(scope),
          mend: 'Name limit, group, phase and drink as they were set.',
        },
      ];

function unknownTask(kind: string, index: number): Problem[] {
  if ((TASK_KINDS as readonly string[]).includes(kind)) return [];
  const mend = didYouMean(kind, TASK_KINDS);
  const expected = `one of ${TASK_KINDS.join(', ')}`;
  return [{ path: `/tasksOff/${index}`, expected, got: shown(kind), ...(mend && { mend }) }];
}

/** Pairs turned round by this change; those that stood so before are not its fault. */
function crossedByChange({ limits }: HouseSettings, change: SettingsChange, context: DraftContext): Problem[] {
  const { limits: set = [], unset = [] } = change;
  if (set.length + unset.length === 0) return [];
  return crossings(context.rulebook, context.catalogue, limits).flatMap((crossing) => {
    const isOne = ({ name }: LimitScope): boolean => name === crossing.lower.name || name === crossing.upper.name;
    const [inSet, inUnset] = [set.findIndex(isOne), unset.findIndex(isOne)];
    if (inSet < 0 && inUnset < 0) return [];
    const at = inSet < 0 ? inUnset : inSet;
    const { name } = (inSet < 0 ? unset : set)[at] as LimitScope;
    return [{ path: inSet < 0 ? `/unset/${at}` : `/limits/${at}/value`, ...crossedInWords(crossing, name) }];
  });
}

/** Seen from the limit that was changed: how far it may go beside the other. */
function crossedInWords({ lower, upper, values, where }: Crossing, name: string): Omit<Problem, 'path'> {
  const [low, high] = values;
  const isLower = name === lower.name;
  const [other, bound, got] = isLower ? [upper, high, low] : [lower, low, high];
  return {
    expected: `at ${isLower ? 'most' : 'least'} ${settingInWords(other, bound)}, where “${other.label}” stands (${where})`,
    got: settingInWords(other, got),
    mend: 'Change the other one first, or both together.',
  };
}

const same = (a: HouseSettings, b: HouseSettings): boolean =>
  JSON.stringify([a.limits, sorted(a.alertLimits), a.tasksOff]) ===
  JSON.stringify([b.limits, sorted(b.alertLimits), b.tasksOff]);
const sorted = (record: Readonly<Record<string, number>>): unknown => Object.entries(record).sort();
