import { type Kysely, type Selectable, sql } from 'kysely';
import type { DeliveryState, Message } from '../domain/messages.js';
import type { ChannelState, Delivery, NewDelivery, NotificationStore } from './repositories.js';
import type { DeliveriesTable, Tables } from './schema.js';
import { ALERT_EVENTS_TOLD } from './totals.js';

const deliveryOf = (row: Selectable<DeliveriesTable>): Delivery => ({
  id: row.id,
  channel: row.channel,
  recipient: row.recipient,
  state: row.state as DeliveryState,
  held: row.held === 1,
  tries: row.tries,
  nextAt: row.next_at,
  createdAt: row.created_at,
  endedAt: row.ended_at,
  trouble: row.trouble,
  troubleAt: row.trouble_at,
  message: JSON.parse(row.message_json) as Message,
});

const rowOf = ({ channel, recipient, message, at, held = false }: NewDelivery) => ({
  channel,
  recipient,
  site_id: message.siteId,
  state: 'waiting',
  held: held ? 1 : 0,
  tries: 0,
  next_at: at,
  created_at: at,
  ended_at: null,
  trouble: null,
  trouble_at: null,
  message_json: JSON.stringify(message),
});

async function noteOf(db: Kysely<Tables>, name: string, what: { sentAt: number } | { trouble: string; at: number }) {
  const values =
    'sentAt' in what ? { last_sent_at: what.sentAt } : { last_trouble: what.trouble, last_trouble_at: what.at };
  await db
    .insertInto('channels')
    .values({ name, last_sent_at: null, last_trouble: null, last_trouble_at: null, ...values })
    .onConflict((conflict) => conflict.column('name').doUpdateSet(values))
    .execute();
}

export function createNotificationStore(db: Kysely<Tables>): NotificationStore {
  const waiting = () => db.selectFrom('deliveries').where('state', '=', 'waiting');

  return {
    async toldUntil() {
      const row = await db
        .selectFrom('totals')
        .select('value')
        .where('name', '=', ALERT_EVENTS_TOLD)
        .executeTakeFirstOrThrow();
      return row.value;
    },

    takeIn: (deliveries, { from, until }) =>
      db.transaction().execute(async (transaction) => {
        const { numUpdatedRows } = await transaction
          .updateTable('totals')
          .set({ value: until })
          .where('name', '=', ALERT_EVENTS_TOLD)
          .where('value', '=', from)
          .executeTakeFirst();
        if (numUpdatedRows !== 1n) return false;
        for (const delivery of deliveries) await transaction.insertInto('deliveries').values(rowOf(delivery)).execute();
        return true;
      }),

    async due(at, limit, { except } = { except: [] }) {
      let query = waiting()
        .selectAll()
        .where('next_at', '<=', at)
        .orderBy(sql`json_extract(message_json, '$.dangerous')`, 'desc')
        .orderBy('tries')
        .orderBy('id')
        .limit(limit);
      if (except.length > 0) query = query.where('channel', 'not in', except);
      return (await query.execute()).map(deliveryOf);
    },

    async nextAt() {
      const row = await waiting().select('next_at').orderBy('next_at').limit(1).executeTakeFirst();
      return row?.next_at;
    },

    async hold(id, until) {
      await db
        .updateTable('deliveries')
        .set({ held: 1, next_at: until })
        .where('id', '=', id)
        .where('state', '=', 'waiting')
        .execute();
    },

    join: (ids, summary) =>
      db.transaction().execute(async (transaction) => {
        await transaction.deleteFrom('deliveries').where('id', 'in', ids).where('state', '=', 'waiting').execute();
        const row = await transaction
          .insertInto('deliveries')
          .values(rowOf(summary))
          .returningAll()
          .executeTakeFirstOrThrow();
        return deliveryOf(row);
      }),

    sent: ({ id, channel }, at) =>
      db.transaction().execute(async (transaction) => {
        await transaction
          .updateTable('deliveries')
          .set((eb) => ({ state: 'sent', ended_at: at, tries: eb('tries', '+', 1) }))
          .where('id', '=', id)
          .execute();
        await noteOf(transaction, channel, { sentAt: at });
      }),

    failed: ({ id, channel }, { at, trouble, nextAt }) =>
      db.transaction().execute(async (transaction) => {
        await transaction
          .updateTable('deliveries')
          .set((eb) => ({
            tries: eb('tries', '+', 1),
            trouble,
            trouble_at: at,
            ...(nextAt === null ? { state: 'dead', ended_at: at } : { next_at: nextAt }),
          }))
          .where('id', '=', id)
          .execute();
        await noteOf(transaction, channel, { trouble, at });
      }),

    note: (channel, what) => noteOf(db, channel, what),

    async dead({ siteId, channel, beforeId, limit }) {
      let query = db
        .selectFrom('deliveries')
        .selectAll()
        .where('state', '=', 'dead')
        .orderBy('id', 'desc')
        .limit(limit);
      if (siteId !== undefined) query = query.where('site_id', '=', siteId);
      if (channel !== undefined) query = query.where('channel', '=', channel);
      if (beforeId !== undefined) query = query.where('id', '<', beforeId);
      return (await query.execute()).map(deliveryOf);
    },

    async get(id) {
      const row = await db.selectFrom('deliveries').selectAll().where('id', '=', id).executeTakeFirst();
      return row && deliveryOf(row);
    },

    async revive(id, at) {
      const { numUpdatedRows } = await db
        .updateTable('deliveries')
        .set({ state: 'waiting', ended_at: null, tries: 0, next_at: at, held: 0 })
        .where('id', '=', id)
        .where('state', '=', 'dead')
        .executeTakeFirst();
      return numUpdatedRows === 1n;
    },

    async channels() {
      const [known, counts] = await Promise.all([
        db.selectFrom('channels').selectAll().execute(),
        db
          .selectFrom('deliveries')
          .select(['channel', 'state', (eb) => eb.fn.countAll<number>().as('count')])
          .where('state', '!=', 'sent')
          .groupBy(['channel', 'state'])
          .execute(),
      ]);
      const states = new Map<string, ChannelState>();
      const none = { lastSentAt: null, lastTrouble: null, lastTroubleAt: null, waiting: 0, dead: 0 };
      for (const row of known)
        states.set(row.name, {
          ...none,
          lastSentAt: row.last_sent_at,
          lastTrouble: row.last_trouble,
          lastTroubleAt: row.last_trouble_at,
        });
      for (const { channel, state, count } of counts)
        states.set(channel, { ...(states.get(channel) ?? none), [state]: Number(count) });
      return states;
    },
  };
}
