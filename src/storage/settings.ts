import type { Kysely, Selectable } from 'kysely';
import type { HouseSettings } from '../domain/house-settings.js';
import type { SettingsStore } from './repositories.js';
import type { HouseSettingsTable, Tables } from './schema.js';

type Content = Pick<HouseSettings, 'limits' | 'alertLimits' | 'tasksOff'>;

const settingsOf = (row: Selectable<HouseSettingsTable>): HouseSettings => ({
  siteId: row.site_id,
  houseId: row.house_id,
  revision: row.revision,
  at: row.at,
  by: row.entered_by,
  why: row.why,
  ...(JSON.parse(row.settings_json) as Content),
});

export function createSettingsStore(db: Kysely<Tables>): SettingsStore {
  const ofHouse = (siteId: string, houseId: string) =>
    db.selectFrom('house_settings').selectAll().where('site_id', '=', siteId).where('house_id', '=', houseId);

  return {
    append: ({ siteId, houseId, revision, at, by, why, limits, alertLimits, tasksOff }) =>
      db.transaction().execute(async (transaction) => {
        const last = await transaction
          .selectFrom('house_settings')
          .select((eb) => eb.fn.max('revision').as('revision'))
          .where('site_id', '=', siteId)
          .where('house_id', '=', houseId)
          .executeTakeFirst();
        if (revision !== (last?.revision ?? 0) + 1) return false;
        const content: Content = { limits, alertLimits, tasksOff };
        await transaction
          .insertInto('house_settings')
          .values({
            site_id: siteId,
            house_id: houseId,
            revision,
            at,
            entered_by: by,
            why,
            settings_json: JSON.stringify(content),
          })
          .execute();
        return true;
      }),

    async newest() {
      const rows = await db
        .selectFrom('house_settings')
        .selectAll()
        .where((eb) =>
          eb(
            'revision',
            '=',
            eb
              .selectFrom('house_settings as other')
              .select((inner) => inner.fn.max('other.revision').as('revision'))
              .whereRef('other.site_id', '=', 'house_settings.site_id')
              .whereRef('other.house_id', '=', 'house_settings.house_id'),
          ),
        )
        .orderBy('site_id')
        .orderBy('house_id')
        .execute();
      return rows.map(settingsOf);
    },

    async get(siteId, houseId, revision) {
      const row = await ofHouse(siteId, houseId).where('revision', '=', revision).executeTakeFirst();
      return row && settingsOf(row);
    },

    async at(siteId, houseId, instant) {
      const row = await ofHouse(siteId, houseId)
        .where('at', '<=', instant)
        .orderBy('revision', 'desc')
        .limit(1)
        .executeTakeFirst();
      return row && settingsOf(row);
    },

    async history(siteId, houseId, { beforeRevision, limit } = {}) {
      let query = ofHouse(siteId, houseId).orderBy('revision', 'desc');
      if (beforeRevision !== undefined) query = query.where('revision', '<', beforeRevision);
      if (limit !== undefined) query = query.limit(limit);
      return (await query.execute()).map(settingsOf);
    },
  };
}
