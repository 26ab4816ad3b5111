import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, test } from 'vitest';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { tempFolder } from '../ingest/support.js';
import { freePort, hasMosquitto, startMosquitto, until } from '../support/broker.js';
import type { VictimOrder } from '../support/ingest-victim.js';
import { RawPublisher } from '../support/raw-publisher.js';
import { startVictim } from '../support/service.js';

/** Every kill at a moment of its own; the nightly run asks for more of them. */
const KILLS = Number(process.env.LEAFTURN_TEST_KILLS ?? 50);
const SENSORS = 20;
const T0 = Date.UTC(2026, 5, 1);
/** Load, but not so much that checking it all takes longer than the killing. */
const PER_SECOND = 1500;

const warmth = (n: number): number => 15 + (n % 97) / 10;
const timeOf = (n: number): number => T0 + Math.floor(n / SENSORS) * 1000;
const sensorOf = (n: number): string => `house-${(n % SENSORS) % 3}/s${n % SENSORS}`;
const load = (n: number) => ({
  topic: `load/${sensorOf(n)}/air`,
  payload: JSON.stringify({ t: warmth(n), rh: 40 + (n % 31), at: timeOf(n) }),
});
/** A number between 0 and 1 that only depends on the number of the kill, so that a failure can be repeated. */
const chance = (seed: string): number => createHash('sha256').update(seed).digest().readUInt32BE(0) / 2 ** 32;

async function killAgainAndAgain(order: VictimOrder): Promise<void> {
  for (let kill = 0; kill < KILLS; kill++) {
    const victim = startVictim(order);
    await victim.ready();
    // Some before it has committed anything, most in the middle of it.
    if (chance(`when ${kill}`) < 0.85) await victim.committed(1 + Math.floor(chance(`how many ${kill}`) * 400));
    await wait(chance(`how long ${kill}`) * 20);
    await victim.kill();
  }
}

/** Every acknowledged reading is there once, with its own value; the roll-ups count each once; the file is sound. */
async function expectAllThere(path: string, messages: number): Promise<void> {
  const storage = await openSqliteStorage({ path, zoneOf: () => 'Europe/Berlin' });
  try {
    expect(await storage.upkeep.check()).toMatchObject({ ok: true });
    const filter = { siteId: 'hill', quantities: ['airTempC' as const] };
    const wrong: string[] = [];
    const stored = new Map<string, Map<number, number>>();
    for (const { seriesId, sensorId } of await storage.readings.series(filter)) {
      const points = new Map<number, number>();
      stored.set(sensorId, points);
      for (const point of await storage.readings.raw(seriesId, 0, Number.MAX_SAFE_INTEGER, 1_000_000)) {
        if (points.has(point.at)) wrong.push(`twice: ${sensorId} at ${point.at}`);
        points.set(point.at, point.value);
      }
    }
    for (let n = 0; n < messages; n++)
      if (stored.get(sensorOf(n))?.get(timeOf(n)) !== warmth(n)) wrong.push(`lost: message ${n}`);
    expect(wrong.slice(0, 10)).toEqual([]);
    const kept = [...stored.values()].reduce((sum, points) => sum + points.size, 0);
    expect(kept).toBe(messages);
    const hours = await storage.readings.hourly(filter, T0 - 86_400_000, T0 + 86_400_000);
    expect(hours.flatMap((one) => one.rollUps).reduce((sum, hour) => sum + hour.count, 0)).toBe(messages);
  } finally {
    await storage.close();
  }
}

describe(`${KILLS} times kill -9 under load`, () => {
  test.runIf(hasMosquitto)(
    'with Mosquitto: every acknowledged reading is kept, and kept once',
    async () => {
      const broker = await startMosquitto();
      const database = join(tempFolder(), 'killed.sqlite');
      const order: VictimOrder = { database, broker: { kind: 'external', url: broker.url, clientId: 'victim' } };
      // The session has to stand before the first message, or the broker has nobody to keep it for.
      const first = startVictim(order);
      await first.ready();
      const sender = new RawPublisher(broker.port, PER_SECOND, load);
      await first.kill();
      await killAgainAndAgain(order);
      const messages = await sender.stop();
      expect(messages).toBeGreaterThan(KILLS * 20);

      const last = startVictim(order);
      await last.ready();
      await settled(database, messages);
      await last.kill();
      await expectAllThere(database, messages);
    },
    KILLS * 10_000,
  );

  test(
    'with the broker inside: every acknowledged reading is kept, and kept once',
    async () => {
      const port = await freePort();
      const database = join(tempFolder(), 'killed.sqlite');
      const order: VictimOrder = { database, broker: { kind: 'embedded', host: '127.0.0.1', port, users: [] } };
      const first = startVictim(order);
      await first.ready();
      const sender = new RawPublisher(port, PER_SECOND, load);
      await first.kill();
      await killAgainAndAgain(order);
      const last = startVictim(order);
      await last.ready();
      const messages = await sender.stop();
      expect(messages).toBeGreaterThan(KILLS * 20);
      // Acknowledged means on disk here, so there is nothing to wait for.
      await last.kill();
      await expectAllThere(database, messages);
    },
    KILLS * 10_000,
  );
});

/** The broker has handed everything over once the last message of every sensor is there. */
async function settled(database: string, messages: number): Promise<void> {
  const storage = await openSqliteStorage({ path: database, zoneOf: () => 'Europe/Berlin' });
  try {
    await until(
      'all messages handed over',
      async () => {
        const series = await storage.readings.series({ siteId: 'hill' });
        const stored = series.filter((one) => one.quantity === 'airTempC').reduce((sum, one) => sum + one.stored, 0);
        return stored >= messages;
      },
      60_000,
    );
  } finally {
    await storage.close();
  }
}
