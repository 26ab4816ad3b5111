import type { Migration } from './migration.js';

/**
 * Outdoor forecasts as they were issued: never changed, so that what was known on a morning is found again. The hours
 * are deflated columns of JSON, about 2 kB for ten days. `forecast_pulls` remembers over a restart when a source may be
 * asked again: a service that is started often must not ask more often than the source allows.
 */
export const outdoorForecasts: Migration = {
  name: '0003-outdoor-forecasts',
  sqlite: `
CREATE TABLE forecasts (
  id INTEGER PRIMARY KEY,
  site_id TEXT NOT NULL,
  source TEXT NOT NULL,
  issued_at INTEGER NOT NULL,
  received_at INTEGER NOT NULL,
  hours_deflated BLOB NOT NULL,
  UNIQUE (site_id, source, issued_at)
) STRICT;
CREATE INDEX forecasts_by_issue ON forecasts (site_id, issued_at);
CREATE INDEX forecasts_by_arrival ON forecasts (received_at);

CREATE TABLE forecast_pulls (
  site_id TEXT NOT NULL,
  source TEXT NOT NULL,
  asked_as TEXT NOT NULL,
  next_at INTEGER NOT NULL,
  answered_at INTEGER,
  last_modified TEXT,
  etag TEXT,
  failures INTEGER NOT NULL,
  trouble TEXT,
  trouble_at INTEGER,
  PRIMARY KEY (site_id, source)
) STRICT, WITHOUT ROWID;
`,
};
