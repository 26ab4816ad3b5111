import { existsSync, mkdirSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { LeafturnError } from '../../domain/errors.js';
import { configFor } from './check-config.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain, print } from './io.js';
import { withStorage } from './storage.js';

/** `2026-11-25T08-51-47Z`: sorts by time and is a file name everywhere. */
export const stampOf = (at: number): string => new Date(at).toISOString().replace(/\.\d+/, '').replaceAll(':', '-');

/** `leafturn backup`: a sound copy of the database, made while the service may go on. */
export async function backupCommand(options: { config?: string; out?: string }, io: CommandIo): Promise<number> {
  const config = configFor(options.config, io);
  const folder = config.storage.backup?.directory ?? join(config.dataFolder, 'backups');
  const path = options.out
    ? resolve(io.workingFolder, options.out)
    : join(folder, `leafturn-${stampOf(io.now())}.sqlite`);
  if (existsSync(path))
    throw new LeafturnError('conflict', 'The backup would overwrite a file.', [
      { path: '--out', expected: 'a file that is not there yet', got: path },
    ]);
  mkdirSync(dirname(path), { recursive: true });
  await withStorage(config, ({ upkeep }) => upkeep.backup(path), { mustExist: true });
  print(io, path);
  return EXIT.ok;
}

/** `leafturn check-database`: whether the file is sound, and how large. */
export async function checkDatabase(options: { config?: string }, io: CommandIo): Promise<number> {
  const config = configFor(options.config, io);
  const [state, sizes] = await withStorage(
    config,
    async ({ upkeep }) => [await upkeep.check(), await upkeep.sizes()] as const,
    { mustExist: true },
  );
  const megabytes = (bytes: number): string => `${(bytes / 1_048_576).toFixed(1)} MB`;
  print(io, `${config.storage.path}: ${megabytes(sizes.databaseBytes)}, write-ahead log ${megabytes(sizes.walBytes)}`);
  (state.ok ? print : complain)(io, state.ok ? 'Sound.' : `Not sound: ${state.detail}`);
  return state.ok ? EXIT.ok : EXIT.checkFailed;
}
