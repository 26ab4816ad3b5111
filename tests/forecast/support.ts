import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { onTestFinished } from 'vitest';
import { type Site, siteSchema } from '../../src/domain/site.js';
import type { ForecastClock } from '../../src/forecast/forecasts.js';
import type { PulledSource } from '../../src/forecast/pulling.js';

export const HOUR_MS = 3_600_000;
/** A Monday morning, 06:20 UTC. */
export const NOW = Date.UTC(2026, 5, 1, 6, 20);
export const HOUR_NOW = Date.UTC(2026, 5, 1, 6);

export const SITE: Site = siteSchema.parse({
  id: 'hill',
  name: 'Hill',
  latitude: 51.123456,
  longitude: -7.5,
  elevationM: 120.4,
  zone: 'Europe/Berlin',
  houses: [{ id: 'north', name: 'North house' }],
});

export interface Weather {
  readonly url: string;
  readonly requests: IncomingMessage[];
  /** What the next requests get. */
  answer: (request: IncomingMessage, response: ServerResponse) => void;
}

/** A weather service of the test's own on this machine; it ends with the test. */
export async function weatherService(): Promise<Weather> {
  const requests: IncomingMessage[] = [];
  const weather = { requests, url: '', answer: json({}) } as { -readonly [K in keyof Weather]: Weather[K] };
  const server: Server = createServer((request, response) => {
    requests.push(request);
    weather.answer(request, response);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  weather.url = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  onTestFinished(
    () =>
      new Promise<void>((resolve) => {
        server.closeAllConnections();
        server.close(() => resolve());
      }),
  );
  return weather;
}

export const json =
  (body: unknown, headers: Record<string, string> = {}, status = 200): Weather['answer'] =>
  (_request, response) =>
    response.writeHead(status, { 'content-type': 'application/json', ...headers }).end(JSON.stringify(body));

export const sourceAt = (url: string, more: Partial<PulledSource> = {}): PulledSource => ({
  name: 'weather',
  kind: 'met-norway',
  address: `${url}/forecast?lat={latitude}&lon={longitude}&altitude={elevation}`,
  contact: 'grower@example.org',
  minutes: 60,
  ...more,
});

/** An answer in the form of moments, hour by hour. */
export const moments = (
  first: number,
  count: number,
  updatedAt = first,
  airTempC = (after: number) => 10 + (after % 12),
) => ({
  type: 'Feature',
  geometry: { type: 'Point', coordinates: [-7.5, 51.1235, 120] },
  properties: {
    meta: { updated_at: new Date(updatedAt).toISOString(), units: { air_temperature: 'celsius' } },
    timeseries: Array.from({ length: count }, (_, after) => ({
      time: new Date(first + after * HOUR_MS).toISOString(),
      data: {
        instant: {
          details: { air_temperature: airTempC(after), relative_humidity: 60, cloud_area_fraction: 25, wind_speed: 3 },
        },
        next_1_hours: { summary: { symbol_code: 'cloudy' }, details: { precipitation_amount: 0.2 } },
      },
    })),
  },
});

/** A clock that stands until the test moves it on. */
export class TestClock implements ForecastClock {
  #now: number;
  #waiting: { at: number; resolve: () => void }[] = [];
  #asked: (() => void)[] = [];

  constructor(now = NOW) {
    this.#now = now;
  }

  now = (): number => this.#now;

  waitUntil(at: number, signal?: AbortSignal): Promise<void> {
    for (const one of this.#asked.splice(0)) one();
    return new Promise((resolve, reject) => {
      if (signal?.aborted) return reject(signal.reason);
      const stop = () => reject(signal?.reason);
      signal?.addEventListener('abort', stop, { once: true });
      this.#waiting.push({
        at,
        resolve: () => {
          signal?.removeEventListener('abort', stop);
          resolve();
        },
      });
    });
  }

  /** Resolves when somebody waits for a time to come. */
  asked(): Promise<void> {
    return this.#waiting.length > 0 ? Promise.resolve() : new Promise((resolve) => this.#asked.push(resolve));
  }

  /** Moves on to `at`, one waiting time after the other; resolves when somebody waits beyond it. */
  async moveTo(at: number): Promise<void> {
    for (;;) {
      await this.asked();
      const next = Math.min(...this.#waiting.map((one) => one.at));
      if (next > at) break;
      this.#now = Math.max(this.#now, next);
      const due = this.#waiting.filter((one) => one.at <= this.#now);
      this.#waiting = this.#waiting.filter((one) => one.at > this.#now);
      for (const { resolve } of due) resolve();
    }
    this.#now = at;
  }
}
