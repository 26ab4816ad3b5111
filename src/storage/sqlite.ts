import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import type { Database } from 'better-sqlite3';
import { Kysely } from 'kysely';
import { LeafturnError } from '../domain/errors.js';
import { createAccessStore } from './access.js';
import { createAlertStore } from './alerts.js';
import { createForecastStore } from './forecasts.js';
import { createIdempotencyStore } from './idempotency.js';
import { createJournalStore } from './journal.js';
import { MIGRATIONS } from './migrations/index.js';
import { createNotificationStore } from './notifications.js';
import { createReadingStore } from './readings.js';
import { createRefusalStore, trimRefusals } from './refusals.js';
import type { CommitResult, IngestBatch, Storage } from './repositories.js';
import { createRoundStore } from './rounds.js';
import type { Tables } from './schema.js';
import { createSettingsStore } from './settings.js';
import { Committer } from './sqlite/commit.js';
import { checkDurable, openConnection } from './sqlite/connection.js';
import { sqliteDialect } from './sqlite/dialect.js';
import { migrate } from './sqlite/migrate.js';
import { createUpkeep } from './sqlite/upkeep.js';
import { toDatabaseError } from './trouble.js';

export interface SqliteOptions {
  /** A file, made when it is not there, or `:memory:`. */
  readonly path: string;
  /** Time zone of a site: tells which local day a reading falls on. */
  readonly zoneOf: (siteId: string) => string;
  /** Told of what failed without costing anybody an answer. */
  readonly onTrouble?: (error: unknown) => void;
}

/** Refused messages kept between the regular prunings, however many come. */
const REFUSALS_KEPT = 20_000;
const REFUSALS_BETWEEN_TRIMS = 2000;

/**
 * Opens the database and brings it to the newest form. There is one connection, and it is the one that writes:
 * everything goes through it in turn, backups too.
 */
export async function openSqliteStorage({ path, zoneOf, onTrouble }: SqliteOptions): Promise<Storage> {
  if (path !== ':memory:') makeFolder(dirname(path));
  const db = openConnection(path);
  try {
    migrate(db, MIGRATIONS);
    writeOnce(db, onTrouble);
    checkDurable(db);
  } catch (error) {
    db.close();
    throw toDatabaseError(error);
  }

  const queries = new Kysely<Tables>({ dialect: sqliteDialect(db) });
  const committer = new Committer(db, zoneOf);
  let refusedSinceTrim = REFUSALS_BETWEEN_TRIMS;
  const commit = async (batch: IngestBatch): Promise<CommitResult> => {
    // Kysely lends its only connection to one at a time, so no other transaction runs in between.
    const result = await queries.connection().execute(async () => committer.commit(batch));
    refusedSinceTrim += result.refused;
    if (result.refused > 0 && refusedSinceTrim >= REFUSALS_BETWEEN_TRIMS) {
      refusedSinceTrim = 0;
      // The batch is kept whatever becomes of this.
      await queries
        .transaction()
        .execute((transaction) => trimRefusals(transaction, REFUSALS_KEPT, REFUSALS_KEPT))
        .catch((error) => onTrouble?.(error));
    }
    return result;
  };
  return {
    readings: createReadingStore(queries, commit),
    refusals: createRefusalStore(queries),
    journal: createJournalStore(queries),
    rounds: createRoundStore(queries),
    settings: createSettingsStore(queries),
    forecasts: createForecastStore(queries),
    alerts: createAlertStore(queries),
    notifications: createNotificationStore(queries),
    idempotency: createIdempotencyStore(queries),
    access: createAccessStore(queries),
    upkeep: createUpkeep(db, queries, zoneOf),
    close: () => queries.destroy(),
  };
}

/**
 * A write, even of nothing new, is what makes the library fall back to a lesser durability: only after it does its
 * answer count. A full disk is no reason not to open: the last list can still be read.
 */
function writeOnce(db: Database, onTrouble: SqliteOptions['onTrouble']): void {
  try {
    db.prepare(
      `INSERT INTO totals (name, value) VALUES ('opened', 1) ON CONFLICT DO UPDATE SET value = value + 1`,
    ).run();
  } catch (error) {
    const known = toDatabaseError(error);
    if (!(known instanceof LeafturnError) || known.code !== 'database-full') throw error;
    onTrouble?.(known);
  }
}

function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    throw new LeafturnError(
      'file-failed',
      `The folder ${folder} for the database cannot be made: ${(error as Error).message}. Make it, or name another in the configuration under storage.`,
      [],
      { cause: error },
    );
  }
}
