import { describe, expect, it } from 'vitest';
import { certainBand } from '../../../src/domain/outlook.js';
import { airPrior, UNKNOWN_HOUSE } from '../../../src/models/house-thermal/air-prior.js';
import { prepareRecord } from '../../../src/models/house-thermal/house-record.js';
import { nightSpan } from '../../../src/models/house-thermal/nights.js';
import { humidityHours } from '../../../src/models/house-thermal/outlook-air.js';
import { type Curve, type CurveHour, modelCurve, NO_PLAY } from '../../../src/models/house-thermal/outlook-curve.js';
import { expectedMaxima, nightMinima } from '../../../src/models/house-thermal/outlook-days.js';
import type { OutlookInput } from '../../../src/models/house-thermal/outlook-input.js';
import { BERLIN, simulatedHouse } from '../../support/thermal-house.js';

const house = simulatedHouse(6, 10);
const { hours: measured, days } = prepareRecord(house.samples, house.place);
/** The humidity of the simulated house never moves, and is not believed. */
const hours = measured.map((hour) => ({ ...hour, insideRelHumidityPct: 60 }));
/** A record nobody has walked through: nothing is foretold but what a curve says. */
const input: OutlookInput = {
  at: 0,
  place: BERLIN,
  prior: airPrior(UNKNOWN_HOUSE),
  hours,
  days,
  walk: { mornings: [], weights: () => [], changes: [] },
  spreadOf: () => ({ airTempC: 1, radiationWm2: 50 }),
  isGuess: false,
  lightTransmission: 0.6,
  wetMarginC: 2,
};
const TODAY = '2026-05-05';
const rowAt = (iso: string): number => hours.findIndex(({ startMs }) => startMs === Date.parse(iso));
/** So many hours ahead, all of one temperature. */
const curveOf = (from: number, count: number, tempC: number): Curve => ({
  hours: Array.from(
    { length: count },
    (_, at): CurveHour => ({
      index: from + at,
      airTempC: { p10: tempC - 1, p50: tempC, p90: tempC + 1 },
    }),
  ),
  weather: Array(count).fill(NO_PLAY),
  coefficients: undefined,
  run: undefined,
});
const lowest = (from: number, to: number): number =>
  Math.min(...hours.slice(from, to).map(({ insideMinC }) => insideMinC as number));
const highest = (from: number, to: number): number =>
  Math.max(...hours.slice(from, to).map(({ insideMaxC }) => insideMaxC as number));

describe('the night to come', () => {
  const evening = rowAt('2026-05-05T20:00Z');
  const tonight = '2026-05-06';
  const night = nightSpan(hours, BERLIN.zone, tonight);

  it('is not known from its evening: hours that nobody tells may be the coldest', () => {
    for (const told of [0, 3, 7])
      expect(
        nightMinima(input, curveOf(evening, told, 99), TODAY, evening).get(tonight),
        `${told} hours`,
      ).toBeUndefined();
  });

  it('is foretold with all its hours, and never above what was measured', () => {
    const whole = curveOf(evening, night.end - evening, -5);
    expect(nightMinima(input, whole, TODAY, evening).get(tonight)).toEqual({ p10: -6, p50: -5, p90: -4 });
    const warm = nightMinima(input, curveOf(evening, night.end - evening, 99), TODAY, evening).get(tonight);
    expect(warm).toEqual(certainBand(lowest(night.first, evening)));
  });

  it('is known in the morning once all hours that are left are warmer, and for certain at noon', () => {
    const measured = certainBand(lowest(night.first, night.end - 3));
    const at = night.end - 3;
    expect(nightMinima(input, curveOf(at, 3, 30), tonight, at).get(tonight)).toEqual(measured);
    expect(nightMinima(input, curveOf(at, 2, 30), tonight, at).get(tonight)).toBeUndefined();
    const over = nightMinima(input, curveOf(night.end, 0, 0), tonight, night.end).get(tonight);
    expect(over).toEqual(certainBand(lowest(night.first, night.end)));
  });
});

describe('the highest of the day that is under way', () => {
  const first = rowAt('2026-05-04T22:00Z');

  it('is not known in the morning, nor while hours of the afternoon are not told', () => {
    const morning = first + 8;
    for (const told of [0, 2, 15])
      expect(
        expectedMaxima(input, curveOf(morning, told, 5), TODAY, morning).get(TODAY),
        `${told} hours`,
      ).toBeUndefined();
    const noon = first + 13;
    expect(expectedMaxima(input, curveOf(noon, 2, 5), TODAY, noon).get(TODAY)).toBeUndefined();
  });

  it('is what was measured once all hours left are cooler, and at least that before', () => {
    const evening = first + 18;
    const measured = highest(first, evening);
    expect(expectedMaxima(input, curveOf(evening, 6, 5), TODAY, evening).get(TODAY)).toEqual(certainBand(measured));
    expect(expectedMaxima(input, curveOf(evening, 6, 99), TODAY, evening).get(TODAY)).toEqual({
      p10: 98,
      p50: 99,
      p90: 100,
    });
  });
});

describe('the hours to come', () => {
  it('are corrected by the errors of as many whole days ahead as they lie from now, not by the date', () => {
    const evening = rowAt('2026-05-05T20:00Z');
    const asked: number[] = [];
    modelCurve(
      input,
      evening,
      () => 0,
      (_, wholeDaysAhead) => {
        asked.push(wholeDaysAhead);
        return { offsetC: 0, halfBandC: 1 };
      },
    );
    expect(asked).toEqual([...Array(24).fill(0), ...Array(24).fill(1), ...Array(24).fill(2)]);
  });

  it('have no humidity while nobody tells of the sun: unknown light is not darkness', () => {
    const known = rowAt('2026-05-05T20:00Z');
    const curve = curveOf(known, 10, 15).hours;
    expect(humidityHours(input, curve, known)).toHaveLength(10);
    const sunless = (from: number, to: number): OutlookInput => ({
      ...input,
      hours: hours.map((hour, at) =>
        at >= from && at < to ? { ...hour, outsideRadiationWm2: null, sunFromTempsWm2: null } : hour,
      ),
    });
    expect(humidityHours(sunless(0, known), curve, known)).toBeUndefined();
    expect(humidityHours(sunless(known + 4, known + 6), curve, known)).toHaveLength(4);
  });
});
