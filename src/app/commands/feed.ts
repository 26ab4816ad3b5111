import { readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { LeafturnError } from '../../domain/errors.js';
import { EXIT } from './exit-codes.js';
import { sampleFaults, sampleFileForm } from './feed-samples.js';
import { type CommandIo, print } from './io.js';

/** `leafturn feed check FILE`: sample messages, each with the readings or errors it must become. */
export async function checkFeedFile(path: string, io: CommandIo): Promise<number> {
  const full = resolve(io.workingFolder, path);
  let text: string;
  try {
    text = await readFile(full, 'utf8');
  } catch (error) {
    throw new LeafturnError('file-failed', `Cannot read ${path}: ${(error as Error).message}`);
  }
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new LeafturnError('invalid-input', `${path} is not JSON: ${(error as Error).message}`);
  }
  const parsed = sampleFileForm.safeParse(json);
  if (!parsed.success)
    throw new LeafturnError(
      'invalid-input',
      `${path} is not a file of sample messages.`,
      parsed.error.issues.map((issue) => ({
        path: issue.path.join('.'),
        expected: issue.message,
        got: 'something else',
      })),
    );
  const file = parsed.data;
  const byId = new Map(file.samples.map((sample) => [sample.id, sample]));
  let failed = 0;
  for (const sample of file.samples) {
    const faults = sampleFaults(file, sample, byId);
    if (faults.length === 0) continue;
    failed++;
    print(io, `${sample.id}: ${faults.length} wrong`);
    for (const fault of faults) print(io, `  ${fault}`);
  }
  print(io, `${file.samples.length - failed} passed, ${failed} failed`);
  return failed === 0 ? EXIT.ok : EXIT.checkFailed;
}
