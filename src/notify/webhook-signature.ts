import { createHmac } from 'node:crypto';

/*
 * Signatures of webhooks as in the Standard Webhooks specification 1.0.0
 * (https://www.standardwebhooks.com), symmetric scheme v1.
 */

const PREFIX = 'whsec_';
/** "Random. At least 24 bytes (192 bits, 512 maximum)." */
const LEAST_BYTES = 24;
const MOST_BYTES = 64;
const BASE64 = /^[A-Za-z0-9+/]+={0,2}$/;

export const SECRET_FORM = `${PREFIX} and ${LEAST_BYTES} to ${MOST_BYTES} random bytes as base64`;

/** The key of a secret as people hand it over; undefined: it is not in the form of the specification. */
export function webhookKey(secret: string): Buffer | undefined {
  if (!secret.startsWith(PREFIX)) return undefined;
  const text = secret.slice(PREFIX.length);
  if (!BASE64.test(text) || text.length % 4 !== 0) return undefined;
  const key = Buffer.from(text, 'base64');
  return key.length >= LEAST_BYTES && key.length <= MOST_BYTES ? key : undefined;
}

export interface SignedHeaders {
  readonly 'webhook-id': string;
  readonly 'webhook-timestamp': string;
  readonly 'webhook-signature': string;
}

/**
 * Headers that prove id, time and body.
 * @param keys the one in use first; more than one while a secret is being changed: one signature each, so that a
 *   receiver that knows any of them can check
 * @param id without a full stop, which parts the signed fields
 * @param at instant of this try, UTC ms
 * @param body exactly as it is sent
 */
export function signWebhook(keys: readonly Uint8Array[], id: string, at: number, body: string): SignedHeaders {
  if (keys.length === 0) throw new RangeError('keys: expected at least one, got none.');
  if (!/^[\w-]+$/.test(id)) throw new RangeError(`id: expected letters, digits, _ and -, got ${JSON.stringify(id)}.`);
  if (!Number.isFinite(at)) throw new RangeError(`at: expected an instant, got ${at}.`);
  const timestamp = String(Math.floor(at / 1000));
  const signatures = keys.map(
    (key) => `v1,${createHmac('sha256', key).update(`${id}.${timestamp}.${body}`).digest('base64')}`,
  );
  return { 'webhook-id': id, 'webhook-timestamp': timestamp, 'webhook-signature': signatures.join(' ') };
}
