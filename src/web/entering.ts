import type { FastifyRequest } from 'fastify';
import { LeafturnError } from '../domain/errors.js';
import type { JournalEventInput } from '../domain/journal.js';
import type { PageDeps } from './deps.js';
import { happenedAt } from './forms.js';
import { once } from './once.js';

export interface Entering {
  /** Made with the page. */
  readonly key: string;
  /** What the form says: the same form that arrives again counts once. */
  readonly content: unknown;
  /** How long it waited on the phone, ms. */
  readonly ago?: number | undefined;
}

/** Notes what a form says, once, in the name of who sits in front of the page. */
export async function enterOnce(
  deps: PageDeps,
  request: FastifyRequest,
  siteId: string,
  { key, content, ago }: Entering,
  eventsOf: () => Promise<readonly JournalEventInput[]>,
): Promise<void> {
  const reader = deps.reader(request);
  if (!reader.mayWrite) throw new LeafturnError('forbidden', 'You may read this list but not note anything on it.');
  const now = deps.now();
  const requestKey = `page:${siteId}:${key}`;
  await once(deps.idempotency, requestKey, JSON.stringify(content), now, async () => {
    const entries = await deps.record(siteId, await eventsOf(), {
      by: reader.name,
      requestKey,
      ...(ago !== undefined && { happenedAt: happenedAt(now, ago) }),
    });
    return entries.map((entry) => entry.id);
  });
}
