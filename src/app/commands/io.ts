import type { Writable } from 'node:stream';
import { LeafturnError, problemLine } from '../../domain/errors.js';
import type { Environment } from '../config/paths.js';
import { EXIT, exitCodeOf } from './exit-codes.js';

/** What a command touches beside its arguments, so that a test can run it. */
export interface CommandIo {
  readonly stdout: Writable & { readonly isTTY?: boolean; readonly columns?: number };
  readonly stderr: Writable & { readonly isTTY?: boolean };
  readonly env: Environment;
  readonly workingFolder: string;
  readonly now: () => number;
}

export const processIo = (): CommandIo => ({
  stdout: process.stdout,
  stderr: process.stderr,
  env: process.env,
  workingFolder: process.cwd(),
  now: () => Date.now(),
});

export const print = (io: CommandIo, text: string): void => void io.stdout.write(`${text}\n`);
export const complain = (io: CommandIo, text: string): void => void io.stderr.write(`${text}\n`);

/** Tells an error in words and gives the exit code that goes with it. */
export function reportError(io: CommandIo, error: unknown): number {
  if (!(error instanceof LeafturnError)) {
    complain(io, error instanceof Error ? (error.stack ?? error.message) : String(error));
    return EXIT.trouble;
  }
  complain(io, error.message);
  for (const problem of error.problems) complain(io, `  ${problemLine(problem)}`);
  if (error.problems.length > 1) complain(io, `${error.problems.length} problems.`);
  return exitCodeOf(error);
}
