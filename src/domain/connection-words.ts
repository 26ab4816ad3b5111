/** Why nobody could be reached, in words a grower can act on. */
export function connectionTrouble(error: unknown, host: string, timeoutMs: number): string {
  const { name, message, code, cause } = error as {
    name?: string;
    message?: string;
    code?: string;
    cause?: { code?: string; message?: string };
  };
  if (name === 'TimeoutError') return `${host} did not answer within ${timeoutMs / 1000} seconds.`;
  switch (cause?.code ?? code) {
    case 'ECONNREFUSED':
      return `Nothing answers at ${host}.`;
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return `The name ${host} is not known on this network. Is there a way to the internet?`;
    case 'ENETUNREACH':
    case 'EHOSTUNREACH':
      return `There is no way to ${host} from this network.`;
    default:
      return `The connection to ${host} failed: ${printable(cause?.message ?? message ?? '', 160)}.`;
  }
}

/** Of text from outside, what may stand in a line of ours. */
export const printable = (text: string, length: number): string =>
  text
    .slice(0, length)
    // biome-ignore lint/suspicious/noControlCharactersInRegex: that is what is taken out.
    .replace(/[\u0000-\u001f\u007f]+/g, ' ')
    .trim();

/**
 * Where a redirect points, for a sentence: ` to https://new.example`, or nothing. No more than that is told: the rest of an address may
 * hold a key.
 * @param from the address that was asked
 */
export function movedTo(headers: Headers, from: string): string {
  const place = headers.get('location');
  if (place === null || !URL.canParse(place, from)) return '';
  const { protocol, origin } = new URL(place, from);
  return /^https?:$/.test(protocol) ? ` to ${printable(origin, 120)}` : '';
}

const DAY_MS = 86_400_000;

/**
 * How long somebody asks to be left alone, ms (RFC 9110 section 10.2.3): seconds or a date; 0: not said, or in the past. More than a
 * day is taken as a mistake in the header.
 */
export function retryAfterMs(headers: Headers | null, now: number): number {
  const given = headers?.get('retry-after')?.trim();
  if (!given) return 0;
  const ms = /^\d+$/.test(given) ? Number(given) * 1000 : Date.parse(given) - now;
  return ms > 0 ? Math.min(ms, DAY_MS) : 0;
}
