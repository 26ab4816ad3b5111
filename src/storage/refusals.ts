import { type Kysely, sql } from 'kysely';
import type { Quantity } from '../domain/quantities.js';
import type { Refusal, RefusalStore } from './repositories.js';
import type { Tables } from './schema.js';

/** An empty text in a key column means "not known". */
const known = (text: string): string | null => (text === '' ? null : text);

export function createRefusalStore(db: Kysely<Tables>): RefusalStore {
  return {
    async list({ siteId, sensorId, beforeId, limit }) {
      let query = db.selectFrom('refusals').selectAll().orderBy('id', 'desc').limit(limit);
      if (siteId !== undefined) query = query.where('site_id', '=', siteId);
      if (sensorId !== undefined) query = query.where('sensor_id', '=', sensorId);
      if (beforeId !== undefined) query = query.where('id', '<', beforeId);
      return (await query.execute()).map((row): Refusal & { id: number } => ({
        id: row.id,
        at: row.at,
        topic: row.topic,
        siteId: row.site_id,
        sensorId: row.sensor_id,
        quantity: row.quantity as Quantity | null,
        reason: row.reason,
        sentence: row.sentence,
        excerpt: row.excerpt,
      }));
    },

    async counts(siteId) {
      let query = db
        .selectFrom('refusal_counts')
        .select(['site_id', 'sensor_id', 'reason'])
        .select((eb) => eb.fn.sum<number>('count').as('count'))
        .select((eb) => eb.fn.max('last_at').as('last_at'))
        // The sentence that goes with the newest: SQLite would take it from the row of max() by itself, others would not.
        .select(
          sql<string>`(select newest.last_sentence from refusal_counts as newest
            where newest.site_id = refusal_counts.site_id and newest.sensor_id = refusal_counts.sensor_id
              and newest.reason = refusal_counts.reason
            order by newest.last_at desc limit 1)`.as('last_sentence'),
        )
        .groupBy(['site_id', 'sensor_id', 'reason'])
        .orderBy('count', 'desc')
        .orderBy('site_id')
        .orderBy('sensor_id')
        .orderBy('reason');
      if (siteId !== undefined) query = query.where('site_id', '=', siteId);
      return (await query.execute()).map((row) => ({
        siteId: known(row.site_id),
        sensorId: known(row.sensor_id),
        reason: row.reason,
        count: row.count,
        lastAt: row.last_at,
        lastSentence: row.last_sentence,
      }));
    },

    async since(siteId, fromMs) {
      const rows = await db
        .selectFrom('refusals')
        .innerJoin(
          (eb) =>
            eb
              .selectFrom('refusals')
              .select((inner) => [inner.fn.max('id').as('last_id'), inner.fn.countAll<number>().as('count')])
              .where('site_id', '=', siteId)
              .where('at', '>=', fromMs)
              .groupBy(['sensor_id', 'quantity', 'reason'])
              .as('newest'),
          (join) => join.onRef('newest.last_id', '=', 'refusals.id'),
        )
        .select(['sensor_id', 'quantity', 'reason', 'at', 'sentence', 'newest.count'])
        .orderBy('refusals.id')
        .execute();
      return rows.map((row) => ({
        sensorId: row.sensor_id,
        quantity: row.quantity as Quantity | null,
        reason: row.reason,
        count: row.count,
        lastAt: row.at,
        lastSentence: row.sentence,
      }));
    },
  };
}

/**
 * How many of each reason may stay so that `kept` stay in all: a flood of one reason gives way before the few of
 * another. Every reason may keep up to the returned level.
 */
export function fairLevel(counts: readonly number[], kept: number): number {
  const rising = [...counts].sort((a, b) => a - b);
  let room = kept;
  for (const [index, count] of rising.entries()) {
    const share = Math.floor(room / (rising.length - index));
    if (count > share) return share;
    room -= count;
  }
  return Number.POSITIVE_INFINITY;
}

/** Removes the oldest of the reasons that have too many, at most `limit` rows; true when more is left to remove. */
export async function trimRefusals(db: Kysely<Tables>, kept: number, limit: number): Promise<boolean> {
  const reasons = await db
    .selectFrom('refusals')
    .select('reason')
    .select((eb) => eb.fn.countAll<number>().as('count'))
    .groupBy('reason')
    .execute();
  const level = fairLevel(
    reasons.map((row) => row.count),
    kept,
  );
  let room = limit;
  let more = false;
  for (const { reason, count } of reasons) {
    const surplus = count - level;
    if (surplus <= 0) continue;
    const take = Math.min(surplus, room);
    if (take < surplus) more = true;
    if (take === 0) continue;
    room -= take;
    await db
      .deleteFrom('refusals')
      .where('id', 'in', (eb) =>
        eb.selectFrom('refusals').select('id').where('reason', '=', reason).orderBy('id').limit(take),
      )
      .execute();
  }
  return more;
}
