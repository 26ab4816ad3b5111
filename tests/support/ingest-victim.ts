import { mappingSchema } from '../../src/domain/mapping.js';
import { startIngest } from '../../src/ingest/start.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';

/** The service's way from broker to disk in a process of its own, to be killed at any moment. */
export interface VictimOrder {
  readonly database: string;
  readonly broker:
    | { readonly kind: 'external'; readonly url: string; readonly clientId: string }
    | { readonly kind: 'embedded'; readonly host: string; readonly port: number; readonly users: [] };
}
/** What it says: it listens; so many messages have been committed in its life. */
export type VictimWord = 'ready' | { readonly committed: number };

const say = (word: VictimWord): void => void process.send?.(word);

process.once('message', (order: VictimOrder) => {
  void (async () => {
    const storage = await openSqliteStorage({ path: order.database, zoneOf: () => 'Europe/Berlin' });
    let committed = 0;
    await startIngest({
      mappings: [
        mappingSchema.parse({
          id: 'load',
          topic: 'load/+/+/air',
          format: 'json',
          site: 'hill',
          house: '{1}',
          sensor: '{1}/{2}',
          fields: [
            { pointer: '/t', quantity: 'airTempC', unit: '°C' },
            { pointer: '/rh', quantity: 'relHumidityPct', unit: '%' },
          ],
          time: { pointer: '/at', kind: 'ms' },
        }),
      ],
      knowsHouse: () => true,
      store: storage.readings,
      series: await storage.readings.series({ siteId: 'hill' }),
      now: () => Date.now(),
      broker: order.broker,
      onLinkStatus: (status) => {
        if (status.state === 'connected') say('ready');
      },
      onCommitted: (batch) => {
        committed += batch.messages;
        say({ committed });
      },
    });
  })();
});
