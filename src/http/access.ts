import type { FastifyInstance, FastifyRequest } from 'fastify';
import { isLoopback } from '../domain/hosts.js';
import { ROLES, type Role } from './deps.js';
import { refuseForeignPages } from './origin.js';
import { HttpProblem } from './problem.js';
import type { Sessions } from './session.js';
import type { TokenList } from './tokens.js';

/** Who sends a request. */
export interface Caller {
  readonly name: string;
  readonly role: Role;
  readonly via: 'token' | 'session' | 'this-machine';
}

declare module 'fastify' {
  interface FastifyRequest {
    /** Null only on open routes. */
    caller: Caller | null;
  }
  interface FastifyContextConfig {
    /** The least role that may call the route; `open` needs none. Left out: read to look, staff to change. */
    role?: Role | 'open';
  }
}

const rank = (role: Role): number => ROLES.indexOf(role);
export const mayAct = (caller: Caller, role: Role): boolean => rank(caller.role) >= rank(role);

const SAFE_METHODS = new Set(['GET', 'HEAD', 'OPTIONS']);

/** Finds out who calls, and refuses who may not. Covers every route of the server, the pages too. */
export function guardRoutes(app: FastifyInstance, tokens: TokenList, sessions: Sessions): void {
  app.decorateRequest('caller', null);
  app.addHook('onRoute', (route) => {
    if (route.url.startsWith('/api/') && route.config?.role === undefined)
      throw new Error(`The route ${String(route.method)} ${route.url} does not say which role may call it.`);
  });
  // After onRequest, so that guesses are counted by the rate limit before they are answered; before any body is read.
  app.addHook('preParsing', async (request) => {
    const wanted = request.routeOptions.config.role ?? (SAFE_METHODS.has(request.method) ? 'read' : 'staff');
    if (wanted === 'open') {
      request.caller = await identify(request, tokens, sessions).catch(() => null);
      return;
    }
    const caller = await identify(request, tokens, sessions);
    if (!caller) throw new HttpProblem('unauthenticated', 'This needs a token.', [], { 'www-authenticate': 'Bearer' });
    if (caller.via !== 'token' && !SAFE_METHODS.has(request.method)) refuseForeignPages(request);
    if (!mayAct(caller, wanted))
      throw new HttpProblem('forbidden', `This needs the role ${wanted}; ${caller.name} has the role ${caller.role}.`);
    request.caller = caller;
  });
}

/** The caller of a guarded route. */
export function callerOf(request: FastifyRequest): Caller {
  if (request.caller) return request.caller;
  throw new HttpProblem('unauthenticated', 'This needs a token.');
}

async function identify(request: FastifyRequest, tokens: TokenList, sessions: Sessions): Promise<Caller | null> {
  if (!(await tokens.exist())) return onThisMachine(request);
  const header = request.headers.authorization;
  if (header !== undefined) {
    const token = /^Bearer +(\S+)$/i.exec(header)?.[1];
    const known = token === undefined ? undefined : await tokens.find(token);
    if (known) return { name: known.name, role: known.role, via: 'token' };
    throw new HttpProblem('unauthenticated', 'The token is not known, or was revoked.', [], {
      'www-authenticate': 'Bearer error="invalid_token"',
    });
  }
  const session = await sessions.read(request);
  return session && { name: session.name, role: session.role, via: 'session' };
}

/**
 * Nobody needs a token yet. The peer must be this machine, and so must the name it was called by: a page on the
 * internet can point a name of its own at 127.0.0.1.
 */
function onThisMachine(request: FastifyRequest): Caller {
  const name = (request.headers.host ?? '').replace(/:\d+$/, '');
  if (isLoopback(request.socket.remoteAddress ?? '') && isLoopback(name))
    return { name: 'this machine', role: 'owner', via: 'this-machine' };
  throw new HttpProblem(
    'forbidden',
    'Access is not configured yet, so the service answers only to http://localhost on its own machine. Make a token with `leafturn token add`.',
  );
}
