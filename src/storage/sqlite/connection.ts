import BetterSqlite, { type Database } from 'better-sqlite3';
import { LeafturnError } from '../../domain/errors.js';
import { toDatabaseError } from '../trouble.js';

/** Versions before this can corrupt a write-ahead log that two connections reset at once (sqlite.org/wal.html#walresetbug). */
export const OLDEST_SQLITE = '3.51.3';
/** How long a write waits for another program's. The wait stops everything else, so it is short. */
const BUSY_TIMEOUT_MS = 2000;
const JOURNAL_SIZE_LIMIT_BYTES = 64 * 1024 * 1024;
const SYNCHRONOUS_FULL = 2;

const versionParts = (version: string): number[] => version.split('.').map(Number);

export function checkSqliteVersion(version: string): void {
  const have = versionParts(version);
  const need = versionParts(OLDEST_SQLITE);
  const differs = need.findIndex((part, index) => (have[index] ?? 0) !== part);
  if (differs === -1 || (have[differs] ?? 0) > (need[differs] ?? 0)) return;
  const problem = {
    path: 'sqlite',
    expected: `SQLite ${OLDEST_SQLITE} or newer`,
    got: `SQLite ${version}`,
    mend: 'Reinstall the packages, so that the SQLite they bring is used and not one of the system.',
  };
  throw new LeafturnError(
    'database-too-old',
    `Expected ${problem.expected} (older ones can damage the file), got ${problem.got}. ${problem.mend}`,
    [problem],
  );
}

/**
 * A commit is on the disk when it returns only at synchronous FULL, and the library falls back to NORMAL on its own
 * with a write-ahead log unless it is set by hand. Ask again once something was written.
 */
export function checkDurable(db: Database): void {
  const level = db.pragma('synchronous', { simple: true });
  if (level === SYNCHRONOUS_FULL) return;
  throw new LeafturnError(
    'database-failed',
    `The database does not wait for the disk: expected synchronous ${SYNCHRONOUS_FULL} (full), got ${String(level)}. Readings could be lost in a power cut.`,
  );
}

/** Every connection of the service comes from here. */
export function openConnection(path: string): Database {
  let db: Database | undefined;
  try {
    db = new BetterSqlite(path, { timeout: BUSY_TIMEOUT_MS });
    checkSqliteVersion(db.prepare('SELECT sqlite_version()').pluck().get() as string);
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = FULL');
    db.pragma(`journal_size_limit = ${JOURNAL_SIZE_LIMIT_BYTES}`);
    db.pragma('foreign_keys = ON');
    return db;
  } catch (error) {
    db?.close();
    throw openError(path, error);
  }
}

function openError(path: string, error: unknown): unknown {
  const known = toDatabaseError(error);
  if (known instanceof LeafturnError && known.cause === undefined) return known;
  const detail = error instanceof Error ? error.message : String(error);
  return new LeafturnError(
    known instanceof LeafturnError ? known.code : 'database-failed',
    `The database ${path} cannot be opened: ${detail}. Check that the folder exists, that the service may write there and that the file is a Leafturn database.`,
    [],
    { cause: error },
  );
}
