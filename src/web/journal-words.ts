import type { JournalEntry, JournalEvent } from '../domain/journal.js';
import {
  answerWords,
  capital,
  count,
  drinkWords,
  firmnessWords,
  pairWords,
  phaseWords,
  plainWords,
  signWords,
  stageWords,
  substrateWords,
  taskDoneWords,
} from './words.js';

type Event<K extends JournalEvent['kind']> = Extract<JournalEvent, { kind: K }>;

function wateringWords(event: Event<'watering'>): string {
  const on = event.lineId ? ` (line ${event.lineId})` : '';
  if (event.answer === 'skipped') return `Skipped, no water${on}`;
  return `${answerWords(event.answer)}: ${drinkWords(event.amount, event.mlPerPot)}${on}`;
}

/** What was seen, as one sentence. */
function signsWords(event: Event<'signs'>): string {
  const phase = event.phase ?? (event.stage ? 'leaf-replacement' : undefined);
  const parts = [
    phase && `${phaseWords(phase)}${event.stage ? `, ${stageWords(event.stage)}` : ''}`,
    event.firmness && `body ${firmnessWords(event.firmness)}`,
    event.oldPair && `old pair ${pairWords(event.oldPair)}`,
    event.newPair && `new pair ${pairWords(event.newPair)}`,
    event.sheathed !== undefined && (event.sheathed ? 'in its dry sheath' : 'out of its sheath'),
    event.substrate && `soil ${substrateWords(event.substrate)}`,
    ...event.signs.map(signWords),
    ...event.gone.map((sign) => `no longer: ${signWords(sign)}`),
  ];
  return `Seen: ${parts.filter(Boolean).join('; ')}`;
}

/**
 * A journal event as a person would say it.
 * @param benchName name of a bench by its id
 */
export function eventWords(event: JournalEvent, benchName: (benchId: string) => string): string {
  switch (event.kind) {
    case 'bench-added':
      return `Bench ${event.name} added`;
    case 'bench-changed':
      return `Bench ${event.name ?? event.benchId} changed`;
    case 'batch-created':
      return `Batch begun with ${count(event.potCount, 'pot')}`;
    case 'batch-changed':
      return 'Description changed';
    case 'batch-moved':
      return `Moved to ${benchName(event.benchId)}`;
    case 'batch-split':
      return `${count(event.potCount, 'pot')} split off as ${event.newName}`;
    case 'batch-ended':
      return `Ended: ${plainWords(event.reason)}${event.cause ? `, ${plainWords(event.cause)}` : ''}`;
    case 'loss':
      return `${count(event.potCount, 'pot')} lost: ${plainWords(event.cause)}`;
    case 'watering':
      return wateringWords(event);
    case 'signs':
      return signsWords(event);
    case 'repotting':
      return event.rootsCut ? 'Repotted, roots cut' : 'Repotted, roots kept whole';
    case 'task-done':
      return `${capital(taskDoneWords(event.task))}${event.houseId ? ` in the house ${event.houseId}` : ''}`;
    case 'cloth':
      return event.clothId ? `Cloth ${event.clothId} put on` : 'Cloth taken off';
    case 'note':
      return event.text;
    case 'undo':
      return `Entry ${event.entryId} taken back${event.reason ? `: ${event.reason}` : ''}`;
  }
}

export interface HistoryRow {
  readonly id: number;
  readonly at: number;
  readonly by: string;
  readonly words: string;
  readonly takenBack: boolean;
  /** What became of the batch: a slip is mended where it is read. Drinks and looks are taken back on the list. */
  readonly mayBeUndone: boolean;
}

const MENDED_HERE: readonly JournalEvent['kind'][] = ['batch-moved', 'batch-split', 'batch-ended', 'loss', 'repotting'];

/** The history of a batch, newest first; an entry that was taken back stays visible as such. */
export function historyRows(entries: readonly JournalEntry[], benchName: (benchId: string) => string): HistoryRow[] {
  const undone = new Set<number>();
  for (const entry of [...entries].sort((a, b) => b.id - a.id))
    if (entry.event.kind === 'undo' && !undone.has(entry.id)) undone.add(entry.event.entryId);
  return entries
    .filter((entry) => entry.event.kind !== 'undo')
    .map((entry) => ({
      id: entry.id,
      at: entry.happenedAt,
      by: entry.by,
      words: capital(eventWords(entry.event, benchName)) + (entry.note ? ` (${entry.note})` : ''),
      takenBack: undone.has(entry.id),
      mayBeUndone: MENDED_HERE.includes(entry.event.kind) && !undone.has(entry.id),
    }));
}
