import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createOutlooks, type Outlooks } from '../../src/advice/house-outlook.js';
import { createKeeper, type Keeper } from '../../src/advice/keeper.js';
import { readOutlookHours } from '../../src/advice/outlook-hours.js';
import type { HouseOutlook } from '../../src/domain/outlook.js';
import { type House, type Site, siteSchema } from '../../src/domain/site.js';
import { type CorrectedForecast, correctForecast } from '../../src/models/corrected-forecast.js';
import { NOTHING_LEARNED } from '../../src/models/forecast-bias.js';
import { clearSkyMeans } from '../../src/models/forecast-hours.js';
import type { CheckedReading, Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { CATALOGUE } from '../support/nursery.js';
import {
  BERLIN,
  GLASSHOUSE,
  normal,
  type SimulatedWeather,
  seeded,
  simulatedAir,
  simulatedWeather,
} from '../support/thermal-house.js';

const HOUR_MS = 3_600_000;
const FROM_MS = Date.UTC(2026, 3, 30);
const DAYS = 45;
/** 05:00 on the clock of the place, of the 41st day. */
const AT = FROM_MS + 40 * 24 * HOUR_MS + 3 * HOUR_MS;

const site: Site = siteSchema.parse({
  id: 'home',
  name: 'Home',
  ...BERLIN,
  houses: [
    {
      id: 'north',
      name: 'North house',
      cloths: [
        { id: 'white-50', name: 'White 50 %', shadePct: 50, place: 'outside', colour: 'white' },
        { id: 'black-50', name: 'Black 50 %', shadePct: 50, place: 'inside', colour: 'black' },
      ],
    },
  ],
});
const weather = simulatedWeather(BERLIN, FROM_MS, DAYS * 24, seeded(21));
const insideC = simulatedAir(GLASSHOUSE, weather);

let folder: string;
let storage: Storage;
let keeper: Keeper;
let issued: CorrectedForecast | undefined;
let outlooks: Outlooks;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'leafturn-'));
  storage = await openSqliteStorage({ path: join(folder, 'outlook.db'), zoneOf: () => site.zone });
  keeper = createKeeper({
    storage,
    sites: () => [site],
    ids: () => ({ groups: [], pots: [], mixes: [] }),
    now: () => AT,
  });
  issued = forecastFrom(AT - 2 * HOUR_MS);
  outlooks = createOutlooks({
    storage,
    keeper,
    sites: () => [site],
    catalogue: () => CATALOGUE,
    forecastFor: async (_siteId, at) => (issued && issued.issuedAt <= at ? issued : undefined),
  });
});
afterEach(async () => {
  await storage.close();
  rmSync(folder, { recursive: true, force: true });
});

/** A forecast that turns out true, off by what is usual as far as it knows. */
function forecastFrom(issuedAt: number): CorrectedForecast {
  const forecast = {
    siteId: 'home',
    source: 'test',
    issuedAt,
    receivedAt: issuedAt,
    hours: weather
      .filter(({ startMs }) => startMs >= issuedAt && startMs < issuedAt + 90 * HOUR_MS)
      .map(({ startMs, airTempC, relHumidityPct, radiationWm2 }) => ({
        at: startMs,
        airTempC,
        relHumidityPct,
        radiationWm2,
        cloudPct: null,
        windMs: null,
        rainMm: null,
      })),
  };
  const sky = { latitudeDeg: BERLIN.latitude, longitudeDeg: BERLIN.longitude, elevationM: BERLIN.elevationM };
  const corrected = correctForecast(forecast, NOTHING_LEARNED, {
    longitudeDeg: BERLIN.longitude,
    clearSky: clearSkyMeans(sky),
  });
  return {
    ...corrected,
    hours: corrected.hours.map((hour) => ({ ...hour, airTempSpreadC: 1.6, radiationSpread: 0.25 })),
  };
}

async function measure(
  options: {
    readonly untilMs?: number;
    readonly outside?: boolean;
    readonly fromMs?: number;
    readonly light?: number;
  } = {},
) {
  const { untilMs = AT, outside = true, fromMs = FROM_MS, light } = options;
  const random = seeded(5);
  const readings: CheckedReading[] = [];
  weather.forEach((hour: SimulatedWeather, index) => {
    for (const minutes of [10, 30, 50]) {
      const at = hour.startMs + minutes * 60_000;
      if (at >= untilMs || at < fromMs) continue;
      const base = { siteId: 'home', benchId: null, at, flagMask: 0, timeSource: 'payload', receivedAt: at } as const;
      const inside = { ...base, sensorId: 'in', houseId: 'north', placement: 'inside' } as const;
      readings.push(
        { ...inside, quantity: 'airTempC', value: (insideC[index] as number) + 0.2 * normal(random) },
        { ...inside, quantity: 'relHumidityPct', value: Math.min(100, hour.relHumidityPct + 5) },
      );
      if (!outside) continue;
      const out = { ...base, sensorId: 'out', houseId: null, placement: 'outside' } as const;
      readings.push(
        { ...out, quantity: 'airTempC', value: hour.airTempC },
        { ...out, quantity: 'relHumidityPct', value: hour.relHumidityPct },
        { ...out, quantity: 'radiationWm2', value: light ?? hour.radiationWm2 },
      );
    }
  });
  await storage.readings.commit({ readings, refusals: [], messages: readings.length });
}

const outlookOf = async (at = AT): Promise<HouseOutlook> => {
  const outlook = await outlooks.outlook('home', 'north', at);
  if (!outlook) throw new Error('no outlook');
  return outlook;
};
/** What really came of the house, from the first whole hour after an instant on. */
const truthAfter = (at: number): number[] => insideC.slice(Math.floor((at - FROM_MS) / HOUR_MS));

describe('the outlook of a house', () => {
  it('tells the hours to come to within a degree or two, from a forecast that comes true', async () => {
    await measure();
    const outlook = await outlookOf();
    expect(outlook).toMatchObject({ houseId: 'north', basis: 'forecast', issuedAt: AT });
    expect(outlook.from).toBe('forecast of 03:00 through the model of this house');
    expect(outlook.hours.length).toBeGreaterThanOrEqual(70);
    const truth = truthAfter(AT);
    const errors = outlook.hours.map(({ airTempC }, hour) => Math.abs(airTempC.p50 - (truth[hour] as number)));
    expect(errors.reduce((sum, error) => sum + error, 0) / errors.length).toBeLessThan(1);
    const held = outlook.hours.filter(
      ({ airTempC }, hour) => airTempC.p10 <= (truth[hour] as number) && (truth[hour] as number) <= airTempC.p90,
    ).length;
    expect(held / outlook.hours.length).toBeGreaterThan(0.7);
  });

  it('tells days and nights with bands, light and damp, and counts from today', async () => {
    await measure();
    const { days } = await outlookOf();
    expect(days.map(({ lead }) => lead)).toEqual([0, 1, 2, 3]);
    const truth = truthAfter(AT);
    // 05:00 is hour 0, so 19 hours of today are left.
    const [today, tomorrow] = days;
    expect(today?.dayMaxC?.p50).toBeCloseTo(Math.max(...truth.slice(0, 19)) + 0.3, -0.3);
    expect(tomorrow?.dayMaxC?.p50).toBeCloseTo(Math.max(...truth.slice(19, 43)) + 0.3, -0.3);
    expect(tomorrow?.nightMinC?.p50).toBeCloseTo(Math.min(...truth.slice(7, 31)), -0.3);
    for (const band of days.flatMap(({ dayMaxC, nightMinC }) => [dayMaxC, nightMinC])) {
      if (!band) continue;
      expect(band.p10).toBeLessThanOrEqual(band.p50);
      expect(band.p50).toBeLessThanOrEqual(band.p90);
    }
    // Half of the sun above a cover that lets 0.6 to 0.75 through, in May: 12 to 45 mol a day.
    expect(tomorrow?.dli).toBeGreaterThan(8);
    expect(tomorrow?.dli).toBeLessThan(45);
    expect(tomorrow?.nightMaxRelHumidityPct).toBeGreaterThan(40);
    expect(tomorrow?.wetHours).toBeGreaterThanOrEqual(0);
  });

  it('says what it has learned and how good it was', async () => {
    await measure();
    const { learned, skill } = await outlookOf();
    expect(learned[0]).toMatch(/^Learned from (39|40) days of this house\.$/);
    expect(learned.join(' ')).toMatch(/in full sun \(800 W\/m²\), it gets to about \d\d °C/);
    expect(skill?.days).toBe(30);
    expect(skill?.maeC).toBeLessThan((skill?.persistenceMaeC ?? 0) / 2);
    expect(skill?.bandHeld).toBeGreaterThan(0.6);
  });

  it('gives something on the first day, and says that it is the usual of the cover', async () => {
    const outlook = await outlookOf();
    expect(outlook.from).toBe('forecast of 03:00 through the usual of single clear glass');
    expect(outlook.learned[0]).toBe(
      'Nothing was heard of this house yet: these are the usual values of single clear glass.',
    );
    const truth = Math.max(...truthAfter(AT).slice(19, 43));
    const band = outlook.days.find(({ lead }) => lead === 1)?.dayMaxC;
    expect((band?.p90 ?? 0) - (band?.p10 ?? 0)).toBeGreaterThan(8);
    expect(band?.p10).toBeLessThan(truth);
    expect(band?.p90).toBeGreaterThan(truth);
  });

  it('takes the last days again where there is no forecast, says so, and is far less sure', async () => {
    await measure();
    const sure = await outlookOf();
    issued = undefined;
    const outlook = await outlookOf(AT + HOUR_MS);
    expect(outlook.basis).toBe('last-days');
    expect(outlook.from).toBe('the last days again, through the model of this house: no forecast is there');
    const width = ({ days }: HouseOutlook) => {
      const band = days.find(({ lead }) => lead === 2)?.dayMaxC;
      return (band?.p90 ?? 0) - (band?.p10 ?? 0);
    };
    expect(width(outlook)).toBeGreaterThan(width(sure));
    const truth = Math.max(...truthAfter(AT).slice(43, 67));
    const band = outlook.days.find(({ lead }) => lead === 2)?.dayMaxC;
    expect(band?.p10).toBeLessThan(truth);
    expect(band?.p90).toBeGreaterThan(truth);
  });

  it('learns without an outdoor sensor from the forecasts that were kept', async () => {
    await measure({ outside: false });
    for (let at = FROM_MS; at < AT; at += 12 * HOUR_MS) await storage.forecasts.save(forecastFrom(at));
    const outlook = await outlookOf();
    expect(outlook.skill?.maeC).toBeLessThan((outlook.skill?.persistenceMaeC ?? 0) / 2);
  });

  it('knows nothing but the inside without sensor and forecast, and says so', async () => {
    await measure({ outside: false });
    issued = undefined;
    const outlook = await outlookOf();
    expect(outlook.learned[0]).toBe(
      'Nothing tells of the weather outside: days to come are taken to be like the last ones.',
    );
    expect(outlook.days.find(({ lead }) => lead === 1)?.dayMaxC).toBeDefined();
    expect(outlook.hours.length).toBeGreaterThan(48);
  });

  it('is worked out once for all who ask within the hour, and anew when the cloth changes', async () => {
    await measure();
    const [one, other] = await Promise.all([outlookOf(), outlookOf(AT + 60_000)]);
    expect(other).toBe(one);
    await keeper.record('home', [{ kind: 'cloth', houseId: 'north', clothId: 'white-50' }], {
      by: 'Ada',
      happenedAt: AT - HOUR_MS,
      enteredAt: AT,
    });
    const under = await outlookOf(AT + 120_000);
    expect(under).not.toBe(one);
    const dli = ({ days }: HouseOutlook) => days.find(({ lead }) => lead === 1)?.dli ?? 0;
    expect(dli(under)).toBeCloseTo(dli(one) / 2, 6);
    expect(under.days[1]?.dayMaxC?.p50 ?? 99).toBeLessThan(one.days[1]?.dayMaxC?.p50 ?? 0);
  });

  it('follows the day: what was measured counts, and an afternoon that is over is known', async () => {
    const evening = AT + 16 * HOUR_MS;
    await measure({ untilMs: evening });
    const band = (await outlookOf(evening)).days[0]?.dayMaxC;
    const measured = Math.max(...truthAfter(AT).slice(0, 16));
    expect((band?.p90 ?? 0) - (band?.p10 ?? 0)).toBeLessThan(0.5);
    expect(Math.abs((band?.p50 ?? 0) - measured)).toBeLessThan(1);
  });

  it('says what a cloth would buy: white outside cools, black inside only darkens', async () => {
    await measure();
    const white = await outlooks.clothEffects('home', 'north', 'white-50', AT);
    const black = await outlooks.clothEffects('home', 'north', 'black-50', AT);
    const none = await outlooks.clothEffects('home', 'north', null, AT);
    const tomorrow = white?.[1];
    expect(tomorrow?.maxChangeC.p50).toBeLessThan(-1.5);
    expect(tomorrow?.maxChangeC.p10).toBeLessThan(tomorrow?.maxChangeC.p90 ?? 0);
    expect(tomorrow?.lightRatio).toMatchObject({ p50: 0.5 });
    expect(Math.abs(black?.[1]?.maxChangeC.p50 ?? 9)).toBeLessThan(0.2);
    expect(black?.[1]?.lightRatio.p50).toBeCloseTo(0.5, 9);
    for (const { maxChangeC, lightRatio } of none ?? []) {
      expect(maxChangeC).toEqual({ p10: 0, p50: 0, p90: 0 });
      expect(lightRatio).toEqual({ p10: 1, p50: 1, p90: 1 });
    }
  });

  it.each([
    ['dead', 0],
    ['stuck', 430],
  ])('does not believe an outside light sensor that is %s', async (_, light) => {
    await measure({ light });
    const { hours } = await readOutlookHours({ storage }, site, site.houses[0] as House, AT, issued);
    // Before the forecast was issued nobody told of light.
    const past = hours.filter(({ startMs }) => startMs < AT - 3 * HOUR_MS);
    expect(new Set(past.map(({ outsideRadiationWm2 }) => outsideRadiationWm2))).toEqual(new Set([null]));
    expect(past.every(({ outsideTempC }) => outsideTempC !== null)).toBe(true);
  });

  it('is undefined for a house nobody knows', async () => {
    expect(await outlooks.outlook('home', 'south', AT)).toBeUndefined();
    expect(await outlooks.clothEffects('away', 'north', null, AT)).toBeUndefined();
  });
});
