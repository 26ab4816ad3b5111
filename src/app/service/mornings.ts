import type { Logger } from 'pino';
import type { HouseSettingsBook } from '../../advice/house-settings.js';
import type { Keeper } from '../../advice/keeper.js';
import { changesList, type Rounds } from '../../advice/rounds.js';
import type { Site } from '../../domain/site.js';
import { addDays, instantOnDay, localDayOf } from '../../domain/time.js';
import type { Forecasts } from '../../forecast/forecasts.js';
import type { Clock } from '../clock.js';
import type { HouseOutlooks } from './house-outlooks.js';

/** A list that could not be made is tried again after this long. */
const TRY_AGAIN_MS = 60_000;

export interface MorningsParts {
  readonly rounds: Pick<Rounds, 'today' | 'latest' | 'make'>;
  readonly keeper: Pick<Keeper, 'onEntry'>;
  readonly settings: Pick<HouseSettingsBook, 'onChange'>;
  readonly forecasts: Pick<Forecasts, 'onForecast'>;
  readonly outlooks: Pick<HouseOutlooks, 'onFresh'>;
  sites(): readonly Site[];
  readonly clock: Clock;
  readonly settleSeconds: () => number;
  readonly renewMinutes: () => number;
  readonly logger: Logger;
  readonly signal: AbortSignal;
}

/**
 * Sees that there is a list: at once when today has none, at the hour of each site, after entries, changed limits, new
 * forecasts and fresh outlooks, and from time to time as readings come in.
 * @returns `ready` when the lists of today are there; `settled` when, after the signal, none is being made any more
 */
export function keepMornings(parts: MorningsParts): { readonly ready: Promise<void>; settled(): Promise<void> } {
  const { rounds, keeper, clock, logger, signal } = parts;
  const settling = new Set<string>();

  const make = async (siteId: string, onlyIfChanged: boolean): Promise<void> => {
    await rounds.make(siteId, rounds.today(siteId), { onlyIfChanged });
  };
  const tryMake = async (siteId: string, onlyIfChanged: boolean): Promise<boolean> => {
    try {
      await make(siteId, onlyIfChanged);
      return true;
    } catch (error) {
      if (!signal.aborted) logger.error({ err: error, site: siteId }, 'the list could not be made; the last one stays');
      return false;
    }
  };
  const underWay = new Set<Promise<unknown>>();
  const inBackground = (work: Promise<unknown>): void => {
    const ended = work
      .catch((error) => {
        if (!signal.aborted) logger.error({ err: error }, 'the making of lists stopped');
      })
      .finally(() => underWay.delete(ended));
    underWay.add(ended);
  };

  /** What comes in quick succession makes one list. */
  const soon = (siteId: string, onlyIfChanged: boolean): void => {
    const key = `${siteId} ${onlyIfChanged}`;
    if (settling.has(key)) return;
    settling.add(key);
    inBackground(
      clock
        .waitUntil(clock.now() + parts.settleSeconds() * 1000 * clock.speed, signal)
        .then(() => settling.delete(key))
        .then(() => tryMake(siteId, onlyIfChanged)),
    );
  };

  const stopListening = [
    keeper.onEntry((entries) => {
      const sites = new Set(entries.filter(changesList).map(({ siteId }) => siteId));
      for (const siteId of sites) soon(siteId, false);
    }),
    parts.forecasts.onForecast(({ siteId }) => soon(siteId, true)),
    parts.outlooks.onFresh((siteId) => soon(siteId, true)),
    parts.settings.onChange(({ siteId }) => inBackground(tryMake(siteId, false))),
  ];
  signal.addEventListener(
    'abort',
    () => {
      for (const stop of stopListening) stop();
    },
    { once: true },
  );

  const everyMorning = async (siteId: string): Promise<void> => {
    while (!signal.aborted) {
      const site = parts.sites().find(({ id }) => id === siteId);
      if (!site) return;
      await clock.waitUntil(nextRoundMs(site, clock.now()), signal);
      while (!(await tryMake(siteId, false))) await clock.waitUntil(clock.now() + TRY_AGAIN_MS, signal);
    }
  };
  const nowAndThen = async (siteId: string): Promise<void> => {
    while (!signal.aborted && parts.sites().some(({ id }) => id === siteId)) {
      const minutes = parts.renewMinutes();
      await clock.waitUntil(clock.now() + (minutes > 0 ? minutes : 60) * 60_000, signal);
      if (minutes > 0) await tryMake(siteId, true);
    }
  };

  const begin = async (): Promise<void> => {
    for (const site of parts.sites()) {
      if (!(await rounds.latest(site.id, rounds.today(site.id)))) await tryMake(site.id, false);
      inBackground(everyMorning(site.id));
      inBackground(nowAndThen(site.id));
    }
  };
  const ready = begin();
  return {
    ready,
    async settled() {
      await Promise.allSettled([ready]);
      while (underWay.size > 0) await Promise.all(underWay);
    },
  };
}

/** Next instant, after `nowMs`, at which the site's list is due. */
export function nextRoundMs(site: Pick<Site, 'zone' | 'roundAt'>, nowMs: number): number {
  const today = localDayOf(site.zone, nowMs);
  const atToday = instantOnDay(site.zone, today, site.roundAt);
  return atToday > nowMs ? atToday : instantOnDay(site.zone, addDays(today, 1), site.roundAt);
}
