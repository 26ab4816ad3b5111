import { LeafturnError } from '../domain/errors.js';

const codeOf = (error: unknown): string | undefined => {
  const code = (error as { code?: unknown } | null)?.code;
  return typeof code === 'string' && code.startsWith('SQLITE_') ? code : undefined;
};

/** What the database said, in the codes the rest of the service knows. Errors that are not the database's pass unchanged. */
export function toDatabaseError(error: unknown): unknown {
  if (error instanceof LeafturnError) return error;
  const code = codeOf(error);
  if (code === undefined) return error;
  const said = `${(error as Error).message} (${code})`;
  if (code === 'SQLITE_FULL') {
    return new LeafturnError(
      'database-full',
      `There is no room left for the database: ${said}. Nothing of this change was kept. Free some disk space; the service goes on by itself.`,
      [],
      { cause: error },
    );
  }
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) {
    return new LeafturnError(
      'database-busy',
      `Another program holds the database: ${said}. Nothing of this change was kept. Close the other program or try again.`,
      [],
      { cause: error },
    );
  }
  if (code.startsWith('SQLITE_CONSTRAINT')) {
    return new LeafturnError('conflict', `The database refused the change: ${said}.`, [], { cause: error });
  }
  return new LeafturnError(
    'database-failed',
    `The database failed: ${said}. Nothing of this change was kept. Check the disk; if it is sound, restore the last backup.`,
    [],
    { cause: error },
  );
}
