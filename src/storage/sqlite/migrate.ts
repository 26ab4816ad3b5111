import { createHash } from 'node:crypto';
import type { Database } from 'better-sqlite3';
import { LeafturnError } from '../../domain/errors.js';
import type { Migration } from '../migrations/migration.js';

interface Applied {
  readonly name: string;
  readonly hash: string;
}

const hashOf = (migration: Migration): string => createHash('sha256').update(migration.sqlite).digest('hex');

const mismatch = (message: string, expected: string, got: string, mend: string): LeafturnError =>
  new LeafturnError('migration-mismatch', `${message} Expected ${expected}, got ${got}. ${mend}`, [
    { path: 'migrations', expected, got, mend },
  ]);

/** The history this database tells, or undefined for an empty file. Anything else in the file is somebody else's. */
function readHistory(db: Database): Applied[] | undefined {
  const tables = db
    .prepare(`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'`)
    .all() as {
    name: string;
  }[];
  if (tables.length === 0) return undefined;
  if (!tables.some((table) => table.name === 'migrations')) {
    throw mismatch(
      'This file is not a Leafturn database.',
      'a table named migrations',
      `tables ${tables
        .slice(0, 5)
        .map((table) => table.name)
        .join(', ')}`,
      'Point the storage path at a Leafturn database or at a file that does not exist yet.',
    );
  }
  return db.prepare('SELECT name, hash FROM migrations ORDER BY number').all() as Applied[];
}

function checkHistory(applied: readonly Applied[], migrations: readonly Migration[]): void {
  applied.forEach((step, index) => {
    const known = migrations[index];
    if (!known) {
      throw mismatch(
        'The database was written by a newer version.',
        `at most ${migrations.length} migrations, the last ${migrations.at(-1)?.name ?? 'none'}`,
        `${applied.length} migrations, the last ${applied.at(-1)?.name}`,
        'Start the newer version, or restore the backup made before the upgrade.',
      );
    }
    if (known.name !== step.name || hashOf(known) !== step.hash) {
      throw mismatch(
        `Migration ${index + 1} of the database is not the one of this version.`,
        `${known.name} (${hashOf(known).slice(0, 12)})`,
        `${step.name} (${step.hash.slice(0, 12)})`,
        'Start the version that wrote this database, or restore a backup of this version.',
      );
    }
  });
}

/**
 * Brings the database to the newest form, all steps in one transaction: it is old or new, never between. Returns the
 * names of the steps taken.
 */
export function migrate(db: Database, migrations: readonly Migration[]): string[] {
  return db
    .transaction(() => {
      const history = readHistory(db);
      if (!history) {
        db.exec('CREATE TABLE migrations (number INTEGER PRIMARY KEY, name TEXT NOT NULL, hash TEXT NOT NULL) STRICT');
      }
      const applied = history ?? [];
      checkHistory(applied, migrations);
      const record = db.prepare('INSERT INTO migrations (number, name, hash) VALUES (?, ?, ?)');
      return migrations.slice(applied.length).map((migration, index) => {
        db.exec(migration.sqlite);
        record.run(applied.length + index + 1, migration.name, hashOf(migration));
        return migration.name;
      });
    })
    .immediate();
}
