import type { Migration } from './migration.js';

/**
 * Messages on their way to people, one row for each channel and recipient, kept until they are sent or given up, so that
 * a restart loses none. How far the events of the alerts were taken in stands in the totals, changed together with the
 * rows that follow from them: no event makes two messages. Events of before are old news.
 */
export const notifications: Migration = {
  name: '0005-notifications',
  sqlite: `
CREATE TABLE deliveries (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  channel TEXT NOT NULL,
  recipient TEXT NOT NULL,
  site_id TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('waiting', 'sent', 'dead')),
  held INTEGER NOT NULL CHECK (held IN (0, 1)),
  tries INTEGER NOT NULL,
  next_at INTEGER NOT NULL,
  created_at INTEGER NOT NULL,
  ended_at INTEGER,
  trouble TEXT,
  trouble_at INTEGER,
  message_json TEXT NOT NULL,
  CHECK ((state = 'waiting') = (ended_at IS NULL))
) STRICT;
CREATE INDEX deliveries_due ON deliveries (next_at, id) WHERE state = 'waiting';
CREATE INDEX deliveries_dead ON deliveries (id) WHERE state = 'dead';
CREATE INDEX deliveries_ended ON deliveries (ended_at) WHERE state != 'waiting';

CREATE TABLE channels (
  name TEXT NOT NULL PRIMARY KEY,
  last_sent_at INTEGER,
  last_trouble TEXT,
  last_trouble_at INTEGER
) STRICT;

INSERT INTO totals (name, value) SELECT 'alert-events-told', coalesce(max(id), 0) FROM alert_events;
`,
};
