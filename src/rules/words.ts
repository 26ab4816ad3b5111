import { FACTS } from '../domain/facts.js';
import type { Amount } from '../domain/plants.js';
import type { Facts, FactValue } from '../domain/verdict.js';
import type { LimitValues } from './evaluate.js';
import type { LimitDeclaration, LimitValue } from './schema.js';

/** How facts, limits and amounts are written for people: unit with the number, no jargon. */

const UNIT_ONE: Record<string, string> = { days: 'day', months: 'month', pots: 'pot' };
const PLAIN: Record<string, string> = {
  'slightly-soft': 'slightly soft',
  'very-soft': 'very soft',
  'seed-set': 'ripening seed',
  'dormant-warm': 'in its warm rest',
  'dormant-cold': 'in its cold rest',
  forming: 'forming a new pair',
  splitting: 'changing its leaf pair',
  papery: 'shedding a papery old pair',
  waking: 'waking',
  growing: 'growing',
  flowering: 'flowering',
};

export const inWords = (word: string): string => PLAIN[word] ?? word.replaceAll('-', ' ');

/** `a light drink`, `a full drink`, `no water`. */
export const drinkInWords = (amount: Amount): string => (amount === 'none' ? 'no water' : `a ${amount} drink`);

/** Whole numbers from 10 on, one decimal below; never `-0`. */
export function numberInWords(value: number): string {
  const rounded = Math.abs(value) >= 10 ? Math.round(value) : Math.round(value * 10) / 10;
  return String(rounded === 0 ? 0 : rounded);
}

export function quantityInWords(value: LimitValue | FactValue, unit: string): string {
  if (value === null) return 'not asked';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'string') return inWords(value);
  if (typeof value === 'number') return withUnit(numberInWords(value), unit);
  return (
    value.map((part) => (Array.isArray(part) ? part.join('-') : String(part))).join(' to ') + (unit ? ` ${unit}` : '')
  );
}

/** Exactly what a limit is set to: nothing is rounded away that a grower may have entered. */
export function settingInWords(
  { kind, unit }: Pick<LimitDeclaration, 'kind' | 'unit'>,
  value: LimitValue,
  /** A season angle as a date of the place; left out: in degrees. */
  dateOf: (angleDeg: number) => string = (angleDeg) => `${angleDeg}°`,
): string {
  if (typeof value === 'number') return withUnit(String(value), unit);
  if (typeof value !== 'object' || value === null) return quantityInWords(value, unit);
  const ranges = (kind === 'season' ? value : [value]) as readonly (readonly [number, number])[];
  const end = kind === 'season' ? dateOf : String;
  return withUnit(
    ranges.map(([low, high]) => (low === high ? end(low) : `${end(low)} to ${end(high)}`)).join(', and '),
    unit,
  );
}

const withUnit = (number: string, unit: string): string =>
  unit === '' ? number : `${number} ${number === '1' ? (UNIT_ONE[unit] ?? unit) : unit}`;

/** Fills `{fact}` and `{limit}` of a text with their values. */
export function fillIn(
  text: string,
  facts: Facts,
  values: LimitValues,
  declarations: ReadonlyMap<string, LimitDeclaration>,
): string {
  return text.replaceAll(/\{([^}]+)\}/g, (_, name: string) => {
    const info = FACTS[name];
    if (info) {
      const value = facts[name]?.value;
      return value === undefined || value === null ? 'an unknown value' : quantityInWords(value, info.unit);
    }
    return quantityInWords(values[name] ?? null, declarations.get(name)?.unit ?? '');
  });
}

/** Rounded as a person with a jug or a syringe would measure: 7 mL, 45 mL, 120 mL, 350 mL. */
export function roundedMl(ml: number): number {
  if (!(ml > 0)) return 0;
  const step = ml < 10 ? 1 : ml < 100 ? 5 : ml < 300 ? 10 : 50;
  return Math.max(step, Math.round(ml / step) * step);
}
