import { open, rename, rm, stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import type { Database } from 'better-sqlite3';
import type { Kysely } from 'kysely';
import { LeafturnError } from '../../domain/errors.js';
import { pruneStep } from '../prune.js';
import type { UpkeepStore } from '../repositories.js';
import type { Tables } from '../schema.js';
import { toDatabaseError } from '../trouble.js';
import { openConnection } from './connection.js';
import { faultsOf } from './sound.js';

/** Pages of a backup between two looks at the rest of the work. */
const BACKUP_PAGES_PER_STEP = 500;

/** For a file or a folder: only when the folder is flushed too does a new name survive a power cut. */
async function flush(path: string, flags: 'r' | 'r+'): Promise<void> {
  const handle = await open(path, flags);
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

/** A write-ahead log that belonged to another file of this name would be played into the new one. */
async function removeSidecars(path: string): Promise<void> {
  for (const sidecar of [`${path}-wal`, `${path}-shm`, `${path}-journal`]) await rm(sidecar, { force: true });
}

async function removeDatabase(path: string): Promise<void> {
  await rm(path, { force: true });
  await removeSidecars(path);
}

/** Makes the copy one plain file that needs no other beside it. */
function settleCopy(path: string): void {
  const copy = openConnection(path);
  try {
    copy.pragma('journal_mode = DELETE');
  } finally {
    copy.close();
  }
}

async function mustBeSound(path: string): Promise<void> {
  const faults = await faultsOf(path);
  if (faults.length === 0) return;
  throw new LeafturnError(
    'database-failed',
    `The backup is not sound: ${faults.slice(0, 3).join('; ')}. It was thrown away; the backup before it is untouched.`,
  );
}

const memoryFaults = (db: Database): string[] =>
  (db.pragma('quick_check') as { quick_check: string }[]).map((row) => row.quick_check).filter((line) => line !== 'ok');

const sizeOf = async (path: string): Promise<number> => (await stat(path).catch(() => undefined))?.size ?? 0;

export function createUpkeep(db: Database, queries: Kysely<Tables>, zoneOf: (siteId: string) => string): UpkeepStore {
  const alone = <T>(work: () => T): Promise<T> => queries.connection().execute(async () => work());

  return {
    async pruneStep(retention, at) {
      const more = await pruneStep(queries, retention, at, zoneOf);
      // PASSIVE never waits for a reader; the other kinds would stop the service for the whole busy timeout.
      await alone(() => db.pragma('wal_checkpoint(PASSIVE)'));
      return more;
    },

    async backup(path) {
      if (resolve(path) === resolve(db.name)) throw overItself(path);
      const draft = `${path}.tmp`;
      try {
        await removeDatabase(draft);
        await db.backup(draft, { progress: () => BACKUP_PAGES_PER_STEP });
        settleCopy(draft);
        await mustBeSound(draft);
        await flush(draft, 'r+');
        await removeSidecars(path);
        await rename(draft, path);
        await flush(dirname(path), 'r');
      } catch (error) {
        await removeDatabase(draft);
        throw backupError(path, error);
      }
    },

    async check() {
      const faults = db.memory ? await alone(() => memoryFaults(db)) : await faultsOf(db.name);
      return { ok: faults.length === 0, detail: faults.length === 0 ? 'sound' : faults.slice(0, 10).join('; ') };
    },

    async sizes() {
      const pages = db.pragma('page_count', { simple: true }) as number;
      const pageBytes = db.pragma('page_size', { simple: true }) as number;
      return { databaseBytes: pages * pageBytes, walBytes: db.memory ? 0 : await sizeOf(`${db.name}-wal`) };
    },
  };
}

const overItself = (path: string): LeafturnError =>
  new LeafturnError('invalid-input', 'A backup cannot replace the database it is made of.', [
    {
      path,
      expected: 'another file',
      got: 'the database itself',
      mend: 'Name a file in another folder or on another disk.',
    },
  ]);

function backupError(path: string, error: unknown): unknown {
  const known = toDatabaseError(error);
  if (known instanceof LeafturnError) return known;
  const detail = error instanceof Error ? error.message : String(error);
  return new LeafturnError('file-failed', `The backup ${path} could not be written: ${detail}.`, [], { cause: error });
}
