import { Agent, get } from 'node:http';
import { performance } from 'node:perf_hooks';
import { parentPort } from 'node:worker_threads';

/** What the load is to be: `connections` clients, each asking again as soon as it is answered. */
export interface LoadOrder {
  readonly port: number;
  readonly path: string;
  readonly connections: number;
  readonly milliseconds: number;
}
export interface LoadResult {
  readonly perSecond: number;
  readonly p99Ms: number;
  readonly bytes: number;
}

/** Runs in a thread of its own, so that asking takes no time from answering. */
async function load({ port, path, connections, milliseconds }: LoadOrder): Promise<LoadResult> {
  const agent = new Agent({ keepAlive: true, maxSockets: connections });
  const times: number[] = [];
  let bytes = 0;
  const began = performance.now();
  const ends = began + milliseconds;
  const ask = () =>
    new Promise<number>((resolve, reject) => {
      get({ host: '127.0.0.1', port, path, agent }, (response) => {
        let size = 0;
        response.on('data', (part: Buffer) => {
          size += part.length;
        });
        response.on('end', () =>
          response.statusCode === 200 ? resolve(size) : reject(new Error(`${path} answered ${response.statusCode}`)),
        );
        response.on('error', reject);
      }).on('error', reject);
    });
  await Promise.all(
    Array.from({ length: connections }, async () => {
      while (performance.now() < ends) {
        const started = performance.now();
        bytes = await ask();
        times.push(performance.now() - started);
      }
    }),
  );
  const took = performance.now() - began;
  agent.destroy();
  times.sort((a, b) => a - b);
  return { perSecond: (times.length / took) * 1000, p99Ms: times[Math.ceil(times.length * 0.99) - 1] ?? 0, bytes };
}

parentPort?.on('message', (order: LoadOrder) => {
  load(order).then(
    (result) => parentPort?.postMessage({ result }),
    (error: unknown) => parentPort?.postMessage({ error: String(error) }),
  );
});
