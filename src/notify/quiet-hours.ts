import type { QuietHours } from '../domain/messages.js';
import { addDays, instantOnDay, localDayOf } from '../domain/time.js';

/**
 * When the quiet hours that an instant falls into end, UTC ms; null: it falls into none. By the wall clock of the site: on
 * a day on which the clocks change they are an hour longer or shorter, a time that is skipped counts as the same distance
 * after the jump, and of a time that comes twice the first is meant.
 */
export function quietUntil({ from, to }: QuietHours, zone: string, at: number): number | null {
  const today = localDayOf(zone, at);
  // Those that began yesterday may still go on.
  for (const day of [addDays(today, -1), today]) {
    const begins = instantOnDay(zone, day, from);
    const ends = instantOnDay(zone, from < to ? day : addDays(day, 1), to);
    if (begins <= at && at < ends) return ends;
  }
  return null;
}
