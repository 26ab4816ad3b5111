import type { FastifyRequest } from 'fastify';
import { LeafturnError } from '../domain/errors.js';
import { isLoopback } from '../domain/hosts.js';
import { HttpProblem } from './problem.js';

/** Without tokens anybody who reaches the port is the owner: only this machine may reach it. */
export function refuseOpenHost(host: string, tokensExist: boolean): void {
  if (tokensExist || isLoopback(host)) return;
  throw new LeafturnError('forbidden', 'The service does not listen to other machines before access is configured.', [
    {
      path: 'server.host',
      expected: '127.0.0.1 as long as there are no access tokens',
      got: host,
      mend: 'Make a token with `leafturn token add NAME --role owner`, or set server.host to 127.0.0.1.',
    },
  ]);
}

/** A page of another site must not send what only the cookie or the machine vouches for. */
export function refuseForeignPages(request: FastifyRequest): void {
  const site = request.headers['sec-fetch-site'];
  const { origin, host } = request.headers;
  const foreign =
    site === undefined
      ? origin !== undefined && (!URL.canParse(origin) || new URL(origin).host !== host)
      : site !== 'same-origin' && site !== 'none';
  if (foreign) throw new HttpProblem('forbidden', 'This came from a page of another site.');
}
