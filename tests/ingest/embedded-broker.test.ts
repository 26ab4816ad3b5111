import { connect } from 'node:net';
import { connectAsync } from 'mqtt';
import mqttPacket from 'mqtt-packet';
import { describe, expect, onTestFinished, test } from 'vitest';
import { hashPassword } from '../../src/ingest/passwords.js';
import { type IngestOptions, startIngest } from '../../src/ingest/start.js';
import type { IngestBatch } from '../../src/storage/repositories.js';
import { testClient, until } from '../support/broker.js';
import { RawPublisher } from '../support/raw-publisher.js';
import { AIR, openStorage } from './support.js';

const T0 = Date.UTC(2026, 5, 1);
const LOCAL = { kind: 'embedded', host: '127.0.0.1', port: 0, users: [] } as const;

async function start(more: Partial<IngestOptions> = {}) {
  const storage = await openStorage();
  const ingest = await startIngest({
    mappings: [AIR],
    knowsHouse: () => true,
    store: storage.readings,
    now: () => Date.now(),
    broker: LOCAL,
    ...more,
  });
  onTestFinished(() => ingest.close());
  const url = ingest.link.status().address;
  return { storage, ingest, url, port: Number(new URL(url).port) };
}

describe('the broker inside', () => {
  test('stores what devices send and answers them', async () => {
    const { ingest, port } = await start();
    const sender = new RawPublisher(port, 5000, (n) => ({
      topic: `gh/north/s${n % 20}/air`,
      payload: JSON.stringify({ t: 20, rh: 50, at: T0 + n * 1000 }),
    }));
    await until('2000 acknowledged', () => sender.acknowledged >= 2000);
    const sent = await sender.stop();
    expect(ingest.pipeline.status()).toMatchObject({ messages: sent, stored: sent * 2, duplicates: 0, refused: 0 });
  });

  test('does not answer before the reading is on disk', async () => {
    let release: () => void = () => {};
    const held = new Promise<void>((resolve) => (release = resolve));
    let asked: (batch: IngestBatch) => void = () => {};
    const seen = new Promise<IngestBatch>((resolve) => (asked = resolve));
    const { url } = await start({
      store: {
        commit: async (batch) => {
          asked(batch);
          await held;
          return { stored: batch.readings.length, duplicates: 0, refused: 0 };
        },
      },
    });
    const device = await testClient(url);
    let answered = false;
    const publishing = device.publishAsync('gh/north/a/air', '{"t":20}', { qos: 1 }).then(() => {
      answered = true;
    });
    expect((await seen).readings).toHaveLength(1);
    // A round trip on the same connection: had an answer been sent, it would be here by now.
    const other = await testClient(url);
    await other.subscribeAsync('gh/+/+/air');
    expect(answered).toBe(false);
    release();
    await publishing;
    expect(answered).toBe(true);
  });

  test('passes messages on to other listeners, and keeps retained ones for later ones', async () => {
    const { ingest, url } = await start();
    await ingest.link.publish('leafturn/hill/list', '{"day":1}', { retain: true });
    const phone = await testClient(url);
    const seen: string[] = [];
    phone.on('message', (topic, payload) => seen.push(`${topic} ${payload}`));
    await phone.subscribeAsync('leafturn/#', { qos: 1 });
    await until('the retained list', () => seen.length === 1);
    expect(seen).toEqual(['leafturn/hill/list {"day":1}']);
  });

  test('gives pushed messages to who listens for them instead of storing them', async () => {
    const { ingest, url } = await start();
    const seen: string[] = [];
    await ingest.link.listen('leafturn/forecast', (message) => void seen.push(message.payload.toString()));
    const device = await testClient(url);
    await device.publishAsync('leafturn/forecast', 'fine', { qos: 1 });
    expect(seen).toEqual(['fine']);
    expect(ingest.pipeline.status().messages).toBe(0);
  });

  test('keeps its own topics to itself', async () => {
    const turnedAway: string[] = [];
    const { url, ingest } = await start({
      broker: {
        ...LOCAL,
        reserved: ['leafturn/#'],
        openWithin: ['leafturn/forecast'],
        onTurnedAway: (said) => turnedAway.push(said),
      },
    });
    await ingest.link.listen('leafturn/forecast', () => {});
    const device = await testClient(url);
    const closed = new Promise<void>((resolve) => device.once('close', () => resolve()));
    device.publishAsync('leafturn/hill/list', 'nonsense', { qos: 1 }).catch(() => {});
    await closed;
    expect(turnedAway[0]).toMatch(/may not publish leafturn\/hill\/list/);
    const other = await testClient(url);
    await other.publishAsync('leafturn/forecast', 'fine', { qos: 1 });
  });

  test('drops a packet larger than the limit before it is there, and says so', async () => {
    const { storage, ingest, url, port } = await start({ broker: { ...LOCAL, maxPacketBytes: 10_000 } });
    const socket = connect(port, '127.0.0.1');
    const closed = new Promise<void>((resolve) => socket.once('close', () => resolve()));
    socket.on('error', () => {});
    socket.write(
      mqttPacket.generate({ cmd: 'connect', clientId: 'big', protocolId: 'MQTT', protocolVersion: 4, clean: true }),
    );
    // Head and topic of a message that says it has 200 MB; not one byte of the rest is sent.
    const topic = Buffer.from('gh/north/a/air');
    socket.write(Buffer.from([0x32, 0x80, 0x84, 0xaf, 0x5f, 0, topic.length, ...topic]));
    await closed;
    await until('the refusal', () => ingest.pipeline.status().refused === 1);
    const [refusal] = await storage.refusals.list({ limit: 5 });
    expect(refusal).toMatchObject({ reason: 'payload-too-large', topic: 'gh/north/a/air' });
    const device = await testClient(url);
    await device.publishAsync('gh/north/a/air', '{"t":20}', { qos: 1 });
    expect(ingest.pipeline.status().stored).toBe(1);
  });

  test('lets in only who has the password, whatever the rest sends', async () => {
    const turnedAway: string[] = [];
    const users = [{ name: 'bench-4', passwordHash: await hashPassword('sand and stones') }];
    const { url } = await start({ broker: { ...LOCAL, users, onTurnedAway: (said) => turnedAway.push(said) } });
    const tryAs = (options: object) => connectAsync(url, { reconnectPeriod: 0, ...options }, false);
    await expect(tryAs({})).rejects.toThrow();
    await expect(tryAs({ username: 'bench-4', password: 'wrong' })).rejects.toThrow();
    await expect(tryAs({ username: 'bench-5', password: 'sand and stones' })).rejects.toThrow();
    expect(turnedAway).toHaveLength(3);
    const device = await testClient(url, { username: 'bench-4', password: 'sand and stones' });
    await device.publishAsync('gh/north/a/air', '{"t":20}', { qos: 1 });
  });

  test('is not opened to the network without user names', async () => {
    await expect(start({ broker: { ...LOCAL, host: '0.0.0.0' } })).rejects.toMatchObject({
      code: 'invalid-input',
      problems: [{ path: 'broker.host', got: '0.0.0.0' }],
    });
  });

  test('says that its port is taken', async () => {
    const { port } = await start();
    await expect(start({ broker: { ...LOCAL, port } })).rejects.toMatchObject({
      code: 'broker-failed',
      message: expect.stringContaining(`Port ${port} is taken`),
    });
  });
});
