import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, onTestFinished } from 'vitest';
import type { CheckedReading, IngestBatch, Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';

export const T0 = Date.UTC(2026, 5, 1, 0, 0, 0);

/** A folder of its own that goes when the test ends. */
export function tempFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-storage-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export async function openTemp(zone = 'UTC', path = join(tempFolder(), 'test.db')): Promise<Storage> {
  const storage = await openSqliteStorage({ path, zoneOf: () => zone });
  onTestFinished(() => storage.close());
  return storage;
}

export const reading = (at: number, value: number, more: Partial<CheckedReading> = {}): CheckedReading => ({
  siteId: 'hill',
  sensorId: 'a1',
  quantity: 'airTempC',
  houseId: 'north-house',
  benchId: null,
  placement: 'inside',
  at,
  value,
  flagMask: 0,
  timeSource: 'payload',
  receivedAt: at + 500,
  ...more,
});

export const batchOf = (readings: readonly CheckedReading[], more: Partial<IngestBatch> = {}): IngestBatch => ({
  readings,
  refusals: [],
  messages: readings.length,
  ...more,
});

/** One database for all tests of a file or block, closed at its end. */
export async function openShared(zone: string): Promise<Storage> {
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-storage-'));
  const storage = await openSqliteStorage({ path: join(folder, 'test.db'), zoneOf: () => zone });
  afterAll(async () => {
    await storage.close();
    rmSync(folder, { recursive: true, force: true });
  });
  return storage;
}
