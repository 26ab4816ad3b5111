import { describe, expect, test } from 'vitest';
import { startIngest } from '../../src/ingest/start.js';
import { hasMosquitto, startMosquitto, testClient, until } from '../support/broker.js';
import { AIR, openStorage } from './support.js';

const T0 = Date.UTC(2026, 5, 1);
const payload = (n: number) => JSON.stringify({ t: 20 + (n % 50) / 10, at: T0 + n * 1000 });

describe.runIf(hasMosquitto)('an external broker', () => {
  test('messages sent while the service is away arrive when it is back', async () => {
    const broker = await startMosquitto();
    const storage = await openStorage();
    const start = () =>
      startIngest({
        mappings: [AIR],
        knowsHouse: () => true,
        store: storage.readings,
        now: () => Date.now(),
        broker: { kind: 'external', url: broker.url, clientId: 'svc' },
      });
    let ingest = await start();
    await until('connected', () => ingest.link.status().state === 'connected');
    const device = await testClient(broker.url);
    for (let n = 0; n < 100; n++) await device.publishAsync('gh/north/a/air', payload(n), { qos: 1 });
    await until('100 stored', () => ingest.pipeline.status().stored === 100);
    await ingest.close();
    expect(ingest.link.status().state).toBe('closed');

    await Promise.all(
      Array.from({ length: 3000 }, (_, n) => device.publishAsync('gh/north/a/air', payload(n + 100), { qos: 1 })),
    );
    ingest = await start();
    await until('the rest stored', () => ingest.pipeline.status().stored === 3000);
    expect(ingest.pipeline.status()).toMatchObject({ refused: 0, duplicates: 0, state: 'running' });
    await ingest.close();
  });
});
