import type { Mapping } from '../domain/mapping.js';
import { idSchema } from '../domain/site.js';
import type { TemplatePart } from '../domain/topics.js';
import { fillTemplate, type TemplateSource, templateParts } from './map.js';
import { type Fault, fault, quoted } from './reasons.js';

/** Where a sensor stands, as its mapping tells it. */
export interface Place {
  readonly houseId: string | null;
  readonly benchId: string | null;
}
/** Which houses there are, so that a misspelt one is refused and not made up. */
export type KnowsHouse = (siteId: string, houseId: string) => boolean;

interface PlaceRule {
  readonly parts: readonly TemplatePart[];
  readonly map: ReadonlyMap<string, string> | undefined;
}
export interface PlaceRules {
  readonly house: PlaceRule | undefined;
  readonly bench: PlaceRule | undefined;
  /** True when the place may differ from message to message under one topic. */
  readonly readsMessage: boolean;
}

function placeRule(place: Mapping['house']): PlaceRule | undefined {
  if (place === undefined) return undefined;
  return {
    parts: templateParts(typeof place === 'string' ? place : place.from),
    map: typeof place === 'string' ? undefined : new Map(Object.entries(place.map)),
  };
}

export function placeRules(mapping: Mapping): PlaceRules {
  const house = placeRule(mapping.house);
  const bench = placeRule(mapping.bench);
  const readsMessage = [house, bench].some((rule) => rule?.parts.some((part) => part.kind === 'pointer'));
  return { house, bench, readsMessage };
}

function placeName(rule: PlaceRule, what: string, source: TemplateSource): string | Fault {
  const filled = fillTemplate(rule.parts, source);
  if (!filled.ok) return fault('unknown-place', `Expected the name of a ${what}, found none.`);
  const id = rule.map ? rule.map.get(filled.value) : filled.value;
  return id !== undefined && idSchema.safeParse(id).success
    ? id
    : fault('unknown-place', `${quoted(filled.value)} is not a ${what} of this site.`);
}

export function placeOf(
  rules: PlaceRules,
  siteId: string,
  source: TemplateSource,
  knowsHouse: KnowsHouse,
): Place | Fault {
  const houseId = rules.house ? placeName(rules.house, 'house', source) : null;
  if (houseId !== null && typeof houseId !== 'string') return houseId;
  if (houseId !== null && !knowsHouse(siteId, houseId))
    return fault('unknown-place', `${quoted(houseId)} is not a house of the site ${siteId}.`);
  const benchId = rules.bench ? placeName(rules.bench, 'bench', source) : null;
  return benchId !== null && typeof benchId !== 'string' ? benchId : { houseId, benchId };
}
