import type { Kysely } from 'kysely';
import { addDays, localDayOf } from '../domain/time.js';
import { trimRefusals } from './refusals.js';
import type { Retention } from './repositories.js';
import type { Tables } from './schema.js';
import { slotOf, slotStart } from './slot.js';
import { PRUNED_BEFORE } from './totals.js';

const DAY_MS = 86_400_000;
/** Most rows of one kind that a step takes: it must not hold up a commit for longer than a moment. */
export const ROWS_PER_STEP = 5000;
/** Rounds are megabytes each. */
const ROUNDS_PER_STEP = 20;
/** Forecasts are kilobytes each. */
const FORECASTS_PER_STEP = 500;
/** Messages that were sent are of use only to see that they were; those given up may still be sent by hand. */
const SENT_DAYS = 30;
const DEAD_DAYS = 365;

/**
 * Removes a little of what is past its time; true when more is left. Each kind has its own transaction.
 *
 * Age is counted back from the newest thing received, not from the clock alone: a clock that jumped ahead a year must
 * not cost a year of readings.
 */
export async function pruneStep(
  db: Kysely<Tables>,
  retention: Retention,
  at: number,
  zoneOf: (siteId: string) => string,
): Promise<boolean> {
  const newest = await db
    .selectFrom('series_state')
    .select((eb) => eb.fn.max('last_received_at').as('at'))
    .executeTakeFirst();
  const now = Math.min(at, newest?.at ?? at);
  const left = [
    await pruneReadings(db, now - retention.readingsDays * DAY_MS),
    await pruneHours(db, now - retention.hourlyDays * DAY_MS),
    await db.transaction().execute((transaction) => trimRefusals(transaction, retention.refusalsKept, ROWS_PER_STEP)),
    await pruneIdempotency(db, at - retention.idempotencyHours * 3_600_000),
    await pruneRevisions(db, retention.roundRevisionsDays, at, zoneOf),
    await pruneForecasts(db, now - retention.forecastsDays * DAY_MS),
    await pruneDeliveries(db, 'sent', at - SENT_DAYS * DAY_MS),
    await pruneDeliveries(db, 'dead', at - DEAD_DAYS * DAY_MS),
  ];
  return left.some(Boolean);
}

/** Whole slots, oldest first. From then on a late reading of that time counts without its neighbours. */
function pruneReadings(db: Kysely<Tables>, before: number): Promise<boolean> {
  const endSlot = slotOf(before);
  return db.transaction().execute(async (transaction) => {
    const beyond = await transaction
      .selectFrom('readings')
      .select(['slot', 'series_id', 'at'])
      .where('slot', '<', endSlot)
      .orderBy('slot')
      .orderBy('series_id')
      .orderBy('at')
      .offset(ROWS_PER_STEP)
      .limit(1)
      .executeTakeFirst();
    const removed = await transaction
      .deleteFrom('readings')
      .where((eb) =>
        beyond
          ? eb(eb.refTuple('slot', 'series_id', 'at'), '<', eb.tuple(beyond.slot, beyond.series_id, beyond.at))
          : eb('slot', '<', endSlot),
      )
      .executeTakeFirst();
    if (removed.numDeletedRows > 0n) {
      const watermark = slotStart(endSlot);
      await transaction
        .insertInto('totals')
        .values({ name: PRUNED_BEFORE, value: watermark })
        .onConflict((conflict) =>
          conflict.column('name').doUpdateSet({ value: watermark }).where('totals.value', '<', watermark),
        )
        .execute();
    }
    return beyond !== undefined;
  });
}

function pruneHours(db: Kysely<Tables>, before: number): Promise<boolean> {
  return db.transaction().execute(async (transaction) => {
    let room = ROWS_PER_STEP;
    const series = await transaction
      .selectFrom('series')
      .select('id')
      .where((eb) =>
        eb.exists(
          eb
            .selectFrom('hourly')
            .select('hourly.series_id')
            .whereRef('hourly.series_id', '=', 'series.id')
            .where('hourly.start_ms', '<', before),
        ),
      )
      .orderBy('id')
      .execute();
    for (const { id } of series) {
      const beyond = await transaction
        .selectFrom('hourly')
        .select('start_ms')
        .where('series_id', '=', id)
        .where('start_ms', '<', before)
        .orderBy('start_ms')
        .offset(room)
        .limit(1)
        .executeTakeFirst();
      const { numDeletedRows } = await transaction
        .deleteFrom('hourly')
        .where('series_id', '=', id)
        .where('start_ms', '<', beyond?.start_ms ?? before)
        .executeTakeFirst();
      room -= Number(numDeletedRows);
      if (beyond) return true;
    }
    return false;
  });
}

async function pruneIdempotency(db: Kysely<Tables>, before: number): Promise<boolean> {
  const { numDeletedRows } = await db
    .deleteFrom('idempotency')
    .where('key', 'in', (eb) =>
      eb
        .selectFrom('idempotency')
        .select('key')
        .where('begun_at', '<', before)
        .orderBy('begun_at')
        .limit(ROWS_PER_STEP),
    )
    .executeTakeFirst();
  return Number(numDeletedRows) === ROWS_PER_STEP;
}

async function pruneForecasts(db: Kysely<Tables>, before: number): Promise<boolean> {
  const { numDeletedRows } = await db
    .deleteFrom('forecasts')
    .where('id', 'in', (eb) =>
      eb
        .selectFrom('forecasts')
        .select('id')
        .where('received_at', '<', before)
        .orderBy('received_at')
        .limit(FORECASTS_PER_STEP),
    )
    .executeTakeFirst();
  return Number(numDeletedRows) === FORECASTS_PER_STEP;
}

async function pruneDeliveries(db: Kysely<Tables>, state: 'sent' | 'dead', before: number): Promise<boolean> {
  const { numDeletedRows } = await db
    .deleteFrom('deliveries')
    .where('id', 'in', (eb) =>
      eb
        .selectFrom('deliveries')
        .select('id')
        .where('state', '=', state)
        .where('ended_at', '<', before)
        .orderBy('ended_at')
        .limit(ROWS_PER_STEP),
    )
    .executeTakeFirst();
  return Number(numDeletedRows) === ROWS_PER_STEP;
}

/** Of days past their time only the last revision stays. */
async function pruneRevisions(
  db: Kysely<Tables>,
  keptDays: number,
  at: number,
  zoneOf: (siteId: string) => string,
): Promise<boolean> {
  const sites = await db.selectFrom('rounds').select('site_id').distinct().execute();
  let room = ROUNDS_PER_STEP;
  for (const { site_id: siteId } of sites) {
    const before = addDays(localDayOf(zoneOf(siteId), at), -keptDays);
    const { numDeletedRows } = await db
      .deleteFrom('rounds')
      .where('id', 'in', (eb) =>
        eb
          .selectFrom('rounds as older')
          .select('older.id')
          .where('older.site_id', '=', siteId)
          .where('older.day', '<', before)
          .where((inner) =>
            inner.exists(
              inner
                .selectFrom('rounds as later')
                .select('later.id')
                .whereRef('later.site_id', '=', 'older.site_id')
                .whereRef('later.day', '=', 'older.day')
                .whereRef('later.revision', '>', 'older.revision'),
            ),
          )
          .orderBy('older.day')
          .orderBy('older.revision')
          .limit(room),
      )
      .executeTakeFirst();
    room -= Number(numDeletedRows);
    if (room === 0) return true;
  }
  return false;
}
