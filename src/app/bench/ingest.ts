import { type ChildProcess, fork, spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { connectAsync, type IClientOptions } from 'mqtt';
import { mappingSchema } from '../../domain/mapping.js';
import { RECEIVE_MAXIMUM } from '../../ingest/external-broker.js';
import { startIngest } from '../../ingest/start.js';
import { openSqliteStorage } from '../../storage/sqlite.js';
import { PUBLISHER_FILE, type PublishOrder } from './ingest-publisher.js';

/**
 * Durable ingest: real Mosquitto, QoS 1, decoded, checked, committed with all its roll-ups, then acknowledged; beside
 * the same client library that only counts and acknowledges as it does by default, turn by turn in one run.
 */
export interface IngestBenchOptions {
  /** Messages of one turn. */
  readonly messagesPerRound?: number;
  readonly rounds?: number;
  readonly sensors?: number;
  /** Messages of the long run that watches memory; 0: none. */
  readonly messages?: number;
  readonly onProgress?: (done: number, total: number) => void;
}
export interface IngestBenchResult {
  readonly name: string;
  readonly ratio: number;
  readonly yardstick: string;
  readonly detail: string;
  /** Memory that is held over the long run, garbage collected first; absent without one. */
  readonly memory?: { readonly messages: number; readonly megabytesPerMillion: number; readonly peakMegabytes: number };
}

const MOSQUITTO = ['/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto', '/opt/homebrew/sbin/mosquitto'];
const TOPIC = 'bench/+/+/air';
/** Readings of one message. */
const READINGS = 2;
const MAPPING = mappingSchema.parse({
  id: 'bench',
  topic: TOPIC,
  format: 'json',
  site: 'bench',
  house: '{1}',
  sensor: '{2}',
  fields: [
    { pointer: '/t', quantity: 'airTempC', unit: '°C' },
    { pointer: '/rh', quantity: 'relHumidityPct', unit: '%' },
  ],
  time: { pointer: '/at', kind: 'ms' },
});
/** The same session for both: what differs is what is done with a message. */
const SESSION: IClientOptions = {
  protocolVersion: 5,
  clean: false,
  properties: { sessionExpiryInterval: 3600, receiveMaximum: RECEIVE_MAXIMUM },
};

/** Undefined where there is no Mosquitto on the machine. */
export async function benchIngest(options: IngestBenchOptions = {}): Promise<IngestBenchResult | undefined> {
  const binary = MOSQUITTO.find(existsSync);
  if (!binary) return undefined;
  const { messagesPerRound = 60_000, rounds = 5, sensors = 200, messages = 2_000_000, onProgress } = options;
  const folder = await mkdtemp(join(tmpdir(), 'leafturn-bench-'));
  const port = await freePort();
  await writeFile(
    join(folder, 'mosquitto.conf'),
    `listener ${port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\nmax_inflight_messages 2000\n` +
      (process.getuid?.() === 0 ? 'user root\n' : ''),
  );
  const broker = spawn(binary, ['-c', join(folder, 'mosquitto.conf')], { stdio: 'ignore' });
  const publisher = fork(PUBLISHER_FILE, [], { execArgv: [] });
  // Also when the benchmark itself is ended, so that no broker is left behind.
  const endChildren = (): void => {
    publisher.kill();
    broker.kill();
  };
  const endWith = (signal: NodeJS.Signals): void => {
    endChildren();
    process.kill(process.pid, signal);
  };
  process.once('exit', endChildren);
  process.once('SIGINT', endWith);
  process.once('SIGTERM', endWith);
  const storage = await openSqliteStorage({ path: join(folder, 'bench.sqlite'), zoneOf: () => 'Europe/Berlin' });
  try {
    await answers(port);
    let from = 0;
    const batchSizes: number[] = [];
    let redelivered = 0;
    let reconnected = 0;
    const order = (count: number): PublishOrder => ({ port, count, from, sensors, window: 2000 });

    /** Rate, and the processor time of this process for each message, which a busy machine disturbs less. */
    interface Speed {
      readonly rate: number;
      readonly cpuUs: number;
    }
    const timed = async (count: number, run: () => Promise<void>): Promise<Speed> => {
      const cpu = process.cpuUsage();
      const began = performance.now();
      await run();
      const seconds = (performance.now() - began) / 1000;
      const used = process.cpuUsage(cpu);
      return { rate: count / seconds, cpuUs: (used.user + used.system) / count };
    };

    const countOnly = async (count: number): Promise<Speed> => {
      const client = await connectAsync(`mqtt://127.0.0.1:${port}`, { ...SESSION, clientId: 'counter' });
      await client.subscribeAsync(TOPIC, { qos: 1 });
      const speed = await timed(
        count,
        () =>
          new Promise<void>((resolve, reject) => {
            let seen = 0;
            client.on('message', () => {
              if (++seen === count) resolve();
            });
            publish(publisher, order(count)).catch(reject);
          }),
      );
      await client.unsubscribeAsync(TOPIC);
      await client.endAsync();
      return speed;
    };

    const durable = async (count: number, onMessages?: (done: number) => void): Promise<Speed> => {
      let arrived: () => void = () => {};
      let committed = 0;
      const ingest = await startIngest({
        mappings: [MAPPING],
        knowsHouse: () => true,
        store: storage.readings,
        now: () => Date.now(),
        broker: { kind: 'external', url: `mqtt://127.0.0.1:${port}`, clientId: 'durable' },
        onCommitted: (batch) => {
          // A broker that sends something twice must not end the turn early.
          committed += batch.stored / READINGS;
          onMessages?.(committed);
          if (committed >= count) arrived();
        },
        onLinkStatus: (status) => {
          if (status.state === 'connected') connected();
        },
      });
      let connected: () => void = () => {};
      await new Promise<void>((resolve) => {
        connected = resolve;
        if (ingest.link.status().state === 'connected') resolve();
      });
      const speed = await timed(
        count,
        () =>
          new Promise<void>((resolve, reject) => {
            arrived = resolve;
            publish(publisher, order(count)).catch(reject);
          }),
      );
      const { stored, duplicates, refused, commits } = ingest.pipeline.status();
      batchSizes.push(count / commits);
      if (stored !== count * READINGS || refused > 0)
        throw new Error(`counts do not meet: ${stored} stored, ${refused} refused of ${count * READINGS}`);
      redelivered += duplicates / READINGS;
      const { reconnects } = ingest.link.status();
      reconnected += reconnects;
      await ingest.configure([], () => true);
      await ingest.close();
      return speed;
    };

    const speeds: { durable: Speed; counting: Speed }[] = [];
    const total = (rounds + 1) * 2 * messagesPerRound + messages;
    let done = 0;
    for (let round = 0; round <= rounds; round++) {
      const counting = await countOnly(messagesPerRound);
      const speed = await durable(messagesPerRound);
      from += messagesPerRound;
      done += 2 * messagesPerRound;
      onProgress?.(done, total);
      // The first round only warms up.
      if (round > 0) speeds.push({ durable: speed, counting });
    }

    let memory: IngestBenchResult['memory'];
    if (messages > 0) {
      const samples: { message: number; megabytes: number }[] = [];
      const collectGarbage = garbageCollector();
      let peak = 0;
      await durable(messages, (count) => {
        const last = samples.at(-1)?.message ?? 0;
        if (count - last < messages / 40) return;
        peak = Math.max(peak, process.memoryUsage.rss());
        // Garbage that waits for its collection comes and goes by tens of megabytes; what stays after it is the answer.
        collectGarbage();
        samples.push({ message: count, megabytes: process.memoryUsage.rss() / 2 ** 20 });
        onProgress?.(done + count, total);
      });
      // The first half fills caches and lets the heap find its size.
      const later = samples.slice(samples.length >> 1);
      memory = {
        messages,
        megabytesPerMillion: slope(later) * 1e6,
        peakMegabytes: peak / 2 ** 20,
      };
    }
    const told = (of: (one: (typeof speeds)[number]) => Speed): string =>
      `${Math.round(median(speeds.map((one) => of(one).rate)) / 100) / 10}k messages/s at ${median(speeds.map((one) => of(one).cpuUs)).toFixed(1)} µs of processor each`;
    return {
      name: 'ingest',
      ratio: median(speeds.map((speed) => speed.durable.rate / speed.counting.rate)),
      yardstick: 'the same client library, same session, that only counts messages and acknowledges by default',
      detail:
        `${sensors} sensors x 2 quantities, QoS 1 through Mosquitto: durable ${told((one) => one.durable)}, ` +
        `${Math.round(median(batchSizes))} messages a commit; counting ${told((one) => one.counting)}; ` +
        `median of ${rounds} rounds of ${messagesPerRound}; ${redelivered} messages came twice, ${reconnected} connections lost` +
        (memory
          ? `; memory over ${memory.messages} messages: ${memory.megabytesPerMillion.toFixed(1)} MB per million in the second half with garbage collected, peak ${Math.round(memory.peakMegabytes)} MB`
          : ''),
      ...(memory ? { memory } : {}),
    };
  } finally {
    endChildren();
    process.off('exit', endChildren);
    process.off('SIGINT', endWith);
    process.off('SIGTERM', endWith);
    await storage.close();
    await rm(folder, { recursive: true, force: true });
  }
}

function garbageCollector(): () => void {
  setFlagsFromString('--expose-gc');
  return runInNewContext('gc') as () => void;
}

function publish(publisher: ChildProcess, order: PublishOrder): Promise<void> {
  return new Promise((resolve, reject) => {
    publisher.once('message', (answer) => (answer === 'done' ? resolve() : reject(new Error(String(answer)))));
    publisher.send(order);
  });
}

async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as { port: number };
  await new Promise((resolve) => server.close(resolve));
  return port;
}

async function answers(port: number): Promise<void> {
  for (let tries = 0; ; tries++) {
    try {
      const client = await connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0 });
      await client.endAsync();
      return;
    } catch (error) {
      if (tries > 100) throw error;
      await wait(50);
    }
  }
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] as number;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] as number) + upper) / 2;
};

/** Least-squares slope, MB per message. */
function slope(samples: readonly { message: number; megabytes: number }[]): number {
  const count = samples.length;
  const meanX = samples.reduce((sum, sample) => sum + sample.message, 0) / count;
  const meanY = samples.reduce((sum, sample) => sum + sample.megabytes, 0) / count;
  let xy = 0;
  let xx = 0;
  for (const { message, megabytes } of samples) {
    xy += (message - meanX) * (megabytes - meanY);
    xx += (message - meanX) ** 2;
  }
  return xx === 0 ? 0 : xy / xx;
}
