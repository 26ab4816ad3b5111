import { join } from 'node:path';
import BetterSqlite from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import { MIGRATIONS } from '../../src/storage/migrations/index.js';
import type { Migration } from '../../src/storage/migrations/migration.js';
import { migrate } from '../../src/storage/sqlite/migrate.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { dump } from './faults.js';
import { tempFolder } from './support.js';

const one: Migration = { name: '0001-one', sqlite: 'CREATE TABLE a (x INTEGER) STRICT;' };
const two: Migration = { name: '0002-two', sqlite: 'CREATE TABLE b (y INTEGER) STRICT; INSERT INTO b VALUES (1);' };
const broken: Migration = { name: '0002-broken', sqlite: 'CREATE TABLE b (y INTEGER) STRICT; CREATE TABLE a (x);' };

const opened = () => new BetterSqlite(join(tempFolder(), 'test.db'));
const mismatch = (words: RegExp) =>
  expect.objectContaining({ code: 'migration-mismatch', message: expect.stringMatching(words) });

describe('migrations', () => {
  it('go from any point of the history to the newest, each once', () => {
    const db = opened();
    expect(migrate(db, [one])).toEqual(['0001-one']);
    expect(migrate(db, [one, two])).toEqual(['0002-two']);
    expect(migrate(db, [one, two])).toEqual([]);
    expect(db.prepare('SELECT count(*) FROM b').pluck().get()).toBe(1);
    db.close();
  });

  it('refuse a history in which a step reads differently, with what was expected, what came and how to mend', () => {
    const db = opened();
    migrate(db, [one, two]);
    expect(() => migrate(db, [one, { ...two, sqlite: `${two.sqlite} ` }])).toThrow(
      mismatch(/Migration 2 .*Expected 0002-two \([0-9a-f]{12}\), got 0002-two \([0-9a-f]{12}\)\. .*restore/),
    );
    expect(() => migrate(db, [{ ...one, name: '0001-first' }, two])).toThrow(mismatch(/0001-first.*0001-one/));
    db.close();
  });

  it('refuse a database of a newer version', () => {
    const db = opened();
    migrate(db, [one, two]);
    expect(() => migrate(db, [one])).toThrow(mismatch(/newer version.*0001-one.*0002-two/));
    db.close();
  });

  it('refuse a database of somebody else and leave it as it is', () => {
    const db = opened();
    db.exec('CREATE TABLE recipes (name TEXT)');
    expect(() => migrate(db, [one])).toThrow(mismatch(/not a Leafturn database.*recipes/));
    expect(db.prepare('SELECT name FROM sqlite_schema').pluck().all()).toEqual(['recipes']);
    db.close();
  });

  it('that fail leave the form from before', () => {
    const db = opened();
    migrate(db, [one]);
    expect(() => migrate(db, [one, broken])).toThrow(/already exists/);
    expect(db.prepare(`SELECT name FROM sqlite_schema WHERE type = 'table'`).pluck().all()).toEqual([
      'migrations',
      'a',
    ]);
    expect(migrate(db, [one, two])).toEqual(['0002-two']);
    db.close();
  });

  it('of this version are numbered in order and recorded at opening', async () => {
    expect(MIGRATIONS.map((migration) => migration.name.slice(0, 4))).toEqual(
      MIGRATIONS.map((_, index) => String(index + 1).padStart(4, '0')),
    );
    const path = join(tempFolder(), 'test.db');
    await (await openSqliteStorage({ path, zoneOf: () => 'UTC' })).close();
    expect(dump(path).migrations).toEqual(
      MIGRATIONS.map(({ name }, index) => ({ number: index + 1, name, hash: expect.stringMatching(/^[0-9a-f]{64}$/) })),
    );
  });
});
