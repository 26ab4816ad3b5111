import { describe, expect, test } from 'vitest';
import { LeafturnError } from '../../src/domain/errors.js';
import { Pipeline, type PipelineOptions } from '../../src/ingest/pipeline.js';
import type { CommitResult, IngestBatch } from '../../src/storage/repositories.js';
import { until } from '../support/broker.js';
import { AIR, intakeOf, message, openStorage, RECEIVED } from './support.js';

const reading = (n: number) => message('gh/north/a/air', { t: 20 + (n % 10) / 10, at: RECEIVED - 100_000 + n * 10 });

/** A source that writes down what it was told. */
function source() {
  const acknowledged: number[] = [];
  return { acknowledged, acknowledge: (tickets: readonly number[]) => void acknowledged.push(...tickets) };
}
const ok = (batch: IngestBatch): CommitResult => ({
  stored: batch.readings.length,
  duplicates: 0,
  refused: batch.refusals.length,
});

function pipeline(
  commit: (batch: IngestBatch, call: number) => Promise<CommitResult>,
  more: Partial<PipelineOptions> = {},
) {
  let call = 0;
  return new Pipeline({
    intake: intakeOf([AIR]),
    store: { commit: (batch) => commit(batch, ++call) },
    now: () => RECEIVED,
    firstPauseMs: 1,
    longestPauseMs: 4,
    ...more,
  });
}
const range = (count: number) => Array.from({ length: count }, (_, n) => n);

describe('the pipeline', () => {
  test('acknowledges after the commit, in the order the messages came', async () => {
    const from = source();
    let committed = 0;
    const line = pipeline(
      async (batch) => {
        expect(from.acknowledged.length).toBe(committed);
        committed += batch.messages;
        return ok(batch);
      },
      { maxBatch: 100 },
    );
    for (const n of range(1050)) line.offer(from, reading(n), n);
    await line.idle();
    expect(from.acknowledged).toEqual(range(1050));
    expect(line.status()).toMatchObject({
      messages: 1050,
      stored: 1050,
      commits: 11,
      pendingMessages: 0,
      pendingBytes: 0,
    });
  });

  test.each(['database-full', 'database-busy'] as const)(
    'on %s nothing is acknowledged, and it goes on by itself',
    async (code) => {
      for (const failing of [1, 2, 3]) {
        const from = source();
        const states: string[] = [];
        const line = pipeline(
          async (batch, call) => {
            // The call that fails, three times over.
            if (call >= failing && call < failing + 3) throw new LeafturnError(code, 'no room');
            return ok(batch);
          },
          { maxBatch: 10, onState: (status) => states.push(status.state) },
        );
        for (const n of range(40)) line.offer(from, reading(n), n);
        await line.idle();
        expect(from.acknowledged).toEqual(range(40));
        expect(states).toEqual(['waiting', 'running']);
        expect(line.status()).toMatchObject({ stored: 40, trouble: null });
      }
    },
  );

  test('a failed database stops it until a person has seen to it; then nothing is missing', async () => {
    const from = source();
    let broken = true;
    const line = pipeline(async (batch) => {
      if (broken) throw new LeafturnError('database-failed', 'the disk is worn out');
      return ok(batch);
    });
    line.offer(from, reading(1), 1);
    await until('stopped', () => line.status().state === 'stopped');
    expect(line.status().trouble).toBe('the disk is worn out');
    line.offer(from, reading(2), 2);
    expect(from.acknowledged).toEqual([]);
    broken = false;
    line.resume();
    await line.idle();
    expect(from.acknowledged).toEqual([1, 2]);
  });

  test('one message that cannot be stored is refused and does not hold up the others', async () => {
    const from = source();
    const refusals: string[] = [];
    const line = pipeline(async (batch) => {
      if (batch.readings.some((one) => one.value === 20.5)) throw new Error('a mistake of ours');
      refusals.push(...batch.refusals.map((one) => one.reason));
      return ok(batch);
    });
    for (const n of range(10)) line.offer(from, reading(n), n);
    await line.idle();
    expect(from.acknowledged).toEqual(range(10));
    expect(refusals).toEqual(['not-storable']);
    expect(line.status()).toMatchObject({ stored: 9, refused: 1 });
  });

  test('tells the source to stop reading when too much waits, and when there is room again', async () => {
    const from = source();
    let release: () => void = () => {};
    const held = new Promise<void>((resolve) => (release = resolve));
    const line = pipeline(
      async (batch) => {
        await held;
        return ok(batch);
      },
      { maxBatch: 10, maxPendingMessages: 50 },
    );
    const room = range(70).map((n) => line.offer(from, reading(n), n));
    // Ten are in the batch that is held; of the others, fifty fill the queue.
    expect(room.indexOf(false)).toBe(59);
    let drained = false;
    line.whenDrained(() => {
      drained = true;
    });
    expect(drained).toBe(false);
    release();
    await line.idle();
    expect(drained).toBe(true);
    expect(from.acknowledged).toHaveLength(70);
    let again = false;
    line.whenDrained(() => {
      again = true;
    });
    expect(again).toBe(true);
  });

  test('large messages fill it by their bytes', () => {
    const line = pipeline(async (batch) => ok(batch), { maxPendingBytes: 10_000 });
    expect(line.offer(source(), message('gh/north/a/air', Buffer.alloc(20_000, 0x20)), 1)).toBe(false);
  });

  test('closing commits and acknowledges what is there', async () => {
    const from = source();
    const line = pipeline(async (batch) => ok(batch));
    for (const n of range(5)) line.offer(from, reading(n), n);
    await line.close();
    expect(from.acknowledged).toEqual(range(5));
    expect(line.status().state).toBe('closed');
  });

  test('closing while the database refuses ends without acknowledging', async () => {
    const from = source();
    const line = pipeline(
      async () => {
        throw new LeafturnError('database-full', 'no room');
      },
      { firstPauseMs: 60_000 },
    );
    line.offer(from, reading(1), 1);
    await until('waiting', () => line.status().state === 'waiting');
    await line.close();
    expect(from.acknowledged).toEqual([]);
  });

  test('a message delivered again is known by the database', async () => {
    const storage = await openStorage();
    const line = new Pipeline({ intake: intakeOf([AIR]), store: storage.readings, now: () => RECEIVED });
    for (const n of [...range(100), ...range(100)]) line.offer(source(), reading(n), n);
    await line.idle();
    expect(line.status()).toMatchObject({ messages: 200, stored: 100, duplicates: 100 });
  });
});
