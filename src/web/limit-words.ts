import type { SetValue } from '../domain/house-settings.js';
import type { Site } from '../domain/site.js';
import { localDayOf } from '../domain/time.js';
import type { LimitDeclaration } from '../rules/schema.js';
import { settingInWords } from '../rules/words.js';
import { instantOfSeasonAngle } from '../science/season.js';
import { capital, shortDay, unitWords } from './words.js';

/** Whose season it is: dates depend on the place and on the year that runs. */
export interface Season {
  readonly site: Pick<Site, 'latitude' | 'zone'>;
  readonly now: number;
}

/** `21 Dec`: the next day on which the sun stands so; near the equator, where there is no season, the angle. */
export function seasonDay({ site, now }: Season, angleDeg: number): string {
  const at = instantOfSeasonAngle(angleDeg, site.latitude, now);
  return at === undefined ? `${angleDeg}°` : shortDay(localDayOf(site.zone, at)).replace(/^\S+ /, '');
}

type Kind = Pick<LimitDeclaration, 'kind' | 'unit'>;

export const valueWords = (season: Season, { kind, unit }: Kind, value: SetValue): string =>
  settingInWords({ kind, unit: unitWords(unit) }, value, (angle) => seasonDay(season, angle));

/** More different values than this are counted, not listed. */
const LISTED_AT_MOST = 3;

/** What holds for several kinds of plants: `4 to 6 °C, or not asked`. */
export function valuesWords(season: Season, limit: Kind, values: readonly SetValue[]): string {
  const [first] = values;
  if (first === undefined) return 'no drink is given';
  if (values.length === 1) return capital(valueWords(season, limit, first));
  const numbers = values.filter((value) => typeof value === 'number');
  const asked = values.filter((value) => value !== null);
  const orNot = asked.length < values.length ? ', or not asked' : '';
  const [low, high] = [numbers[0], numbers.at(-1)];
  if (numbers.length === asked.length && low !== undefined && high !== undefined)
    return valueWords(season, { ...limit, kind: 'band' }, [low, high]) + orNot;
  if (asked.length > LISTED_AT_MOST) return `${asked.length} different ones${orNot}`;
  return capital(asked.map((value) => valueWords(season, limit, value)).join(', or ') + orNot);
}

/** `0.5 to 1`, `none, light or full`: what may be set, for people. */
export function allowedWords({ kind, unit, bounds, words, whole }: Kind & Partial<LimitDeclaration>): string {
  if (kind === 'flag') return 'yes or no';
  if (kind === 'season') return 'a part of the year';
  if (words) return words.map((word) => settingInWords({ kind, unit: '' }, word)).join(', ');
  const numbers = whole ? 'whole numbers, ' : '';
  return bounds ? numbers + settingInWords({ kind: 'band', unit: unitWords(unit) }, bounds) : 'any number';
}
