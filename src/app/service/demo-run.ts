import { connectAsync } from 'mqtt';
import type { Keeper } from '../../advice/keeper.js';
import type { Config } from '../../config.js';
import type { Forecasts } from '../../forecast/forecasts.js';
import { Intake } from '../../ingest/intake.js';
import type { KnowsHouse } from '../../ingest/place.js';
import type { Storage } from '../../storage/repositories.js';
import type { Clock } from '../clock.js';
import { createDemo, type Demo } from '../demo/demo.js';
import { appendThrough, commitThrough, demoStanding } from '../demo/feed.js';

/** Writes the demo's past where it is missing, the way every message and entry goes. */
export async function tellDemoPast(
  config: Config,
  storage: Storage,
  keeper: Keeper,
  forecasts: Pick<Forecasts, 'push'>,
  knowsHouse: KnowsHouse,
  now: number,
  onProgress: (done: number, total: number) => void,
): Promise<Demo> {
  const standing = await demoStanding(
    storage,
    config.sites.map(({ id }) => id),
  );
  const demo = createDemo({ config, now, ...(standing && { begunAt: standing.begunAt }) });
  const intake = new Intake({ mappings: config.sensors, knowsHouse });
  await demo.history(commitThrough(intake, storage.readings), appendThrough(keeper), onProgress, {
    ...(standing && { since: standing.since }),
    handOver: ({ siteId, body, receivedAt }) => forecasts.push(siteId, body, 'demo', receivedAt),
  });
  return demo;
}

/** Lets the demo's sensors speak over real MQTT until the signal is aborted. */
export async function speakAsDemoSensors(
  demo: Demo,
  address: string,
  clock: Clock,
  signal: AbortSignal,
): Promise<void> {
  const client = await connectAsync(address, { protocolVersion: 4, clientId: 'demo-sensors', reconnectPeriod: 1000 });
  try {
    await demo.live(
      async (topic, payload) => {
        await client.publishAsync(topic, payload, { qos: 1 });
      },
      clock,
      signal,
    );
  } finally {
    await client.endAsync(true);
  }
}
