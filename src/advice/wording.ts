import type { LocalDay } from '../domain/time.js';
import { localDayOf } from '../domain/time.js';

/** `3 March`, as people say a day of this year. */
export const shortDay = (day: LocalDay): string =>
  new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', day: 'numeric', month: 'long' }).format(
    Date.UTC(Number(day.slice(0, 4)), Number(day.slice(5, 7)) - 1, Number(day.slice(8, 10))),
  );

/** `on 3 March by Ada`. */
export const whenAndWho = (seen: { readonly at: number; readonly by: string }, zone: string): string =>
  `on ${shortDay(localDayOf(zone, seen.at))} by ${seen.by}`;
