import { LeafturnError } from '../domain/errors.js';
import type { IssuedForecast } from '../domain/forecast.js';
import type { Site } from '../domain/site.js';
import type { CorrectedForecast } from '../models/corrected-forecast.js';
import type { PullState, Storage } from '../storage/repositories.js';
import { createBiasBook } from './learning.js';
import { askedAs, type PulledSource, type PullParts, pullOnce, startingState } from './pulling.js';
import { forecastFromPush, type PushedForecast } from './pushed.js';
import { type ForecastStatus, isFresh, isUsable, statusOf } from './status.js';

/** The clock of the service, as far as it is needed here. */
export interface ForecastClock {
  now(): number;
  waitUntil(atMs: number, signal?: AbortSignal): Promise<void>;
}

export interface ForecastParts extends Pick<PullParts, 'random' | 'program' | 'timeoutMs' | 'maxBytes'> {
  readonly storage: Pick<Storage, 'forecasts' | 'readings'>;
  sites(): readonly Site[];
  sources(): readonly PulledSource[];
  readonly clock: ForecastClock;
  /** A source cannot be had, in words; told once when it begins and again when the words change. */
  readonly onTrouble?: (siteId: string, source: string, trouble: string) => void;
  /** Something broke that is not the source's doing. */
  readonly onError?: (error: unknown) => void;
}

export interface Forecasts {
  /** The forecast to go by, as known at `at`; undefined: none, or none that still says anything. */
  latest(siteId: string, at: number): Promise<IssuedForecast | undefined>;
  /** The same with what was learned of it at the site. */
  corrected(siteId: string, at: number): Promise<CorrectedForecast | undefined>;
  /** Keeps a forecast that was handed over. `known`: it was there already. Throws a LeafturnError on one that cannot be. */
  push(siteId: string, body: PushedForecast, by: string, receivedAt?: number): Promise<Pushed>;
  status(siteId: string): ForecastStatus;
  /** Called with every forecast that is new. Returns how to stop listening. */
  onForecast(listener: (forecast: IssuedForecast) => void): () => void;
  /** Asks the sources when they are due, until the signal is aborted. */
  run(signal: AbortSignal): Promise<void>;
}

export interface Pushed {
  readonly outcome: 'kept' | 'known';
  readonly forecast: IssuedForecast;
}

/** A changed site file is noticed within this time. */
const LOOK_AGAIN_MS = 5 * 60_000;

/** Starts with what is kept. */
export async function createForecasts(parts: ForecastParts): Promise<Forecasts> {
  const { storage, clock } = parts;
  const store = storage.forecasts;
  const bias = createBiasBook({ forecasts: store, readings: storage.readings });
  const listeners = new Set<(forecast: IssuedForecast) => void>();
  /** By site and source. In memory first, so that a full disk does not make us ask again and again. */
  const states = new Map<string, PullState>();
  /** Newest issue of each source by site, for the status. */
  const newest = new Map<string, Map<string, IssuedForecast>>();

  const pulledFor = (siteId: string): PulledSource[] =>
    parts.sources().filter(({ sites }) => sites === undefined || sites.includes(siteId));
  const siteOf = (siteId: string): Site | undefined => parts.sites().find(({ id }) => id === siteId);
  const keyOf = (siteId: string, { name }: PulledSource): string => `${siteId} ${name}`;

  function tell(forecast: IssuedForecast): void {
    const ofSite = newest.get(forecast.siteId) ?? new Map<string, IssuedForecast>();
    newest.set(forecast.siteId, ofSite);
    if (forecast.issuedAt >= (ofSite.get(forecast.source)?.issuedAt ?? 0)) ofSite.set(forecast.source, forecast);
    for (const listener of listeners) listener(forecast);
  }

  /** The newest that still says something, or else the newest. */
  function newestOf(siteId: string): IssuedForecast | undefined {
    const rank = (one: IssuedForecast): number => Number(isUsable(one, clock.now()));
    return [...(newest.get(siteId)?.values() ?? [])].sort((a, b) => rank(b) - rank(a) || b.issuedAt - a.issuedAt)[0];
  }

  async function latest(siteId: string, at: number): Promise<IssuedForecast | undefined> {
    // A service that has got another name, or is no longer asked, has not handed anything over.
    const names = [...new Set([...parts.sources().map(({ name }) => name), ...(await store.pulledNames(siteId))])];
    const [own, asked] = await Promise.all([
      store.latestBefore(siteId, at, { except: names }),
      store.latestBefore(siteId, at, { only: names }),
    ]);
    const usable = [own, asked].filter((one): one is IssuedForecast => one !== undefined && isUsable(one, at));
    // One that was handed over goes before one that was asked for, as long as it is fresh.
    if (own && usable.includes(own) && isFresh(own, at)) return own;
    return usable.sort((a, b) => b.issuedAt - a.issuedAt)[0];
  }

  async function pull(site: Site, source: PulledSource, signal: AbortSignal): Promise<void> {
    const key = keyOf(site.id, source);
    const known = states.get(key);
    const state = known?.askedAs === askedAs(source, site) ? known : await startingState(store, source, site);
    states.set(key, state);
    if (state.nextAt > clock.now()) return;
    const pulled = await pullOnce({ ...parts, store, now: clock.now }, source, site, state, signal);
    states.set(key, pulled.state);
    const { trouble } = pulled.state;
    if (trouble !== null && trouble !== state.trouble) parts.onTrouble?.(site.id, source.name, trouble);
    if (pulled.forecast) tell(pulled.forecast);
    await store.setPull(site.id, source.name, pulled.state);
  }

  async function pullWhatIsDue(signal: AbortSignal): Promise<void> {
    for (const site of parts.sites()) {
      for (const source of pulledFor(site.id)) {
        if (signal.aborted) return;
        try {
          await pull(site, source, signal);
        } catch (error) {
          if (signal.aborted) return;
          parts.onError?.(error);
          const state = states.get(keyOf(site.id, source));
          // Not at once again, whatever it was.
          if (state && state.nextAt <= clock.now())
            states.set(keyOf(site.id, source), { ...state, nextAt: clock.now() + source.minutes * 60_000 });
        }
      }
    }
  }

  for (const site of parts.sites()) {
    const kept = await store.latestBefore(site.id, clock.now());
    if (kept) newest.set(site.id, new Map([[kept.source, kept]]));
    for (const source of pulledFor(site.id))
      states.set(keyOf(site.id, source), await startingState(store, source, site));
  }

  return {
    latest,
    corrected: async (siteId, at) => {
      const [site, forecast] = [siteOf(siteId), await latest(siteId, at)];
      return site && forecast && bias.corrected(site, forecast, at);
    },
    push: async (siteId, body, by, receivedAt = clock.now()) => {
      const site = siteOf(siteId);
      if (!site) throw new LeafturnError('not-found', `There is no site ${siteId}.`);
      const pulledNames = parts.sources().map(({ name }) => name);
      const forecast = forecastFromPush(body, { site, by, receivedAt, pulledNames });
      const outcome = await store.save(forecast);
      if (outcome === 'differs')
        throw new LeafturnError('conflict', 'A forecast is never changed once it was issued.', [
          {
            path: '/issuedAt',
            expected: `another time than ${new Date(forecast.issuedAt).toISOString()}, of which ${forecast.source} issued one with other hours`,
            got: 'the same time',
            mend: 'Send a corrected forecast with a later issuedAt, or leave it out.',
          },
        ]);
      if (outcome === 'kept') tell(forecast);
      return { outcome, forecast };
    },
    status: (siteId) =>
      statusOf(
        newestOf(siteId),
        pulledFor(siteId).map((source) => ({ name: source.name, state: states.get(keyOf(siteId, source)) })),
        clock.now(),
      ),
    onForecast: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    run: async (signal) => {
      while (!signal.aborted) {
        await pullWhatIsDue(signal);
        const asked = parts
          .sites()
          .flatMap((site) => pulledFor(site.id).map((source) => states.get(keyOf(site.id, source))));
        const next = Math.min(...asked.map((state) => state?.nextAt ?? 0));
        const soon = clock.now() + LOOK_AGAIN_MS;
        await clock.waitUntil(Math.min(soon, Math.max(next, clock.now() + 1000)), signal);
      }
    },
  };
}
