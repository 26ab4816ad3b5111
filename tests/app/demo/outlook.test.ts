import { describe, expect, it } from 'vitest';
import { forecastsOf, ISSUED_EVERY_MS, issuesBetween } from '../../../src/app/demo/outlook.js';
import { STEP_MS, solarDayOf, solarDayStart, type WeatherSite, weatherOf } from '../../../src/app/demo/weather.js';
import { siteSchema } from '../../../src/domain/site.js';
import { forecastFromPush, pushedForecastSchema } from '../../../src/forecast/pushed.js';
import { type BiasSample, correctionAt, learnBias, sunHourOf } from '../../../src/models/forecast-bias.js';

const HOUR_MS = 3_600_000;
const SEED = 20;
const SITE: WeatherSite = { id: 'n', latitude: 51.3, longitude: 9.6, elevationM: 190 };
const weather = weatherOf(SITE, SEED);
const forecastAt = forecastsOf(SITE, weather, SEED);
const FIRST = Date.UTC(2026, 4, 1);
const issues = Array.from({ length: 160 }, (_, index) => FIRST + index * ISSUED_EVERY_MS);

const truthC = (at: number): number => {
  const day = solarDayOf(SITE, at);
  return weather(day)[Math.floor((at - solarDayStart(SITE, day)) / STEP_MS)]?.airTempC ?? Number.NaN;
};
const rms = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

describe('invented forecasts', () => {
  const errors = issues.flatMap((issuedAt) =>
    forecastAt(issuedAt).body.hours.map((hour, lead) => ({
      lead,
      at: Number(hour.at),
      sunHour: sunHourOf(Number(hour.at), SITE.longitude),
      error: (hour.airTempC ?? Number.NaN) - truthC(Number(hour.at)),
    })),
  );
  const of = (from: number, to: number) =>
    errors.filter(({ lead }) => lead >= from && lead < to).map(({ error }) => error);

  it('are further out the further ahead they look', () => {
    const spreads = [of(0, 12), of(12, 24), of(24, 48), of(48, 78)].map(rms);
    expect(spreads).toEqual([...spreads].sort((a, b) => a - b));
    // Of the size of real ones: the daily high is missed by 1.06 °C at 12 h and 1.38 at 48 h (US forecasts of 2021).
    expect(spreads[0]).toBeGreaterThan(0.5);
    expect(spreads[3]).toBeLessThan(3.5);
  });

  it('are too warm by night and too cool in the afternoon', () => {
    const at = (hour: number) =>
      mean(errors.filter(({ lead, sunHour }) => lead < 24 && sunHour === hour).map(({ error }) => error));
    expect(at(3)).toBeGreaterThan(0.5);
    expect(at(15)).toBeLessThan(-0.5);
  });

  it('come nearer to the truth of an hour from issue to issue', () => {
    const target = FIRST + 20 * 24 * HOUR_MS;
    const targets = Array.from({ length: 60 }, (_, index) => target + index * 7 * HOUR_MS);
    const miss = (back: number) =>
      rms(
        targets.map((at) => {
          const issuedAt = Math.floor(at / ISSUED_EVERY_MS) * ISSUED_EVERY_MS - back * ISSUED_EVERY_MS;
          const hour = forecastAt(issuedAt).body.hours[(at - issuedAt) / HOUR_MS];
          return (hour?.airTempC ?? Number.NaN) - truthC(at);
        }),
      );
    expect(miss(0)).toBeLessThan(miss(4));
    expect(miss(4)).toBeLessThan(miss(10));
  });

  it('are the same for the same seed, and others for another', () => {
    const again = forecastsOf(SITE, weatherOf(SITE, SEED), SEED);
    expect(again(FIRST)).toEqual(forecastAt(FIRST));
    expect(forecastsOf(SITE, weather, SEED + 1)(FIRST).body).not.toEqual(forecastAt(FIRST).body);
  });

  it('are taken as any other that is handed over', () => {
    const site = siteSchema.parse({ ...SITE, name: 'N', zone: 'Europe/Berlin', houses: [{ id: 'h', name: 'H' }] });
    for (const issuedAt of issues) {
      const { body, receivedAt } = forecastAt(issuedAt);
      const parsed = pushedForecastSchema.parse(JSON.parse(JSON.stringify(body)));
      expect(forecastFromPush(parsed, { site, by: 'demo', receivedAt, pulledNames: [] }).hours).toHaveLength(78);
    }
  });

  it('teach how far they are out', () => {
    const samples = errors
      .filter(({ lead }) => lead < 24)
      .map(({ at, lead, sunHour, error }): BiasSample => {
        const observedC = truthC(at);
        return {
          at,
          leadHours: lead,
          sunHour,
          forecastC: observedC + error,
          observedC,
          forecastWm2: null,
          observedWm2: null,
        };
      })
      .sort((a, b) => a.at - b.at);
    const bias = learnBias(samples);
    const end = FIRST + 40 * 24 * HOUR_MS;
    expect(correctionAt(bias, 6, 3, end).addC).toBeLessThan(-0.4);
    expect(correctionAt(bias, 6, 15, end).addC).toBeGreaterThan(0.4);
  });
});

describe('when they come', () => {
  it('is every six hours, four minutes after the issue, each once', () => {
    const minute = 60_000;
    expect(issuesBetween(FIRST, FIRST + 3 * minute)).toEqual([]);
    expect(issuesBetween(FIRST, FIRST + 4 * minute)).toEqual([FIRST]);
    expect(issuesBetween(FIRST + 4 * minute, FIRST + 6 * HOUR_MS)).toEqual([]);
    const steps = Array.from({ length: 2000 }, (_, index) => FIRST + index * 7 * minute);
    const told = steps.slice(1).flatMap((until, index) => issuesBetween(steps[index] ?? 0, until));
    expect(told).toEqual(Array.from({ length: told.length }, (_, index) => FIRST + index * ISSUED_EVERY_MS));
    expect(told.length).toBe(39);
  });
});
