import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { shown } from '../domain/problems.js';
import { invalidRequest } from './problem.js';

export const PAGE_LIMIT = 500;

/** Query of every paged list. */
export const pageQuery = z.strictObject({
  limit: z.coerce.number().int().min(1).max(PAGE_LIMIT).default(100).describe('Entries of one page.'),
  after: z.string().min(1).max(400).optional().describe('Where to go on: taken from `next` of the page before.'),
});

/** A cursor is opaque to clients: they only hand it back. */
export const cursorOf = (position: unknown): string => Buffer.from(JSON.stringify(position)).toString('base64url');

export function positionOf<T>(after: string | undefined, position: z.ZodType<T>): T | undefined {
  if (after === undefined) return undefined;
  try {
    return position.parse(JSON.parse(Buffer.from(after, 'base64url').toString('utf8')));
  } catch {
    throw invalidRequest(
      [
        {
          path: '/after',
          expected: 'the value out of a `next` link',
          got: shown(after),
          mend: 'Leave it out to begin at the start.',
        },
      ],
      'querystring',
    );
  }
}

export interface Page<T> {
  readonly items: readonly T[];
  /** Address of the next page; null on the last. */
  readonly next: string | null;
}

/** Address of the same list from another place. */
export function nextAddress(request: FastifyRequest, changes: Readonly<Record<string, string>>): string {
  const [path = '', query = ''] = request.url.split('?', 2);
  const parameters = new URLSearchParams(query);
  for (const [name, value] of Object.entries(changes)) parameters.set(name, value);
  return `${path}?${parameters}`;
}

/**
 * One page out of rows asked for with `limit + 1`: the one too many tells that there is more.
 * @param keyOf position to continue after the row
 */
export function pageOf<T>(
  request: FastifyRequest,
  reply: FastifyReply,
  rows: readonly T[],
  limit: number,
  keyOf: (row: T) => unknown,
): Page<T> {
  const items = rows.slice(0, limit);
  const last = items.at(-1);
  const next =
    rows.length > limit && last !== undefined ? nextAddress(request, { after: cursorOf(keyOf(last)) }) : null;
  if (next) reply.header('link', `<${next}>; rel="next"`);
  return { items, next };
}
