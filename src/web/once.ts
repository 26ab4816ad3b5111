import { createHash } from 'node:crypto';
import { LeafturnError } from '../domain/errors.js';
import type { IdempotencyStore } from '../storage/repositories.js';

/** The first arrival of the form is still being worked on: asked again later, its answer is there. */
export class StillSaving extends LeafturnError {
  constructor() {
    super('conflict', 'This note is being saved at this moment. Look at the list before you send it again.');
  }
}

/**
 * Does the work of a form once, however often the form arrives: a double tap, a page sent again, a phone that comes
 * back to the network. Work that fails is forgotten, so that the person can mend it and send again.
 * @param key made with the form; the same for every arrival of it.
 * @param content what the form says; the same key with other content is refused.
 * @returns ids of the entries, the same every time.
 */
export async function once(
  store: IdempotencyStore,
  key: string,
  content: string,
  at: number,
  work: () => Promise<readonly number[]>,
): Promise<readonly number[]> {
  const hash = createHash('sha256').update(content).digest('hex');
  const begun = await store.begin(key, hash, at);
  if (begun === 'running') throw new StillSaving();
  if (begun !== 'new') {
    if (begun.requestHash !== hash)
      throw new LeafturnError(
        'conflict',
        'This form has been used for another note. Open the list again and note it there.',
      );
    return JSON.parse(begun.body) as number[];
  }
  let ids: readonly number[];
  try {
    ids = await work();
  } catch (error) {
    await store.abandon(key);
    throw error;
  }
  await store.finish(key, 201, JSON.stringify(ids));
  return ids;
}
