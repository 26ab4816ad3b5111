import type { Migration } from './migration.js';

/**
 * Alerts with the state of their machine, one row each from the day they began; an index sees to it that no kind is open
 * twice for one house and subject. What happened to them is kept as events that never change: deliveries and listeners
 * go on from the last id they have seen.
 */
export const alerts: Migration = {
  name: '0004-alerts',
  sqlite: `
CREATE TABLE alerts (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  site_id TEXT NOT NULL,
  kind TEXT NOT NULL,
  house_id TEXT NOT NULL,
  subject TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('pending', 'firing', 'held', 'resolved')),
  version INTEGER NOT NULL,
  machine_json TEXT NOT NULL,
  detail_json TEXT NOT NULL,
  resolved_at INTEGER,
  outcome TEXT,
  CHECK ((state = 'resolved') = (resolved_at IS NOT NULL))
) STRICT;
CREATE UNIQUE INDEX alerts_open_once ON alerts (site_id, kind, house_id, subject) WHERE resolved_at IS NULL;
CREATE INDEX alerts_past ON alerts (site_id, resolved_at, id) WHERE resolved_at IS NOT NULL;
CREATE INDEX alerts_without_outcome ON alerts (site_id, id) WHERE resolved_at IS NOT NULL AND outcome IS NULL;

CREATE TABLE alert_events (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  site_id TEXT NOT NULL,
  alert_id INTEGER NOT NULL REFERENCES alerts (id),
  at INTEGER NOT NULL,
  what TEXT NOT NULL,
  done_by TEXT,
  alert_json TEXT NOT NULL
) STRICT;
CREATE INDEX alert_events_by_alert ON alert_events (alert_id, id);
CREATE INDEX alert_events_by_site ON alert_events (site_id, id);

CREATE TRIGGER alert_events_keep BEFORE UPDATE ON alert_events
BEGIN SELECT RAISE(ABORT, 'what happened to an alert is never changed'); END;
`,
};
