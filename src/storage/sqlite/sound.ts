import { createRequire } from 'node:module';
import { Worker } from 'node:worker_threads';

/**
 * Reads the whole file, which takes seconds for a large one: hence a thread of its own with a connection that can only
 * read. The text is the thread's whole program, because a file of ours would have another name before the build.
 */
const PROGRAM = `
const { parentPort, workerData } = require('node:worker_threads');
const Database = require(workerData.driver);
const db = new Database(workerData.path, { readonly: true, fileMustExist: true });
try {
  parentPort.postMessage(db.pragma('quick_check').map((row) => row.quick_check));
} catch (error) {
  // Damage may stop the check itself.
  if (!/^SQLITE_(CORRUPT|NOTADB)/.test(error.code)) throw error;
  parentPort.postMessage([error.message]);
} finally {
  db.close();
}
`;

/** What is wrong with the database file, one line each; none when it is sound. */
export function faultsOf(path: string): Promise<string[]> {
  return new Promise((resolve, reject) => {
    const driver = createRequire(import.meta.url).resolve('better-sqlite3');
    const worker = new Worker(PROGRAM, { eval: true, workerData: { driver, path } });
    worker.once('message', (lines: string[]) => resolve(lines.filter((line) => line !== 'ok')));
    worker.once('error', reject);
    worker.once('exit', () => reject(new Error('The check of the database ended without an answer.')));
  });
}
