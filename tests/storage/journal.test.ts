import { join } from 'node:path';
import BetterSqlite from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import type { JournalEvent } from '../../src/domain/journal.js';
import type { NewJournalEntry } from '../../src/storage/repositories.js';
import { openTemp, T0, tempFolder } from './support.js';

const entry = (event: JournalEvent, more: Partial<NewJournalEntry> = {}): NewJournalEntry => ({
  siteId: 'hill',
  happenedAt: T0,
  enteredAt: T0 + 1000,
  by: 'Ada',
  event,
  ...more,
});
const watering = (...batchIds: string[]): JournalEvent => ({
  kind: 'watering',
  batchIds,
  amount: 'light',
  answer: 'as-advised',
});
const move: JournalEvent = { kind: 'batch-moved', batchId: 'b1', benchId: 'south' };
const split: JournalEvent = {
  kind: 'batch-split',
  batchId: 'b1',
  newBatchId: 'b9',
  newName: 'nine',
  potCount: 4,
  benchId: 'south',
};

describe('the journal', () => {
  it('gives back what was entered, numbered in order', async () => {
    const storage = await openTemp();
    const entries = await storage.journal.append([entry(watering('b1', 'b2'), { note: 'by can' }), entry(move)]);
    expect(entries.map((one) => one.id)).toEqual([1, 2]);
    expect(entries[0]).toEqual({ id: 1, ...entry(watering('b1', 'b2')), note: 'by can' });
    expect(entries[1]).not.toHaveProperty('note');
    expect(await storage.journal.all('hill')).toEqual(entries);
    expect(await storage.journal.get('hill', 2)).toEqual(entries[1]);
    expect(await storage.journal.get('valley', 2)).toBeUndefined();
    expect(await storage.journal.get('hill', 3)).toBeUndefined();
    expect(await storage.journal.append([])).toEqual([]);
  });

  it('is asked by batch, kind, time and place in the order, newest or oldest first', async () => {
    const storage = await openTemp();
    await storage.journal.append([
      entry(watering('b1', 'b2'), { happenedAt: T0 }),
      entry(move, { happenedAt: T0 + 10 }),
      entry(split, { happenedAt: T0 + 20 }),
      entry(watering('b2'), { happenedAt: T0 + 30 }),
      entry(watering('b1'), { siteId: 'valley' }),
      entry({ kind: 'note', text: 'new fan', houseId: 'north-house' }, { happenedAt: T0 + 40 }),
    ]);
    const ids = async (query: object) =>
      (await storage.journal.list({ siteId: 'hill', limit: 10, ...query })).map((one) => one.id);
    expect(await ids({})).toEqual([6, 4, 3, 2, 1]);
    expect(await ids({ batchId: 'b1' })).toEqual([3, 2, 1]);
    expect(await ids({ batchId: 'b9' })).toEqual([3]);
    expect(await ids({ kinds: ['watering'] })).toEqual([4, 1]);
    expect(await ids({ kinds: ['watering', 'note'], limit: 2 })).toEqual([6, 4]);
    expect(await ids({ happenedFrom: T0 + 10, happenedTo: T0 + 30 })).toEqual([3, 2]);
    expect(await ids({ beforeId: 4, limit: 2 })).toEqual([3, 2]);
    expect(await ids({ afterId: 1, limit: 2 })).toEqual([2, 3]);
    expect(await ids({ batchId: 'b2', kinds: ['watering'], afterId: 0 })).toEqual([1, 4]);
  });

  it('shows an undo, and the undo of an undo, in the history of the batches they change', async () => {
    const storage = await openTemp();
    await storage.journal.append([entry(watering('b1', 'b2')), entry({ kind: 'undo', entryId: 1 })]);
    await storage.journal.append([entry({ kind: 'undo', entryId: 2 })]);
    const history = await storage.journal.list({ siteId: 'hill', batchId: 'b2', limit: 10 });
    expect(history.map((one) => one.event.kind)).toEqual(['undo', 'undo', 'watering']);
  });

  it('tells what had been entered by a morning, whenever it had happened', async () => {
    const storage = await openTemp();
    await storage.journal.append([
      entry(watering('b1'), { happenedAt: T0, enteredAt: T0 + 500 }),
      entry(move, { happenedAt: T0 - 500, enteredAt: T0 + 600 }),
    ]);
    expect((await storage.journal.all('hill', { enteredUntil: T0 + 500 })).map((one) => one.id)).toEqual([1]);
    expect((await storage.journal.all('hill', { afterId: 1 })).map((one) => one.id)).toEqual([2]);
  });

  it('takes a write that is tried again only once', async () => {
    const storage = await openTemp();
    const first = await storage.journal.append([entry(watering('b1')), entry(move)], { requestKey: 'k1' });
    expect(await storage.journal.append([entry(watering('b1')), entry(move)], { requestKey: 'k1' })).toEqual(first);
    expect(await storage.journal.append([entry(move)], { requestKey: 'k2' })).toHaveLength(1);
    expect(await storage.journal.append([entry(move, { siteId: 'valley' })], { requestKey: 'k1' })).toMatchObject([
      { siteId: 'valley', id: 4 },
    ]);
    expect(await storage.journal.all('hill')).toHaveLength(3);
  });

  it('takes one watering of twenty thousand batches', async () => {
    const storage = await openTemp();
    const batchIds = Array.from({ length: 20_000 }, (_, index) => `batch-${index}`);
    await storage.journal.append([entry(watering(...batchIds))]);
    expect(await storage.journal.list({ siteId: 'hill', batchId: 'batch-19999', limit: 5 })).toHaveLength(1);
  });

  it('cannot be changed or shortened, not even past the service', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    await storage.journal.append([entry(watering('b1'))]);
    const db = new BetterSqlite(path);
    for (const sql of [
      `UPDATE journal SET note = 'x'`,
      'DELETE FROM journal',
      `UPDATE journal_batch SET batch_id = 'x'`,
      'DELETE FROM journal_batch',
    ]) {
      expect(() => db.exec(sql)).toThrow(/append-only/);
    }
    db.close();
  });
});
