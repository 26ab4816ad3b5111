import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  dailyVapourPressureKPa,
  saturationVapourPressureKPa,
  vapourPressureKPa,
  vpdKPa,
} from '../../src/science/air.js';
import {
  AERODYNAMIC_RESISTANCE_SM,
  type GlassEtInput,
  glassReferenceEtMm,
  hargreavesEtMm,
  monthlySoilHeatMJm2,
  outdoorReferenceEt,
  priestleyTaylorEtMm,
  referenceEtDailyMm,
  referenceEtHourlyMm,
  windSpeedAt2mMs,
} from '../../src/science/evaporation.js';
import { faoDaylightHours, faoExtraterrestrialDailyMJm2 } from '../../src/science/extraterrestrial.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { netShortwaveMJm2, radiationFromSunshineMJm2 } from '../../src/science/radiation.js';
import { fahrenheitToCelsius } from '../../src/science/units.js';
import { sharedData } from '../support/shared-data.js';

type Row = Record<string, string>;
/** Neither file has quotes, and a full parser takes seconds over 100 000 rows. */
function readRows(text: string): Row[] {
  const [header = '', ...lines] = text.trim().split(/\r?\n/);
  const names = header.split(',');
  return lines.map((line) => {
    const row: Row = {};
    line.split(',').forEach((cell, column) => {
      row[names[column] ?? ''] = cell;
    });
    return row;
  });
}

const dayOfYear = (year: number, month: number, day: number) =>
  Math.round((Date.UTC(year, month - 1, day) - Date.UTC(year, 0, 1)) / 86_400_000) + 1;

describe('under glass', () => {
  // Worked from FAO-56 Eq. 3 with fixed resistance: P 101.3 kPa, albedo 0.23, no longwave, 24 h. Light sum / 2.06 = MJ/m².
  it.each([
    { day: 'dull winter', airTempC: 10, humidity: 85, dli: 5, fans: 0.65, still: 0.55, energyOnly: 0.53 },
    { day: 'bright winter', airTempC: 12, humidity: 70, dli: 12, fans: 1.53, still: 1.32, energyOnly: 1.33 },
    { day: 'spring', airTempC: 18, humidity: 60, dli: 20, fans: 2.77, still: 2.42, energyOnly: 2.53 },
    { day: 'summer', airTempC: 26, humidity: 50, dli: 30, fans: 4.63, still: 4.07, energyOnly: 4.31 },
    { day: 'heat', airTempC: 33, humidity: 35, dli: 35, fans: 6.29, still: 5.36, energyOnly: 5.43 },
  ])('$day: $fans mm with fans, $still mm in still air', ({ airTempC, humidity, dli, fans, still, energyOnly }) => {
    const input = {
      airTempC,
      vpdKPa: vpdKPa(airTempC, humidity),
      radiationMJm2: dli / 2.06,
      periodSeconds: 86_400,
      pressureKPa: 101.3,
    };
    const withFans = glassReferenceEtMm({ ...input, aerodynamicResistanceSm: AERODYNAMIC_RESISTANCE_SM.fans });
    expect(Math.abs(withFans - fans)).toBeLessThan(0.01);
    expect(Math.abs(glassReferenceEtMm(input) - still)).toBeLessThan(0.01);
    const taylor = priestleyTaylorEtMm(airTempC, netShortwaveMJm2(dli / 2.06), 101.3);
    expect(Math.abs(taylor - energyOnly)).toBeLessThan(0.01);
  });

  const glass = fc.record({
    airTempC: fc.double({ min: 0, max: 50, noNaN: true }),
    vpdKPa: fc.double({ min: 0, max: 6, noNaN: true }),
    radiationMJm2: fc.double({ min: 0, max: 30, noNaN: true }),
    periodSeconds: fc.integer({ min: 3600, max: 90_000 }),
    pressureKPa: fc.double({ min: 70, max: 103, noNaN: true }),
  });

  it('rises with light and with the deficit, falls with the resistance when the air is dry, and is never negative', () => {
    fc.assert(
      fc.property(glass, (input: GlassEtInput) => {
        const et = glassReferenceEtMm(input);
        expect(et).toBeGreaterThanOrEqual(0);
        expect(glassReferenceEtMm({ ...input, radiationMJm2: input.radiationMJm2 + 1 })).toBeGreaterThan(et);
        expect(glassReferenceEtMm({ ...input, vpdKPa: input.vpdKPa + 0.1 })).toBeGreaterThan(et);
        const dark = { ...input, radiationMJm2: 0, vpdKPa: input.vpdKPa + 0.1 };
        expect(glassReferenceEtMm({ ...dark, aerodynamicResistanceSm: 150 })).toBeGreaterThan(glassReferenceEtMm(dark));
      }),
    );
  });

  it('24 equal hours add up to the day, so hourly and daily books agree', () => {
    fc.assert(
      fc.property(glass, (input: GlassEtInput) => {
        const hour = { ...input, periodSeconds: 3600, radiationMJm2: input.radiationMJm2 / 24 };
        const day = { ...input, periodSeconds: 86_400 };
        expect(24 * glassReferenceEtMm(hour)).toBeCloseTo(glassReferenceEtMm(day), 9);
      }),
    );
  });
});

describe('outdoors', () => {
  const measured = {
    latitudeDeg: 40,
    elevationM: 200,
    dayOfYear: 196,
    airTempMinC: 15,
    airTempMaxC: 30,
    actualVapourPressureKPa: 1.5,
    radiationMJm2: 24,
    windSpeed2mMs: 2.2,
  };

  it('names what it put in place of a measurement', () => {
    expect(outdoorReferenceEt(measured).assumed).toEqual([]);
    const { actualVapourPressureKPa: _humidity, radiationMJm2: _radiation, windSpeed2mMs: _wind, ...temps } = measured;
    expect(outdoorReferenceEt(temps).assumed).toEqual(['humidity', 'radiation', 'wind']);
  });

  it('a southern site half a year later, the sun at the same distance aside, sees the same demand', () => {
    // FAO-56 Eq. 23-24 are not exactly antisymmetric in the day of year: 7 % is the orbit's eccentricity in Ra.
    const mirrored = outdoorReferenceEt({ ...measured, latitudeDeg: -40, dayOfYear: 13 });
    expect(Math.abs(mirrored.et0Mm / outdoorReferenceEt(measured).et0Mm - 1)).toBeLessThan(0.07);
  });

  it('takes a calm day as half a metre a second, and no calmer', () => {
    const calm = outdoorReferenceEt({ ...measured, windSpeed2mMs: 0 }).et0Mm;
    expect(calm).toBe(outdoorReferenceEt({ ...measured, windSpeed2mMs: 0.5 }).et0Mm);
    expect(calm).toBeLessThan(outdoorReferenceEt({ ...measured, windSpeed2mMs: 0.6 }).et0Mm);
  });

  it('stays finite in the polar night', () => {
    const night = outdoorReferenceEt({ ...measured, latitudeDeg: 75, dayOfYear: 355, radiationMJm2: 0 });
    expect(Number.isFinite(night.et0Mm)).toBe(true);
  });

  it('drier air asks for more, hour by hour', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 5, max: 40, noNaN: true }),
        fc.double({ min: 0.05, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 3.5, noNaN: true }),
        fc.double({ min: 0.5, max: 8, noNaN: true }),
        (airTempC, dryness, netRadiationMJm2, windSpeed2mMs) => {
          const hour = {
            airTempC,
            actualVapourPressureKPa: (1 - dryness) * saturationVapourPressureKPa(airTempC),
            netRadiationMJm2,
            windSpeed2mMs,
            pressureKPa: 100,
          };
          fc.pre(netRadiationMJm2 > 0);
          const short = referenceEtHourlyMm(hour, 'asce-short');
          expect(short).toBeGreaterThanOrEqual(0);
          const drier = { ...hour, actualVapourPressureKPa: hour.actualVapourPressureKPa * 0.9 };
          expect(referenceEtHourlyMm(drier, 'asce-short')).toBeGreaterThanOrEqual(short);
        },
      ),
    );
  });
});

describe('against measurements', () => {
  it('Fallon, Nevada, first half of 2015 (AgriMet): published daily reference evaporation within 0.08 mm on average', () => {
    const path = sharedData('weather/wx_fallon2015/agrimet_daily.csv');
    if (path === undefined) return;
    // One day has no wind ("NO RECORD").
    const days = readRows(readFileSync(path, 'utf8')).filter((row) => Number.isFinite(Number(row.UA)));
    const errors = days.map((row) => {
      const [year, month, day] = [Number(row.YEAR), Number(row.MONTH), Number(row.DAY)];
      // °F, langley, miles per hour at 3 m, inches of the short reference.
      const ours = outdoorReferenceEt(
        {
          latitudeDeg: 39.4575,
          elevationM: 1208.5,
          dayOfYear: dayOfYear(year, month, day),
          airTempMinC: fahrenheitToCelsius(Number(row.MN)),
          airTempMaxC: fahrenheitToCelsius(Number(row.MX)),
          actualVapourPressureKPa: saturationVapourPressureKPa(fahrenheitToCelsius(Number(row.YM))),
          radiationMJm2: Number(row.SR) * 0.041868,
          windSpeed2mMs: windSpeedAt2mMs(Number(row.UA) * 0.44704, 3),
        },
        'asce-short',
      ).et0Mm;
      return Math.abs(ours - Number(row.ETOS) * 25.4);
    });
    const meanAbsolute = errors.reduce((sum, error) => sum + error, 0) / errors.length;
    console.log(`Fallon: mean absolute error ${meanAbsolute.toFixed(4)} mm over ${errors.length} days`);
    expect(errors.length).toBe(180);
    expect(meanAbsolute).toBeLessThanOrEqual(0.08);
  });

  it('Australian sites (Bureau of Meteorology 2007-17): FAO-56 follows the evaporation pan with r of at least 0.85', () => {
    const path = sharedData('weather/wx_australia/weatherAUS_2007_2017.csv.gz');
    const places = sharedData('weather/wx_australia/locationsAUS.csv');
    if (path === undefined || places === undefined) return;
    const latitudes = new Map(readRows(readFileSync(places, 'utf8')).map((row) => [row.name, Number(row.latitude)]));
    const number = (text: string | undefined) => (text === undefined || text === '' ? undefined : Number(text));
    const vapourOf = (temp: string | undefined, humidity: string | undefined) => {
      const [airTempC, relHumidityPct] = [number(temp), number(humidity)];
      if (airTempC === undefined || relHumidityPct === undefined) return undefined;
      return vapourPressureKPa(airTempC, relHumidityPct);
    };
    const pan: number[] = [];
    const computed: number[] = [];
    const temperatureOnly: number[] = [];
    const rows = readRows(gunzipSync(readFileSync(path)).toString('utf8'));
    for (const [index, row] of rows.entries()) {
      // The pan is read at 9 o'clock for the 24 hours before: what this day took stands in the next row, and so do the
      // night that followed and the morning wind. After a day without a reading a pan holds the sum of several days.
      const next = rows[index + 1];
      const isNextDay = Date.parse(next?.Date ?? '') - Date.parse(row.Date ?? '') === 86_400_000;
      if (next === undefined || next.Location !== row.Location || !isNextDay || number(row.Evaporation) === undefined) {
        continue;
      }
      const latitudeDeg = latitudes.get(row.Location);
      const [min, max, evaporation] = [number(next.MinTemp), number(row.MaxTemp), number(next.Evaporation)];
      const sunshine = number(row.Sunshine);
      const winds = [number(row.WindSpeed9am), number(row.WindSpeed3pm), number(next.WindSpeed9am)];
      const vapours = [
        vapourOf(row.Temp9am, row.Humidity9am),
        vapourOf(row.Temp3pm, row.Humidity3pm),
        vapourOf(next.Temp9am, next.Humidity9am),
      ];
      if (latitudeDeg === undefined || min === undefined || max === undefined || !(max >= min)) continue;
      if (evaporation === undefined || sunshine === undefined) continue;
      const [wind, vapour] = [meanOf(winds), meanOf(vapours)];
      if (wind === undefined || vapour === undefined) continue;
      const [year, month, day] = (row.Date ?? '').split('-').map(Number) as [number, number, number];
      const ordinal = dayOfYear(year, month, day);
      const above = faoExtraterrestrialDailyMJm2(latitudeDeg, ordinal);
      const daylight = faoDaylightHours(latitudeDeg, ordinal);
      pan.push(evaporation);
      computed.push(
        outdoorReferenceEt({
          latitudeDeg,
          elevationM: 100,
          dayOfYear: ordinal,
          airTempMinC: min,
          airTempMaxC: max,
          actualVapourPressureKPa: vapour,
          radiationMJm2: radiationFromSunshineMJm2(Math.min(sunshine, daylight), daylight, above),
          // km/h at 10 m.
          windSpeed2mMs: windSpeedAt2mMs(wind / 3.6, 10),
        }).et0Mm,
      );
      temperatureOnly.push(hargreavesEtMm(min, max, above));
    }
    const r = correlation(pan, computed);
    console.log(
      `Australia: r ${r.toFixed(3)} FAO-56, ${correlation(pan, temperatureOnly).toFixed(3)} Hargreaves, ${pan.length} days`,
    );
    expect(pan.length).toBeGreaterThan(20_000);
    expect(r).toBeGreaterThanOrEqual(0.85);
  });
});

describe('refusals', () => {
  it('NaN is refused with a named error', () => {
    const glass = { airTempC: 20, vpdKPa: 1, radiationMJm2: 10, periodSeconds: 86_400, pressureKPa: 101 };
    for (const key of Object.keys(glass)) {
      expect(() => glassReferenceEtMm({ ...glass, [key]: Number.NaN }), key).toThrow(PhysicsRangeError);
    }
    const day = {
      airTempMinC: 10,
      airTempMaxC: 20,
      actualVapourPressureKPa: 1,
      netRadiationMJm2: 10,
      windSpeed2mMs: 2,
      pressureKPa: 101,
      soilHeatMJm2: 0,
    };
    for (const key of Object.keys(day)) {
      expect(() => referenceEtDailyMm({ ...day, [key]: Number.NaN }), key).toThrow(PhysicsRangeError);
    }
    expect(() => hargreavesEtMm(20, 10, 30)).toThrow(PhysicsRangeError);
    expect(() => priestleyTaylorEtMm(20, Number.NaN, 101)).toThrow(PhysicsRangeError);
    expect(() => monthlySoilHeatMJm2(Number.NaN, { nextMonthTempC: 3 })).toThrow(PhysicsRangeError);
    expect(() => dailyVapourPressureKPa(10, 20, 60, 50)).toThrow(PhysicsRangeError);
  });
});

/** Mean of readings, or undefined when one is missing. */
function meanOf(values: readonly (number | undefined)[]): number | undefined {
  const known = values.filter((value) => value !== undefined);
  return known.length < values.length ? undefined : known.reduce((sum, value) => sum + value, 0) / known.length;
}

function correlation(first: readonly number[], second: readonly number[]): number {
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [firstMean, secondMean] = [mean(first), mean(second)];
  let [cross, firstSquare, secondSquare] = [0, 0, 0];
  first.forEach((value, index) => {
    const a = value - firstMean;
    const b = (second[index] ?? Number.NaN) - secondMean;
    cross += a * b;
    firstSquare += a * a;
    secondSquare += b * b;
  });
  return cross / Math.sqrt(firstSquare * secondSquare);
}
