import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import formbody from '@fastify/formbody';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { AccessSettings, ConfiguredToken, HttpLimits } from './deps.js';
import { refuseForeignPages } from './origin.js';
import { signInPage } from './plain-pages.js';
import type { TokenList } from './tokens.js';

const DAY_MS = 86_400_000;
/** A phone in the house stays signed in for a season's month; then the token is asked for again. */
const SESSION_MS = 30 * DAY_MS;

/**
 * Sessions of the pages. The cookie names the token it came from and is signed with a key of the service together with
 * that token's hash: revoking the token ends its sessions, and the database alone is not enough to make one.
 */
export class Sessions {
  readonly #tokens: TokenList;
  readonly #key: Uint8Array;
  readonly #now: () => number;

  constructor(tokens: TokenList, settings: AccessSettings, now: () => number) {
    this.#tokens = tokens;
    this.#key = settings.sessionKey ?? randomBytes(32);
    this.#now = now;
    if (this.#key.length < 32) throw new RangeError('sessionKey: expected at least 32 bytes.');
  }

  start(request: FastifyRequest, reply: FastifyReply, token: ConfiguredToken): void {
    const body = Buffer.from(JSON.stringify({ of: token.tokenHash.slice(0, 16), at: this.#now() })).toString(
      'base64url',
    );
    const value = `${body}.${this.#sign(body, token).toString('base64url')}`;
    reply.header('set-cookie', cookie(request, value, SESSION_MS / 1000));
  }

  end(request: FastifyRequest, reply: FastifyReply): void {
    reply.header('set-cookie', cookie(request, '', 0));
  }

  /** The token behind the session of a request, if it has one that still holds. */
  async read(request: FastifyRequest): Promise<ConfiguredToken | null> {
    const [body, signature] = cookieValue(request)?.split('.') ?? [];
    if (!body || !signature) return null;
    const claim = parseClaim(body);
    if (!claim || !(this.#now() - claim.at < SESSION_MS)) return null;
    const given = Buffer.from(signature, 'base64url');
    for (const token of await this.#tokens.all()) {
      if (!token.tokenHash.startsWith(claim.of)) continue;
      const right = this.#sign(body, token);
      if (given.length === right.length && timingSafeEqual(given, right)) return token;
    }
    return null;
  }

  #sign(body: string, token: ConfiguredToken): Buffer {
    return createHmac('sha256', this.#key).update(`${body}.${token.tokenHash}`).digest();
  }
}

function parseClaim(body: string): { of: string; at: number } | undefined {
  try {
    const claim: unknown = JSON.parse(Buffer.from(body, 'base64url').toString('utf8'));
    const { of, at } = claim as { of?: unknown; at?: unknown };
    return typeof of === 'string' && of.length === 16 && typeof at === 'number' ? { of, at } : undefined;
  } catch {
    return undefined;
  }
}

/** Browsers accept the `__Host-` name only over HTTPS, and there it keeps other hosts from setting the cookie. */
const cookieName = (request: FastifyRequest): string =>
  request.protocol === 'https' ? '__Host-leafturn' : 'leafturn-session';

const cookie = (request: FastifyRequest, value: string, maxAgeSeconds: number): string =>
  `${cookieName(request)}=${value}; Path=/; Max-Age=${maxAgeSeconds}; HttpOnly; SameSite=Strict${
    request.protocol === 'https' ? '; Secure' : ''
  }`;

function cookieValue(request: FastifyRequest): string | undefined {
  const name = `${cookieName(request)}=`;
  return request.headers.cookie
    ?.split(';')
    .map((part) => part.trim())
    .find((part) => part.startsWith(name))
    ?.slice(name.length);
}

/** Only addresses of our own: `//elsewhere` and `/\elsewhere` lead away. */
const ownAddress = (address: unknown): string =>
  typeof address === 'string' && /^\/(?![/\\])[\w\-./?=&%~]*$/.test(address) ? address : '/';

/** The page that takes a token once, and the way out. */
export function signInRoutes(app: FastifyInstance, tokens: TokenList, sessions: Sessions, limits: HttpLimits): void {
  app.register(async (pages) => {
    await pages.register(formbody, { bodyLimit: 4096 });
    const once = {
      rateLimit: { max: limits.signInsPerMinute, keyGenerator: (request: FastifyRequest) => `sign-in ${request.ip}` },
    };
    pages.get('/sign-in', { schema: { hide: true }, config: { role: 'open' } }, async (request, reply) => {
      const { then } = request.query as { then?: unknown };
      return reply
        .type('text/html; charset=utf-8')
        .header('cache-control', 'no-store')
        .send(signInPage(ownAddress(then)));
    });
    pages.post('/sign-in', { schema: { hide: true }, config: { role: 'open', ...once } }, async (request, reply) => {
      refuseForeignPages(request);
      const { token, then } = (request.body ?? {}) as { token?: unknown; then?: unknown };
      const known = typeof token === 'string' ? await tokens.find(token.trim()) : undefined;
      if (!known) {
        request.log.warn({ address: request.ip }, 'sign-in refused');
        return reply
          .code(401)
          .type('text/html; charset=utf-8')
          .header('cache-control', 'no-store')
          .send(signInPage(ownAddress(then), 'This token is not known, or was revoked. Check it and try again.'));
      }
      request.log.info({ name: known.name, role: known.role }, 'signed in');
      sessions.start(request, reply, known);
      return reply.redirect(ownAddress(then), 303);
    });
    pages.post('/sign-out', { schema: { hide: true }, config: { role: 'open' } }, async (request, reply) => {
      refuseForeignPages(request);
      sessions.end(request, reply);
      return reply.redirect('/sign-in', 303);
    });
  });
}
