import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect as connectSocket, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { connectAsync, type IClientOptions, type MqttClient } from 'mqtt';
import { onTestFinished } from 'vitest';

/** A real Mosquitto of the test's own, on a port of its own. */
const MOSQUITTO = ['/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto', '/opt/homebrew/sbin/mosquitto'].find(existsSync);

/** Path of the broker, or undefined after one line that says what is left out. */
export function mosquittoPath(): string | undefined {
  if (!MOSQUITTO) console.log('left out: there is no mosquitto on this machine');
  return MOSQUITTO;
}
export const hasMosquitto = mosquittoPath() !== undefined;

export async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as { port: number };
  await new Promise((resolve) => server.close(resolve));
  return port;
}

/** Resolves once something accepts connections there. */
export async function portAnswers(port: number, withinMs = 10_000): Promise<void> {
  const until = performance.now() + withinMs;
  for (;;) {
    const open = await new Promise<boolean>((resolve) => {
      const socket = connectSocket(port, '127.0.0.1');
      socket.once('connect', () => {
        socket.destroy();
        resolve(true);
      });
      socket.once('error', () => resolve(false));
    });
    if (open) return;
    if (performance.now() > until) throw new Error(`nothing listens on port ${port}`);
    await wait(20);
  }
}

/** Looks again until the condition holds; fails with what was waited for. */
export async function until(what: string, holds: () => boolean | Promise<boolean>, withinMs = 20_000): Promise<void> {
  const end = performance.now() + withinMs;
  while (!(await holds())) {
    if (performance.now() > end) throw new Error(`waited in vain: ${what}`);
    await wait(5);
  }
}

export interface TestBroker {
  readonly url: string;
  readonly port: number;
  readonly folder: string;
  /** SIGKILL: no good-byes. */
  kill(): Promise<void>;
  stop(): Promise<void>;
  start(): Promise<void>;
  readonly output: () => string;
}

/** @param config lines beside the listener; the queue has no end unless they say so */
export async function startMosquitto(
  config = 'allow_anonymous true\nmax_queued_messages 0\nmax_inflight_messages 2000\n',
  options: { readonly folder?: string } = {},
): Promise<TestBroker> {
  const binary = MOSQUITTO as string;
  const port = await freePort();
  const folder = options.folder ?? mkdtempSync(join(tmpdir(), 'leafturn-broker-'));
  const file = join(folder, 'mosquitto.conf');
  // Without a user the broker of a root process gives up its rights, and with them its files.
  writeFileSync(file, `listener ${port} 127.0.0.1\n${process.getuid?.() === 0 ? 'user root\n' : ''}${config}`);
  let child: ChildProcess | undefined;
  let output = '';
  const ended = (): Promise<void> =>
    new Promise((resolve) =>
      child === undefined || child.exitCode !== null || child.signalCode !== null
        ? resolve()
        : child.once('exit', () => resolve()),
    );
  const broker: TestBroker = {
    url: `mqtt://127.0.0.1:${port}`,
    port,
    folder,
    output: () => output,
    start: async () => {
      // A broker that keeps its queue writes it where it stands.
      child = spawn(binary, ['-c', file], { cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] });
      child.stdout?.on('data', (chunk) => (output += chunk));
      child.stderr?.on('data', (chunk) => (output += chunk));
      await Promise.race([
        portAnswers(port),
        ended().then(() => {
          throw new Error(`mosquitto ended: ${output}`);
        }),
      ]);
    },
    kill: async () => {
      child?.kill('SIGKILL');
      await ended();
    },
    stop: async () => {
      child?.kill('SIGTERM');
      await ended();
    },
  };
  await broker.start();
  onTestFinished(async () => {
    await broker.kill();
    rmSync(folder, { recursive: true, force: true });
  });
  return broker;
}

/** A client for the test to publish or listen with; it ends with the test. */
export async function testClient(url: string, options: IClientOptions = {}): Promise<MqttClient> {
  const client = await connectAsync(url, { reconnectPeriod: 0, ...options });
  client.on('error', () => {});
  onTestFinished(async () => {
    await client.endAsync(true);
  });
  return client;
}
