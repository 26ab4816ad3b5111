import {
  type GeneralCare,
  type SpeciesGroup,
  WATER_PHASES,
  type WaterOption,
  type WaterPhase,
} from '../domain/catalogue.js';
import type { SetLimit } from '../domain/house-settings.js';
import type { Amount } from '../domain/plants.js';
import type { LimitValues } from './evaluate.js';
import { contentHash, type Rulebook } from './rulebook.js';
import type { LimitDeclaration, LimitValue } from './schema.js';

export interface DrinkLimits {
  readonly amount: Amount;
  readonly values: LimitValues;
}
export interface PhaseLimits {
  readonly values: LimitValues;
  /** Drinks the phase may give, most generous policy first; empty: none. */
  readonly drinks: readonly DrinkLimits[];
  readonly atMost: Amount;
  /** The policy in one sentence; absent where the group has no such phase. */
  readonly note?: string;
}
/** Every limit of one group in one house, phase by phase. Plain data; make it once, use it for every batch. */
export interface Limits {
  readonly group: string;
  readonly groupName: string;
  readonly base: LimitValues;
  readonly phases: Readonly<Record<WaterPhase, PhaseLimits>>;
}

interface Scope {
  readonly phase?: WaterPhase;
  readonly drink?: WaterOption;
}

/** Groups without values of a house's own are asked for again and again, and come out the same. */
const usual = new WeakMap<Rulebook, WeakMap<SpeciesGroup, Limits>>();

/** Named limits of a group in a house: the house's own value, else the rulebook's, else the catalogue's, else the default. */
export function limitsFor(
  rulebook: Rulebook,
  group: SpeciesGroup,
  general: GeneralCare,
  overrides: readonly SetLimit[] = [],
): Limits {
  if (overrides.length > 0) return resolveAll(rulebook, group, general, overrides);
  const ofRulebook = usual.get(rulebook) ?? new WeakMap<SpeciesGroup, Limits>();
  usual.set(rulebook, ofRulebook);
  const limits = ofRulebook.get(group) ?? resolveAll(rulebook, group, general, []);
  ofRulebook.set(group, limits);
  return limits;
}

function resolveAll(
  rulebook: Rulebook,
  group: SpeciesGroup,
  general: GeneralCare,
  overrides: readonly SetLimit[],
): Limits {
  const declarations = [...rulebook.limits.values()];
  const own = new Map<string, SetLimit[]>();
  for (const one of overrides) if (fits(one.group, group.id)) own.set(one.name, [...(own.get(one.name) ?? []), one]);
  const valuesAt = (scope: Scope): LimitValues =>
    Object.fromEntries(
      declarations.map((limit) => [
        limit.name,
        resolve(limit, { group, general, own: own.get(limit.name) ?? [], ...scope }),
      ]),
    );
  const phases = Object.fromEntries(
    WATER_PHASES.map((phase): [WaterPhase, PhaseLimits] => {
      const policy = group.water.phases[phase];
      return [
        phase,
        {
          values: valuesAt({ phase }),
          drinks: (policy?.options ?? []).map((drink) => ({
            amount: drink.amount,
            values: valuesAt({ phase, drink }),
          })),
          atMost: policy?.atMost ?? 'none',
          ...(policy && { note: policy.note }),
        },
      ];
    }),
  ) as Record<WaterPhase, PhaseLimits>;
  return { group: group.id, groupName: group.name, base: valuesAt({}), phases };
}

/** Tells apart what was decided under: rows, limits, catalogue and the house's own values together. */
export function limitsRevision(rulebook: Rulebook, limits: Limits): string {
  const revision = revisions.get(limits) ?? contentHash([rulebook.revision, limits]);
  revisions.set(limits, revision);
  return revision;
}
const revisions = new WeakMap<Limits, string>();

interface Context extends Scope {
  readonly group: SpeciesGroup;
  readonly general: GeneralCare;
  /** What is set for the limit in the house and holds for the group. */
  readonly own: readonly SetLimit[];
}

function resolve(limit: LimitDeclaration, context: Context): LimitValue {
  const { group, phase, drink } = context;
  const own = narrowest(
    context.own.filter((one) => fits(one.phase, phase) && fits(one.drink, drink?.amount)),
    (one) =>
      Number(one.group !== undefined) + 2 * Number(one.phase !== undefined) + 4 * Number(one.drink !== undefined),
  );
  if (own) return own.value;
  const set = narrowest(
    limit.set.filter((one) => fits(one.group, group.id) && fits(one.phase, phase)),
    (one) => Number(one.group !== undefined) + 2 * Number(one.phase !== undefined),
  );
  if (set) return set.value as LimitValue;
  return fromCatalogue(limit, context) ?? (limit.default as LimitValue);
}

const fits = (wanted: string | undefined, actual: string | undefined): boolean =>
  wanted === undefined || wanted === actual;

function narrowest<T>(candidates: readonly T[], weight: (one: T) => number): T | undefined {
  let best: T | undefined;
  for (const one of candidates) if (best === undefined || weight(one) > weight(best)) best = one;
  return best;
}

/** A dotted path into the group, `general`, the `drink`, or the group's shade triggers (`shade`, `shade-limit`). */
function fromCatalogue(limit: LimitDeclaration, { group, general, drink }: Context): LimitValue | undefined {
  if (limit.from === undefined) return undefined;
  const [head = '', ...rest] = limit.from.split('.');
  const walk = (start: unknown, path: readonly string[]): unknown =>
    path.reduce<unknown>(
      (value, key) => (typeof value === 'object' && value !== null ? Reflect.get(value, key) : undefined),
      start,
    );
  let found: unknown;
  if (head === 'shade' || head === 'shade-limit') {
    const trigger = group.light.shadeWhen.find((one) => one.when === rest[0]);
    found = head === 'shade' ? trigger?.shadePct : trigger?.limit;
  } else if (limit.from === 'drink.afterLightDrink') found = drink?.afterLightDrinkDays && 'light';
  else if (head === 'drink') found = walk(drink, rest);
  else if (head === 'general') found = walk(general, rest);
  else found = walk(group, [head, ...rest]);
  if (found === undefined) return undefined;
  if (limit.kind === 'season') return [found as readonly [number, number]];
  return found as LimitValue;
}
