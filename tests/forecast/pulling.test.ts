import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import type { PulledSource, PullParts } from '../../src/forecast/pulling.js';
import { addressFor, pullOnce, startingState } from '../../src/forecast/pulling.js';
import { openTemp } from '../storage/support.js';
import { freePort } from '../support/broker.js';
import { HOUR_MS, HOUR_NOW, json, moments, NOW, SITE, sourceAt, type Weather, weatherService } from './support.js';

const MINUTE = 60_000;
const http = (at: number) => new Date(at).toUTCString();

const inUnit = (unit: string) => {
  const answer = moments(HOUR_NOW, 3);
  answer.properties.meta.units.air_temperature = unit;
  return answer;
};

/** Asks once; the state goes on from one time to the next, as the service keeps it. */
async function puller(source: PulledSource, more: Partial<PullParts> = {}) {
  const storage = await openTemp();
  const clock = { now: NOW };
  const parts: PullParts = {
    store: storage.forecasts,
    now: () => clock.now,
    random: () => 0.5,
    program: 'leafturn/1.2.3',
    timeoutMs: 20_000,
    ...more,
  };
  let state = await startingState(storage.forecasts, source, SITE);
  return {
    storage,
    clock,
    pull: async () => {
      const pulled = await pullOnce(parts, source, SITE, state);
      state = pulled.state;
      return pulled;
    },
    kept: () => storage.forecasts.range(SITE.id, { from: 0, to: NOW + 1000 * HOUR_MS }),
  };
}

describe('a good answer', () => {
  it('is kept with the time it was issued, and the source asked again when it says', async () => {
    const weather = await weatherService();
    const updated = NOW - 30 * MINUTE;
    weather.answer = json(moments(HOUR_NOW - 2 * HOUR_MS, 72, updated), {
      expires: http(NOW + 2 * HOUR_MS),
      date: http(NOW),
      'last-modified': http(updated),
    });
    const { pull, kept } = await puller(sourceAt(weather.url));
    const { state, forecast } = await pull();
    expect(forecast).toMatchObject({ siteId: 'hill', source: 'weather', issuedAt: updated, receivedAt: NOW });
    // Hours that were over when it was issued are left out: 05:00 is the hour of 05:50.
    expect(forecast?.hours[0]).toMatchObject({ at: HOUR_NOW - HOUR_MS, airTempC: 11 });
    expect(await kept()).toEqual([forecast]);
    expect(state).toMatchObject({
      nextAt: NOW + 2 * HOUR_MS + 30_000,
      answeredAt: NOW,
      lastModified: http(updated),
      failures: 0,
      trouble: null,
    });
  });

  it('is asked for with who asks, four decimals at most, and leave to pack it', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 24));
    await (await puller(sourceAt(weather.url))).pull();
    const [request] = weather.requests;
    expect(request?.url).toBe('/forecast?lat=51.1235&lon=-7.5&altitude=120');
    expect(request?.headers).toMatchObject({
      'user-agent': 'leafturn/1.2.3 grower@example.org',
      'accept-encoding': 'gzip',
      accept: 'application/json',
    });
    expect(request?.headers['if-modified-since']).toBeUndefined();
  });

  it('may be packed', async () => {
    const weather = await weatherService();
    weather.answer = (_request, response) =>
      response.writeHead(200, { 'content-encoding': 'gzip' }).end(gzipSync(JSON.stringify(moments(HOUR_NOW, 24))));
    expect((await (await puller(sourceAt(weather.url))).pull()).forecast?.hours).toHaveLength(24);
  });

  it('comes in the other form too', async () => {
    const weather = await weatherService();
    weather.answer = json({
      utc_offset_seconds: 0,
      hourly_units: { temperature_2m: '°F', shortwave_radiation: 'W/m²' },
      hourly: {
        time: ['2026-06-01T06:00', '2026-06-01T07:00'],
        temperature_2m: [50, 59],
        shortwave_radiation: [100, 220],
      },
    });
    const { forecast } = await (await puller(sourceAt(weather.url, { kind: 'open-meteo' }))).pull();
    // Nothing says when it was issued: now.
    expect(forecast).toMatchObject({ issuedAt: NOW });
    expect(forecast?.hours[0]).toMatchObject({ at: HOUR_NOW, airTempC: expect.closeTo(10, 9), radiationWm2: 220 });
  });

  it('that warns of its end is used, and the warning told', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 24), {}, 203);
    const { forecast, state } = await (await puller(sourceAt(weather.url))).pull();
    expect(forecast?.hours).toHaveLength(24);
    expect(state.failures).toBe(0);
    expect(state.trouble).toMatch(/says that this address will soon be shut off/);
  });
});

describe('nothing new', () => {
  it('is asked for with the time of the last answer, word for word, and costs no forecast', async () => {
    const weather = await weatherService();
    const said = { 'last-modified': 'Mon, 01 Jun 2026 05:50:00 GMT', etag: 'W/"abc"', date: http(NOW) };
    weather.answer = json(moments(HOUR_NOW, 24), said);
    const { pull, clock, kept } = await puller(sourceAt(weather.url));
    await pull();
    clock.now += HOUR_MS;
    weather.answer = (_request, response) =>
      response.writeHead(304, { expires: http(clock.now + 30 * MINUTE), date: http(clock.now) }).end();
    const { state, forecast } = await pull();
    expect(weather.requests[1]?.headers).toMatchObject({
      'if-modified-since': said['last-modified'],
      'if-none-match': said.etag,
    });
    expect(forecast).toBeUndefined();
    expect(await kept()).toHaveLength(1);
    expect(state).toMatchObject({ answeredAt: clock.now, lastModified: said['last-modified'], etag: said.etag });
    expect(state.nextAt).toBe(clock.now + HOUR_MS + 30_000);
    // And the time after as well.
    await pull();
    expect(weather.requests[2]?.headers['if-modified-since']).toBe(said['last-modified']);
  });

  it('is what the same hours are, from a source that does not say when it issued them', async () => {
    const weather = await weatherService();
    const columns = (first: number, temps: number[]) => ({
      hourly_units: { temperature_2m: '°C' },
      hourly: {
        time: temps.map((_, after) => new Date(first + after * HOUR_MS).toISOString().slice(0, 16)),
        temperature_2m: temps,
      },
    });
    weather.answer = json(columns(HOUR_NOW, [10, 11, 12, 13]));
    const { pull, clock, kept } = await puller(sourceAt(weather.url, { kind: 'open-meteo' }));
    await pull();
    clock.now += HOUR_MS;
    weather.answer = json(columns(HOUR_NOW, [10, 11, 12, 13]));
    expect((await pull()).forecast).toBeUndefined();
    weather.answer = json(columns(HOUR_NOW, [10, 11, 12, 13.5]));
    expect((await pull()).forecast).toMatchObject({ issuedAt: clock.now });
    expect(await kept()).toHaveLength(2);
  });
});

describe('trouble', () => {
  const CASES: [string, Weather['answer'], RegExp, number][] = [
    [
      'a refusal without who asks',
      json({}, {}, 403),
      /refuses us\. Check the contact in the site file.* \(403\)\./,
      60,
    ],
    [
      'an address that is not understood',
      json({ error: true, reason: 'Latitude must be in range' }, {}, 400),
      /does not understand the address.* \(400: Latitude must be in range\)\./,
      60,
    ],
    ['nothing there', json({}, {}, 404), /has nothing at that address/, 60],
    ['a place it does not know', json({}, {}, 422), /has no forecast for this place/, 60],
    ['too many questions', json({}, { 'retry-after': '7200' }, 429), /asked too often \(429\)/, 120],
    ['trouble of its own', json({}, {}, 503), /has trouble of its own \(503\)\./, 2],
    [
      'another place',
      json({}, { location: 'https://elsewhere.example/new' }, 301),
      /has moved to https:\/\/elsewhere\.example\. Change the address/,
      60,
    ],
    [
      'a page instead of JSON',
      (_request, response) => response.writeHead(200).end('<html>\n<h1>Welcome</h1>'),
      /sent something that is not JSON: "<html> <h1>Welcome<\/h1>"\./,
      2,
    ],
    ['nothing at all', (_request, response) => response.writeHead(200).end(), /sent an empty answer\./, 2],
    [
      'JSON of something else',
      json({ hello: 1 }),
      /cannot be used\. The answer is not in the form expected: properties should be object, but nothing came\./,
      2,
    ],
    ['a wrong unit', json(inUnit('furlong')), /air_temperature comes in "furlong"/, 2],
    [
      'hours of the past',
      json(moments(HOUR_NOW - 90 * HOUR_MS, 48, HOUR_NOW - 90 * HOUR_MS)),
      /holds no hour to come/,
      2,
    ],
    ['a connection that breaks off', (request) => request.socket.destroy(), /The connection to .* failed/, 2],
    ['a silence', () => {}, /did not answer within 0\.4 seconds\./, 2],
    [
      'a body that stalls',
      (_request, response) => response.writeHead(200).write('{"properties":'),
      /did not answer within 0\.4 seconds\./,
      2,
    ],
  ];

  it.each(CASES)('%s is told in words, and asked again later', async (_, answer, words, minutes) => {
    const weather = await weatherService();
    weather.answer = answer;
    // Who stalls is waited for; the others get their time on a busy machine.
    const stalls = words.source.includes('did not answer');
    const { pull, kept } = await puller(sourceAt(weather.url), stalls ? { timeoutMs: 400 } : {});
    const { state, forecast } = await pull();
    expect(forecast).toBeUndefined();
    expect(await kept()).toEqual([]);
    expect(state.trouble).toMatch(words);
    expect(state).toMatchObject({ failures: 1, troubleAt: NOW, answeredAt: null, nextAt: NOW + minutes * MINUTE });
  });

  it('a body without end is cut off, packed or not', async () => {
    const weather = await weatherService();
    const long = Buffer.alloc(300_000, ' ');
    for (const packed of [false, true]) {
      weather.answer = (_request, response) =>
        response.writeHead(200, packed ? { 'content-encoding': 'gzip' } : {}).end(packed ? gzipSync(long) : long);
      const { state } = await (await puller(sourceAt(weather.url), { maxBytes: 102_400 })).pull();
      expect(state.trouble).toMatch(/sent more than 100 kB, which no forecast needs\./);
    }
  });

  it('nobody at the address, and a name that does not exist', async () => {
    const port = await freePort();
    expect((await (await puller(sourceAt(`http://127.0.0.1:${port}`))).pull()).state.trouble).toBe(
      `Nothing answers at 127.0.0.1:${port}.`,
    );
    const { state } = await (await puller(sourceAt('http://weather.invalid'))).pull();
    expect(state.trouble).toMatch(/The name weather\.invalid is not known on this network|no way to weather\.invalid/);
  });

  it('keeps the last good forecast and what is known of it, and a good answer ends it', async () => {
    const weather = await weatherService();
    weather.answer = json(moments(HOUR_NOW, 48, NOW), { 'last-modified': http(NOW) });
    const { pull, clock, kept } = await puller(sourceAt(weather.url));
    await pull();
    weather.answer = json({}, {}, 500);
    const waits: number[] = [];
    for (let time = 0; time < 4; time += 1) {
      clock.now += HOUR_MS;
      const { state } = await pull();
      expect(state).toMatchObject({ failures: time + 1, answeredAt: NOW, lastModified: http(NOW) });
      waits.push((state.nextAt - clock.now) / MINUTE);
    }
    expect(waits).toEqual([2, 4, 8, 16]);
    expect(await kept()).toHaveLength(1);
    weather.answer = json(moments(HOUR_NOW, 60, clock.now));
    expect((await pull()).state).toMatchObject({ failures: 0, trouble: null, troubleAt: null, answeredAt: clock.now });
    expect(await kept()).toHaveLength(2);
  });
});

describe('the address', () => {
  it('is filled in with the site; a key is put in as it must stand in an address', () => {
    const source = { address: 'https://x.example/{latitude}/{longitude}/{elevation}?key={key}', key: 'a b&c' };
    expect(addressFor(source, { ...SITE, latitude: -33.0000449, longitude: 18, elevationM: -3.5 })).toBe(
      'https://x.example/-33/18/-3?key=a%20b%26c',
    );
  });

  it.each<[string, Weather['answer']]>([
    ['a refusal', json({}, {}, 401)],
    ['a reason that repeats it', json({ reason: 'No account for a b&c, that is a%20b%26c.' }, {}, 400)],
    [
      'a redirect that takes it along',
      (request, response) => response.writeHead(301, { location: `https://x.example${request.url}` }).end(),
    ],
    ['a page that repeats it', (_request, response) => response.writeHead(200).end('<b>a%20b%26c</b>')],
  ])('and its key are told to nobody after %s', async (_, answer) => {
    const weather = await weatherService();
    weather.answer = answer;
    const secret = sourceAt(weather.url, { address: `${weather.url}/?key={key}`, key: 'a b&c' });
    const { trouble } = (await (await puller(secret)).pull()).state;
    expect(trouble).not.toBeNull();
    expect(trouble).not.toMatch(/a b&c|a%20b|b%26c/);
  });

  it('that was changed is asked at once, whatever went before', async () => {
    const storage = await openTemp();
    const wrong = sourceAt('https://x.example');
    const state = { ...(await startingState(storage.forecasts, wrong, SITE)), failures: 5, nextAt: NOW + 24 * HOUR_MS };
    await storage.forecasts.setPull(SITE.id, wrong.name, state);
    expect(await startingState(storage.forecasts, wrong, SITE)).toEqual(state);
    for (const mended of [{ ...wrong, contact: 'other@example.org' }, sourceAt('https://y.example')])
      expect(await startingState(storage.forecasts, mended, SITE)).toMatchObject({ failures: 0, nextAt: 0 });
  });
});
