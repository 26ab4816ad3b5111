import { join } from 'node:path';
import BetterSqlite from 'better-sqlite3';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ForecastHour, IssuedForecast } from '../../src/domain/forecast.js';
import { packHours, unpackHours } from '../../src/storage/pack-forecast.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { dump } from './faults.js';
import { openTemp, T0, tempFolder } from './support.js';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

const hour = (at: number, airTempC: number | null, more: Partial<ForecastHour> = {}): ForecastHour => ({
  at,
  airTempC,
  relHumidityPct: null,
  radiationWm2: null,
  cloudPct: null,
  windMs: null,
  rainMm: null,
  ...more,
});
const forecast = (issuedAt: number, more: Partial<IssuedForecast> = {}): IssuedForecast => ({
  siteId: 'hill',
  source: 'weather',
  issuedAt,
  receivedAt: issuedAt + 60_000,
  hours: [0, 1, 2, 5].map((after) => hour(issuedAt + after * HOUR_MS, 10 + after, { cloudPct: 40 })),
  ...more,
});

describe('keeping', () => {
  it('gives a forecast back as it was issued, after a restart too', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
    expect(await storage.forecasts.save(forecast(T0))).toBe('kept');
    await storage.close();
    const again = await openTemp('UTC', path);
    expect(await again.forecasts.latestBefore('hill', T0 + DAY_MS)).toEqual(forecast(T0));
  });

  it('keeps the same issue once, and the first one when another comes under its name', async () => {
    const storage = await openTemp();
    await storage.forecasts.save(forecast(T0));
    expect(await storage.forecasts.save(forecast(T0, { receivedAt: T0 + DAY_MS }))).toBe('known');
    expect(await storage.forecasts.save(forecast(T0, { hours: [hour(T0, 99)] }))).toBe('differs');
    expect(await storage.forecasts.save(forecast(T0, { source: 'neighbour' }))).toBe('kept');
    expect(await storage.forecasts.save(forecast(T0, { siteId: 'dale' }))).toBe('kept');
    expect(await storage.forecasts.range('hill', { from: 0, to: T0 + DAY_MS, source: 'weather' })).toEqual([
      forecast(T0),
    ]);
  });

  it('loses nothing in packing, whatever the hours', async () => {
    const value = fc.option(fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e4, max: 1e4 }), { nil: null });
    const hours = fc.uniqueArray(fc.integer({ min: 0, max: 400 }), { maxLength: 60 }).chain((after) =>
      fc.tuple(
        ...after
          .sort((a, b) => a - b)
          .map((one) =>
            fc.record({
              at: fc.constant(T0 + one * HOUR_MS),
              airTempC: value,
              relHumidityPct: value,
              radiationWm2: value,
              cloudPct: value,
              windMs: value,
              rainMm: value,
            }),
          ),
      ),
    );
    await fc.assert(
      fc.asyncProperty(hours, async (some) => {
        // JSON has one zero.
        const plain = some.map((one) => JSON.parse(JSON.stringify(one)) as ForecastHour);
        expect(await unpackHours(await packHours(plain))).toEqual(plain);
      }),
      { numRuns: 50 },
    );
  });

  it('takes about 2 kB for ten days of hours', async () => {
    const hours = Array.from({ length: 240 }, (_, after) =>
      hour(T0 + after * HOUR_MS, Math.round(100 * Math.sin(after / 4)) / 10, {
        relHumidityPct: Math.round(60 + 30 * Math.cos(after / 4)),
        cloudPct: (after * 37) % 101,
        windMs: ((after * 13) % 90) / 10,
        rainMm: 0,
      }),
    );
    expect((await packHours(hours)).length).toBeLessThan(2500);
  });
});

describe('what was known at a time', () => {
  it('is the newest issue that had arrived, not one that came later', async () => {
    const storage = await openTemp();
    const early = forecast(T0);
    const delayed = forecast(T0 + HOUR_MS, { receivedAt: T0 + 5 * HOUR_MS });
    const late = forecast(T0 + 3 * HOUR_MS);
    for (const one of [late, early, delayed]) await storage.forecasts.save(one);
    const known = (at: number) => storage.forecasts.latestBefore('hill', at);
    expect(await known(T0)).toBeUndefined();
    expect(await known(T0 + 60_000)).toEqual(early);
    expect(await known(T0 + 2 * HOUR_MS)).toEqual(early);
    expect(await known(T0 + 4 * HOUR_MS)).toEqual(late);
    // The delayed one is older than what is known by then.
    expect(await known(T0 + 6 * HOUR_MS)).toEqual(late);
    expect(await storage.forecasts.latestBefore('nowhere', T0 + DAY_MS)).toBeUndefined();
  });

  it('can be asked of some sources only, or of all but some', async () => {
    const storage = await openTemp();
    const own = forecast(T0, { source: 'own' });
    const weather = forecast(T0 + HOUR_MS);
    for (const one of [own, weather]) await storage.forecasts.save(one);
    const at = T0 + DAY_MS;
    expect(await storage.forecasts.latestBefore('hill', at, { only: ['own'] })).toEqual(own);
    expect(await storage.forecasts.latestBefore('hill', at, { except: ['weather'] })).toEqual(own);
    expect(await storage.forecasts.latestBefore('hill', at, { except: [] })).toEqual(weather);
    expect(await storage.forecasts.latestBefore('hill', at, { only: [] })).toBeUndefined();
    expect(await storage.forecasts.latestBefore('hill', at, { except: ['own', 'weather'] })).toBeUndefined();
  });
});

describe('a range', () => {
  it('holds what was issued in it, by rising issue, thinned out where that is asked', async () => {
    const storage = await openTemp();
    const issues = Array.from({ length: 40 }, (_, index) => forecast(T0 + index * HOUR_MS));
    for (const one of [...issues].reverse()) await storage.forecasts.save(one);
    await storage.forecasts.save(forecast(T0 + HOUR_MS, { source: 'own' }));
    const starts = async (query: object) =>
      (await storage.forecasts.range('hill', { from: T0, to: T0 + 40 * HOUR_MS, ...query })).map(
        ({ source, issuedAt }) => `${source} ${(issuedAt - T0) / HOUR_MS}`,
      );
    expect(await starts({ source: 'weather' })).toEqual(issues.map((_, index) => `weather ${index}`));
    expect(await starts({ from: T0 + 2 * HOUR_MS, to: T0 + 4 * HOUR_MS })).toEqual(['weather 2', 'weather 3']);
    expect(await starts({ spacingMs: 12 * HOUR_MS })).toEqual([
      'weather 0',
      'own 1',
      'weather 12',
      'weather 24',
      'weather 36',
    ]);
  });
});

describe('pulls', () => {
  it('are remembered per site and source, newest state only', async () => {
    const storage = await openTemp();
    expect(await storage.forecasts.pull('hill', 'weather')).toBeUndefined();
    const state = {
      askedAs: 'abc',
      nextAt: T0 + HOUR_MS,
      answeredAt: T0,
      lastModified: 'Mon, 01 Jun 2026 00:00:00 GMT',
      etag: null,
      failures: 0,
      trouble: null,
      troubleAt: null,
    };
    await storage.forecasts.setPull('hill', 'weather', state);
    const worse = { ...state, failures: 2, trouble: 'It did not answer.', troubleAt: T0 + 5 };
    await storage.forecasts.setPull('hill', 'weather', worse);
    expect(await storage.forecasts.pull('hill', 'weather')).toEqual(worse);
    expect(await storage.forecasts.pull('dale', 'weather')).toBeUndefined();
  });
});

describe('pruning', () => {
  it('takes forecasts that came longer ago than is kept, a few at a time', async () => {
    const path = join(tempFolder(), 'test.db');
    const storage = await openTemp('UTC', path);
    const hours = await packHours([hour(T0, 1)]);
    // Written from beside in one transaction: a thousand single ones take their time.
    const db = new BetterSqlite(path);
    const insert = db.prepare(
      'INSERT INTO forecasts (site_id, source, issued_at, received_at, hours_deflated) VALUES (?, ?, ?, ?, ?)',
    );
    db.transaction(() => {
      for (let index = 0; index < 1100; index += 1)
        insert.run('hill', 'weather', T0 + index * HOUR_MS, T0 + index * HOUR_MS, hours);
    })();
    db.close();
    const retention = {
      readingsDays: 100,
      hourlyDays: 100,
      refusalsKept: 100,
      idempotencyHours: 48,
      roundRevisionsDays: 30,
      forecastsDays: 90,
    };
    // All but the last 50 hours are older than 90 days by then.
    const at = T0 + 1050 * HOUR_MS + 90 * DAY_MS;
    const counts = () => dump(path).forecasts?.length;
    const more: boolean[] = [];
    const left: (number | undefined)[] = [];
    do {
      more.push(await storage.upkeep.pruneStep(retention, at));
      left.push(counts());
    } while (more.at(-1));
    expect(left).toEqual([600, 100, 50]);
    expect(more).toEqual([true, true, false]);
    expect(await storage.forecasts.latestBefore('hill', at)).toMatchObject({ issuedAt: T0 + 1099 * HOUR_MS });
  });
});
