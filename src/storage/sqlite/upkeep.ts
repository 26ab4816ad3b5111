import { open, rename, rm, stat } from 'node:fs/promises';
import { dirname } from 'node:path';
import BetterSqlite, { type Database } from 'better-sqlite3';
import type { Kysely } from 'kysely';
import { LeafturnError } from '../../domain/errors.js';
import { pruneStep } from '../prune.js';
import type { UpkeepStore } from '../repositories.js';
import type { Tables } from '../schema.js';
import { toDatabaseError } from '../trouble.js';

/** Pages of a backup between two looks at the rest of the work. */
const BACKUP_PAGES_PER_STEP = 500;

async function flush(path: string): Promise<void> {
  const handle = await open(path, 'r+');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

/** A folder is flushed too: only then does the new name survive a power cut. */
async function flushFolder(path: string): Promise<void> {
  const handle = await open(path, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

const quickCheck = (db: Database): string[] =>
  (db.pragma('quick_check') as { quick_check: string }[]).map((row) => row.quick_check);

/** Makes the copy one plain file that needs no other, and looks whether it is sound. */
function settleCopy(path: string): void {
  const copy = new BetterSqlite(path);
  try {
    copy.pragma('synchronous = FULL');
    copy.pragma('journal_mode = DELETE');
    const found = quickCheck(copy);
    if (found.length !== 1 || found[0] !== 'ok') {
      throw new LeafturnError(
        'database-failed',
        `The backup is not sound: ${found.slice(0, 3).join('; ')}. The last good backup is untouched.`,
      );
    }
  } finally {
    copy.close();
  }
}

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
      const draft = `${path}.tmp`;
      try {
        await rm(draft, { force: true });
        await db.backup(draft, { progress: () => BACKUP_PAGES_PER_STEP });
        settleCopy(draft);
        await flush(draft);
        await rename(draft, path);
        await flushFolder(dirname(path));
      } catch (error) {
        await rm(draft, { force: true });
        throw backupError(path, error);
      }
    },

    async check() {
      const found = await alone(() => quickCheck(db));
      const ok = found.length === 1 && found[0] === 'ok';
      return { ok, detail: found.slice(0, 10).join('; ') };
    },

    async sizes() {
      const pages = db.pragma('page_count', { simple: true }) as number;
      const pageBytes = db.pragma('page_size', { simple: true }) as number;
      return { databaseBytes: pages * pageBytes, walBytes: db.memory ? 0 : await sizeOf(`${db.name}-wal`) };
    },
  };
}

function backupError(path: string, error: unknown): unknown {
  const known = toDatabaseError(error);
  if (known instanceof LeafturnError) return known;
  const detail = error instanceof Error ? error.message : String(error);
  return new LeafturnError('file-failed', `The backup ${path} could not be written: ${detail}.`, [], { cause: error });
}
