import type { Kysely, Selectable } from 'kysely';
import type { JournalEntry, JournalEvent } from '../domain/journal.js';
import type { JournalStore, NewJournalEntry } from './repositories.js';
import type { JournalTable, Tables } from './schema.js';

/** Rows of one insert: two to four columns each stay far below what a statement may carry. */
const ROWS_PER_INSERT = 500;

const entryOf = (row: Selectable<JournalTable>): JournalEntry => ({
  id: row.id,
  siteId: row.site_id,
  happenedAt: row.happened_at,
  enteredAt: row.entered_at,
  by: row.entered_by,
  event: JSON.parse(row.event_json) as JournalEvent,
  ...(row.note === null ? {} : { note: row.note }),
});

/** Batches an event names itself. */
export function namedBatches(event: JournalEvent): string[] {
  const names = new Set<string>();
  if ('batchId' in event) names.add(event.batchId);
  if ('newBatchId' in event) names.add(event.newBatchId);
  if ('batchIds' in event) for (const id of event.batchIds ?? []) names.add(id);
  return [...names];
}

async function append(
  db: Kysely<Tables>,
  entry: NewJournalEntry,
  requestKey: string | undefined,
): Promise<JournalEntry> {
  const { siteId, happenedAt, enteredAt, by, event, note } = entry;
  const row = await db
    .insertInto('journal')
    .values({
      site_id: siteId,
      kind: event.kind,
      happened_at: happenedAt,
      entered_at: enteredAt,
      entered_by: by,
      event_json: JSON.stringify(event),
      note: note ?? null,
      request_key: requestKey ?? null,
    })
    .returningAll()
    .executeTakeFirstOrThrow();
  const batchIds =
    event.kind === 'undo'
      ? // An undo belongs to the history of every batch whose history it changes.
        (
          await db
            .selectFrom('journal_batch')
            .select('batch_id')
            .where('entry_id', '=', event.entryId)
            .where('site_id', '=', siteId)
            .execute()
        ).map((named) => named.batch_id)
      : namedBatches(event);
  for (let start = 0; start < batchIds.length; start += ROWS_PER_INSERT) {
    await db
      .insertInto('journal_batch')
      .values(
        batchIds
          .slice(start, start + ROWS_PER_INSERT)
          .map((batchId) => ({ site_id: siteId, batch_id: batchId, entry_id: row.id })),
      )
      .execute();
  }
  return entryOf(row);
}

async function enteredWith(
  db: Kysely<Tables>,
  siteIds: readonly string[],
  requestKey: string,
): Promise<JournalEntry[]> {
  const rows = await db
    .selectFrom('journal')
    .selectAll()
    .where('request_key', '=', requestKey)
    .where('site_id', 'in', [...siteIds])
    .orderBy('id')
    .execute();
  return rows.map(entryOf);
}

export function createJournalStore(db: Kysely<Tables>): JournalStore {
  return {
    append: (entries, options = {}) =>
      db.transaction().execute(async (transaction) => {
        const { requestKey } = options;
        if (requestKey !== undefined) {
          const sites = entries.map((entry) => entry.siteId);
          const before = await enteredWith(transaction, sites, requestKey);
          if (before.length > 0) return before;
        }
        const appended: JournalEntry[] = [];
        for (const entry of entries) appended.push(await append(transaction, entry, requestKey));
        return appended;
      }),

    enteredWith: (siteId, requestKey) => enteredWith(db, [siteId], requestKey),

    async get(siteId, id) {
      const row = await db
        .selectFrom('journal')
        .selectAll()
        .where('id', '=', id)
        .where('site_id', '=', siteId)
        .executeTakeFirst();
      return row && entryOf(row);
    },

    async list({ siteId, kinds, batchId, happenedFrom, happenedTo, beforeId, afterId, limit }) {
      let query = db.selectFrom('journal').selectAll('journal').where('journal.site_id', '=', siteId).limit(limit);
      query = query.orderBy('journal.id', afterId === undefined ? 'desc' : 'asc');
      if (batchId !== undefined) {
        query = query
          .innerJoin('journal_batch', 'journal_batch.entry_id', 'journal.id')
          .where('journal_batch.site_id', '=', siteId)
          .where('journal_batch.batch_id', '=', batchId);
      }
      if (kinds !== undefined) query = query.where('journal.kind', 'in', [...kinds]);
      if (happenedFrom !== undefined) query = query.where('journal.happened_at', '>=', happenedFrom);
      if (happenedTo !== undefined) query = query.where('journal.happened_at', '<', happenedTo);
      if (beforeId !== undefined) query = query.where('journal.id', '<', beforeId);
      if (afterId !== undefined) query = query.where('journal.id', '>', afterId);
      return (await query.execute()).map(entryOf);
    },

    async all(siteId, { enteredUntil, afterId } = {}) {
      let query = db.selectFrom('journal').selectAll().where('site_id', '=', siteId).orderBy('id');
      if (enteredUntil !== undefined) query = query.where('entered_at', '<=', enteredUntil);
      if (afterId !== undefined) query = query.where('id', '>', afterId);
      return (await query.execute()).map(entryOf);
    },
  };
}
