import type { Migration } from './migration.js';

/**
 * Readings are kept by ten-minute slot, then series, then time. Measured with 400 series: by (series, time) every row
 * of a commit lands on a page of its own and small commits are four to eight times slower; by (time, series) one
 * series cannot be read without its neighbours, which made a day of one series thirteen to twenty times slower. The
 * slot keeps what is written together in a few pages and what is read together within reach.
 *
 * `series_state` holds, for each series, the newest reading and the hour and day it falls in. They move to `hourly`
 * and `daily` when the next hour or day begins, so that a commit touches one row a series and not three.
 */
export const first: Migration = {
  name: '0001-first',
  sqlite: `
CREATE TABLE series (
  id INTEGER PRIMARY KEY,
  site_id TEXT NOT NULL,
  sensor_id TEXT NOT NULL,
  quantity TEXT NOT NULL,
  house_id TEXT,
  bench_id TEXT,
  placement TEXT NOT NULL,
  UNIQUE (site_id, sensor_id, quantity)
) STRICT;

CREATE TABLE series_state (
  series_id INTEGER PRIMARY KEY REFERENCES series (id),
  last_at INTEGER NOT NULL,
  last_value REAL NOT NULL,
  last_received_at INTEGER NOT NULL,
  stored INTEGER NOT NULL,
  duplicates INTEGER NOT NULL,
  hour_start INTEGER NOT NULL,
  hour_count INTEGER NOT NULL,
  hour_min REAL,
  hour_max REAL,
  hour_sum REAL NOT NULL,
  hour_integral REAL NOT NULL,
  hour_covered_ms INTEGER NOT NULL,
  day TEXT NOT NULL,
  day_start INTEGER NOT NULL,
  day_end INTEGER NOT NULL,
  day_count INTEGER NOT NULL,
  day_min REAL,
  day_max REAL,
  day_sum REAL NOT NULL,
  day_integral REAL NOT NULL,
  day_covered_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE readings (
  slot INTEGER NOT NULL,
  series_id INTEGER NOT NULL,
  at INTEGER NOT NULL,
  value REAL NOT NULL,
  flag_mask INTEGER NOT NULL,
  PRIMARY KEY (slot, series_id, at)
) STRICT, WITHOUT ROWID;

CREATE TABLE hourly (
  series_id INTEGER NOT NULL,
  start_ms INTEGER NOT NULL,
  count INTEGER NOT NULL,
  min REAL,
  max REAL,
  sum REAL NOT NULL,
  integral REAL NOT NULL,
  covered_ms INTEGER NOT NULL,
  PRIMARY KEY (series_id, start_ms)
) STRICT, WITHOUT ROWID;

CREATE TABLE daily (
  series_id INTEGER NOT NULL,
  day TEXT NOT NULL,
  start_ms INTEGER NOT NULL,
  count INTEGER NOT NULL,
  min REAL,
  max REAL,
  sum REAL NOT NULL,
  integral REAL NOT NULL,
  covered_ms INTEGER NOT NULL,
  PRIMARY KEY (series_id, day)
) STRICT, WITHOUT ROWID;

CREATE TABLE totals (
  name TEXT PRIMARY KEY,
  value INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE refusals (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  at INTEGER NOT NULL,
  topic TEXT NOT NULL,
  site_id TEXT,
  sensor_id TEXT,
  quantity TEXT,
  reason TEXT NOT NULL,
  sentence TEXT NOT NULL,
  excerpt TEXT NOT NULL
) STRICT;
CREATE INDEX refusals_by_reason ON refusals (reason, id);
CREATE INDEX refusals_by_sensor ON refusals (site_id, sensor_id, id);

CREATE TABLE refusal_counts (
  site_id TEXT NOT NULL,
  sensor_id TEXT NOT NULL,
  quantity TEXT NOT NULL,
  reason TEXT NOT NULL,
  count INTEGER NOT NULL,
  last_at INTEGER NOT NULL,
  last_sentence TEXT NOT NULL,
  PRIMARY KEY (site_id, sensor_id, quantity, reason)
) STRICT, WITHOUT ROWID;

CREATE TABLE journal (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  site_id TEXT NOT NULL,
  kind TEXT NOT NULL,
  happened_at INTEGER NOT NULL,
  entered_at INTEGER NOT NULL,
  entered_by TEXT NOT NULL,
  event_json TEXT NOT NULL,
  note TEXT,
  request_key TEXT
) STRICT;
CREATE INDEX journal_by_site ON journal (site_id, id);
CREATE INDEX journal_by_kind ON journal (site_id, kind, id);
CREATE INDEX journal_by_request ON journal (site_id, request_key) WHERE request_key IS NOT NULL;

CREATE TABLE journal_batch (
  site_id TEXT NOT NULL,
  batch_id TEXT NOT NULL,
  entry_id INTEGER NOT NULL REFERENCES journal (id),
  PRIMARY KEY (site_id, batch_id, entry_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX journal_batch_by_entry ON journal_batch (entry_id);

CREATE TRIGGER journal_keeps_entries BEFORE UPDATE ON journal
BEGIN SELECT RAISE(ABORT, 'the journal is append-only: answer a mistake with an undo entry'); END;
CREATE TRIGGER journal_loses_nothing BEFORE DELETE ON journal
BEGIN SELECT RAISE(ABORT, 'the journal is append-only: answer a mistake with an undo entry'); END;
CREATE TRIGGER journal_batch_keeps_entries BEFORE UPDATE ON journal_batch
BEGIN SELECT RAISE(ABORT, 'the journal is append-only: answer a mistake with an undo entry'); END;
CREATE TRIGGER journal_batch_loses_nothing BEFORE DELETE ON journal_batch
BEGIN SELECT RAISE(ABORT, 'the journal is append-only: answer a mistake with an undo entry'); END;

CREATE TABLE rounds (
  id INTEGER PRIMARY KEY,
  site_id TEXT NOT NULL,
  day TEXT NOT NULL,
  revision INTEGER NOT NULL,
  made_at INTEGER NOT NULL,
  round_deflated BLOB NOT NULL,
  facts_deflated BLOB NOT NULL,
  UNIQUE (site_id, day, revision)
) STRICT;

CREATE TABLE idempotency (
  key TEXT PRIMARY KEY,
  request_hash TEXT NOT NULL,
  begun_at INTEGER NOT NULL,
  status INTEGER,
  body TEXT
) STRICT, WITHOUT ROWID;
CREATE INDEX idempotency_by_age ON idempotency (begun_at);

CREATE TABLE access_tokens (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('read', 'staff', 'owner')),
  token_hash TEXT NOT NULL UNIQUE,
  created_at INTEGER NOT NULL,
  revoked_at INTEGER
) STRICT;
`,
};
