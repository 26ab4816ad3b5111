import { connectionTrouble, movedTo, retryAfterMs } from '../domain/connection-words.js';
import type { Message } from '../domain/messages.js';
import { type Channel, type Outcome, type Wanted, wants } from './channel.js';
import { signWebhook } from './webhook-signature.js';

export interface WebhookSettings extends Wanted {
  readonly name: string;
  readonly url: string;
  /** The one in use first; the one before it as long as receivers still check by it. */
  readonly keys: readonly Uint8Array[];
  /** Name and version of the service. */
  readonly program: string;
  readonly timeoutMs?: number;
}

/** "Somewhere between 15 and 30 s" (Standard Webhooks 1.0.0). */
const TIMEOUT_MS = 20_000;

/** Posts messages to an address, signed as in the Standard Webhooks specification. */
export function createWebhook(settings: WebhookSettings): Channel {
  const { name, url, keys, program, timeoutMs = TIMEOUT_MS } = settings;
  const { origin } = new URL(url);
  return {
    name,
    kind: 'webhook',
    // The path may hold a secret of the receiver.
    address: origin,
    recipients: [''],
    ...(settings.sites && { sites: settings.sites }),
    takes: (message) => wants(settings, message),
    send: async (message, _recipient, at, signal) => {
      const body = JSON.stringify(payloadOf(message));
      const timeout = AbortSignal.timeout(timeoutMs);
      try {
        const response = await fetch(url, {
          method: 'POST',
          // What is for one host is not handed to another.
          redirect: 'manual',
          signal: AbortSignal.any([signal, timeout]),
          headers: {
            'content-type': 'application/json',
            'user-agent': program,
            ...signWebhook(keys, message.id, at, body),
          },
          body,
        });
        // Nothing of the answer is needed, and it may be endless.
        await response.body?.cancel();
        return outcomeOf(response, url, at);
      } catch (error) {
        if (signal.aborted) throw error;
        return { kind: 'failed', trouble: connectionTrouble(error, new URL(url).host, timeoutMs) };
      }
    },
  };
}

function outcomeOf({ ok, status, headers }: Response, url: string, at: number): Outcome {
  const { host } = new URL(url);
  if (ok) return { kind: 'sent' };
  // "The server is no longer interested in receiving webhooks from this source."
  if (status === 410)
    return {
      kind: 'refused',
      trouble: `${host} wants no messages any more (410). Take the channel out of the site file.`,
    };
  if (status < 400)
    return {
      kind: 'failed',
      trouble: `${host} has moved${movedTo(headers, url)} (${status}). Change the url in the site file.`,
    };
  const wait = retryAfterMs(headers, at);
  return {
    kind: 'failed',
    trouble: `${host} ${WORDS[status] ?? (status >= 500 ? 'has trouble of its own' : 'did not take the message')} (${status}).`,
    ...(wait > 0 && { notBeforeMs: wait }),
  };
}

const WORDS: Readonly<Record<number, string>> = {
  401: 'does not accept the signature. Is the secret the same on both sides?',
  403: 'does not accept the signature. Is the secret the same on both sides?',
  404: 'has nothing at that address. Check the url in the site file',
  429: 'says that it gets too many messages',
};

/** `type`, `timestamp` and `data`, as the specification recommends. */
export function payloadOf({ id, kind, at, siteId, title, text, dangerous, alert, parts }: Message): object {
  return {
    type: kind.replace('-', '.'),
    timestamp: new Date(at).toISOString(),
    data: {
      id,
      site: siteId,
      title,
      text,
      dangerous,
      ...(alert && { alert }),
      ...(parts && { alerts: parts.flatMap((part) => (part.alert ? [part.alert] : [])) }),
    },
  };
}
