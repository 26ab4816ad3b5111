import type { Kysely, Selectable } from 'kysely';
import type { AccessStore, StoredToken } from './repositories.js';
import type { AccessTokensTable, Tables } from './schema.js';

const tokenOf = (row: Selectable<AccessTokensTable>): StoredToken => ({
  id: row.id,
  name: row.name,
  role: row.role,
  tokenHash: row.token_hash,
  createdAt: row.created_at,
  revokedAt: row.revoked_at,
});

export function createAccessStore(db: Kysely<Tables>): AccessStore {
  return {
    async tokens() {
      return (await db.selectFrom('access_tokens').selectAll().orderBy('id').execute()).map(tokenOf);
    },

    async add({ name, role, tokenHash, createdAt }) {
      const row = await db
        .insertInto('access_tokens')
        .values({ name, role, token_hash: tokenHash, created_at: createdAt, revoked_at: null })
        .returningAll()
        .executeTakeFirstOrThrow();
      return tokenOf(row);
    },

    /** False when there is no such token or it was revoked before. */
    async revoke(id, at) {
      const { numUpdatedRows } = await db
        .updateTable('access_tokens')
        .set({ revoked_at: at })
        .where('id', '=', id)
        .where('revoked_at', 'is', null)
        .executeTakeFirst();
      return numUpdatedRows > 0n;
    },
  };
}
