import type { Round } from '../domain/verdict.js';
import { adviceOf } from './today-view.js';
import { headline } from './words.js';

export interface Change {
  readonly batchId: string;
  readonly name: string;
  readonly was: string;
  readonly now: string;
}

/** Batches whose verdict reads differently in the newer list. New and gone batches are told as such. */
export function changesBetween(older: Round, newer: Round): Change[] {
  const before = new Map([...adviceOf(older)].map(({ advice }) => [advice.batchId, advice]));
  const changes: Change[] = [];
  for (const { advice } of adviceOf(newer)) {
    const old = before.get(advice.batchId);
    before.delete(advice.batchId);
    const now = headline(advice.verdict);
    const was = old ? headline(old.verdict) : 'Not on the list';
    if (was !== now) changes.push({ batchId: advice.batchId, name: advice.name, was, now });
  }
  for (const gone of before.values())
    changes.push({ batchId: gone.batchId, name: gone.name, was: headline(gone.verdict), now: 'No longer on the list' });
  return changes;
}

/** What a reader has read, as kept in a cookie: `2026-11-25.3`. */
export const readMark = (round: Round): string => `${round.day}.${round.revision}`;

/** Revision of that day which was read last; undefined when the mark is of another day or no mark at all. */
export function revisionRead(mark: string | undefined, round: Round): number | undefined {
  const match = /^(\d{4}-\d{2}-\d{2})\.(\d{1,9})$/.exec(mark ?? '');
  if (!match || match[1] !== round.day) return undefined;
  const revision = Number(match[2]);
  return revision <= round.revision ? revision : undefined;
}
