import type { Logger } from 'pino';
import type { Config } from '../../config.js';
import { createForecasts, type Forecasts } from '../../forecast/forecasts.js';
import { listenForForecasts } from '../../forecast/over-mqtt.js';
import type { Ingest } from '../../ingest/start.js';
import type { Storage } from '../../storage/repositories.js';
import type { Clock } from '../clock.js';
import { packageVersion } from '../commands/program.js';

/** The outdoor forecast of the running service, as its site file says. */
export const openForecasts = (
  config: () => Config,
  storage: Storage,
  clock: Clock,
  logger: Logger,
): Promise<Forecasts> =>
  createForecasts({
    storage,
    clock,
    sites: () => config().sites,
    sources: () => config().forecast.pulled,
    random: Math.random,
    program: `leafturn/${packageVersion()}`,
    onTrouble: (site, source, trouble) => logger.warn({ site, source, trouble }, 'no outdoor forecast'),
    onError: (error) => logger.error({ err: error }, 'an outdoor forecast could not be kept; it is asked for again'),
  });

/** Takes forecasts over MQTT where the site file names a topic for them. */
export async function hearForecasts(topic: string | undefined, forecasts: Forecasts, ingest: Ingest): Promise<void> {
  if (topic === undefined) return;
  await listenForForecasts({
    link: ingest.link,
    forecasts,
    topic,
    refuse: (refusal) => ingest.pipeline.offerRefusal(refusal),
  });
}
