import type { Kysely } from 'kysely';
import type { IdempotencyStore } from './repositories.js';
import type { Tables } from './schema.js';

/** A key whose work has not ended by then belonged to a process that died: it may be tried again. */
const RUNNING_FOR_MS = 120_000;

export function createIdempotencyStore(db: Kysely<Tables>): IdempotencyStore {
  return {
    begin: (key, requestHash, at) =>
      db.transaction().execute(async (transaction) => {
        const fresh = { request_hash: requestHash, begun_at: at, status: null, body: null };
        const known = await transaction.selectFrom('idempotency').selectAll().where('key', '=', key).executeTakeFirst();
        if (!known) {
          await transaction
            .insertInto('idempotency')
            .values({ key, ...fresh })
            .execute();
          return 'new';
        }
        if (known.status !== null) {
          return { requestHash: known.request_hash, status: known.status, body: known.body ?? '' };
        }
        if (at - known.begun_at < RUNNING_FOR_MS) return 'running';
        await transaction.updateTable('idempotency').set(fresh).where('key', '=', key).execute();
        return 'new';
      }),

    async finish(key, status, body) {
      await db.updateTable('idempotency').set({ status, body }).where('key', '=', key).execute();
    },

    async abandon(key) {
      await db.deleteFrom('idempotency').where('key', '=', key).where('status', 'is', null).execute();
    },
  };
}
