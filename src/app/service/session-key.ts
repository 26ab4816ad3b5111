import { randomBytes } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** The key that signs the sessions of the pages, made once and kept beside the database, readable by its owner alone. */
export function sessionKey(dataFolder: string): Uint8Array {
  const file = join(dataFolder, 'session-key');
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
