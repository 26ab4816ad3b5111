import type { Catalogue, WaterPhase } from '../domain/catalogue.js';
import type { HouseSettings, LimitScope, SetLimit, SetValue } from '../domain/house-settings.js';
import type { Amount } from '../domain/plants.js';
import {
  ALERT_LIMIT_NAMES,
  ALERT_LIMITS,
  type AlertLimit,
  type AlertLimitName,
  alertLimitsOf,
  isAlertLimit,
} from '../models/alert-limits.js';
import { isPerDrink, limitsInForce, mayBeUnasked, type Place, placesOf, scopeKey } from '../rules/house-limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import type { LimitDeclaration } from '../rules/schema.js';
import { inWords, settingInWords } from '../rules/words.js';

/** For which plants the limits are asked; left out: all. */
export interface AskedScope {
  readonly groups?: readonly string[];
  readonly phase?: WaterPhase;
  readonly drink?: Amount;
}

/** The revision that put something in force. */
export type Since = Pick<HouseSettings, 'revision' | 'at' | 'by' | 'why'>;

/** A value of the house's own. */
export interface OwnValue extends SetLimit, Since {}

export interface LimitView {
  readonly limit: LimitDeclaration;
  /** The source as a sentence. */
  readonly source: string;
  readonly perDrink: boolean;
  readonly mayBeUnasked: boolean;
  /** What is usual for the plants asked about, every value once, smallest first; several: it depends on the plants. */
  readonly usual: readonly SetValue[];
  /** What holds for them now. */
  readonly now: readonly SetValue[];
  readonly differs: boolean;
  readonly own: readonly OwnValue[];
}

/** A limit of the alerts; it holds for the house as a whole. */
export interface AlertLimitView {
  readonly name: AlertLimitName;
  readonly limit: AlertLimit;
  readonly now: number;
  readonly differs: boolean;
  /** Left out: nothing is set. */
  readonly own?: Since & { readonly value: number };
}

export interface LimitsView {
  readonly settings: HouseSettings;
  readonly rulebookRevision: string;
  /** Headings in order. */
  readonly sections: readonly {
    readonly id: string;
    readonly heading: string;
    readonly limits: readonly LimitView[];
  }[];
  readonly alerts: readonly AlertLimitView[];
  /** Own values that the present rulebook does not know or take: they do not hold. */
  readonly leftOut: readonly OwnValue[];
}

/**
 * Every limit of a house beside what is usual.
 * @param history newest first, with what is in force at its head; empty: nothing was ever set
 */
export function limitsView(
  rulebook: Rulebook,
  catalogue: Catalogue,
  settings: HouseSettings,
  history: readonly HouseSettings[],
  { groups, phase, drink }: AskedScope = {},
): LimitsView {
  const asked = {
    ...catalogue,
    speciesGroups: groups ? catalogue.speciesGroups.filter(({ id }) => groups.includes(id)) : catalogue.speciesGroups,
  };
  const holding = limitsInForce(rulebook, catalogue, settings);
  const fits = (place: Place): boolean =>
    (phase === undefined ? place.group.water.phases[place.phase] !== undefined : place.phase === phase) &&
    (drink === undefined || place.drink === undefined || place.drink === drink);
  const usual = placesOf(rulebook, asked, []).filter(fits);
  const now = placesOf(rulebook, asked, holding).filter(fits);
  const own = settings.limits.map((entry) => ownValue(entry, history));
  const viewOf = (limit: LimitDeclaration): LimitView => {
    const perDrink = isPerDrink(rulebook, limit.name);
    const valuesIn = (places: readonly Place[]): SetValue[] =>
      places
        .filter((place) => (place.drink !== undefined) === perDrink)
        .map(({ values }) => values[limit.name] ?? null);
    return {
      limit,
      source: rulebook.sources[limit.source] ?? limit.source,
      perDrink,
      mayBeUnasked: mayBeUnasked(limit),
      usual: eachOnce(limit, valuesIn(usual)),
      now: eachOnce(limit, valuesIn(now)),
      differs: JSON.stringify(valuesIn(usual)) !== JSON.stringify(valuesIn(now)),
      own: own.filter((entry) => entry.name === limit.name && holding.some((one) => scopeKey(one) === scopeKey(entry))),
    };
  };
  const views = rulebook.file.limits.map(viewOf);
  return {
    settings,
    rulebookRevision: rulebook.revision,
    sections: Object.entries(rulebook.file.sections).map(([id, heading]) => ({
      id,
      heading,
      limits: views.filter(({ limit }) => limit.section === id),
    })),
    alerts: ALERT_LIMIT_NAMES.map((name) => alertView(name, settings, history)),
    leftOut: own.filter((entry) => !holding.some((one) => scopeKey(one) === scopeKey(entry))),
  };
}

function eachOnce({ words = [] }: LimitDeclaration, values: readonly SetValue[]): SetValue[] {
  const kept = new Map(values.map((value) => [JSON.stringify(value), value]));
  const rank = (value: SetValue): number => {
    if (value === null) return Number.POSITIVE_INFINITY;
    if (typeof value === 'string') return words.indexOf(value);
    return typeof value === 'object' ? Number(value.flat()[0]) : Number(value);
  };
  return [...kept.values()].sort((a, b) => (rank(a) === rank(b) ? 0 : rank(a) - rank(b)));
}

function alertView(name: AlertLimitName, settings: HouseSettings, history: readonly HouseSettings[]): AlertLimitView {
  const limit: AlertLimit = ALERT_LIMITS[name];
  const value = settings.alertLimits[name];
  const now = alertLimitsOf(settings.alertLimits)[name];
  const own = value !== undefined && { value, ...since(history, ({ alertLimits }) => alertLimits[name] === value) };
  return { name, limit, now, differs: now !== limit.default, ...(own && { own }) };
}

const ownValue = (entry: SetLimit, history: readonly HouseSettings[]): OwnValue => {
  const key = JSON.stringify([scopeKey(entry), entry.value]);
  const has = ({ limits }: HouseSettings): boolean =>
    limits.some((one) => JSON.stringify([scopeKey(one), one.value]) === key);
  return { ...entry, ...since(history, has) };
};

/** The oldest revision from which on it has been so without a break. */
function since(history: readonly HouseSettings[], isSo: (settings: HouseSettings) => boolean): Since {
  const gone = history.findIndex((settings) => !isSo(settings));
  const { revision = 0, at = 0, by = '', why = '' } = (gone < 0 ? history.at(-1) : history[gone - 1]) ?? {};
  return { revision, at, by, why };
}

/** For which plants: `Conophytum, growing, light drink`; nothing for the whole house. */
export function scopeInWords(catalogue: Catalogue, { group, phase, drink }: Omit<LimitScope, 'name'>): string {
  const parts = [
    group && (catalogue.speciesGroups.find(({ id }) => id === group)?.name ?? group),
    phase && inWords(phase),
    drink && `${drink} drink`,
  ];
  return parts.filter(Boolean).join(', ');
}

/** What one revision changed against another, a line each: `Dry days before a drink (growing): 9 days instead of the usual.` */
export function settingsChanges(
  rulebook: Rulebook,
  catalogue: Catalogue,
  before: HouseSettings,
  after: HouseSettings,
): string[] {
  const was = new Map(before.limits.map((entry) => [scopeKey(entry), entry]));
  const is = new Map(after.limits.map((entry) => [scopeKey(entry), entry]));
  const keys = [...new Set([...was.keys(), ...is.keys()])].sort();
  const lines = keys.flatMap((key) => {
    const [old, next] = [was.get(key), is.get(key)];
    const entry = next ?? old;
    if (!entry || (old && next && JSON.stringify(old.value) === JSON.stringify(next.value))) return [];
    const limit = rulebook.limits.get(entry.name);
    const words = (one: SetLimit | undefined): string =>
      one === undefined ? 'the usual' : limit ? settingInWords(limit, one.value) : JSON.stringify(one.value);
    const where = scopeInWords(catalogue, entry);
    return [`${limit?.label ?? entry.name}${where && ` (${where})`}: ${words(next)} instead of ${words(old)}.`];
  });
  const alerts = [...new Set([...Object.keys(before.alertLimits), ...Object.keys(after.alertLimits)])].sort();
  for (const name of alerts) {
    const [old, next] = [before.alertLimits[name], after.alertLimits[name]];
    const { label = name, unit = '' }: Partial<AlertLimit> = isAlertLimit(name) ? ALERT_LIMITS[name] : {};
    const words = (value: number | undefined): string =>
      value === undefined ? 'the usual' : settingInWords({ kind: 'number', unit }, value);
    if (old !== next) lines.push(`${label}: ${words(next)} instead of ${words(old)}.`);
  }
  for (const kind of after.tasksOff) if (!before.tasksOff.includes(kind)) lines.push(`Task ${kind}: no longer shown.`);
  for (const kind of before.tasksOff) if (!after.tasksOff.includes(kind)) lines.push(`Task ${kind}: shown again.`);
  return lines;
}
