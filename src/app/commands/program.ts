import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command, CommanderError, InvalidArgumentError } from 'commander';
import { ENVIRONMENT, PACKAGE_ROOT, USUAL_PLACES } from '../config/paths.js';
import { EXIT, EXIT_MEANINGS } from './exit-codes.js';
import { type CommandIo, reportError } from './io.js';

/** A command gives its exit code; an error it throws is told in words by `runProgram`. */
export type Action<T> = (options: T) => Promise<number>;

/** Adds commands to the program. `run` takes the exit code of each. */
export type AddCommands = (program: Command, io: CommandIo, run: (code: Promise<number>) => Promise<void>) => void;

export const packageVersion = (): string =>
  (JSON.parse(readFileSync(join(PACKAGE_ROOT, 'package.json'), 'utf8')) as { version: string }).version;

const GENERAL_HELP = `
Exit codes:
${EXIT_MEANINGS.map(([code, meaning]) => `  ${code}  ${meaning}`).join('\n')}

Environment:
${Object.entries(ENVIRONMENT)
  .map(([name, meaning]) => `  ${name.padEnd(28)} ${meaning}`)
  .join('\n')}

Without --config and LEAFTURN_CONFIG the site file is looked for at ${USUAL_PLACES.join(', ')}.`;

/** `Examples:` under the help of a command. */
export const examples = (...lines: string[]): string => `\nExamples:\n${lines.map((line) => `  $ ${line}`).join('\n')}`;

/** A number of an option, within bounds. */
export const numberOption =
  (min: number, max: number, whole = false) =>
  (text: string): number => {
    const value = Number(text);
    if (text.trim() === '' || !(value >= min && value <= max) || (whole && !Number.isInteger(value)))
      throw new InvalidArgumentError(`Expected a ${whole ? 'whole number' : 'number'} from ${min} to ${max}.`);
    return value;
  };

/** Runs one command line and gives its exit code; nothing here ends the process. */
export async function runProgram(
  argv: readonly string[],
  io: CommandIo,
  parts: readonly AddCommands[],
): Promise<number> {
  let exitCode: number = EXIT.ok;
  const program = new Command('leafturn')
    .description(
      'The morning list for growers of stone plants: water, a light drink or dry, batch by batch, with reasons.',
    )
    .version(packageVersion())
    .showHelpAfterError('Add --help for what the command takes, with examples.')
    .addHelpText('after', GENERAL_HELP);
  const run = async (code: Promise<number>): Promise<void> => {
    exitCode = await code;
  };
  for (const add of parts) add(program, io, run);
  configure(program, io);
  try {
    await program.parseAsync([...argv], { from: 'user' });
    return exitCode;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.ok : EXIT.badUsage;
    return reportError(io, error);
  }
}

/** Commander copies these settings only to commands made through `.command()` after they were set. */
function configure(command: Command, io: CommandIo): void {
  command.exitOverride().configureOutput({
    writeOut: (text) => void io.stdout.write(text),
    writeErr: (text) => void io.stderr.write(text),
    getOutHelpWidth: () => io.stdout.columns ?? 100,
    getErrHelpWidth: () => 100,
  });
  for (const child of command.commands) configure(child, io);
}
