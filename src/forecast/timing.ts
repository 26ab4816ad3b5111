import { retryAfterMs } from '../domain/connection-words.js';

/** When a source may be asked again. Chance is passed in: 0 up to 1. */

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;
/** Asked at a moment of its own within a minute, so that not everybody comes on the full hour. */
const SCATTER_MS = MINUTE_MS;
/** A forecast that is to be kept for longer is a mistake in the header. */
const LONGEST_KEPT_MS = 24 * HOUR_MS;

const FAILED = { firstMs: 2 * MINUTE_MS, longestMs: 2 * HOUR_MS };
/** A refusal does not mend itself: a person has to change something. */
const REFUSED = { firstMs: HOUR_MS, longestMs: 24 * HOUR_MS };

/** How long the answer stays fresh by its headers (RFC 9111 section 4.2.1). A clock of ours that is wrong changes nothing. */
export function freshForMs(headers: Headers, now: number): number {
  const control = headers.get('cache-control') ?? '';
  const maxAge = /(?:^|[,\s])max-age\s*=\s*"?(\d+)/i.exec(control)?.[1];
  if (maxAge !== undefined) {
    const age = Number(headers.get('age') ?? 0);
    return bounded(Number(maxAge) * 1000 - (Number.isFinite(age) ? age * 1000 : 0));
  }
  const expires = Date.parse(headers.get('expires') ?? '');
  if (Number.isNaN(expires)) return 0;
  const sent = Date.parse(headers.get('date') ?? '');
  return bounded(expires - (Number.isNaN(sent) ? now : sent));
}

const bounded = (ms: number): number => (ms > 0 ? Math.min(ms, LONGEST_KEPT_MS) : 0);

export function nextAfterAnswer(now: number, minutes: number, headers: Headers, chance: number): number {
  return now + Math.max(minutes * MINUTE_MS, freshForMs(headers, now)) + chance * SCATTER_MS;
}

/**
 * Twice as long after each failure, spread from three to five quarters, so that all who lost the same source do not come
 * back in step.
 * @param failures one after the other, this one included
 */
export function nextAfterTrouble(
  now: number,
  failures: number,
  kind: 'failed' | 'refused',
  headers: Headers | null,
  chance: number,
): number {
  const { firstMs, longestMs } = kind === 'failed' ? FAILED : REFUSED;
  const pause = Math.min(longestMs, firstMs * 2 ** Math.min(failures - 1, 20)) * (0.75 + chance / 2);
  const fresh = headers === null ? 0 : freshForMs(headers, now);
  return now + Math.max(pause, retryAfterMs(headers, now), fresh);
}
