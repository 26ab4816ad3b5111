import type { Kysely, Selectable } from 'kysely';
import type { Alert, AlertEvent, AlertEventKind, AlertKind } from '../domain/alerts.js';
import type { OpenAlert } from '../models/alert-book.js';
import { alertOf, type KeptAlert } from '../models/alert-view.js';
import type { AlertStore, AlertWrite, NewAlertEvent, StoredAlert } from './repositories.js';
import type { AlertEventsTable, AlertsTable, Tables } from './schema.js';

const storedOf = (row: Selectable<AlertsTable>): StoredAlert => ({
  id: row.id,
  siteId: row.site_id,
  kind: row.kind as AlertKind,
  houseId: row.house_id === '' ? null : row.house_id,
  subject: row.subject,
  machine: JSON.parse(row.machine_json) as OpenAlert['machine'],
  detail: JSON.parse(row.detail_json) as OpenAlert['detail'],
  outcome: row.outcome,
  version: row.version,
});

const eventOf = (row: Selectable<AlertEventsTable>): AlertEvent => ({
  id: row.id,
  siteId: row.site_id,
  alertId: row.alert_id,
  at: row.at,
  what: row.what as AlertEventKind,
  by: row.done_by,
  alert: JSON.parse(row.alert_json) as Alert,
});

const columnsOf = ({ machine, detail, outcome }: Pick<KeptAlert, 'machine' | 'detail' | 'outcome'>) => ({
  state: machine.state,
  machine_json: JSON.stringify(machine),
  detail_json: JSON.stringify(detail),
  resolved_at: machine.resolvedAt ?? null,
  outcome,
});

/** Ends the transaction without a trace: somebody else was first. */
class Overtaken extends Error {}

/** The alert as it is kept now. */
async function write(db: Kysely<Tables>, change: Exclude<AlertWrite, { dropped: unknown }>): Promise<KeptAlert> {
  if ('version' in change) {
    const { alert, version } = change;
    const { numUpdatedRows } = await db
      .updateTable('alerts')
      .set({ ...columnsOf(alert), version: version + 1 })
      .where('id', '=', alert.id)
      .where('version', '=', version)
      .executeTakeFirst();
    if (numUpdatedRows !== 1n) throw new Overtaken();
    return alert;
  }
  const { alert } = change;
  const house = alert.houseId ?? '';
  const open = await db
    .selectFrom('alerts')
    .select('id')
    .where('site_id', '=', alert.siteId)
    .where('kind', '=', alert.kind)
    .where('house_id', '=', house)
    .where('subject', '=', alert.subject)
    .where('resolved_at', 'is', null)
    .executeTakeFirst();
  if (open) throw new Overtaken();
  const { id } = await db
    .insertInto('alerts')
    .values({
      site_id: alert.siteId,
      kind: alert.kind,
      house_id: house,
      subject: alert.subject,
      version: 1,
      ...columnsOf(alert),
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  return { ...alert, id };
}

async function drop(db: Kysely<Tables>, { id, version }: Pick<StoredAlert, 'id' | 'version'>): Promise<void> {
  const { numDeletedRows } = await db
    .deleteFrom('alerts')
    .where('id', '=', id)
    .where('version', '=', version)
    .where('state', '=', 'pending')
    .executeTakeFirst();
  if (numDeletedRows !== 1n) throw new Overtaken();
}

async function addEvent(db: Kysely<Tables>, alert: KeptAlert, { at, what, by }: NewAlertEvent): Promise<AlertEvent> {
  const row = await db
    .insertInto('alert_events')
    .values({
      site_id: alert.siteId,
      alert_id: alert.id,
      at,
      what,
      done_by: by,
      alert_json: JSON.stringify(alertOf(alert)),
    })
    .returningAll()
    .executeTakeFirstOrThrow();
  return eventOf(row);
}

export function createAlertStore(db: Kysely<Tables>): AlertStore {
  const ofSite = (siteId: string) => db.selectFrom('alerts').selectAll().where('site_id', '=', siteId);

  return {
    async open(siteId) {
      return (await ofSite(siteId).where('resolved_at', 'is', null).orderBy('id').execute()).map(storedOf);
    },

    async past(siteId, { before, limit }) {
      let query = ofSite(siteId)
        .where('resolved_at', 'is not', null)
        .orderBy('resolved_at', 'desc')
        .orderBy('id', 'desc')
        .limit(limit);
      if (before)
        query = query.where((eb) =>
          eb(eb.refTuple('resolved_at', 'id'), '<', eb.tuple(before.resolvedAt as number | null, before.id)),
        );
      return (await query.execute()).map(storedOf);
    },

    async get(id) {
      const row = await db.selectFrom('alerts').selectAll().where('id', '=', id).executeTakeFirst();
      return row && storedOf(row);
    },

    async withoutOutcome(siteId) {
      const query = ofSite(siteId).where('resolved_at', 'is not', null).where('outcome', 'is', null).orderBy('id');
      return (await query.execute()).map(storedOf);
    },

    async save(writes) {
      try {
        return await db.transaction().execute(async (transaction) => {
          const events: AlertEvent[] = [];
          for (const change of writes) {
            if ('dropped' in change) {
              await drop(transaction, change.dropped);
              continue;
            }
            const alert = await write(transaction, change);
            for (const event of change.events) events.push(await addEvent(transaction, alert, event));
          }
          return events;
        });
      } catch (error) {
        if (error instanceof Overtaken) return undefined;
        throw error;
      }
    },

    async events({ siteId, afterId, limit }) {
      let query = db.selectFrom('alert_events').selectAll().where('id', '>', afterId).orderBy('id').limit(limit);
      if (siteId !== undefined) query = query.where('site_id', '=', siteId);
      return (await query.execute()).map(eventOf);
    },

    async eventsOf(alertId) {
      const query = db.selectFrom('alert_events').selectAll().where('alert_id', '=', alertId).orderBy('id');
      return (await query.execute()).map(eventOf);
    },

    async lastEventId() {
      const row = await db
        .selectFrom('alert_events')
        .select((eb) => eb.fn.max('id').as('id'))
        .executeTakeFirst();
      return row?.id ?? 0;
    },
  };
}
