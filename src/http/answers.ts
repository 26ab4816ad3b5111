import { createHash, randomBytes } from 'node:crypto';
import { promisify } from 'node:util';
import { gzip } from 'node:zlib';
import type { FastifyReply, FastifyRequest } from 'fastify';

const gzipped = promisify(gzip);
/** Below this a packet is not filled anyway. */
const GZIP_FROM_BYTES = 1400;

interface Answer {
  readonly bytes: Buffer;
  readonly headers: Readonly<Record<string, string>>;
  small?: Promise<Buffer> | undefined;
}

/** What an answer is made of, when it has to be made. */
export interface Made {
  readonly value: unknown;
  readonly headers?: Readonly<Record<string, string>>;
}

/**
 * Serialised answers, kept as long as what they show is unchanged: the tag names the revision, so a new revision is a
 * new key and the old one falls out in time.
 */
export class AnswerCache {
  readonly #answers = new Map<string, Answer>();
  readonly #maxBytes: number;
  #bytes = 0;
  /** A database put back from a copy may give the same numbers to other entries: tags end with the process. */
  readonly #born = randomBytes(4).toString('hex');

  constructor(maxBytes = 64 * 1024 * 1024) {
    this.#maxBytes = maxBytes;
  }

  /**
   * Answers from the cache, or makes the answer; 304 when the client has it.
   * @param revision changes whenever the answer may: part of the tag
   */
  async send(
    request: FastifyRequest,
    reply: FastifyReply,
    revision: string,
    make: () => Made | Promise<Made>,
  ): Promise<FastifyReply> {
    const tag = `${revision}.${this.#born}`;
    reply.headers({ 'cache-control': 'private, no-cache', vary: 'accept-encoding, authorization, cookie' });
    const small = acceptsGzip(request);
    if (hasTag(request, tag))
      return reply
        .header('etag', `"${tag}${small ? '.gz' : ''}"`)
        .code(304)
        .send();
    const key = `${tag} ${request.url}`;
    let answer = this.#answers.get(key);
    if (answer) {
      // Used again: to the end of the row, so that the front is what nobody asks for.
      this.#answers.delete(key);
      this.#answers.set(key, answer);
    } else {
      const { value, headers = {} } = await make();
      answer = { bytes: Buffer.from(JSON.stringify(value)), headers };
      this.#keep(key, answer);
    }
    reply.headers(answer.headers).type('application/json; charset=utf-8');
    if (!small || answer.bytes.length < GZIP_FROM_BYTES) return reply.header('etag', `"${tag}"`).send(answer.bytes);
    answer.small ??= gzipped(answer.bytes, { level: 5 });
    return reply.headers({ etag: `"${tag}.gz"`, 'content-encoding': 'gzip' }).send(await answer.small);
  }

  #keep(key: string, answer: Answer): void {
    if (answer.bytes.length > this.#maxBytes / 2) return;
    this.#answers.set(key, answer);
    this.#bytes += answer.bytes.length;
    for (const [oldKey, old] of this.#answers) {
      if (this.#bytes <= this.#maxBytes) break;
      this.#answers.delete(oldKey);
      this.#bytes -= old.bytes.length;
    }
  }
}

/** A small answer whose tag is its content. */
export function sendTagged(request: FastifyRequest, reply: FastifyReply, value: unknown): FastifyReply {
  const body = JSON.stringify(value);
  const tag = createHash('sha256').update(body).digest('base64url').slice(0, 22);
  reply.headers({ 'cache-control': 'private, no-cache', vary: 'authorization, cookie', etag: `"${tag}"` });
  if (hasTag(request, tag)) return reply.code(304).send();
  return reply.type('application/json; charset=utf-8').send(body);
}

/** What was made by a request. */
export const sendCreated = (reply: FastifyReply, value: unknown): FastifyReply =>
  reply.code(201).type('application/json; charset=utf-8').send(JSON.stringify(value));

export const acceptsGzip = (request: FastifyRequest): boolean =>
  String(request.headers['accept-encoding'] ?? '')
    .split(',')
    .some((part) => /^\s*(gzip|\*)\s*(;\s*q=(?!0(\.0*)?\s*$).*)?$/i.test(part));

/** RFC 9110 section 13.1.2: weak comparison; the packed form is the same revision. */
function hasTag(request: FastifyRequest, tag: string): boolean {
  const given = request.headers['if-none-match'];
  if (given === undefined) return false;
  return given.split(',').some((part) => {
    const bare = part.trim().replace(/^W\//, '');
    return bare === '*' || bare === `"${tag}"` || bare === `"${tag}.gz"`;
  });
}
