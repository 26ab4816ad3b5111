/** Humidity and light of the hours and days to come. */
import type { Band } from '../../domain/outlook.js';
import type { DayBounds } from '../../domain/time.js';
import { dewPointMarginC, vapourPressureKPa } from '../../science/air.js';
import { clamp } from '../../science/guards.js';
import { dliFromPpfdIntegral, ppfdFromGlobalUmol } from '../../science/light.js';
import { MS_PER_HOUR } from '../../science/units.js';
import { isWetHour } from '../house-climate.js';
import { type AirCoefficients, airParameters, ventOpening } from './air-model.js';
import { humidityAhead, learnMoisture, type MoistureHour } from './moisture.js';
import type { NightSpan } from './nights.js';
import type { CurveHour } from './outlook-curve.js';
import type { OutlookInput } from './outlook-input.js';
import type { SkyHour } from './record.js';

/** Hours looked back at to learn how moist a house is: three weeks. */
const MOISTURE_HOURS = 504;
const FEWEST_MOIST_HOURS = 24;
/** A humidity older than this is no start. */
const HUMIDITY_HOURS_BACK = 3;

/** Relative humidity by hour, as long as the air, the vapour outside and the sun are known; undefined: it was never measured. */
export function humidityHours(
  { hours, prior }: OutlookInput,
  curve: readonly CurveHour[],
  knownHours: number,
  coefficients: AirCoefficients = prior.mean,
): number[] | undefined {
  const { ventFromC } = airParameters(coefficients);
  const moist = (hour: SkyHour, insideTempC: number | null): MoistureHour | null => {
    const { outsideTempC, outsideRelHumidityPct } = hour;
    const sun = sunOf(hour);
    if (insideTempC === null || outsideTempC === null || outsideRelHumidityPct === null || sun === null) return null;
    return {
      insideTempC,
      outsideVapourKPa: vapourPressureKPa(outsideTempC, clamp(outsideRelHumidityPct, 0, 100)),
      venting: ventOpening(insideTempC, ventFromC),
      sunWm2: sun * hour.clothWarmthShare,
    };
  };
  const past = hours.slice(Math.max(0, knownHours - MOISTURE_HOURS), knownHours).map((hour) => {
    const row = moist(hour, hour.insideTempC);
    return row && hour.insideRelHumidityPct !== null
      ? { ...row, insideRelHumidityPct: hour.insideRelHumidityPct }
      : null;
  });
  if (past.filter((row) => row !== null).length < FEWEST_MOIST_HOURS) return undefined;
  const last = past.slice(-HUMIDITY_HOURS_BACK).findLast((row) => row !== null);
  if (!last) return undefined;
  const ahead: MoistureHour[] = [];
  for (const { index, airTempC } of curve) {
    const row = moist(hours[index] as SkyHour, airTempC.p50);
    if (row === null) break;
    ahead.push(row);
  }
  return humidityAhead(learnMoisture(past), vapourPressureKPa(last.insideTempC, last.insideRelHumidityPct), ahead);
}

export interface DampNight {
  readonly wetHours: number;
  readonly maxRelHumidityPct: number;
}

/** Share of a night's hours that must be told. */
const NIGHT_SHARE = 0.75;

/** How damp the night that ends on a span's day will be, from the hours that are measured and those that are foretold. */
export function dampNight(
  hours: readonly SkyHour[],
  curve: readonly { readonly index: number; readonly airTempC: Band }[],
  humidity: readonly number[] | undefined,
  span: NightSpan,
  wetMarginC: number,
): DampNight | undefined {
  if (humidity === undefined) return undefined;
  const foretold = new Map(curve.map(({ index, airTempC }, ahead) => [index, { tempC: airTempC.p50, ahead }]));
  let told = 0;
  let wetHours = 0;
  let maxRelHumidityPct = 0;
  for (let index = span.first; index < span.end; index += 1) {
    const next = foretold.get(index);
    const tempC = next ? next.tempC : (hours[index]?.insideTempC ?? null);
    const relHumidityPct = next ? humidity[next.ahead] : (hours[index]?.insideRelHumidityPct ?? undefined);
    if (tempC === null || relHumidityPct === undefined) continue;
    told += 1;
    maxRelHumidityPct = Math.max(maxRelHumidityPct, relHumidityPct);
    if (isWetHour(tempC, dewPointMarginC(tempC, Math.max(1, relHumidityPct)), wetMarginC)) wetHours += 1;
  }
  return told >= NIGHT_SHARE * (span.end - span.first) ? { wetHours, maxRelHumidityPct } : undefined;
}

const sunOf = ({ outsideRadiationWm2, sunFromTempsWm2 }: SkyHour): number | null =>
  outsideRadiationWm2 ?? sunFromTempsWm2;

/** Light at the benches in an hour; undefined where nothing tells of the sun. */
export function ppfdOf(hour: SkyHour, transmission: number): number | undefined {
  const sun = sunOf(hour);
  return sun === null ? undefined : ppfdFromGlobalUmol(sun) * transmission;
}

/** Share of a day's possible light whose hours must be told. */
const LIGHT_SHARE = 0.9;

/** Sum and peak of a day's light; nothing where too much of it is not known. */
export function lightOfDay(
  rows: readonly SkyHour[],
  transmission: number,
  bounds: DayBounds,
): { dli?: number; peakPpfdUmol?: number } {
  const possible = rows.reduce((sum, row) => sum + row.clearSkyWm2, 0);
  const told = rows.reduce((sum, row) => sum + (ppfdOf(row, transmission) === undefined ? 0 : row.clearSkyWm2), 0);
  const hours = (bounds.endMs - bounds.startMs) / MS_PER_HOUR;
  if (rows.length < hours - 1 || told < LIGHT_SHARE * possible) return {};
  const light = rows.map((row) => ppfdOf(row, transmission) ?? 0);
  return {
    dli: dliFromPpfdIntegral(light.reduce((sum, ppfd) => sum + ppfd * 3600, 0)),
    peakPpfdUmol: Math.max(...light),
  };
}
