import BetterSqlite, { type Database } from 'better-sqlite3';
import { onTestFinished } from 'vitest';

type Method = (...args: unknown[]) => unknown;
type Patchable = Record<string, Method>;

const databasePrototype = BetterSqlite.prototype as unknown as Patchable;
const statementPrototype = (() => {
  const db = new BetterSqlite(':memory:');
  const prototype = Object.getPrototypeOf(db.prepare('SELECT 1')) as Patchable;
  db.close();
  return prototype;
})();

function patch(target: Patchable, name: string, wrap: (original: Method) => Method): () => void {
  const original = target[name] as Method;
  target[name] = wrap(original);
  return () => {
    target[name] = original;
  };
}

/** Every connection that prepares a statement from now until the test ends. */
export function watchConnections(): Set<Database> {
  const seen = new Set<Database>();
  const restore = patch(
    databasePrototype,
    'prepare',
    (original) =>
      function (this: unknown, ...args: unknown[]) {
        seen.add(this as Database);
        return original.apply(this, args);
      },
  );
  onTestFinished(restore);
  return seen;
}

export interface Fault {
  /** Whether the call was reached. */
  readonly fired: boolean;
  end(): void;
}

/** The `nth` statement run from now on fails as the database itself would; rolling back still works, as it does there. */
export function failAtCall(nth: number, code: string): Fault {
  let calls = 0;
  let fired = false;
  const restores = ['run', 'get', 'all'].map((name) =>
    patch(
      statementPrototype,
      name,
      (original) =>
        function (this: { source: string }, ...args: unknown[]) {
          if (!/^rollback/i.test(this.source)) calls += 1;
          if (calls === nth && !fired) {
            fired = true;
            throw new BetterSqlite.SqliteError('injected for the test', code);
          }
          return original.apply(this, args);
        },
    ),
  );
  return {
    get fired() {
      return fired;
    },
    end() {
      for (const restore of restores) restore();
    },
  };
}

/** All rows of all tables, read over a connection of its own. */
export function dump(path: string): Record<string, unknown[]> {
  const db = new BetterSqlite(path, { readonly: true });
  try {
    const names = db
      .prepare(`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name`)
      .pluck()
      .all() as string[];
    return Object.fromEntries(names.map((name) => [name, db.prepare(`SELECT * FROM ${name}`).all()]));
  } finally {
    db.close();
  }
}
