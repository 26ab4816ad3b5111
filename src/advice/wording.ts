import { localDayOf, shortDay } from '../domain/time.js';

/** `on 3 March by Ada`. */
export const whenAndWho = (seen: { readonly at: number; readonly by: string }, zone: string): string =>
  `on ${shortDay(localDayOf(zone, seen.at))} by ${seen.by}`;
