import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { createKeeper } from '../../../src/advice/keeper.js';
import { acceleratedClock } from '../../../src/app/clock.js';
import { zoneOfSite } from '../../../src/app/commands/storage.js';
import { DEMO_CONFIG } from '../../../src/app/config/paths.js';
import { type AppendJournal, createDemo, type DemoMessage, type HandOver } from '../../../src/app/demo/demo.js';
import { appendThrough, commitThrough, demoStanding } from '../../../src/app/demo/feed.js';
import { DEMO_SITES } from '../../../src/app/demo/scenario.js';
import { seasonAt, usualStep } from '../../../src/app/demo/season.js';
import { tellStory } from '../../../src/app/demo/story.js';
import { loadConfig } from '../../../src/config.js';
import { livingBatches } from '../../../src/domain/collection.js';
import { LeafturnError } from '../../../src/domain/errors.js';
import { PHASES } from '../../../src/domain/plants.js';
import { addDays, localDayOf } from '../../../src/domain/time.js';
import { createForecasts } from '../../../src/forecast/forecasts.js';
import { Intake } from '../../../src/ingest/intake.js';
import { openSqliteStorage } from '../../../src/storage/sqlite.js';

const folder = mkdtempSync(join(tmpdir(), 'leafturn-demo-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const config = loadConfig(DEMO_CONFIG, { env: { LEAFTURN_DATA: folder } });
const NOW = Date.UTC(2026, 4, 20, 9);
const DAYS = 60;
/** The demo with hourly readings and half the days: the same story and weather in a fraction of the time. */
const hourly = { ...config, demo: { seed: 20, historyDays: DAYS, readingMinutes: 60 } };

/** A service's inside without brokers and pages: real database, real intake, real keeper. */
async function garden(name: string, now: number) {
  const storage = await openSqliteStorage({ path: join(folder, name), zoneOf: zoneOfSite(config) });
  const intake = new Intake({
    mappings: config.sensors,
    knowsHouse: (siteId, houseId) =>
      config.sites.some(({ id, houses }) => id === siteId && houses.some((house) => house.id === houseId)),
  });
  const { catalogue } = config;
  const keeper = createKeeper({
    storage,
    sites: () => config.sites,
    ids: () => ({
      groups: catalogue.speciesGroups.map(({ id }) => id),
      pots: catalogue.pots.map(({ id }) => id),
      mixes: catalogue.mixes.map(({ id }) => id),
    }),
    now: () => now,
  });
  const forecasts = await createForecasts({
    storage,
    sites: () => config.sites,
    sources: () => [],
    clock: { now: () => now, waitUntil: () => Promise.reject(new Error('nobody waits here')) },
    random: () => 0,
    program: 'leafturn/test',
  });
  return { storage, keeper, forecasts, commit: commitThrough(intake, storage.readings), append: appendThrough(keeper) };
}

const withoutJournal: AppendJournal = async (_siteId, drafts) => drafts.map(() => ({ id: 1 }));
async function messagesOf(demo: ReturnType<typeof createDemo>, since?: number): Promise<DemoMessage[]> {
  const messages: DemoMessage[] = [];
  const collect = async (some: readonly DemoMessage[]): Promise<void> => void messages.push(...some);
  await demo.history(collect, withoutJournal, undefined, since === undefined ? {} : { since });
  return messages;
}

describe('the scenario', () => {
  it('has two sites in opposite hemispheres, at least five houses and sixty batches over every species group', () => {
    const latitudes = config.sites.map((site) => Math.sign(site.latitude));
    expect(new Set(latitudes)).toEqual(new Set([1, -1]));
    const houses = DEMO_SITES.flatMap((site) => site.benches.map((bench) => bench.houseId));
    expect(new Set(houses).size).toBeGreaterThanOrEqual(5);
    const batches = DEMO_SITES.flatMap((site) => site.batches);
    expect(batches.length).toBeGreaterThanOrEqual(60);
    expect(new Set(batches.map(({ group }) => group))).toEqual(
      new Set(config.catalogue.speciesGroups.map(({ id }) => id)),
    );
    expect(batches.some(({ ageMonths }) => ageMonths < 12)).toBe(true);
  });

  it('has watering lines that carry several groups, and benches watered by hand', () => {
    const mixed = DEMO_SITES.flatMap(({ benches, batches }) => {
      const lines = new Set(benches.flatMap(({ lineId }) => (lineId === undefined ? [] : [lineId])));
      return [...lines].filter((line) => {
        const onLine = benches.filter(({ lineId }) => lineId === line).map(({ id }) => id);
        return new Set(batches.filter(({ benchId }) => onLine.includes(benchId)).map(({ group }) => group)).size > 3;
      });
    });
    expect(mixed.length).toBeGreaterThanOrEqual(4);
    expect(DEMO_SITES.every(({ benches }) => benches.some(({ lineId }) => lineId === undefined))).toBe(true);
  });

  it('stands in the houses and on the lines of the demo’s site file', () => {
    for (const { siteId, benches, sensors } of DEMO_SITES) {
      const site = config.sites.find(({ id }) => id === siteId);
      const houses = new Map(site?.houses.map((house) => [house.id, house.lines.map(({ id }) => id)]));
      for (const { houseId, lineId } of benches) {
        expect(houses.has(houseId)).toBe(true);
        if (lineId !== undefined) expect(houses.get(houseId)).toContain(lineId);
      }
      for (const { houseId } of sensors) expect(houses.has(houseId)).toBe(true);
    }
  });

  it('shows at least three phases at once on any day, and in a year all but ripening seed', () => {
    const inTheYear = new Set<string>();
    for (let month = 0; month < 12; month++) {
      const at = Date.UTC(2026, month, 15);
      const phases = new Set(
        config.sites.flatMap(({ id, latitude }) =>
          (DEMO_SITES.find(({ siteId }) => siteId === id)?.batches ?? []).map(({ group }) => {
            const found = config.catalogue.speciesGroups.find((one) => one.id === group);
            return found && usualStep(found, seasonAt(at, latitude)).phase;
          }),
        ),
      );
      expect(phases.size, `month ${month + 1}: ${[...phases].join(', ')}`).toBeGreaterThanOrEqual(3);
      for (const phase of phases) inTheYear.add(phase ?? '');
    }
    expect([...inTheYear].sort()).toEqual(PHASES.filter((phase) => phase !== 'seed-set').sort());
  });
});

describe('history', () => {
  it('goes through intake and keeper into a real database, and the database is sound', async () => {
    const { storage, keeper, forecasts, commit, append } = await garden('whole.sqlite', NOW);
    const demo = createDemo({ config: hourly, now: NOW });
    const shares: number[] = [];
    const handOver: HandOver = ({ siteId, body, receivedAt }) => forecasts.push(siteId, body, 'demo', receivedAt);
    await demo.history(commit, append, (done, total) => shares.push(done / total), { handOver });
    expect(shares.at(-1)).toBe(1);
    expect([...shares].sort((a, b) => a - b)).toEqual(shares);

    for (const site of config.sites) {
      const living = livingBatches(await keeper.collection(site.id));
      expect(living.length).toBeGreaterThanOrEqual(30);
      expect(living.some((batch) => batch.signs.has('rot'))).toBe(true);
      expect(living.some((batch) => batch.substrate?.value === 'still-moist')).toBe(true);
      expect(living.some((batch) => batch.phase !== undefined)).toBe(true);
      expect(living.some((batch) => batch.phase === undefined)).toBe(true);
      const entries = await storage.journal.all(site.id);
      const kinds = new Set(entries.map(({ event }) => event.kind));
      for (const kind of [
        'watering',
        'signs',
        'cloth',
        'repotting',
        'loss',
        'batch-moved',
        'batch-split',
        'undo',
        'note',
      ])
        expect(kinds, site.id).toContain(kind);
      expect(entries.some(({ happenedAt, enteredAt }) => enteredAt - happenedAt > 36 * 3_600_000)).toBe(true);
      expect(Math.max(...entries.map(({ enteredAt }) => enteredAt))).toBeLessThan(NOW);

      // Forecasts of forty days, held against the outdoor sensor.
      expect(await storage.forecasts.range(site.id, { from: 0, to: NOW + 1 })).toHaveLength(160);
      expect((await forecasts.corrected(site.id, NOW))?.learned.days).toBe(41);

      // Every house was heard to the end, and every local day of the history has its roll-up.
      const today = localDayOf(site.zone, NOW);
      const days = await storage.readings.daily(
        { siteId: site.id, quantities: ['airTempC'], placement: 'inside' },
        addDays(today, 1 - DAYS),
        addDays(today, -1),
      );
      expect(new Set(days.map(({ series }) => series.houseId))).toEqual(new Set(site.houses.map(({ id }) => id)));
      for (const { days: rollUps } of days) {
        expect(rollUps.length).toBeGreaterThanOrEqual(DAYS - 3);
        expect(Math.max(...rollUps.map(({ max }) => max))).toBeLessThan(55);
        expect(Math.min(...rollUps.map(({ min }) => min))).toBeGreaterThan(-25);
      }
    }
    // Trouble with sensors is there, and only of the kinds that were put in.
    const reasons = (await storage.refusals.counts()).map(({ reason }) => reason);
    expect(new Set(reasons)).toEqual(new Set(['malformed-json', 'out-of-range']));
    expect((await storage.upkeep.check()).ok).toBe(true);

    const standing = await demoStanding(
      storage,
      config.sites.map(({ id }) => id),
    );
    expect(standing?.since).toBe(Math.floor(NOW / 3_600_000) * 3_600_000);
    await storage.close();
  });

  it('has for every month a batch replacing its leaves whose new pair is soft as well', () => {
    const { catalogue } = config;
    for (let month = 1; month <= 12; month++) {
      const lastDay = `2027-${String(month).padStart(2, '0')}-10`;
      const entries = config.sites.flatMap((site) => {
        const demo = DEMO_SITES.find(({ siteId }) => siteId === site.id);
        return demo ? tellStory({ site, demo, catalogue, seed: 20, firstDay: addDays(lastDay, -14), lastDay }) : [];
      });
      const soft = entries.filter(
        ({ event }) => event.kind === 'signs' && event.newPair === 'soft' && event.oldPair === 'soft',
      );
      expect(soft.length, `month ${month}`).toBeGreaterThanOrEqual(1);
    }
  });

  it('follows from seed and day alone', async () => {
    const short = { ...hourly, demo: { ...hourly.demo, historyDays: 14 } };
    const once = await messagesOf(createDemo({ config: short, now: NOW }));
    expect(await messagesOf(createDemo({ config: short, now: NOW }))).toEqual(once);
    expect(await messagesOf(createDemo({ config: short, now: NOW, seed: 21 }))).not.toEqual(once);
  });

  it('goes on after a stop as if it had never stopped, and tells its journal only once', async () => {
    const short = { ...hourly, demo: { ...hourly.demo, historyDays: 14 } };
    const later = NOW + 9 * 3_600_000;
    const first = createDemo({ config: short, now: NOW });
    const begun = await messagesOf(first);
    const resumed = createDemo({ config: short, now: later, begunAt: first.startMs + 86_400_000 / 2 });
    const since = Math.floor(NOW / 3_600_000) * 3_600_000;
    let entries = 0;
    const rest: DemoMessage[] = [];
    await resumed.history(
      async (some) => void rest.push(...some),
      async (_siteId, drafts) => {
        entries += drafts.length;
        return [];
      },
      undefined,
      { since },
    );
    expect(entries).toBe(0);
    const unbroken = await messagesOf(
      createDemo({ config: short, now: later, begunAt: first.startMs + 86_400_000 / 2 }),
    );
    expect([...begun, ...rest]).toEqual(unbroken);
  });

  it('is refused for a site file that is not the demo’s', () => {
    const { demo: _demo, ...real } = config;
    expect(() => createDemo({ config: real, now: NOW })).toThrow(LeafturnError);
  });
});

describe('live', () => {
  it('sends what the sensors measure as the clock runs, until it is told to stop', async () => {
    const demo = createDemo({ config: hourly, now: NOW });
    const stop = new AbortController();
    const sent: { topic: string; ts: number }[] = [];
    // Four hours of the demo in a tenth of a second.
    const clock = acceleratedClock(NOW, 144_000);
    await demo.live(
      async (topic, payload) => {
        if (payload.endsWith('}') && !topic.endsWith('forecast'))
          sent.push({ topic, ts: (JSON.parse(payload) as { ts: number }).ts });
        if (sent.length > 40) stop.abort();
      },
      clock,
      stop.signal,
    );
    expect(new Set(sent.map(({ topic }) => topic)).size).toBeGreaterThanOrEqual(15);
    expect(Math.min(...sent.map(({ ts }) => ts))).toBeGreaterThan(NOW - 3_600_000);
  });

  it('hands a forecast of every site over when it is issued', async () => {
    const demo = createDemo({ config: hourly, now: NOW });
    const stop = new AbortController();
    const topics: string[] = [];
    await demo.live(
      async (topic, payload) => {
        if (!topic.endsWith('/forecast')) return;
        topics.push(topic);
        // 09:00 is now; the next issue is that of 12:00.
        expect((JSON.parse(payload) as { issuedAt: number }).issuedAt).toBe(Date.UTC(2026, 4, 20, 12));
        if (topics.length === config.sites.length) stop.abort();
      },
      acceleratedClock(NOW, 144_000),
      stop.signal,
    );
    expect(topics).toEqual(config.sites.map(({ id }) => `demo/${id}/forecast`));
  });
});
