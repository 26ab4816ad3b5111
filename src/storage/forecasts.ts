import type { Kysely } from 'kysely';
import type { IssuedForecast } from '../domain/forecast.js';
import { packHours, unpackHours } from './pack-forecast.js';
import type { ForecastStore } from './repositories.js';
import type { Tables } from './schema.js';

/** Forecasts unpacked between two looks at the rest of the work. */
const UNPACKED_AT_ONCE = 24;

export function createForecastStore(db: Kysely<Tables>): ForecastStore {
  const columns = ['id', 'source', 'issued_at', 'received_at', 'hours_deflated'] as const;
  const forecastOf = async (
    siteId: string,
    row: { source: string; issued_at: number; received_at: number; hours_deflated: Uint8Array },
  ): Promise<IssuedForecast> => ({
    siteId,
    source: row.source,
    issuedAt: row.issued_at,
    receivedAt: row.received_at,
    hours: await unpackHours(row.hours_deflated),
  });

  return {
    async save({ siteId, source, issuedAt, receivedAt, hours }) {
      const deflated = await packHours(hours);
      return db.transaction().execute(async (transaction) => {
        const known = await transaction
          .selectFrom('forecasts')
          .select('hours_deflated')
          .where('site_id', '=', siteId)
          .where('source', '=', source)
          .where('issued_at', '=', issuedAt)
          .executeTakeFirst();
        if (known) return deflated.equals(known.hours_deflated) ? 'known' : 'differs';
        await transaction
          .insertInto('forecasts')
          .values({
            site_id: siteId,
            source,
            issued_at: issuedAt,
            received_at: receivedAt,
            hours_deflated: deflated,
          })
          .execute();
        return 'kept';
      });
    },

    async latestBefore(siteId, at, { only, except } = {}) {
      if (only?.length === 0) return undefined;
      let query = db
        .selectFrom('forecasts')
        .select(columns)
        .where('site_id', '=', siteId)
        .where('received_at', '<=', at)
        .orderBy('issued_at', 'desc')
        .orderBy('received_at', 'desc')
        .limit(1);
      if (only) query = query.where('source', 'in', only);
      if (except && except.length > 0) query = query.where('source', 'not in', except);
      const row = await query.executeTakeFirst();
      return row && forecastOf(siteId, row);
    },

    async range(siteId, { from, to, source, spacingMs = 0 }) {
      let query = db
        .selectFrom('forecasts')
        .select(['id', 'source', 'issued_at'])
        .where('site_id', '=', siteId)
        .where('issued_at', '>=', from)
        .where('issued_at', '<', to)
        .orderBy('issued_at')
        .orderBy('id');
      if (source !== undefined) query = query.where('source', '=', source);
      const ids = spaced(await query.execute(), spacingMs);
      const found: IssuedForecast[] = [];
      for (let start = 0; start < ids.length; start += UNPACKED_AT_ONCE) {
        const rows = await db
          .selectFrom('forecasts')
          .select(columns)
          .where('id', 'in', ids.slice(start, start + UNPACKED_AT_ONCE))
          .orderBy('issued_at')
          .orderBy('id')
          .execute();
        found.push(...(await Promise.all(rows.map((row) => forecastOf(siteId, row)))));
      }
      return found;
    },

    async pull(siteId, source) {
      const row = await db
        .selectFrom('forecast_pulls')
        .selectAll()
        .where('site_id', '=', siteId)
        .where('source', '=', source)
        .executeTakeFirst();
      return (
        row && {
          askedAs: row.asked_as,
          nextAt: row.next_at,
          answeredAt: row.answered_at,
          lastModified: row.last_modified,
          etag: row.etag,
          failures: row.failures,
          trouble: row.trouble,
          troubleAt: row.trouble_at,
        }
      );
    },

    async pulledNames(siteId) {
      const rows = await db.selectFrom('forecast_pulls').select('source').where('site_id', '=', siteId).execute();
      return rows.map(({ source }) => source);
    },

    async setPull(siteId, source, state) {
      const values = {
        asked_as: state.askedAs,
        next_at: state.nextAt,
        answered_at: state.answeredAt,
        last_modified: state.lastModified,
        etag: state.etag,
        failures: state.failures,
        trouble: state.trouble,
        trouble_at: state.troubleAt,
      };
      await db
        .insertInto('forecast_pulls')
        .values({ site_id: siteId, source, ...values })
        .onConflict((conflict) => conflict.columns(['site_id', 'source']).doUpdateSet(values))
        .execute();
    },
  };
}

/** Ids of rows, by rising issue, each at least so long after the one of its source before it. */
function spaced(
  rows: readonly { readonly id: number; readonly source: string; readonly issued_at: number }[],
  spacingMs: number,
): number[] {
  const last = new Map<string, number>();
  return rows.flatMap(({ id, source, issued_at: issuedAt }) => {
    const before = last.get(source);
    if (before !== undefined && issuedAt - before < spacingMs) return [];
    last.set(source, issuedAt);
    return [id];
  });
}
