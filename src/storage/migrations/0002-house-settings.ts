import type { Migration } from './migration.js';

/** What growers set for their houses: each change is a revision with all that holds from it on, and none is ever changed. */
export const houseSettings: Migration = {
  name: '0002-house-settings',
  sqlite: `
CREATE TABLE house_settings (
  site_id TEXT NOT NULL,
  house_id TEXT NOT NULL,
  revision INTEGER NOT NULL CHECK (revision > 0),
  at INTEGER NOT NULL,
  entered_by TEXT NOT NULL,
  why TEXT NOT NULL CHECK (why <> ''),
  settings_json TEXT NOT NULL,
  PRIMARY KEY (site_id, house_id, revision)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER house_settings_keep_revisions BEFORE UPDATE ON house_settings
BEGIN SELECT RAISE(ABORT, 'settings are never changed in place: set them anew'); END;
CREATE TRIGGER house_settings_lose_nothing BEFORE DELETE ON house_settings
BEGIN SELECT RAISE(ABORT, 'settings are never taken away: set them anew'); END;
`,
};
