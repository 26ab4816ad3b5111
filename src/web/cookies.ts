import type { FastifyReply, FastifyRequest } from 'fastify';
import { sitePath } from './parts/layout.js';

/** Value of a cookie of the request. */
export function cookie(request: FastifyRequest, name: string): string | undefined {
  for (const part of (request.headers.cookie ?? '').split(';')) {
    const at = part.indexOf('=');
    if (at > 0 && part.slice(0, at).trim() === name) return decodeURIComponent(part.slice(at + 1).trim());
  }
  return undefined;
}

const TWO_DAYS_S = 2 * 24 * 3600;
const ONE_YEAR_S = 365 * 24 * 3600;

export const LAST_SITE = 'site';
export const readCookie = (siteId: string): string => `read-${siteId}`;

/** `Lax`, so that a list opened from a mail or calendar still knows what was read. */
export function rememberRead(reply: FastifyReply, siteId: string, mark: string): void {
  reply.header('set-cookie', [
    `${readCookie(siteId)}=${mark}; Path=${sitePath(siteId)}; Max-Age=${TWO_DAYS_S}; HttpOnly; SameSite=Lax`,
    `${LAST_SITE}=${siteId}; Path=/; Max-Age=${ONE_YEAR_S}; HttpOnly; SameSite=Lax`,
  ]);
}
