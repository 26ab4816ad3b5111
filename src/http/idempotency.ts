import { createHash } from 'node:crypto';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { IdempotencyStore } from '../storage/repositories.js';
import { callerOf } from './access.js';
import { HttpProblem } from './problem.js';

declare module 'fastify' {
  interface FastifyRequest {
    /** Key under which the answer will be kept; null when it was answered from the store or is not a write. */
    idempotencyKey: string | null;
  }
  interface FastifyContextConfig {
    /** The route changes something, and needs an Idempotency-Key. */
    write?: true;
  }
}

const HEADER = 'idempotency-key';
const KEY_FORM = /^[\x21-\x7e]{1,200}$/;

/**
 * A write that is repeated with its key is done once and answered the same each time
 * (draft-ietf-httpapi-idempotency-key-header-07). Only writes that were done are remembered: after a refusal the same
 * key may come with the mended request.
 */
export function answerWritesOnce(app: FastifyInstance, store: IdempotencyStore, now: () => number): void {
  app.decorateRequest('idempotencyKey', null);
  // Hung on the writes alone: a read pays nothing for it.
  app.addHook('onRoute', (route) => {
    if (!route.config?.write) return;
    route.preValidation = async (request) => void givenKey(request);
    route.preHandler = begin;
    route.onSend = finish;
  });

  async function begin(request: FastifyRequest, reply: FastifyReply) {
    // Keys of two callers never meet.
    const key = `${callerOf(request).name} ${givenKey(request)}`;
    const answer = await store.begin(key, requestHash(request), now());
    if (answer === 'running')
      throw new HttpProblem('idempotency-key-running', 'The first request with this key is not done yet.', [], {
        'retry-after': '1',
      });
    if (answer === 'new') {
      request.idempotencyKey = key;
      return;
    }
    if (answer.requestHash !== requestHash(request))
      throw new HttpProblem('idempotency-key-reused', 'This key was used for another request.', [
        {
          header: 'Idempotency-Key',
          expected: 'a new key with a new request',
          got: givenKey(request),
          detail: 'Idempotency-Key: this key came before, with another address or body.',
        },
      ]);
    return reply
      .code(answer.status)
      .header('idempotency-replayed', 'true')
      .type('application/json; charset=utf-8')
      .send(answer.body);
  }

  async function finish(request: FastifyRequest, reply: FastifyReply, payload: unknown) {
    const key = request.idempotencyKey;
    if (key === null) return payload;
    request.idempotencyKey = null;
    try {
      if (reply.statusCode < 300) await store.finish(key, reply.statusCode, String(payload));
      else await store.abandon(key);
    } catch (error) {
      // The write itself is on disk; only its repeat can no longer be answered from the store.
      request.log.error({ err: error }, 'the answer could not be kept for a repeat');
    }
    return payload;
  }
}

function givenKey(request: FastifyRequest): string {
  const key = request.headers[HEADER];
  if (typeof key === 'string' && KEY_FORM.test(key)) return key;
  const got = key === undefined ? 'nothing' : 'something else';
  throw new HttpProblem('idempotency-key-missing', 'A write needs the header Idempotency-Key.', [
    {
      header: 'Idempotency-Key',
      expected: '1 to 200 printable characters without spaces',
      got,
      detail: `Idempotency-Key: expected 1 to 200 printable characters without spaces, got ${got}.`,
    },
  ]);
}

const hashes = new WeakMap<FastifyRequest, string>();
function requestHash(request: FastifyRequest): string {
  const known = hashes.get(request);
  if (known) return known;
  const hash = createHash('sha256')
    .update(`${request.method} ${request.url}\n${JSON.stringify(request.body ?? null)}`)
    .digest('hex');
  hashes.set(request, hash);
  return hash;
}
