import { describe, expect, it } from 'vitest';
import type { ForecastHour, IssuedForecast } from '../../src/domain/forecast.js';
import type { Quantity } from '../../src/domain/quantities.js';
import { createBiasBook } from '../../src/forecast/learning.js';
import { clearSkyMeans } from '../../src/models/forecast-hours.js';
import type { CheckedReading, Storage } from '../../src/storage/repositories.js';
import { batchOf, openTemp, reading } from '../storage/support.js';
import { HOUR_MS, SITE } from './support.js';

/* Kept forecasts and stored readings in, a forecast of the site itself out. The truth is a plain day, repeated. */

const DAYS = 40;
const FIRST = Date.UTC(2026, 4, 1);
const END = FIRST + DAYS * 24 * HOUR_MS;
const PLACE = { latitudeDeg: SITE.latitude, longitudeDeg: SITE.longitude, elevationM: SITE.elevationM };
const sky = clearSkyMeans(PLACE);
const truthC = (at: number): number => 14 + 6 * Math.sin(((at / HOUR_MS - 9) / 12) * Math.PI);

const hourOf = (at: number, more: Partial<ForecastHour>): ForecastHour => ({
  at,
  airTempC: null,
  relHumidityPct: null,
  radiationWm2: null,
  cloudPct: null,
  windMs: null,
  rainMm: null,
  ...more,
});
const issue = (issuedAt: number, of: (at: number) => Partial<ForecastHour>, more: Partial<IssuedForecast> = {}) => ({
  siteId: 'hill',
  source: 'weather',
  issuedAt,
  receivedAt: issuedAt,
  hours: Array.from({ length: 60 }, (_, after) => hourOf(issuedAt + after * HOUR_MS, of(issuedAt + after * HOUR_MS))),
  ...more,
});

async function keep(storage: Storage, of: (at: number) => Partial<ForecastHour>): Promise<void> {
  for (let at = FIRST; at < END; at += 6 * HOUR_MS) await storage.forecasts.save(issue(at, of));
}

const measured = (quantity: Quantity, value: (at: number) => number, sensorId = 'roof'): CheckedReading[] =>
  Array.from({ length: DAYS * 24 * 4 }, (_, quarter) => {
    const at = FIRST + quarter * (HOUR_MS / 4);
    return reading(at, value(at), { quantity, sensorId, houseId: null, placement: 'outside' });
  });

describe('what is learned of a source', () => {
  it('is how far it was out here, hour by hour, and a forecast is corrected by it', async () => {
    const storage = await openTemp();
    // The source is 2 °C too warm, and the sun here is a fifth weaker than it says.
    await keep(storage, (at) => ({ airTempC: truthC(at) + 2, relHumidityPct: 60, radiationWm2: sky(at) }));
    await storage.readings.commit(
      batchOf([
        ...measured('airTempC', (at) => truthC(at) + 0.05 * Math.sin(at / 7e6)),
        ...measured('radiationWm2', (at) => 0.8 * sky(Math.floor(at / HOUR_MS) * HOUR_MS)),
      ]),
    );
    const book = createBiasBook(storage);
    const forecast = issue(END, (at) => ({ airTempC: truthC(at) + 2, relHumidityPct: 60, radiationWm2: sky(at) }));
    const { hours, learned } = await book.corrected(SITE, forecast, END);
    for (const [index, hour] of hours.slice(0, 48).entries()) {
      const mean = (truthC(hour.at) + truthC(hour.at + HOUR_MS)) / 2;
      expect(Math.abs((hour.airTempC ?? 0) - mean), `hour ${index}`).toBeLessThan(0.7);
      // Nothing varies here: what is left is the surprise of the first days and the prior of 1.5 to 2.1 °C.
      expect(hour.airTempSpreadC).toBeLessThan(1.6);
    }
    const noon = hours.find(({ at }) => new Date(at).getUTCHours() === 12);
    expect((noon?.radiationWm2 ?? 0) / sky(noon?.at ?? 0)).toBeCloseTo(0.8, 1);
    expect(noon?.relHumidityPct).toBeGreaterThan(60);
    expect(learned.days).toBe(DAYS);
    expect(learned.nightC).toBeCloseTo(-2, 0);
  });

  it('counts what was known by then and nothing later', async () => {
    const storage = await openTemp();
    await keep(storage, (at) => ({ airTempC: truthC(at) + 3 }));
    await storage.readings.commit(batchOf(measured('airTempC', truthC)));
    const book = createBiasBook(storage);
    const forecast = issue(FIRST, (at) => ({ airTempC: truthC(at) + 3 }));
    expect((await book.corrected(SITE, forecast, FIRST)).learned.days).toBe(0);
    expect((await book.corrected(SITE, forecast, FIRST + 10 * 24 * HOUR_MS)).learned.days).toBe(10);
    expect((await book.corrected(SITE, { ...forecast, source: 'other' }, END)).learned.days).toBe(0);
  });

  it('takes the light from a PAR sensor where there is no other, and works radiation out from the cloud', async () => {
    const storage = await openTemp();
    await keep(storage, (at) => ({ airTempC: truthC(at), cloudPct: 0 }));
    // 2.06 µmol per joule of global radiation: McCree (1972), 0.45 of the energy at 4.57 µmol/J.
    await storage.readings.commit(
      batchOf(measured('ppfdUmol', (at) => 0.7 * 2.0565 * sky(Math.floor(at / HOUR_MS) * HOUR_MS))),
    );
    const { hours } = await createBiasBook(storage).corrected(
      SITE,
      issue(END, () => ({ airTempC: 10, cloudPct: 0 })),
      END,
    );
    const noon = hours.find(({ at }) => new Date(at).getUTCHours() === 12);
    expect(noon?.radiationEstimated).toBe(true);
    expect((noon?.radiationWm2 ?? 0) / sky(noon?.at ?? 0)).toBeCloseTo(0.7, 1);
  });

  it('a frozen sensor, or one inside a house, teaches nothing', async () => {
    const storage = await openTemp();
    await keep(storage, (at) => ({ airTempC: truthC(at) + 3 }));
    const inside = measured('airTempC', truthC, 'bench').map((one) => ({ ...one, placement: 'inside' as const }));
    await storage.readings.commit(batchOf([...measured('airTempC', () => 14.25), ...inside]));
    const { learned } = await createBiasBook(storage).corrected(
      SITE,
      issue(END, () => ({ airTempC: 10 })),
      END,
    );
    expect(learned.days).toBe(0);
  });
});
