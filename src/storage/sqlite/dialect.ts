import type { Database, Statement } from 'better-sqlite3';
import {
  CompiledQuery,
  type DatabaseConnection,
  type Dialect,
  type QueryResult,
  SqliteAdapter,
  type SqliteDatabase,
  SqliteDriver,
  SqliteIntrospector,
  SqliteQueryCompiler,
  type TransactionSettings,
} from 'kysely';
import { toDatabaseError } from '../trouble.js';

/** Statements are compiled once: the same few dozen queries run for ever. */
const KEPT_STATEMENTS = 200;

function withKeptStatements(db: Database): SqliteDatabase {
  const kept = new Map<string, Statement>();
  return {
    close: () => db.close(),
    prepare(sql) {
      let statement = kept.get(sql);
      if (!statement) {
        statement = db.prepare(sql);
        if (kept.size >= KEPT_STATEMENTS) kept.clear();
        kept.set(sql, statement);
      }
      return statement as ReturnType<SqliteDatabase['prepare']>;
    },
  };
}

class NamedErrorsConnection implements DatabaseConnection {
  readonly #inner: DatabaseConnection;
  constructor(inner: DatabaseConnection) {
    this.#inner = inner;
  }
  async executeQuery<R>(query: CompiledQuery): Promise<QueryResult<R>> {
    try {
      return await this.#inner.executeQuery<R>(query);
    } catch (error) {
      throw toDatabaseError(error);
    }
  }
  streamQuery<R>(query: CompiledQuery, chunkSize?: number): AsyncIterableIterator<QueryResult<R>> {
    return this.#inner.streamQuery<R>(query, chunkSize ?? 100);
  }
}

/**
 * The library's driver with three habits of ours: errors carry our codes; a transaction takes the write lock at its
 * start, so that it can wait for it (a read that turns into a write cannot); and a rollback that the database already
 * made by itself, as it does when the disk is full, is not an error that hides the first one.
 */
class LeafturnSqliteDriver extends SqliteDriver {
  readonly #db: Database;
  constructor(db: Database) {
    super({ database: withKeptStatements(db) });
    this.#db = db;
  }
  override async acquireConnection(): Promise<DatabaseConnection> {
    return new NamedErrorsConnection(await super.acquireConnection());
  }
  async #run(connection: DatabaseConnection, sql: string): Promise<void> {
    await connection.executeQuery(CompiledQuery.raw(sql));
  }
  override beginTransaction(connection: DatabaseConnection, settings?: TransactionSettings): Promise<void> {
    return this.#run(connection, settings?.accessMode === 'read only' ? 'begin' : 'begin immediate');
  }
  override async rollbackTransaction(connection: DatabaseConnection): Promise<void> {
    if (this.#db.inTransaction) await this.#run(connection, 'rollback');
  }
}

export const sqliteDialect = (db: Database): Dialect => ({
  createDriver: () => new LeafturnSqliteDriver(db),
  createQueryCompiler: () => new SqliteQueryCompiler(),
  createAdapter: () => new SqliteAdapter(),
  createIntrospector: (queries) => new SqliteIntrospector(queries),
});
