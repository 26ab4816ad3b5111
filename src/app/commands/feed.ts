import { access, readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { connectAsync, type MqttClient } from 'mqtt';
import { LeafturnError } from '../../domain/errors.js';
import { type RecordedMessage, recordedMessages } from '../feed-recordings.js';
import { EXIT } from './exit-codes.js';
import { sampleFaults, sampleFileForm } from './feed-samples.js';
import { type CommandIo, print } from './io.js';

/** `leafturn feed check FILE`: sample messages, each with the readings or errors it must become. */
export async function checkFeedFile(path: string, io: CommandIo): Promise<number> {
  const full = resolve(io.workingFolder, path);
  let text: string;
  try {
    text = await readFile(full, 'utf8');
  } catch (error) {
    throw new LeafturnError('file-failed', `Cannot read ${path}: ${(error as Error).message}`);
  }
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new LeafturnError('invalid-input', `${path} is not JSON: ${(error as Error).message}`);
  }
  const parsed = sampleFileForm.safeParse(json);
  if (!parsed.success)
    throw new LeafturnError(
      'invalid-input',
      `${path} is not a file of sample messages.`,
      parsed.error.issues.map((issue) => ({
        path: issue.path.join('.'),
        expected: issue.message,
        got: 'something else',
      })),
    );
  const file = parsed.data;
  const byId = new Map(file.samples.map((sample) => [sample.id, sample]));
  let failed = 0;
  for (const sample of file.samples) {
    const faults = sampleFaults(file, sample, byId);
    if (faults.length === 0) continue;
    failed++;
    print(io, `${sample.id}: ${faults.length} wrong`);
    for (const fault of faults) print(io, `  ${fault}`);
  }
  print(io, `${file.samples.length - failed} passed, ${failed} failed`);
  return failed === 0 ? EXIT.ok : EXIT.checkFailed;
}

export interface ReplayOptions {
  readonly file: string;
  /** House the recording is told of; it appears in the topics. */
  readonly house: string;
  readonly broker: string;
  /** How many seconds of the recording pass in one second; 0: as fast as the broker takes them. */
  readonly speed: number;
  readonly username?: string;
  readonly password?: string;
  readonly signal?: AbortSignal;
  readonly onProgress?: (sent: number) => void;
}
export interface ReplayResult {
  readonly sent: number;
  /** Messages that had to be sent again because the connection was lost on the way. */
  readonly again: number;
}

/** Messages on their way to the broker at once. */
const IN_FLIGHT = 200;
const CONNECT_TIMEOUT_MS = 10_000;

/** Publishes a recording as the sensors would have. Every message is acknowledged by the broker before this resolves. */
export async function replayRecording(options: ReplayOptions): Promise<ReplayResult> {
  let client: MqttClient;
  try {
    client = await connectAsync(
      options.broker,
      {
        connectTimeout: CONNECT_TIMEOUT_MS,
        reconnectPeriod: 1000,
        ...(options.username === undefined ? {} : { username: options.username }),
        ...(options.password === undefined ? {} : { password: options.password }),
      },
      false,
    );
  } catch (error) {
    throw new LeafturnError(
      'broker-failed',
      `The broker at ${options.broker.replace(/\/\/[^@/]*@/, '//')} cannot be reached: ${brokerError(error)}`,
    );
  }
  // Errors show in the publishes they hit.
  client.on('error', () => {});
  let sent = 0;
  let again = 0;
  const send = async (message: RecordedMessage): Promise<void> => {
    for (let tries = 0; ; tries++) {
      try {
        await client.publishAsync(message.topic, message.payload, { qos: 1 });
        sent++;
        options.onProgress?.(sent);
        return;
      } catch (error) {
        // A publish that meets a lost connection fails; the message itself is fine.
        if (options.signal?.aborted) return;
        if (tries >= 60)
          throw new LeafturnError(
            'broker-failed',
            `The broker took ${sent} messages and then no more: ${brokerError(error)}`,
          );
        again++;
        await wait(500);
      }
    }
  };
  const onTheirWay = new Set<Promise<void>>();
  let failure: unknown;
  let firstAt: number | undefined;
  const began = performance.now();
  try {
    for await (const message of recordedMessages(options.file, options.house)) {
      if (options.signal?.aborted || failure) break;
      if (options.speed > 0 && message.at !== undefined) {
        firstAt ??= message.at;
        const due = (message.at - firstAt) / options.speed - (performance.now() - began);
        if (due > 1) await wait(due, undefined, options.signal ? { signal: options.signal } : {}).catch(() => {});
      }
      const one: Promise<void> = send(message)
        .catch((error: unknown) => {
          failure ??= error;
        })
        .finally(() => onTheirWay.delete(one));
      onTheirWay.add(one);
      if (onTheirWay.size >= IN_FLIGHT) await Promise.race(onTheirWay);
    }
    await Promise.all(onTheirWay);
    if (failure) throw failure;
    return { sent, again };
  } finally {
    await client.endAsync(failure !== undefined || options.signal?.aborted === true);
  }
}

const brokerError = (error: unknown): string => {
  const { message, code } = error as { message?: string; code?: unknown };
  return message || String(code ?? error);
};

/** `leafturn feed replay FILE --house H --broker URL --speed N`. */
export async function replayFeed(options: ReplayOptions, io: CommandIo): Promise<number> {
  const file = resolve(io.workingFolder, options.file);
  await access(file).catch((error: Error) => {
    throw new LeafturnError('file-failed', `Cannot read ${options.file}: ${error.message}`);
  });
  const { sent, again } = await replayRecording({ ...options, file });
  print(io, `${sent} messages sent${again > 0 ? `, ${again} of them more than once` : ''}.`);
  return options.signal?.aborted ? EXIT.trouble : EXIT.ok;
}
