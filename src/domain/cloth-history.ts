import { entriesInOrder } from './collection.js';
import type { JournalEntry } from './journal.js';

/** A cloth hung, or taken off (null). */
export interface ClothChange {
  readonly at: number;
  readonly clothId: string | null;
}

/** When which cloth hung in a house, as it was entered, oldest first. */
export const clothHistory = (entries: readonly JournalEntry[], houseId: string): ClothChange[] =>
  entriesInOrder(entries).flatMap(({ event, happenedAt }) =>
    event.kind === 'cloth' && event.houseId === houseId ? [{ at: happenedAt, clothId: event.clothId }] : [],
  );
