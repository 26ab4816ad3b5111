import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { Retention } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { sampleFacts, sampleRound } from './round-sample.js';
import { openTemp, T0, tempFolder } from './support.js';

const DAY_MS = 86_400_000;
const retention: Retention = {
  readingsDays: 90,
  hourlyDays: 900,
  refusalsKept: 10,
  idempotencyHours: 1,
  roundRevisionsDays: 7,
  forecastsDays: 400,
};

describe('rounds', () => {
  it('come back to the byte with their facts, over several lines and houses, after opening again', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
    const [house] = sampleRound(430).houses;
    const [other] = sampleRound(3).houses;
    if (!house || !other) throw new Error('the sample has a house');
    const empty = { ...other, houseId: 'empty-house', lines: [] };
    const round = sampleRound(0, { houses: [house, empty, { ...other, houseId: 'south-house' }] });
    const facts = sampleFacts(433);
    const saved = await storage.rounds.save(round, facts);
    expect(saved).toEqual({ ...round, revision: 1 });
    await storage.close();

    const again = await openTemp('UTC', path);
    const stored = await again.rounds.get('hill', '2026-06-01', 1);
    expect(JSON.stringify(stored?.round)).toBe(JSON.stringify(saved));
    expect(JSON.stringify(stored?.facts)).toBe(JSON.stringify(facts));
    expect(await again.rounds.facts('hill', '2026-06-01', 1)).toEqual(facts);
    expect(await again.rounds.facts('hill', '2026-06-01', 2)).toBeUndefined();
    expect(await again.rounds.latest('hill', '2026-06-01')).toEqual(saved);
  });

  it('of before there were tasks are read as lists without any', async () => {
    const storage = await openTemp();
    const { tasks: _none, ...old } = sampleRound(2);
    await storage.rounds.save(old as ReturnType<typeof sampleRound>, {});
    const stored = await storage.rounds.get('hill', '2026-06-01', 1);
    expect(stored?.round).toEqual({ ...old, tasks: [], revision: 1 });
  });

  it('of one day get rising revisions, also when two are saved at once', async () => {
    const storage = await openTemp();
    const saved = await Promise.all(
      [1, 2, 3].map((journalId) => storage.rounds.save(sampleRound(1, { journalId }), {})),
    );
    expect(saved.map((round) => round.revision).sort()).toEqual([1, 2, 3]);
    const latest = await storage.rounds.latest('hill', '2026-06-01');
    expect(latest).toEqual(saved.find((round) => round.revision === 3));
    expect((await storage.rounds.save(sampleRound(1, { day: '2026-06-02' }), {})).revision).toBe(1);
    expect((await storage.rounds.save(sampleRound(1, { siteId: 'valley' }), {})).revision).toBe(1);
  });

  it('are found by day: the newest of a day, the newest day, and the days behind', async () => {
    const storage = await openTemp();
    for (const [day, madeAt] of [
      ['2026-06-01', 1],
      ['2026-06-01', 2],
      ['2026-06-03', 3],
    ] as const) {
      await storage.rounds.save(sampleRound(1, { day, madeAt }), { 'batch-0': { x: madeAt } });
    }
    expect(await storage.rounds.latest('hill', '2026-06-01')).toMatchObject({ revision: 2, madeAt: 2 });
    expect(await storage.rounds.latest('hill', '2026-06-02')).toBeUndefined();
    expect(await storage.rounds.get('hill', '2026-06-01', 1)).toMatchObject({ facts: { 'batch-0': { x: 1 } } });
    expect(await storage.rounds.get('hill', '2026-06-01', 3)).toBeUndefined();
    expect(await storage.rounds.latestDay('hill', '2026-06-02')).toBe('2026-06-01');
    expect(await storage.rounds.latestDay('hill', '2026-05-31')).toBeUndefined();
    expect(await storage.rounds.days('hill', { limit: 5 })).toEqual([
      { day: '2026-06-03', revision: 1, madeAt: 3 },
      { day: '2026-06-01', revision: 2, madeAt: 2 },
    ]);
    expect(await storage.rounds.days('hill', { before: '2026-06-03', limit: 1 })).toEqual([
      { day: '2026-06-01', revision: 2, madeAt: 2 },
    ]);
  });

  it('show a revision that another program saved', async () => {
    const path = join(tempFolder(), 'test.db');
    const [one, other] = [await openTemp('UTC', path), await openTemp('UTC', path)];
    await one.rounds.save(sampleRound(1), {});
    await other.rounds.save(sampleRound(2), {});
    expect(await one.rounds.latest('hill', '2026-06-01')).toMatchObject({ revision: 2, counts: { none: 2 } });
  });

  it('keep of old days the last revision alone', async () => {
    const storage = await openTemp();
    for (const day of ['2026-06-01', '2026-06-01', '2026-06-01', '2026-06-09', '2026-06-09']) {
      await storage.rounds.save(sampleRound(1, { day }), {});
    }
    await storage.upkeep.pruneStep(retention, T0 + 10 * DAY_MS);
    expect(await storage.rounds.get('hill', '2026-06-01', 2)).toBeUndefined();
    expect(await storage.rounds.get('hill', '2026-06-01', 3)).toBeDefined();
    expect(await storage.rounds.get('hill', '2026-06-09', 1)).toBeDefined();
  });
});
