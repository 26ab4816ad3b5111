import { mkdirSync, readdirSync, rmSync } from 'node:fs';
import { statfs } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Logger } from 'pino';
import type { Config } from '../../config.js';
import type { ReadinessCheck } from '../../http/deps.js';
import type { Storage } from '../../storage/repositories.js';
import type { Clock } from '../clock.js';

const PRUNE_EVERY_MS = 3_600_000;
/** Below this a commit may fail at any moment. */
const DISK_FLOOR_BYTES = 200 * 1024 * 1024;
const BACKUP_NAME = /^leafturn-\d{8}T\d{6}Z\.sqlite$/;

/** Removes what is past its time in small steps, and writes backups, until the signal is aborted. */
export async function keepUp(
  storage: Storage,
  config: () => Config['storage'],
  clock: Clock,
  logger: Logger,
  signal: AbortSignal,
): Promise<void> {
  let backupDue = clock.now();
  while (!signal.aborted) {
    try {
      while (!signal.aborted && (await storage.upkeep.pruneStep(config().retention, clock.now())));
      const { backup } = config();
      if (backup && clock.now() >= backupDue) {
        backupDue = clock.now() + backup.everyHours * 3_600_000;
        await writeBackup(storage, backup, clock.now());
      }
    } catch (error) {
      logger.error({ err: error }, 'upkeep of the database failed; it is tried again in an hour');
    }
    await clock.waitUntil(clock.now() + PRUNE_EVERY_MS, signal);
  }
}

async function writeBackup(
  storage: Storage,
  backup: NonNullable<Config['storage']['backup']>,
  atMs: number,
): Promise<void> {
  mkdirSync(backup.directory, { recursive: true });
  const stamp = new Date(atMs).toISOString().replace(/[-:]|\.\d+/g, '');
  await storage.upkeep.backup(join(backup.directory, `leafturn-${stamp}.sqlite`));
  const old = readdirSync(backup.directory)
    .filter((name) => BACKUP_NAME.test(name))
    .sort()
    .reverse()
    .slice(backup.keep);
  for (const name of old) rmSync(join(backup.directory, name));
}

/** Free room on the disk of the database, wherever its file lies. */
export async function freeBytes(databasePath: string): Promise<number> {
  const { bavail, bsize } = await statfs(dirname(databasePath));
  return bavail * bsize;
}

/** Whether the disk of the database has room. */
export async function diskCheck(databasePath: string): Promise<ReadinessCheck> {
  const free = await freeBytes(databasePath);
  return free >= DISK_FLOOR_BYTES
    ? { part: 'disk', ready: true }
    : {
        part: 'disk',
        ready: false,
        reason: `Only ${Math.round(free / 1024 / 1024)} MB are free on the disk of the database; ${DISK_FLOOR_BYTES / 1024 / 1024} MB are needed.`,
      };
}
