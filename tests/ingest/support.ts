import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { type Mapping, type MappingInput, mappingSchema } from '../../src/domain/mapping.js';
import { maskToFlags, type Quantity } from '../../src/domain/quantities.js';
import { type IncomingMessage, Intake, type IntakeOptions, type Taken } from '../../src/ingest/intake.js';
import type { Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';

export const RECEIVED = Date.UTC(2026, 5, 1, 12, 0, 0);

export const mappingOf = (input: MappingInput): Mapping => mappingSchema.parse(input);

export const AIR = mappingOf({
  id: 'air',
  topic: 'gh/+/+/air',
  format: 'json',
  site: 'hill',
  house: '{1}',
  sensor: '{1}/{2}',
  fields: [
    { pointer: '/t', quantity: 'airTempC', unit: '°C' },
    { pointer: '/rh', quantity: 'relHumidityPct', unit: '%', optional: true },
  ],
  time: { pointer: '/at', kind: 'auto', optional: true },
});

export const message = (
  topic: string,
  payload: string | Buffer | object,
  more: Partial<IncomingMessage> = {},
): IncomingMessage => ({
  topic,
  payload: Buffer.isBuffer(payload)
    ? payload
    : Buffer.from(typeof payload === 'string' ? payload : JSON.stringify(payload)),
  qos: 1,
  retain: false,
  receivedAt: RECEIVED,
  ...more,
});

export const intakeOf = (mappings: readonly Mapping[], more: Partial<IntakeOptions> = {}): Intake =>
  new Intake({ mappings, knowsHouse: () => true, ...more });

export function take(intake: Intake, ...messages: IncomingMessage[]): Taken {
  const taken: Taken = { readings: [], refusals: [] };
  for (const one of messages) intake.take(one, taken);
  return taken;
}

/** Short form of what came out, for comparing. */
export const told = (taken: Taken) => ({
  readings: taken.readings.map(
    (one) =>
      [one.sensorId, one.quantity, one.value, one.at - RECEIVED, maskToFlags(one.flagMask).join(' ')] as [
        string,
        Quantity,
        number,
        number,
        string,
      ],
  ),
  reasons: taken.refusals.map((one) => one.reason),
});

export function tempFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'leafturn-ingest-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export async function openStorage(path = join(tempFolder(), 'test.sqlite')): Promise<Storage> {
  const storage = await openSqliteStorage({ path, zoneOf: () => 'Europe/Berlin' });
  onTestFinished(() => storage.close());
  return storage;
}
