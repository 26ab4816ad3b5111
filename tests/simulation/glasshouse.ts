import { normal, withMemory } from '../../src/app/demo/random.js';
import type { RollUp } from '../../src/domain/quantities.js';
import { addDays, daysBetween, type LocalDay } from '../../src/domain/time.js';
import { saturationVapourPressureKPa, vpdKPa } from '../../src/science/air.js';
import { faoDaylightHours, faoExtraterrestrialDailyMJm2 } from '../../src/science/extraterrestrial.js';
import { radiationFromSunshineMJm2 } from '../../src/science/radiation.js';
import { seasonAngleDeg } from '../../src/science/season.js';
import type { Place } from './places.js';

/*
 * An invented daily climate with the monthly normals of a place, and what a frost-free glasshouse makes of it. The clocks of
 * the simulated sites run on sun time at the meridian of Greenwich.
 */
export const ZONE = 'UTC';
const HOUR_MS = 3_600_000;

/** Share of the daily light a house of single glass lets through (handbook range 0.60-0.75, remembered). */
const GLASS_TRANSMISSION = 0.65;
/** Heated to this; common practice for a mixed frost-free house. */
const HEATED_TO_C = 5;
/** mol per MJ of global radiation: 0.45 × 4.57 (McCree 1972, remembered). */
const MOL_PER_MJ = 2.06;
/** Air of a house with open vents above the outside, °C per MJ m⁻² of a day; shut it warms faster, up to the vents' opening. */
const VENTED_GAIN = 0.25;
const SHUT_GAIN = 0.9;
const VENTS_OPEN_C = 24;
/** Damp of pots and plants, kPa. */
const INDOOR_DAMP_KPA = 0.06;

/** One day in the house without cloth. Temperatures do not depend on the cloth: black cloth inside does not cool the air. */
export interface HouseDay {
  readonly day: LocalDay;
  readonly seasonAngleDeg: number;
  /** The night that ends this morning. */
  readonly nightMinC: number;
  readonly dayMaxC: number;
  readonly meanC: number;
  /** The night that follows. */
  readonly nextNightMinC: number;
  /** Hours of that night within 2 °C of the dew point, at 9-21 °C. */
  readonly nextNightWetHours: number;
  readonly dayVpdKPa: number;
  readonly daylightHours: number;
  /** At the bench without cloth. */
  readonly dli: number;
  readonly hourlyC: readonly number[];
  readonly hourlyRhPct: readonly number[];
}

interface OutsideDay {
  readonly minC: number;
  readonly maxC: number;
  readonly radiationMJ: number;
  readonly dewC: number;
}

const dayOfYear = (day: LocalDay): number => daysBetween(`${day.slice(0, 4)}-01-01`, day) + 1;

/** A figure between the middles of its months. */
function ofYear(months: readonly number[], day: number): number {
  const position = (day - 15.2) / 30.437;
  const before = Math.floor(position);
  const share = position - before;
  const at = (month: number) => months[((month % 12) + 12) % 12] as number;
  return at(before) * (1 - share) + at(before + 1) * share;
}

const MONTH_DAYS = [31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/** Weather of a place, day by day from `first` on, for `days` days. The same seed gives the same weather. */
function outside(place: Place, seed: number, first: LocalDay, days: number): OutsideDay[] {
  const warmth = withMemory(seed, `${Math.abs(place.latitudeDeg)}/warmth`, 0.72);
  const sky = withMemory(seed, `${Math.abs(place.latitudeDeg)}/sky`, 0.45);
  const damp = normal(seed, `${Math.abs(place.latitudeDeg)}/damp`);
  const dailySun = place.sunshineHours.map((hours, month) => hours / (MONTH_DAYS[month] as number));
  return Array.from({ length: days }, (_, index) => {
    const day = addDays(first, index);
    const number = dayOfYear(day);
    const possible = faoDaylightHours(place.latitudeDeg, number);
    const usualShare = Math.min(0.95, Math.max(0.05, ofYear(dailySun, number) / possible));
    const share = 1 / (1 + Math.exp(-(Math.log(usualShare / (1 - usualShare)) + 1.4 * sky(index))));
    const midsummer = place.latitudeDeg >= 0 ? 200 : 17;
    const summer = (1 + Math.cos(((number - midsummer) / 365) * 2 * Math.PI)) / 2;
    const [winterStray, summerStray] = place.strayC;
    const stray = warmth(index) * (winterStray + (summerStray - winterStray) * summer);
    // Clear summer days are warmer, clear nights colder.
    const clear = share - usualShare;
    const minC = ofYear(place.nightMinC, number) + 0.8 * stray - 2.5 * clear;
    const maxC = Math.max(minC + 0.5, ofYear(place.dayMaxC, number) + stray + (6 * summer - 1) * clear);
    return {
      minC,
      maxC,
      radiationMJ: radiationFromSunshineMJm2(
        share * possible,
        possible,
        faoExtraterrestrialDailyMJm2(place.latitudeDeg, number),
      ),
      dewC: minC - Math.max(0, place.dewDepressionC + damp(index)),
    };
  });
}

/** Days of the house from `first` on. */
export function houseDays(place: Place, seed: number, first: LocalDay, days: number): HouseDay[] {
  const weather = outside(place, seed, addDays(first, -1), days + 2);
  const inside = weather.map((out) => {
    const gainMJ = out.radiationMJ * GLASS_TRANSMISSION;
    const vented = out.maxC + VENTED_GAIN * gainMJ;
    const shut = Math.min(VENTS_OPEN_C, out.maxC + SHUT_GAIN * gainMJ);
    return {
      minC: Math.max(HEATED_TO_C, out.minC + (out.minC < 10 ? 2 : 1)),
      maxC: Math.max(vented, shut, HEATED_TO_C + 1),
      vapourKPa: saturationVapourPressureKPa(out.dewC) + INDOOR_DAMP_KPA,
      gainMJ,
    };
  });
  return Array.from({ length: days }, (_, index): HouseDay => {
    const [before, now, after] = inside.slice(index, index + 3) as [
      (typeof inside)[0],
      (typeof inside)[0],
      (typeof inside)[0],
    ];
    const day = addDays(first, index);
    const temps = Array.from({ length: 24 }, (_, hour) => temperatureAt(hour + 0.5, before.maxC, now, after.minC));
    const humidity = temps.map((tempC) => dampnessPct(now.vapourKPa, tempC));
    const daylightHours = faoDaylightHours(place.latitudeDeg, dayOfYear(day));
    const evening = Array.from({ length: 12 }, (_, hour) => temperatureAt(hour + 18.5, before.maxC, now, after.minC));
    const wet = evening.filter((tempC) => {
      const margin = dewMarginC(after.vapourKPa, tempC);
      return margin < 2 && tempC >= 9 && tempC <= 21;
    }).length;
    return {
      day,
      seasonAngleDeg: seasonAngleDeg(Date.parse(`${day}T12:00:00Z`), place.latitudeDeg) as number,
      nightMinC: now.minC,
      dayMaxC: now.maxC,
      meanC: temps.reduce((sum, tempC) => sum + tempC, 0) / 24,
      nextNightMinC: after.minC,
      nextNightWetHours: wet,
      dayVpdKPa: temps.reduce((sum, tempC, hour) => sum + vpdKPa(tempC, humidity[hour] as number), 0) / 24,
      daylightHours,
      dli: now.gainMJ * MOL_PER_MJ,
      hourlyC: temps,
      hourlyRhPct: humidity,
    };
  });
}

/** Coldest at six, warmest at two in the afternoon. */
function temperatureAt(
  hour: number,
  maxBeforeC: number,
  now: { minC: number; maxC: number },
  nextMinC: number,
): number {
  const cooling = (from: number, to: number, share: number) =>
    from + (to - from) * Math.sin((Math.PI / 2) * Math.sqrt(share));
  if (hour < 6) return cooling(maxBeforeC, now.minC, (hour + 10) / 16);
  if (hour < 14) return now.minC + ((now.maxC - now.minC) * (1 - Math.cos((Math.PI * (hour - 6)) / 8))) / 2;
  return cooling(now.maxC, nextMinC, Math.min(1, (hour - 14) / 16));
}

const dampnessPct = (vapourKPa: number, tempC: number): number =>
  Math.min(98, (100 * vapourKPa) / saturationVapourPressureKPa(tempC));

/** Near enough: the dew point of a vapour pressure, from the inverse of the saturation formula (FAO-56, Eq. 11 turned round). */
function dewMarginC(vapourKPa: number, tempC: number): number {
  const capped = Math.min(vapourKPa, 0.98 * saturationVapourPressureKPa(tempC));
  const log = Math.log(capped / 0.6108);
  return tempC - (237.3 * log) / (17.27 - log);
}

/** Mean light of each hour of a day, half a sine from sunrise to sunset, under a cloth that holds back a share. */
export function hourlyPpfd(day: HouseDay, clothShare: number): number[] {
  const rise = 12 - day.daylightHours / 2;
  const peak = (day.dli * (1 - clothShare) * 1e6 * Math.PI) / (2 * day.daylightHours * 3600);
  return Array.from({ length: 24 }, (_, hour) => {
    const since = (hour + 0.5 - rise) / day.daylightHours;
    return since > 0 && since < 1 ? peak * Math.sin(Math.PI * since) : 0;
  });
}

/** Brightest hour under a cloth. */
export const peakPpfd = (day: HouseDay, clothShare: number): number =>
  (day.dli * (1 - clothShare) * 1e6 * Math.PI) / (2 * day.daylightHours * 3600);

/** What a sensor of the house reports of a day, hour by hour; it reads a little wrong. */
export function sensorHours(
  day: HouseDay,
  quantity: 'airTempC' | 'relHumidityPct' | 'ppfdUmol',
  clothShare: number,
  seed: number,
): RollUp[] {
  const start = Date.parse(`${day.day}T00:00:00Z`);
  const error = normal(seed, `sensor/${quantity}`);
  const values =
    quantity === 'airTempC'
      ? day.hourlyC
      : quantity === 'relHumidityPct'
        ? day.hourlyRhPct
        : hourlyPpfd(day, clothShare);
  return values.map((value, hour) => {
    const odd = error(start / HOUR_MS + hour);
    const read =
      quantity === 'airTempC'
        ? value + 0.2 * odd
        : quantity === 'relHumidityPct'
          ? Math.min(100, Math.max(5, value + 2 * odd))
          : Math.max(0, value * (1 + 0.03 * odd));
    return {
      startMs: start + hour * HOUR_MS,
      count: 12,
      min: read,
      mean: read,
      max: read,
      integral: read * 3600,
      coveredSeconds: 3600,
    };
  });
}
