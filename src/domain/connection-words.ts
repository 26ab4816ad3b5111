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
      return `The connection to ${host} failed: ${cause?.message ?? message}.`;
  }
}

/** Of text from outside, what may stand in a line of ours. */
export const printable = (text: string, length: number): string =>
  text
    .slice(0, length)
    // biome-ignore lint/suspicious/noControlCharactersInRegex: that is what is taken out.
    .replace(/[\u0000-\u001f\u007f]+/g, ' ')
    .trim();

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
