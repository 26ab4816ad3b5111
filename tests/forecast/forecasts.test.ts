import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { IssuedForecast } from '../../src/domain/forecast.js';
import { createForecasts, type ForecastParts } from '../../src/forecast/forecasts.js';
import type { PulledSource } from '../../src/forecast/pulling.js';
import type { PushedForecast } from '../../src/forecast/pushed.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { openTemp, tempFolder } from '../storage/support.js';
import { HOUR_MS, HOUR_NOW, json, moments, NOW, SITE, sourceAt, TestClock, weatherService } from './support.js';

const MINUTE = 60_000;

async function open(sources: readonly PulledSource[], more: Partial<ForecastParts> = {}) {
  const storage = more.storage ?? (await openTemp());
  const clock = (more.clock as TestClock | undefined) ?? new TestClock();
  const heard: IssuedForecast[] = [];
  const troubles: string[] = [];
  const errors: unknown[] = [];
  const forecasts = await createForecasts({
    storage,
    clock,
    sites: () => [SITE],
    sources: () => sources,
    random: () => 0,
    program: 'leafturn/1.2.3',
    timeoutMs: 20_000,
    onTrouble: (_site, _source, trouble) => troubles.push(trouble),
    onError: (error) => errors.push(error),
    ...more,
  });
  forecasts.onForecast((forecast) => heard.push(forecast));
  const stopping = new AbortController();
  return {
    forecasts,
    storage,
    clock,
    heard,
    troubles,
    errors,
    run: () => {
      const running = forecasts.run(stopping.signal).catch(() => {});
      return async () => {
        stopping.abort();
        await running;
      };
    },
  };
}

const pushed = (issuedAt: number, hours = 48, airTempC = 20): PushedForecast => ({
  issuedAt,
  hours: Array.from({ length: hours }, (_, after) => ({
    at: Math.floor(issuedAt / HOUR_MS) * HOUR_MS + after * HOUR_MS,
    airTempC,
  })),
});

describe('without anything set up', () => {
  it('there is no forecast, and nothing is amiss', async () => {
    const { forecasts } = await open([]);
    expect(await forecasts.latest('hill', NOW)).toBeUndefined();
    expect(await forecasts.corrected('hill', NOW)).toBeUndefined();
    expect(forecasts.status('hill')).toEqual({
      state: 'not-set-up',
      source: null,
      issuedAt: null,
      ageHours: null,
      trouble: null,
      troubleAt: null,
      warning: null,
    });
  });
});

describe('asking', () => {
  it('goes on by itself, when each source is due', async () => {
    const weather = await weatherService();
    const { clock, run, heard, forecasts } = await open([sourceAt(weather.url)]);
    weather.answer = (request, response) => json(moments(HOUR_NOW, 72, clock.now()))(request, response);
    const stop = run();
    await clock.moveTo(NOW + 150 * MINUTE);
    expect(heard.map(({ issuedAt }) => (issuedAt - NOW) / MINUTE)).toEqual([0, 60, 120]);
    expect(weather.requests).toHaveLength(3);
    expect(await forecasts.latest('hill', clock.now())).toEqual(heard[2]);
    // What was known in the meantime is found again.
    expect(await forecasts.latest('hill', NOW + 90 * MINUTE)).toEqual(heard[1]);
    expect(forecasts.status('hill')).toMatchObject({ state: 'fresh', source: 'weather', ageHours: 0.5, warning: null });
    await stop();
  });

  it('waits out the time of the source over a restart', async () => {
    const path = join(tempFolder(), 'test.db');
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 72, NOW), { 'cache-control': 'max-age=7200' });
    const clock = new TestClock();
    for (let start = 0; start < 3; start += 1) {
      const storage = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
      const { run } = await open([sourceAt(weather.url)], { storage, clock });
      const stop = run();
      await clock.moveTo(clock.now() + 10 * MINUTE);
      await stop();
      await storage.close();
    }
    expect(weather.requests).toHaveLength(1);
  });

  it('takes up a source that was added, and lets one go that was taken out', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 72, NOW));
    const sources: PulledSource[] = [];
    const { clock, run } = await open(sources);
    const stop = run();
    await clock.moveTo(NOW + 10 * MINUTE);
    expect(weather.requests).toHaveLength(0);
    sources.push(sourceAt(weather.url));
    await clock.moveTo(NOW + 16 * MINUTE);
    expect(weather.requests).toHaveLength(1);
    sources.pop();
    await clock.moveTo(NOW + 5 * HOUR_MS);
    expect(weather.requests).toHaveLength(1);
    await stop();
  });

  it('asks only for the sites a source is for', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 72, NOW));
    const dale = { ...SITE, id: 'dale', latitude: 10 };
    const { clock, run, heard } = await open([sourceAt(weather.url, { sites: ['dale'] })], {
      sites: () => [SITE, dale],
    });
    const stop = run();
    await clock.moveTo(NOW + MINUTE);
    expect(heard.map(({ siteId }) => siteId)).toEqual(['dale']);
    await stop();
  });

  it('keeps the last good forecast in trouble, tells the trouble once, and warns when the forecast grows old', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 72, NOW));
    const { clock, run, troubles, forecasts } = await open([sourceAt(weather.url)]);
    const stop = run();
    await clock.moveTo(NOW + MINUTE);
    weather.answer = json({}, {}, 503);
    await clock.moveTo(NOW + 5 * HOUR_MS);
    const host = weather.url.replace('http://', '');
    expect(troubles).toEqual([`${host} has trouble of its own (503).`]);
    expect(weather.requests.length).toBeGreaterThan(4);
    expect(weather.requests.length).toBeLessThan(10);
    expect(forecasts.status('hill')).toMatchObject({
      state: 'fresh',
      ageHours: 5,
      trouble: `${host} has trouble of its own (503).`,
      warning: null,
    });
    await clock.moveTo(NOW + 14 * HOUR_MS);
    expect(await forecasts.latest('hill', clock.now())).toMatchObject({ issuedAt: NOW });
    expect(forecasts.status('hill').warning).toBe(
      `The outdoor forecast is 14 hours old and still in use. ${host} has trouble of its own (503).`,
    );
    await clock.moveTo(NOW + 37 * HOUR_MS);
    expect(await forecasts.latest('hill', clock.now())).toBeUndefined();
    expect(forecasts.status('hill')).toMatchObject({
      state: 'too-old',
      warning: expect.stringContaining(
        '37 hours old and no longer used: coming days are taken to be like the last ones.',
      ),
    });
    await stop();
  });

  it('says so when there never was one', async () => {
    const weather = await weatherService();
    weather.answer = json({}, {}, 403);
    const { clock, run, forecasts } = await open([sourceAt(weather.url)]);
    expect(forecasts.status('hill')).toMatchObject({ state: 'none', warning: null });
    const stop = run();
    await clock.moveTo(NOW + MINUTE);
    expect(forecasts.status('hill').warning).toMatch(/^No outdoor forecast has come yet\. .* refuses us\./);
    await stop();
  });

  it('goes on when the database cannot take it, and does not ask again and again', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 72, NOW));
    const storage = await openTemp();
    const broken = {
      readings: storage.readings,
      forecasts: { ...storage.forecasts, save: () => Promise.reject(new Error('the disk is full')) },
    };
    const { clock, run, errors } = await open([sourceAt(weather.url)], { storage: broken });
    const stop = run();
    await clock.moveTo(NOW + 90 * MINUTE);
    expect(errors).toHaveLength(2);
    expect(weather.requests).toHaveLength(2);
    await stop();
  });
});

describe('handing over', () => {
  it('keeps what is new, knows what it has, and does not let an issue be changed', async () => {
    const { forecasts, heard } = await open([]);
    const body = pushed(NOW - HOUR_MS);
    expect(await forecasts.push('hill', body, 'station')).toMatchObject({
      outcome: 'kept',
      forecast: { source: 'station' },
    });
    expect((await forecasts.push('hill', body, 'station')).outcome).toBe('known');
    expect(heard).toHaveLength(1);
    await expect(forecasts.push('hill', pushed(NOW - HOUR_MS, 48, 21), 'station')).rejects.toMatchObject({
      code: 'conflict',
    });
    await expect(forecasts.push('dale', body, 'station')).rejects.toMatchObject({ code: 'not-found' });
    expect(await forecasts.latest('hill', NOW)).toEqual(heard[0]);
  });

  it('goes before what is asked for while it is fresh, and after it when it is not', async () => {
    const weather = await weatherService();
    const { forecasts, clock, run } = await open([sourceAt(weather.url)]);
    weather.answer = (request, response) => json(moments(HOUR_NOW, 72, clock.now()))(request, response);
    await forecasts.push('hill', pushed(NOW), 'station');
    const stop = run();
    await clock.moveTo(NOW + 11 * HOUR_MS);
    expect(await forecasts.latest('hill', clock.now())).toMatchObject({ source: 'station' });
    await clock.moveTo(NOW + 13 * HOUR_MS);
    expect(await forecasts.latest('hill', clock.now())).toMatchObject({ source: 'weather' });
    await stop();
  });

  it('a forecast that ends soon is used to its end and no further', async () => {
    const { forecasts } = await open([]);
    await forecasts.push('hill', pushed(NOW, 3), 'station');
    expect(await forecasts.latest('hill', HOUR_NOW + 3 * HOUR_MS - 1)).toBeDefined();
    expect(await forecasts.latest('hill', HOUR_NOW + 3 * HOUR_MS)).toBeUndefined();
  });

  it('one that has run out is told so, and another that still speaks of today is in use', async () => {
    const { forecasts, clock, run } = await open([]);
    await forecasts.push('hill', pushed(NOW - HOUR_MS, 48), 'neighbour');
    await forecasts.push('hill', pushed(NOW, 3), 'station');
    expect(forecasts.status('hill')).toMatchObject({ state: 'fresh', source: 'station' });
    const stop = run();
    await clock.moveTo(HOUR_NOW + 3 * HOUR_MS);
    await stop();
    expect(forecasts.status('hill')).toMatchObject({ state: 'fresh', source: 'neighbour', warning: null });
    const alone = await open([]);
    await alone.forecasts.push('hill', pushed(NOW, 3), 'station');
    const stopAlone = alone.run();
    await alone.clock.moveTo(HOUR_NOW + 3 * HOUR_MS);
    await stopAlone();
    expect(alone.forecasts.status('hill')).toMatchObject({
      state: 'too-old',
      warning: expect.stringContaining('has run out and no longer used'),
    });
  });

  it('a service that got another name has handed nothing over', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 72, NOW));
    const before = await open([sourceAt(weather.url)]);
    const stop = before.run();
    await before.clock.moveTo(NOW + MINUTE);
    await stop();
    const { forecasts, storage } = await open([{ ...sourceAt(weather.url), name: 'renamed' }], {
      storage: before.storage,
      clock: before.clock,
    });
    expect(await storage.forecasts.pulledNames('hill')).toEqual(['weather']);
    // Newer than the old name's: it would stand behind it if that one counted as handed over.
    await storage.forecasts.save({ ...(before.heard[0] as IssuedForecast), source: 'renamed', issuedAt: NOW + 1 });
    expect(await forecasts.latest('hill', NOW + MINUTE)).toMatchObject({ source: 'renamed' });
  });

  it('who stopped is asked about it for two weeks', async () => {
    const { forecasts, clock } = await open([]);
    await forecasts.push('hill', pushed(NOW), 'station');
    const state = async (hours: number) => {
      const stop = new AbortController();
      const running = forecasts.run(stop.signal).catch(() => {});
      await clock.moveTo(NOW + hours * HOUR_MS);
      stop.abort();
      await running;
      return forecasts.status('hill').state;
    };
    expect([await state(1), await state(20), await state(100), await state(15 * 24)]).toEqual([
      'fresh',
      'old',
      'too-old',
      'not-set-up',
    ]);
  });
});
