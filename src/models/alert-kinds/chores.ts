import type { HouseAdvice } from '../../domain/verdict.js';
import { inSeries } from '../../domain/wording.js';
import type { AlertLimits } from '../alert-limits.js';
import type { Finding } from './finding.js';

/** The list of a day as one house has it. */
export interface ListFacts {
  readonly houseId: string;
  readonly houseName: string;
  readonly limits: AlertLimits;
  /** Hours since the day began on the wall clock, e.g. 11.5 at half past eleven. */
  readonly clockHours: number;
  /** Of today; undefined while there is no list. */
  readonly advice: HouseAdvice | undefined;
}

const NAMES_TOLD = 4;

/** List not done: drinks of today that nobody ticked off by the set hour. */
export function listNotDone({ houseId, houseName, limits, clockHours, advice }: ListFacts): Finding {
  const subject = { kind: 'list-not-done', houseId, subject: '' } as const;
  // Before the hour the day's work is not late; what was late yesterday was not done, and nobody is told that it is over.
  if (clockHours < limits.listDoneByHour) return { ...subject, known: 'gone' };
  if (advice === undefined) return { ...subject, known: false };
  const due = advice.lines.flatMap(({ batches }) => batches).filter(({ verdict }) => verdict.amount !== 'none');
  const open = due.filter(({ done }) => done === undefined);
  if (open.length === 0) return { ...subject, known: true, level: 0, clear: true };
  const names = open.slice(0, NAMES_TOLD).map(({ name, benchName }) => `${name} (${benchName})`);
  const more = open.length - names.length;
  return {
    ...subject,
    known: true,
    level: 1,
    detail: {
      batchIds: open.map(({ batchId }) => batchId),
      text: {
        title: `The list of ${houseName} is not done`,
        reason: `It is past ${limits.listDoneByHour}:00 and ${open.length} of ${due.length} drinks of today ${open.length === 1 ? 'is' : 'are'} not ticked off: ${more > 0 ? `${names.join(', ')} and ${more} more` : inSeries(names)}.`,
        whatToDo: 'Tick off what was given and what was left out. What is still dry is better watered tomorrow by ten.',
      },
    },
  };
}

export interface DiskFacts {
  readonly limits: AlertLimits;
  /** Undefined: not known. */
  readonly freeBytes: number | undefined;
}

const MB = 1024 * 1024;
/** Below this readings may be lost at any moment. */
const FULL_MB = 200;
/** Room enough again above so many times the limit. */
const CLEAR_FACTOR = 1.2;

/** Disk low, for the machine the service runs on. */
export function diskLow({ limits, freeBytes }: DiskFacts): Finding {
  const subject = { kind: 'disk-low', houseId: null, subject: '' } as const;
  if (freeBytes === undefined) return { ...subject, known: false };
  const freeMb = freeBytes / MB;
  if (freeMb >= limits.diskFreeMb)
    return { ...subject, known: true, level: 0, clear: freeMb >= limits.diskFreeMb * CLEAR_FACTOR };
  return {
    ...subject,
    known: true,
    level: freeMb < FULL_MB ? 2 : 1,
    detail: {
      batchIds: [],
      text: {
        title: 'The disk is nearly full',
        reason: `${Math.round(freeMb)} MB are free on the disk of the database; below ${FULL_MB} MB readings may be lost.`,
        whatToDo:
          'Make room: old backups and other large files first. Shorter keeping times stand in the site file under storage.',
      },
    },
  };
}
