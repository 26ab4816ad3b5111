import { createHash } from 'node:crypto';
import type { ForecastHour, IssuedForecast } from '../domain/forecast.js';
import type { Site } from '../domain/site.js';
import type { ForecastStore, PullState } from '../storage/repositories.js';
import { type Answer, ask } from './ask.js';
import { type ForecastKind, readForecast } from './forms.js';
import { tidyHours, Unreadable } from './tidy.js';
import { nextAfterAnswer, nextAfterTrouble } from './timing.js';

/** A weather service that is asked for forecasts. */
export interface PulledSource {
  /** As people read it beside a forecast. */
  readonly name: string;
  readonly kind: ForecastKind;
  /** With {latitude}, {longitude}, {elevation} and, where the service wants one, {key}. */
  readonly address: string;
  /** Where the service finds who asks: an e-mail address or a page. */
  readonly contact: string;
  readonly key?: string;
  /** Left out: every site. */
  readonly sites?: readonly string[];
  /** Asked this often at most. */
  readonly minutes: number;
}

export interface PullParts {
  readonly store: ForecastStore;
  /** UTC ms. */
  now(): number;
  /** From 0 up to 1. */
  random(): number;
  /** Name and version, e.g. `leafturn/1.0.0`: the contact of the source is put behind it. */
  readonly program: string;
  readonly timeoutMs?: number;
  readonly maxBytes?: number;
}

const TIMEOUT_MS = 15_000;
/** Ten days of everything are 200 kB. */
const MAX_BYTES = 2 * 1024 * 1024;

/** Services ask for at most four decimals, which is ten metres: more would only spoil their memory of answers. */
const degrees = (value: number): string => String(Number(value.toFixed(4)));

export function addressFor(source: Pick<PulledSource, 'address' | 'key'>, site: Site): string {
  const words: Readonly<Record<string, string>> = {
    latitude: degrees(site.latitude),
    longitude: degrees(site.longitude),
    elevation: String(Math.round(site.elevationM)),
    key: encodeURIComponent(source.key ?? ''),
  };
  return source.address.replace(/\{(\w+)\}/g, (whole, word: string) => words[word] ?? whole);
}

/** Another address or contact begins anew: who mends a mistake need not wait out the pause it led to. */
export const askedAs = (source: PulledSource, site: Site): string =>
  createHash('sha256')
    .update(`${source.kind}\n${addressFor(source, site)}\n${source.contact}`)
    .digest('hex')
    .slice(0, 32);

/** The state a source starts from: the stored one, as long as it is still asked the same way. */
export async function startingState(store: ForecastStore, source: PulledSource, site: Site): Promise<PullState> {
  const asked = askedAs(source, site);
  const stored = await store.pull(site.id, source.name);
  return stored?.askedAs === asked
    ? stored
    : {
        askedAs: asked,
        nextAt: 0,
        answeredAt: null,
        lastModified: null,
        etag: null,
        failures: 0,
        trouble: null,
        troubleAt: null,
      };
}

export interface Pulled {
  readonly state: PullState;
  /** A forecast that was not known before, and is kept now. */
  readonly forecast?: IssuedForecast;
}

/** Asks once and keeps what is new. The new state is the caller's to keep. */
export async function pullOnce(
  parts: PullParts,
  source: PulledSource,
  site: Site,
  state: PullState,
  signal?: AbortSignal,
): Promise<Pulled> {
  const address = addressFor(source, site);
  const { host } = new URL(address);
  const answer = await ask({
    address,
    ...(source.key !== undefined && { key: source.key }),
    userAgent: `${parts.program} ${source.contact}`,
    lastModified: state.lastModified,
    etag: state.etag,
    timeoutMs: parts.timeoutMs ?? TIMEOUT_MS,
    maxBytes: parts.maxBytes ?? MAX_BYTES,
    ...(signal && { signal }),
  });
  const now = parts.now();
  if (answer.kind === 'refused' || answer.kind === 'failed')
    return { state: afterTrouble(parts, state, answer.kind, answer.trouble, answer.headers, now) };
  const good = (trouble: string | null): PullState => ({
    ...state,
    nextAt: nextAfterAnswer(now, source.minutes, answer.headers, parts.random()),
    answeredAt: now,
    lastModified: answer.headers.get('last-modified') ?? (answer.kind === 'unchanged' ? state.lastModified : null),
    etag: answer.headers.get('etag') ?? (answer.kind === 'unchanged' ? state.etag : null),
    failures: 0,
    trouble,
    troubleAt: trouble === null ? null : now,
  });
  if (answer.kind === 'unchanged') return { state: good(null) };
  const warning = answer.deprecated
    ? `${host} says that this address will soon be shut off. Look up the new one and change it in the site file.`
    : null;
  try {
    const { forecast, dated } = forecastFrom(answer, source, site, now);
    const before = dated ? undefined : await parts.store.latestBefore(site.id, now, { only: [source.name] });
    if (before && saysTheSame(before, forecast)) return { state: good(warning) };
    const outcome = await parts.store.save(forecast);
    return { state: good(warning), ...(outcome === 'kept' && { forecast }) };
  } catch (error) {
    if (!(error instanceof Unreadable)) throw error;
    const trouble = `The answer of ${host} cannot be used. ${error.message}`;
    return { state: afterTrouble(parts, state, 'failed', trouble, answer.headers, now) };
  }
}

function afterTrouble(
  parts: PullParts,
  state: PullState,
  kind: 'failed' | 'refused',
  trouble: string,
  headers: Headers | null,
  now: number,
): PullState {
  const failures = state.failures + 1;
  return {
    ...state,
    nextAt: nextAfterTrouble(now, failures, kind, headers, parts.random()),
    failures,
    trouble,
    troubleAt: now,
  };
}

function forecastFrom(
  answer: Extract<Answer, { kind: 'fresh' }>,
  source: PulledSource,
  site: Site,
  now: number,
): { forecast: IssuedForecast; dated: boolean } {
  const read = readForecast(source.kind, answer.body);
  const modified = Date.parse(answer.headers.get('last-modified') ?? '');
  const issuedAt = Math.min(now, read.issuedAt ?? (Number.isNaN(modified) ? now : modified));
  const hours = tidyHours(read.hours, issuedAt, now);
  return {
    forecast: { siteId: site.id, source: source.name, issuedAt, receivedAt: now, hours },
    dated: read.issuedAt !== null,
  };
}

/** A source that does not say when it issued gives the same hours again and again: they are one issue. */
function saysTheSame(before: IssuedForecast, next: IssuedForecast): boolean {
  const hours = new Map(before.hours.map((hour) => [hour.at, hour]));
  return next.hours.every((hour) => {
    const known = hours.get(hour.at);
    return (
      known !== undefined && (Object.keys(hour) as (keyof ForecastHour)[]).every((key) => known[key] === hour[key])
    );
  });
}
