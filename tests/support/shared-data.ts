import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Folder beside the project that may hold measurements and check values too large or not ours to put into it. */
const sharedFolder = new URL('../../../shared/', import.meta.url);

function resolveShared(relative: string): string | undefined {
  const path = fileURLToPath(new URL(relative, sharedFolder));
  if (existsSync(path)) return path;
  console.log(`left out: ../shared/${relative} is not here`);
  return undefined;
}

/**
 * Path of a measurement file, or undefined when the measurements are not beside the project.
 * Then one line says what was left out and the caller passes.
 * @param relative path below ../shared/data, such as 'weather/wx_fallon2015/agrimet_daily.csv'
 */
export function sharedData(relative: string): string | undefined {
  return resolveShared(`data/${relative}`);
}

/** The same for a file of check values below ../shared/verification. */
export function sharedVerification(relative: string): string | undefined {
  return resolveShared(`verification/${relative}`);
}
