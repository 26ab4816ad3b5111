import { existsSync } from 'node:fs';
import { dirname, isAbsolute, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

/**
 * Where things lie. The package's own files are found from this file, not from the working directory, so that
 * `leafturn` works from anywhere and in a container.
 */

function packageRoot(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) {
    const above = dirname(folder);
    if (above === folder) throw new Error('The folder that holds leafturn’s package.json was not found.');
    folder = above;
  }
  return folder;
}

export const PACKAGE_ROOT = packageRoot();
/** Catalogue, default rulebook, example site and demo site. */
export const PACKAGE_CONFIG = join(PACKAGE_ROOT, 'config');
export const DEMO_CONFIG = join(PACKAGE_CONFIG, 'demo.yaml');

/** The environment holds secrets and locations, nothing else. The table is also the documentation of `--help`. */
export const ENVIRONMENT = {
  LEAFTURN_CONFIG: 'the site file, when --config is not given',
  LEAFTURN_DATA: 'the folder of the database and its backups (default: data under the current folder)',
  LEAFTURN_MQTT_PASSWORD_FILE: 'a file that holds the password for the external broker',
  LEAFTURN_TOKEN_FILE: 'a file that holds the access token that commands such as `list` use',
} as const;
export type Environment = Readonly<Partial<Record<string, string>>>;

/** Looked for in this order when neither --config nor LEAFTURN_CONFIG says where. */
export const USUAL_PLACES = ['leafturn.yaml', 'config/site.yaml', '/etc/leafturn/site.yaml'] as const;

/** The site file to use; undefined when there is none, and then `start` shows the demo. */
export function findConfigFile(given: string | undefined, env: Environment, workingFolder: string): string | undefined {
  const named = given ?? env.LEAFTURN_CONFIG;
  if (named) return resolve(workingFolder, named);
  return USUAL_PLACES.map((place) => resolve(workingFolder, place)).find(existsSync);
}

export const dataFolder = (env: Environment, workingFolder: string): string =>
  resolve(workingFolder, env.LEAFTURN_DATA ?? 'data');

/** Paths of the storage section are taken from the data folder, paths of the other sections from the file itself. */
export const pathFrom = (folder: string, path: string): string => (isAbsolute(path) ? path : resolve(folder, path));
