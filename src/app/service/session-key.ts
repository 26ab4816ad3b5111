import { randomBytes } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** The key that signs the sessions of the pages. */
export const sessionKey = (dataFolder: string): Uint8Array => keptKey(dataFolder, 'session-key');

/** The key that makes the addresses of the calendar feeds. Whoever deletes its file and starts anew has other addresses. */
export const calendarKey = (dataFolder: string): Uint8Array => keptKey(dataFolder, 'calendar-key');

/** Made once and kept beside the database, readable by its owner alone. */
function keptKey(dataFolder: string, name: string): Uint8Array {
  const file = join(dataFolder, name);
  try {
    const key = readFileSync(file);
    if (key.length >= 32) return key;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
  }
  mkdirSync(dataFolder, { recursive: true });
  const key = randomBytes(32);
  writeFileSync(file, key, { mode: 0o600 });
  return key;
}
