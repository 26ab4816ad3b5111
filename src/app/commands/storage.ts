import { existsSync } from 'node:fs';
import type { Config } from '../../config.js';
import { LeafturnError } from '../../domain/errors.js';
import type { Storage } from '../../storage/repositories.js';
import { openSqliteStorage } from '../../storage/sqlite.js';

/** The zone of a site; readings of a site that was taken out of the file keep counting by UTC. */
export const zoneOfSite =
  (config: Pick<Config, 'sites'>) =>
  (siteId: string): string =>
    config.sites.find((site) => site.id === siteId)?.zone ?? 'UTC';

/**
 * Works on the database of a configuration and closes it in the end. It may run beside the service: both see the same
 * file, and each waits for the other's transactions.
 * @param options.mustExist refuse to begin a new database
 */
export async function withStorage<T>(
  config: Config,
  work: (storage: Storage) => Promise<T>,
  options: { readonly mustExist?: boolean } = {},
): Promise<T> {
  if (options.mustExist && !existsSync(config.storage.path))
    throw new LeafturnError('file-failed', 'There is no database yet.', [
      {
        path: config.storage.path,
        expected: 'the database of a service that has run',
        got: 'no such file',
        mend: 'Start the service once, or say with LEAFTURN_DATA where its data folder is.',
      },
    ]);
  const storage = await openSqliteStorage({ path: config.storage.path, zoneOf: zoneOfSite(config) });
  try {
    return await work(storage);
  } finally {
    await storage.close();
  }
}
