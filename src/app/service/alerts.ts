import type { Logger } from 'pino';
import type { Alerts } from '../../advice/alerts/service.js';
import type { Rounds } from '../../advice/rounds.js';
import type { Site } from '../../domain/site.js';
import type { Clock } from '../clock.js';

/** Alerts are looked at this often; two looks more than twenty minutes apart say nothing of the time between. */
const EVERY_MS = 5 * 60_000;

export interface WatchParts {
  readonly alerts: Pick<Alerts, 'evaluate'>;
  readonly rounds: Pick<Rounds, 'onRound' | 'today'>;
  sites(): readonly Site[];
  readonly clock: Clock;
  readonly logger: Logger;
  readonly signal: AbortSignal;
}

/** Looks at the alerts of every site every few minutes, and after each new list of today, until the signal is aborted. */
export async function watchAlerts(parts: WatchParts): Promise<void> {
  const { alerts, rounds, clock, logger, signal } = parts;
  const look = async (siteId: string): Promise<void> => {
    try {
      await alerts.evaluate(siteId);
    } catch (error) {
      if (!signal.aborted)
        logger.error({ err: error, site: siteId }, 'the alerts could not be looked at; they stand as they were');
    }
  };
  const underWay = new Set<Promise<void>>();
  const stopListening = rounds.onRound(({ siteId, day }) => {
    if (signal.aborted || day !== rounds.today(siteId)) return;
    const work = look(siteId);
    underWay.add(work);
    void work.then(() => underWay.delete(work));
  });
  try {
    while (!signal.aborted) {
      for (const { id } of parts.sites()) await look(id);
      await clock.waitUntil(clock.now() + EVERY_MS, signal);
    }
  } finally {
    stopListening();
    await Promise.allSettled(underWay);
  }
}
