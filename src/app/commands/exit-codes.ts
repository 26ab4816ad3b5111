import { type ErrorCode, LeafturnError } from '../../domain/errors.js';

/** Exit codes of every command, as `leafturn --help` shows them. Scripts rely on them: never renumber. */
export const EXIT = { ok: 0, checkFailed: 1, badUsage: 2, trouble: 3 } as const;

export const EXIT_MEANINGS = [
  [EXIT.ok, 'done, and every check passed'],
  [EXIT.checkFailed, 'done, but a check failed or there was nothing to show'],
  [EXIT.badUsage, 'wrong use of the command, or a mistake in the configuration or in a given file'],
  [EXIT.trouble, 'trouble with the broker, the database, the network or the disk'],
] as const;

const TROUBLE: ReadonlySet<ErrorCode> = new Set<ErrorCode>([
  'database-busy',
  'database-full',
  'database-failed',
  'database-too-old',
  'migration-mismatch',
  'broker-failed',
]);

export const exitCodeOf = (error: unknown): number =>
  error instanceof LeafturnError && !TROUBLE.has(error.code) ? EXIT.badUsage : EXIT.trouble;
