import { Writable } from 'node:stream';
import { ALL_COMMANDS } from '../../../src/app/commands/all.js';
import { runProgram } from '../../../src/app/commands/program.js';

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

class Kept extends Writable {
  text = '';
  override _write(chunk: Buffer, _encoding: string, done: () => void): void {
    this.text += chunk.toString();
    done();
  }
}

/** Runs a command line in this process, as `leafturn` would, in a folder and an environment of the test's own. */
export async function leafturn(
  argv: readonly string[],
  workingFolder: string,
  options: { readonly env?: Readonly<Record<string, string>>; readonly now?: number } = {},
): Promise<Ran> {
  const stdout = new Kept();
  const stderr = new Kept();
  const { env = {}, now } = options;
  const io = { stdout, stderr, env, workingFolder, now: () => now ?? Date.now() };
  const code = await runProgram(argv, io, ALL_COMMANDS);
  return { code, out: stdout.text, err: stderr.text };
}
