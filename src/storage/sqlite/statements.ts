import type { Database } from 'better-sqlite3';
import type { SeriesStateTable, SeriesTable } from '../schema.js';

/**
 * The statements of the way of a reading. They stand apart from the other queries because they are prepared once and
 * run without anything in between: this is the only place where SQLite's own words are used for speed.
 */
const STATE_COLUMNS = [
  'last_at',
  'last_value',
  'last_received_at',
  'stored',
  'duplicates',
  'hour_start',
  'hour_count',
  'hour_min',
  'hour_max',
  'hour_sum',
  'hour_integral',
  'hour_covered_ms',
  'day',
  'day_start',
  'day_end',
  'day_count',
  'day_min',
  'day_max',
  'day_sum',
  'day_integral',
  'day_covered_ms',
] as const satisfies readonly (keyof SeriesStateTable)[];

/** Rows of one statement: beyond this nothing is gained. */
export const ROWS_AT_ONCE = 64;

const placeholders = (count: number): string => Array.from({ length: count }, () => '?').join(', ');

/** Adds sums to a bucket that may be there already. SQLite's min() of a null is null, hence the coalesce. */
const mergeInto = (table: string, keys: readonly string[], fixed: readonly string[]): string => `
  INSERT INTO ${table} (${[...keys, ...fixed].join(', ')}, count, min, max, sum, integral, covered_ms)
  VALUES (${placeholders(keys.length + fixed.length + 6)})
  ON CONFLICT (${keys.join(', ')}) DO UPDATE SET
    count = count + excluded.count,
    min = coalesce(min(min, excluded.min), min, excluded.min),
    max = coalesce(max(max, excluded.max), max, excluded.max),
    sum = sum + excluded.sum,
    integral = integral + excluded.integral,
    covered_ms = covered_ms + excluded.covered_ms`;

export type StoredState = Omit<SeriesTable, 'id'> & SeriesStateTable;

export function prepareStatements(db: Database) {
  return {
    begin: db.prepare('BEGIN IMMEDIATE'),
    commit: db.prepare('COMMIT'),
    rollback: db.prepare('ROLLBACK'),
    loadStates: db.prepare<[], StoredState>(
      'SELECT * FROM series JOIN series_state ON series_state.series_id = series.id',
    ),
    addSeries: db.prepare<[string, string, string, string | null, string | null, string]>(
      `INSERT INTO series (site_id, sensor_id, quantity, house_id, bench_id, placement) VALUES (${placeholders(6)})`,
    ),
    moveSeries: db.prepare<[string | null, string | null, string, number]>(
      'UPDATE series SET house_id = ?, bench_id = ?, placement = ? WHERE id = ?',
    ),
    addState: db.prepare(
      `INSERT INTO series_state (${STATE_COLUMNS.join(', ')}, series_id) VALUES (${placeholders(STATE_COLUMNS.length + 1)})`,
    ),
    saveState: db.prepare(
      `UPDATE series_state SET ${STATE_COLUMNS.map((name) => `${name} = ?`).join(', ')} WHERE series_id = ?`,
    ),
    addReading: db.prepare<[number, number, number, number, number]>(
      'INSERT INTO readings (slot, series_id, at, value, flag_mask) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING',
    ),
    addReadings: db.prepare<[readonly number[]]>(
      `INSERT INTO readings (slot, series_id, at, value, flag_mask)
       VALUES ${Array.from({ length: ROWS_AT_ONCE }, () => '(?, ?, ?, ?, ?)').join(', ')} ON CONFLICT DO NOTHING`,
    ),
    lastInSlotBefore: db.prepare<[number, number, number], { at: number; value: number }>(
      'SELECT at, value FROM readings WHERE slot = ? AND series_id = ? AND at < ? ORDER BY at DESC LIMIT 1',
    ),
    firstInSlotAfter: db.prepare<[number, number, number], { at: number; value: number }>(
      'SELECT at, value FROM readings WHERE slot = ? AND series_id = ? AND at > ? ORDER BY at LIMIT 1',
    ),
    mergeHour: db.prepare(mergeInto('hourly', ['series_id', 'start_ms'], [])),
    mergeDay: db.prepare(mergeInto('daily', ['series_id', 'day'], ['start_ms'])),
    addRefusal: db.prepare(
      `INSERT INTO refusals (at, topic, site_id, sensor_id, quantity, reason, sentence, excerpt) VALUES (${placeholders(8)})`,
    ),
    countRefusal: db.prepare(
      `INSERT INTO refusal_counts (site_id, sensor_id, quantity, reason, count, last_at, last_sentence)
       VALUES (?, ?, ?, ?, 1, ?, ?)
       ON CONFLICT (site_id, sensor_id, quantity, reason) DO UPDATE SET
         count = count + 1,
         last_sentence = CASE WHEN excluded.last_at >= last_at THEN excluded.last_sentence ELSE last_sentence END,
         last_at = max(last_at, excluded.last_at)`,
    ),
    addToTotal: db.prepare<[string, number]>(
      'INSERT INTO totals (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = value + excluded.value',
    ),
    total: db.prepare<[string], number>('SELECT value FROM totals WHERE name = ?').pluck(),
  };
}
export type Statements = ReturnType<typeof prepareStatements>;
