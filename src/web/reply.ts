import { promisify } from 'node:util';
import { constants, gzip } from 'node:zlib';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { VNode } from 'preact';
import { render } from 'preact-render-to-string';
import { acceptsGzip } from '../http/answers.js';

const pack = promisify(gzip);

/** Nothing inline, nothing from elsewhere. */
export const CONTENT_SECURITY_POLICY = [
  "default-src 'none'",
  "style-src 'self'",
  "script-src 'self'",
  "img-src 'self'",
  "connect-src 'self'",
  "manifest-src 'self'",
  "worker-src 'self'",
  "form-action 'self'",
  "frame-ancestors 'none'",
  "base-uri 'none'",
].join('; ');

export function setPageHeaders(reply: FastifyReply): FastifyReply {
  return (
    reply
      .header('content-security-policy', CONTENT_SECURITY_POLICY)
      .header('x-content-type-options', 'nosniff')
      .header('cross-origin-opener-policy', 'same-origin')
      // A form on a house network without https is known to be ours by its Origin, which `no-referrer` would blank.
      .header('referrer-policy', 'same-origin')
      .header('vary', 'Accept-Encoding')
  );
}

/** Sends text packed when the browser takes it: a list of a hundred batches shrinks to a tenth. */
export async function sendText(
  request: FastifyRequest,
  reply: FastifyReply,
  type: string,
  text: string,
): Promise<FastifyReply> {
  reply.type(type);
  if (!acceptsGzip(request)) return reply.send(text);
  const packed = await pack(text, { level: constants.Z_BEST_COMPRESSION });
  return reply.header('content-encoding', 'gzip').send(packed);
}

export const pageText = (page: VNode): string => `<!doctype html>${render(page)}`;

export async function sendPage(
  request: FastifyRequest,
  reply: FastifyReply,
  page: VNode,
  status = 200,
): Promise<FastifyReply> {
  setPageHeaders(reply).code(status).header('cache-control', 'no-cache, private');
  return sendText(request, reply, 'text/html; charset=utf-8', pageText(page));
}
