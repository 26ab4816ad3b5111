import { connectionTrouble, movedTo, printable } from '../domain/connection-words.js';

/** One question to a weather service over HTTP, and everything that can come of it. */
export interface Question {
  readonly address: string;
  /** The key in the address, as it was given. */
  readonly key?: string;
  /** Services refuse who does not say who asks. */
  readonly userAgent: string;
  /** Of the last answer, sent back as they came. */
  readonly lastModified: string | null;
  readonly etag: string | null;
  readonly timeoutMs: number;
  readonly maxBytes: number;
  readonly signal?: AbortSignal;
}

export type Answer =
  | { readonly kind: 'fresh'; readonly body: unknown; readonly headers: Headers; readonly deprecated: boolean }
  | { readonly kind: 'unchanged'; readonly headers: Headers }
  /** The service does not want this question: asking again soon would be rude. */
  | { readonly kind: 'refused'; readonly trouble: string; readonly headers: Headers }
  /** Likely to pass by itself. */
  | { readonly kind: 'failed'; readonly trouble: string; readonly headers: Headers | null };

export async function ask(question: Question): Promise<Answer> {
  const { address, timeoutMs, signal } = question;
  const host = new URL(address).host;
  const secrets = secretsOf(question);
  const timeout = AbortSignal.timeout(timeoutMs);
  let headers: Headers | null = null;
  try {
    const response = await fetch(address, {
      redirect: 'manual',
      signal: signal ? AbortSignal.any([signal, timeout]) : timeout,
      headers: {
        accept: 'application/json',
        'accept-encoding': 'gzip',
        'user-agent': question.userAgent,
        ...(question.lastModified !== null && { 'if-modified-since': question.lastModified }),
        ...(question.etag !== null && { 'if-none-match': question.etag }),
      },
    });
    headers = response.headers;
    if (response.status === 304) return { kind: 'unchanged', headers };
    const text = await textOf(response, question.maxBytes);
    if (response.status >= 300) return notGood(response.status, headers, address, reasonIn(text, secrets));
    return { kind: 'fresh', body: parsed(text, secrets), headers, deprecated: response.status === 203 };
  } catch (error) {
    // Stopping is the service's own doing and no trouble of the source.
    if (signal?.aborted) throw error;
    return { kind: 'failed', trouble: inWords(error, host, timeoutMs), headers };
  }
}

class Unusable extends Error {}

/** Read to its end within the bound: a body that never ends must not fill the memory. */
async function textOf(response: Response, maxBytes: number): Promise<string> {
  const parts: Uint8Array[] = [];
  let bytes = 0;
  if (!response.body) return '';
  // The types of the platform do not know yet that a body can be read this way.
  for await (const part of response.body as unknown as AsyncIterable<Uint8Array>) {
    bytes += part.length;
    // Leaving the loop cancels the rest.
    if (bytes > maxBytes)
      throw new Unusable(`sent more than ${Math.round(maxBytes / 1024)} kB, which no forecast needs.`);
    parts.push(part);
  }
  return Buffer.concat(parts).toString('utf8');
}

function parsed(text: string, secrets: readonly string[]): unknown {
  try {
    return JSON.parse(text);
  } catch {
    const begins = printable(withoutSecrets(text, secrets), 40);
    throw new Unusable(begins === '' ? 'sent an empty answer.' : `sent something that is not JSON: "${begins}".`);
  }
}

const REFUSALS: Readonly<Record<number, string>> = {
  400: 'does not understand the address. Check forecast.pulled in the site file',
  401: 'wants a key, or another one',
  403: 'refuses us. Check the contact in the site file: it is sent along so that the service knows who asks',
  404: 'has nothing at that address. Check it in the site file',
  422: 'has no forecast for this place',
  429: 'says that it is asked too often',
};

function notGood(status: number, headers: Headers, address: string, why: string): Answer {
  const { host } = new URL(address);
  if (status >= 500) return { kind: 'failed', trouble: `${host} has trouble of its own (${status}).`, headers };
  if (status < 400) {
    const trouble = `${host} has moved${movedTo(headers, address)}. Change the address in the site file.`;
    return { kind: 'refused', trouble, headers };
  }
  const words = REFUSALS[status] ?? 'does not answer this question';
  return { kind: 'refused', trouble: `${host} ${words} (${status}${why === '' ? '' : `: ${why}`}).`, headers };
}

/** Services of the columns form say why in a field `reason`. */
function reasonIn(text: string, secrets: readonly string[]): string {
  try {
    const { reason } = JSON.parse(text) as { reason?: unknown };
    return typeof reason === 'string' ? printable(withoutSecrets(reason, secrets), 160) : '';
  } catch {
    return '';
  }
}

/** Names under which services take keys in an address. */
const SECRET_NAME = /key|token|secret|pass|auth|app_?id|client|user|sig/i;
/** A shorter one would be found in common words. */
const SHORTEST_SECRET = 4;

/** What the address holds that is nobody else's business, as given and as it stands there; the longest first. */
function secretsOf({ address, key }: Pick<Question, 'address' | 'key'>): string[] {
  const inQuery = [...new URL(address).searchParams].flatMap(([name, value]) =>
    SECRET_NAME.test(name) ? [value] : [],
  );
  return [...inQuery, ...(key === undefined ? [] : [key])]
    .flatMap((secret) => [secret, encodeURIComponent(secret)])
    .filter((secret) => secret.length >= SHORTEST_SECRET)
    .sort((a, b) => b.length - a.length);
}

/** Services repeat in an answer what they were asked. */
const withoutSecrets = (text: string, secrets: readonly string[]): string =>
  secrets.reduce((rest, secret) => rest.replaceAll(secret, '…'), text);

function inWords(error: unknown, host: string, timeoutMs: number): string {
  if (error instanceof Unusable) return `${host} ${error.message}`;
  return connectionTrouble(error, host, timeoutMs);
}
