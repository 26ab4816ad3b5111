import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import type { CheckedReading } from '../../storage/repositories.js';
import { slotOf } from '../../storage/slot.js';
import { openConnection } from '../../storage/sqlite/connection.js';
import { openSqliteStorage } from '../../storage/sqlite.js';

export interface CommitBenchOptions {
  readonly sensors?: number;
  /** Messages of one commit; each brings two readings. */
  readonly messagesPerBatch?: number;
  readonly batchesPerRound?: number;
  readonly rounds?: number;
}

export interface BenchResult {
  readonly name: string;
  readonly ratio: number;
  readonly yardstick: string;
  readonly detail: string;
}

const MINUTE_MS = 60_000;
const START_MS = Date.UTC(2026, 2, 1);
const QUANTITIES = ['airTempC', 'relHumidityPct'] as const;

/** Every sensor reports once a minute, one after the other; one message in a hundred comes twice. */
function* batches(sensors: number, messages: number): Generator<CheckedReading[]> {
  let message = 0;
  for (;;) {
    const batch: CheckedReading[] = [];
    for (let index = 0; index < messages; index += 1, message += 1) {
      const again = message % 100 === 99;
      const sent = again ? message - 1 : message;
      const sensor = sent % sensors;
      const at = START_MS + Math.floor(sent / sensors) * MINUTE_MS + Math.floor((sensor * MINUTE_MS) / sensors);
      for (const quantity of QUANTITIES) {
        batch.push({
          siteId: 'bench',
          sensorId: `sensor-${sensor}`,
          quantity,
          houseId: `house-${sensor % 8}`,
          benchId: null,
          placement: 'inside',
          at,
          value: Math.round((20 + 8 * Math.sin(at / 1.4e7) + sensor / 50) * 100) / 100,
          flagMask: 0,
          timeSource: 'payload',
          receivedAt: at + 400,
        });
      }
    }
    yield batch;
  }
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1
    ? (sorted[middle] as number)
    : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2;
};

async function rowsPerSecond<Row>(source: Iterator<Row[]>, count: number, work: (batch: Row[]) => unknown) {
  const ready = Array.from({ length: count }, () => source.next().value as Row[]);
  const rows = ready.reduce((sum, batch) => sum + batch.length, 0);
  const began = performance.now();
  for (const batch of ready) await work(batch);
  return rows / ((performance.now() - began) / 1000);
}

/**
 * The commit of checked readings (roll-ups, duplicates, series counts) beside a bare insert of the same rows into the
 * same table on an equal connection, turn by turn in one run. The ratio is what the extra work leaves of the speed.
 */
export async function benchCommit(options: CommitBenchOptions = {}): Promise<BenchResult> {
  const { sensors = 200, messagesPerBatch = 1000, batchesPerRound = 25, rounds = 9 } = options;
  const folder = await mkdtemp(join(tmpdir(), 'leafturn-bench-'));
  try {
    const storage = await openSqliteStorage({ path: join(folder, 'commit.db'), zoneOf: () => 'Europe/Berlin' });
    const bare = await openBare(join(folder, 'bare.db'));
    const forCommit = batches(sensors, messagesPerBatch);
    const forBare = bareRows(batches(sensors, messagesPerBatch));
    const commitBatch = (readings: CheckedReading[]) =>
      storage.readings.commit({ readings, refusals: [], messages: messagesPerBatch });

    // The first round only warms up.
    const speeds: { commit: number; bare: number }[] = [];
    for (let round = 0; round <= rounds; round += 1) {
      const commit = await rowsPerSecond(forCommit, batchesPerRound, commitBatch);
      const plain = await rowsPerSecond(forBare, batchesPerRound, bare.insert);
      if (round > 0) speeds.push({ commit, bare: plain });
    }
    bare.close();
    await storage.close();

    const ratio = median(speeds.map((speed) => speed.commit / speed.bare));
    const thousands = (values: number[]) => `${Math.round(median(values) / 1000)}k rows/s`;
    return {
      name: 'commit',
      ratio,
      yardstick: 'bare batched insert of the same rows into the same table, same connection settings',
      detail: `${sensors} sensors x ${QUANTITIES.length} quantities, ${messagesPerBatch} messages a batch: commit ${thousands(
        speeds.map((speed) => speed.commit),
      )}, bare insert ${thousands(speeds.map((speed) => speed.bare))}, median of ${rounds} rounds`,
    };
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** The readings table alone, made by the same migrations, filled with one prepared statement and nothing else. */
async function openBare(path: string) {
  const made = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
  await made.close();
  const db = openConnection(path);
  const insert = db.prepare(
    'INSERT INTO readings (slot, series_id, at, value, flag_mask) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING',
  );
  return {
    insert: db.transaction((rows: BareRow[]) => {
      for (const row of rows) insert.run(...row);
    }),
    close: () => db.close(),
  };
}

type BareRow = [slot: number, seriesId: number, at: number, value: number, flagMask: number];

/** The same readings, ready to bind: finding the series is part of the commit and not of the yardstick. */
function* bareRows(source: Iterable<CheckedReading[]>): Generator<BareRow[]> {
  const ids = new Map<string, number>();
  for (const batch of source) {
    yield batch.map(({ sensorId, quantity, at, value, flagMask }) => {
      const key = `${sensorId} ${quantity}`;
      const id = ids.get(key) ?? ids.size + 1;
      ids.set(key, id);
      return [slotOf(at), id, at, value, flagMask];
    });
  }
}
