import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import type { IssuedForecast } from '../../src/domain/forecast.js';
import { correctForecast } from '../../src/models/corrected-forecast.js';
import {
  type BiasSample,
  correctionAt,
  type ForecastBias,
  learnBias,
  NOTHING_LEARNED,
  sunHourOf,
} from '../../src/models/forecast-bias.js';
import { vapourPressureKPa } from '../../src/science/air.js';
import { sharedData } from '../support/shared-data.js';
import { HOUR_MS, simulate, T0 } from './forecast-simulator.js';

const ISSUED = T0 + 40 * 24 * HOUR_MS;
const forecast: IssuedForecast = {
  siteId: 'hill',
  source: 'weather',
  issuedAt: ISSUED,
  receivedAt: ISSUED + 60_000,
  hours: Array.from({ length: 48 }, (_, after) => ({
    at: ISSUED + after * HOUR_MS,
    airTempC: 15,
    relHumidityPct: 60,
    radiationWm2: after % 24 > 6 && after % 24 < 18 ? 400 : 0,
    cloudPct: null,
    windMs: 2,
    rainMm: 0,
  })),
};
const place = { longitudeDeg: 0, clearSky: () => 500 };

describe('a corrected forecast', () => {
  const bias = learnBias(simulate({ days: 40, seed: 20, biasC: (hour) => (hour < 12 ? -1 : 2), lightFactor: 0.8 }));
  const corrected = correctForecast(forecast, bias, place);

  it('is the forecast with every hour shifted by what was learned of it', () => {
    expect(corrected).toMatchObject({ siteId: 'hill', source: 'weather', issuedAt: ISSUED });
    const addC = corrected.hours.map((hour) => (hour.airTempC ?? 0) - 15);
    for (const hour of [3, 9, 27]) expect(addC[hour]).toBeCloseTo(-1, 0);
    for (const hour of [14, 21, 38]) expect(addC[hour]).toBeCloseTo(2, 0);
    expect(corrected.hours[12]?.radiationWm2).toBeCloseTo(320, -1.5);
    expect(corrected.hours[2]?.radiationWm2).toBe(0);
    expect(corrected.learned.days).toBe(40);
  });

  it('keeps the vapour of the air: warmer air is drier', () => {
    const { airTempC, relHumidityPct } = corrected.hours[14] as { airTempC: number; relHumidityPct: number };
    expect(relHumidityPct).toBeLessThan(60);
    expect(vapourPressureKPa(airTempC, relHumidityPct)).toBeCloseTo(vapourPressureKPa(15, 60), 6);
  });

  it('never lets the sun shine more than the clear sky allows, unless the source itself says so', () => {
    const bright = learnBias(simulate({ days: 40, seed: 21, lightFactor: 1.4 }));
    const hours = correctForecast(forecast, bright, { ...place, clearSky: () => 420 }).hours;
    expect(hours[12]?.radiationWm2).toBeCloseTo(462, 0);
    expect(correctForecast(forecast, bright, { ...place, clearSky: () => 300 }).hours[12]?.radiationWm2).toBe(400);
  });

  it('is the forecast itself, with a spread, where nothing was learned', () => {
    const plain = correctForecast(forecast, NOTHING_LEARNED, place);
    expect(plain.hours.map(({ airTempC }) => airTempC)).toEqual(forecast.hours.map(({ airTempC }) => airTempC));
    expect(plain.hours.every(({ airTempSpreadC }) => airTempSpreadC > 1)).toBe(true);
    expect(plain.learned).toMatchObject({ days: 0, nightC: null, dayC: null, sunHeatedC: null });
  });
});

const rowsOf = (text: string): Record<string, string>[] => parse(text, { columns: true });
const numberOf = (text: string | undefined): number | null =>
  text === undefined || text === '' || !Number.isFinite(Number(text)) ? null : Number(text);
const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

describe('on measured forecasts', () => {
  it('the next day’s maximum at 25 stations in Seoul, summer 2015, is missed by at most 1.35 °C', () => {
    const file = sharedData('weather/wx_seoul_forecasts/Bias_correction_ucl.csv.gz');
    if (!file) return;
    // UCI, "Bias correction of numerical prediction model temperature forecast"; the maximum stands for 15:00, a day ahead.
    const days = new Map<string, { station: string; forecastC: number; observedC: number; yesterdayC: number }[]>();
    for (const row of rowsOf(gunzipSync(readFileSync(file)).toString('utf8'))) {
      const values = [row.LDAPS_Tmax_lapse, row.Next_Tmax, row.Present_Tmax].map(numberOf);
      const [forecastC, observedC, yesterdayC] = values as [number, number, number];
      if (!row.Date || values.includes(null)) continue;
      const same = days.get(row.Date) ?? [];
      same.push({ station: row.station ?? '', forecastC, observedC, yesterdayC });
      days.set(row.Date, same);
    }
    const biases = new Map<string, ForecastBias>();
    const errors = { corrected: [] as number[], raw: [] as number[], persistence: [] as number[] };
    for (const date of [...days.keys()].sort()) {
      const at = Date.parse(`${date}T15:00:00Z`);
      for (const { station, forecastC, observedC, yesterdayC } of days.get(date) ?? []) {
        const before = biases.get(station) ?? NOTHING_LEARNED;
        const { addC } = correctionAt(before, 30, 15, at);
        if (date.startsWith('2015')) {
          errors.corrected.push(Math.abs(forecastC + addC - observedC));
          errors.raw.push(Math.abs(forecastC - observedC));
          errors.persistence.push(Math.abs(yesterdayC - observedC));
        }
        const sample: BiasSample = {
          at,
          leadHours: 30,
          sunHour: 15,
          forecastC,
          observedC,
          forecastWm2: null,
          observedWm2: null,
        };
        biases.set(station, learnBias([sample], before));
      }
    }
    const mae = {
      corrected: meanOf(errors.corrected),
      raw: meanOf(errors.raw),
      persistence: meanOf(errors.persistence),
    };
    console.log(`Seoul 2015, MAE °C: ${JSON.stringify(mae)} on ${errors.raw.length} forecasts`);
    expect(mae.corrected).toBeLessThanOrEqual(1.35);
    expect(mae.corrected).toBeLessThan(mae.raw - 0.15);
    expect(mae.corrected).toBeLessThan(mae.persistence);
  });

  it('hours of a Danish winter and spring come nearer, and most fall within the spread told', () => {
    const file = sharedData('weather/north-cell_outside_forecast_vs_actual_hourly_winter.csv');
    if (!file) return;
    let bias = NOTHING_LEARNED;
    const scored: { raw: number; corrected: number; within: boolean }[] = [];
    for (const [index, row] of rowsOf(readFileSync(file, 'utf8')).entries()) {
      const at = Date.parse(`${(row.time_utc ?? '').replace(' ', 'T')}:00Z`);
      const sample: BiasSample = {
        at,
        leadHours: 12,
        sunHour: sunHourOf(at, 10),
        forecastC: numberOf(row.t_forecast_c),
        observedC: numberOf(row.t_actual_c),
        forecastWm2: numberOf(row.solar_forecast_wm2),
        observedWm2: numberOf(row.solar_actual_wm2),
      };
      const { forecastC, observedC } = sample;
      // The first four weeks are for learning.
      if (index >= 28 * 24 && forecastC !== null && observedC !== null) {
        const { addC, spreadC } = correctionAt(bias, 12, sample.sunHour, at);
        const error = forecastC + addC - observedC;
        // 80 % of a normal distribution lies within 1.2816 standard deviations.
        scored.push({
          raw: Math.abs(forecastC - observedC),
          corrected: Math.abs(error),
          within: Math.abs(error) <= 1.2816 * spreadC,
        });
      }
      bias = learnBias([sample], bias);
    }
    const raw = meanOf(scored.map((one) => one.raw));
    const corrected = meanOf(scored.map((one) => one.corrected));
    const within = meanOf(scored.map((one) => (one.within ? 1 : 0)));
    console.log(
      `Danish winter, MAE °C: raw ${raw.toFixed(2)}, corrected ${corrected.toFixed(2)}; in the 80 % band ${within.toFixed(2)}`,
    );
    expect(corrected).toBeLessThan(raw);
    expect(within).toBeGreaterThan(0.72);
    expect(within).toBeLessThan(0.93);
  });
});
