import type { Kysely } from 'kysely';
import type { Quantity } from '../domain/quantities.js';
import type { LocalDay } from '../domain/time.js';
import type {
  CommitResult,
  IngestBatch,
  RawPoint,
  ReadingStore,
  SeriesDays,
  SeriesFilter,
  SeriesInfo,
  SeriesRollUps,
} from './repositories.js';
import { HOUR_MS, mergeStored, rollUpOf, type StoredSums } from './roll-up.js';
import type { Tables } from './schema.js';
import { slotOf } from './slot.js';
import { MESSAGES } from './totals.js';

/** More than any local day lasts, clock changes and all. */
const LONGEST_DAY_MS = 26 * HOUR_MS;
/** Widest list of series that goes into one query. */
const SERIES_PER_QUERY = 1000;

const equals = (wanted: string | null): 'is' | '=' => (wanted === null ? 'is' : '=');

function seriesRows(db: Kysely<Tables>, filter: SeriesFilter) {
  let query = db
    .selectFrom('series')
    .innerJoin('series_state', 'series_state.series_id', 'series.id')
    .selectAll('series_state')
    .select(['site_id', 'sensor_id', 'quantity', 'house_id', 'bench_id', 'placement'])
    .select((eb) =>
      eb
        .selectFrom('refusal_counts')
        .select((sum) => sum.fn.sum<number>('count').as('refused'))
        .whereRef('refusal_counts.site_id', '=', 'series.site_id')
        .whereRef('refusal_counts.sensor_id', '=', 'series.sensor_id')
        .whereRef('refusal_counts.quantity', '=', 'series.quantity')
        .as('refused'),
    )
    .where('series.site_id', '=', filter.siteId)
    .orderBy('series.id');
  if (filter.houseId !== undefined) query = query.where('series.house_id', equals(filter.houseId), filter.houseId);
  if (filter.benchId !== undefined) query = query.where('series.bench_id', equals(filter.benchId), filter.benchId);
  if (filter.placement !== undefined) query = query.where('series.placement', '=', filter.placement);
  if (filter.quantities !== undefined) query = query.where('series.quantity', 'in', [...filter.quantities]);
  return query.execute();
}
type SeriesRow = Awaited<ReturnType<typeof seriesRows>>[number];

const infoOf = (row: SeriesRow): SeriesInfo => ({
  seriesId: row.series_id,
  siteId: row.site_id,
  sensorId: row.sensor_id,
  quantity: row.quantity as Quantity,
  houseId: row.house_id,
  benchId: row.bench_id,
  placement: row.placement as SeriesInfo['placement'],
  lastAt: row.last_at,
  lastValue: row.last_value,
  lastReceivedAt: row.last_received_at,
  stored: row.stored,
  duplicates: row.duplicates,
  refused: row.refused ?? 0,
});

const openHour = (row: SeriesRow): StoredSums => ({
  start_ms: row.hour_start,
  count: row.hour_count,
  min: row.hour_min,
  max: row.hour_max,
  sum: row.hour_sum,
  integral: row.hour_integral,
  covered_ms: row.hour_covered_ms,
});
const openDay = (row: SeriesRow): StoredSums & { day: LocalDay } => ({
  day: row.day,
  start_ms: row.day_start,
  count: row.day_count,
  min: row.day_min,
  max: row.day_max,
  sum: row.day_sum,
  integral: row.day_integral,
  covered_ms: row.day_covered_ms,
});

/** Closed buckets of a series with the open one, which is the newest and may have a part in the table already. */
function withOpen<B extends StoredSums>(closed: B[], open: B, isWanted: boolean, same: (a: B, b: B) => boolean): B[] {
  if (!isWanted) return closed;
  const last = closed.at(-1);
  if (last && same(last, open)) return [...closed.slice(0, -1), { ...open, ...mergeStored(last, open) }];
  return [...closed, open];
}

async function bySeries<R extends { series_id: number }>(
  series: readonly SeriesRow[],
  query: (ids: number[]) => Promise<R[]>,
): Promise<Map<number, R[]>> {
  const found = new Map<number, R[]>(series.map((row) => [row.series_id, []]));
  for (let start = 0; start < series.length; start += SERIES_PER_QUERY) {
    const ids = series.slice(start, start + SERIES_PER_QUERY).map((row) => row.series_id);
    for (const row of await query(ids)) found.get(row.series_id)?.push(row);
  }
  return found;
}

export function createReadingStore(
  db: Kysely<Tables>,
  commit: (batch: IngestBatch) => Promise<CommitResult>,
): ReadingStore {
  /** Series and roll-ups are read in one transaction: an hour that closes in between would be lost or come twice. */
  const atOneMoment = <T>(work: (moment: Kysely<Tables>) => Promise<T>): Promise<T> =>
    db.transaction().setAccessMode('read only').execute(work);

  return {
    commit,

    async series(filter) {
      return (await seriesRows(db, filter)).map(infoOf);
    },

    hourly: (filter, fromMs, toMs) =>
      atOneMoment(async (moment) => {
        const series = await seriesRows(moment, filter);
        const closed = await bySeries(series, (ids) =>
          moment
            .selectFrom('hourly')
            .selectAll()
            .where('series_id', 'in', ids)
            .where('start_ms', '>=', fromMs)
            .where('start_ms', '<', toMs)
            .orderBy('series_id')
            .orderBy('start_ms')
            .execute(),
        );
        return series.map((row): SeriesRollUps => {
          const open = openHour(row);
          const isWanted = open.start_ms >= fromMs && open.start_ms < toMs;
          const hours: StoredSums[] = closed.get(row.series_id) ?? [];
          return {
            series: infoOf(row),
            rollUps: withOpen(hours, open, isWanted, (a, b) => a.start_ms === b.start_ms).map(rollUpOf),
          };
        });
      }),

    daily: (filter, from, to) =>
      atOneMoment(async (moment) => {
        const series = await seriesRows(moment, filter);
        const closed = await bySeries(series, (ids) =>
          moment
            .selectFrom('daily')
            .selectAll()
            .where('series_id', 'in', ids)
            .where('day', '>=', from)
            .where('day', '<=', to)
            .orderBy('series_id')
            .orderBy('day')
            .execute(),
        );
        return series.map((row): SeriesDays => {
          const open = openDay(row);
          const days: (StoredSums & { day: LocalDay })[] = closed.get(row.series_id) ?? [];
          return {
            series: infoOf(row),
            days: withOpen(days, open, open.day >= from && open.day <= to, (a, b) => a.day === b.day).map((day) => ({
              day: day.day,
              ...rollUpOf(day),
            })),
          };
        });
      }),

    async totals() {
      const { messages, stored, duplicates, refused } = await db
        .selectNoFrom((eb) => [
          eb.selectFrom('totals').select('value').where('name', '=', MESSAGES).as('messages'),
          eb
            .selectFrom('series_state')
            .select((sum) => sum.fn.sum<number>('stored').as('stored'))
            .as('stored'),
          eb
            .selectFrom('series_state')
            .select((sum) => sum.fn.sum<number>('duplicates').as('duplicates'))
            .as('duplicates'),
          eb
            .selectFrom('refusal_counts')
            .select((sum) => sum.fn.sum<number>('count').as('refused'))
            .as('refused'),
        ])
        .executeTakeFirstOrThrow();
      return {
        messages: messages ?? 0,
        stored: stored ?? 0,
        duplicates: duplicates ?? 0,
        refused: refused ?? 0,
      };
    },

    /** Up to but without `toMs`. Goes from day to day that has readings, so that a long silence costs nothing. */
    raw: (seriesId, afterMs, toMs, limit) =>
      atOneMoment(async (moment) => {
        const points: RawPoint[] = [];
        const starts = await dayStarts(moment, seriesId, afterMs - LONGEST_DAY_MS, toMs);
        for (const [index, startMs] of starts.entries()) {
          if (points.length >= limit) break;
          const fromMs = Math.max(startMs, afterMs + 1);
          const untilMs = Math.min(toMs, startMs + LONGEST_DAY_MS, starts[index + 1] ?? toMs);
          if (fromMs < untilMs) {
            points.push(...(await pointsWithin(moment, seriesId, fromMs, untilMs, limit - points.length)));
          }
        }
        return points;
      }),
  };
}

/** First instants of the days on which a series has readings, rising. The roll-ups by day are kept for ever. */
async function dayStarts(db: Kysely<Tables>, seriesId: number, fromMs: number, toMs: number): Promise<number[]> {
  const closed = await db
    .selectFrom('daily')
    .select('start_ms')
    .where('series_id', '=', seriesId)
    .where('start_ms', '>=', fromMs)
    .where('start_ms', '<', toMs)
    .where('count', '>', 0)
    .orderBy('start_ms')
    .execute();
  const open = await db
    .selectFrom('series_state')
    .select('day_start')
    .where('series_id', '=', seriesId)
    .where('day_start', '<', toMs)
    .executeTakeFirst();
  const starts = closed.map((row) => row.start_ms);
  return open && open.day_start !== starts.at(-1) ? [...starts, open.day_start] : starts;
}

/** Names every slot: with a range of slots the database would walk through the readings of all series. */
function pointsWithin(
  db: Kysely<Tables>,
  seriesId: number,
  fromMs: number,
  toMs: number,
  limit: number,
): Promise<RawPoint[]> {
  const firstSlot = slotOf(fromMs);
  const slots = Array.from({ length: slotOf(toMs - 1) - firstSlot + 1 }, (_, index) => firstSlot + index);
  return db
    .selectFrom('readings')
    .select(['at', 'value', 'flag_mask as flagMask'])
    .where('slot', 'in', slots)
    .where('series_id', '=', seriesId)
    .where('at', '>=', fromMs)
    .where('at', '<', toMs)
    .orderBy('slot')
    .orderBy('at')
    .limit(limit)
    .execute();
}
