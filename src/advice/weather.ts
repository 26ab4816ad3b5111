import type { Catalogue } from '../domain/catalogue.js';
import type { Collection } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import type { HouseOutlook } from '../domain/outlook.js';
import type { Quantity } from '../domain/quantities.js';
import type { House, Site } from '../domain/site.js';
import { addDays, civilNoon, type LocalDay, localDayBounds, localDayOf } from '../domain/time.js';
import {
  type ClimateDay,
  type ClimateDayFrame,
  type ClimateFigure,
  type ClimatePlace,
  climateDay,
  type HouseHours,
  hoursOfSensors,
  isNightOver,
  meanFigure,
} from '../models/house-climate.js';
import { atmosphericPressureKPa } from '../science/air.js';
import { sunTimes } from '../science/sun.js';
import type { ReadingStore, SeriesRollUps } from '../storage/repositories.js';
import { asInTheLastDays, byOutlook } from './ahead.js';
import type { HouseInput, Known } from './fact-inputs.js';
import type { HouseWeather } from './house-weather.js';

/** Days looked back: longer than any pot stays moist, and the month of the light history. */
export const DAYS_BACK = 60;

const INSIDE: readonly Quantity[] = ['airTempC', 'relHumidityPct', 'ppfdUmol', 'radiationWm2', 'illuminanceLux'];
const OUTSIDE: readonly Quantity[] = ['ppfdUmol', 'radiationWm2'];

/** Days that are read anew for every list; what arrives later than that counts from the next morning on. */
const DAYS_READ_ANEW = 4;

/** Past days of houses as they were read for an earlier list of the same morning. */
export type WeatherBook = Map<string, { readonly key: string; readonly past: readonly ClimateDay[] }>;

/**
 * Reads what the sensors told of the houses, from the roll-ups.
 * @param book days already read this morning are taken from it, and it is brought up to date
 */
export async function loadWeather(
  readings: ReadingStore,
  site: Site,
  catalogue: Catalogue,
  collection: Collection,
  day: LocalDay,
  untilMs: number,
  book: WeatherBook = new Map(),
): Promise<Map<string, HouseWeather>> {
  const frames = framesOf(site, day);
  const places = new Map(site.houses.map((house) => [house.id, placeOf(site, house, catalogue, collection)]));
  const keyOf = (houseId: string) => `${site.id} ${day} ${JSON.stringify(places.get(houseId))}`;
  const known = site.houses.every((house) => book.get(house.id)?.key === keyOf(house.id));
  const anew = known ? frames.slice(-DAYS_READ_ANEW) : frames;
  const fromMs = (anew[0] as ClimateDayFrame).noonBeforeMs - 3_600_000;
  const outside = hoursOf(
    await readings.hourly({ siteId: site.id, placement: 'outside', quantities: OUTSIDE }, fromMs, untilMs),
  );
  const weather = new Map<string, HouseWeather>();
  for (const house of site.houses) {
    const series = await readings.hourly(
      { siteId: site.id, houseId: house.id, placement: 'inside', quantities: INSIDE },
      fromMs,
      untilMs,
    );
    const inside = hoursOf(series);
    const place = places.get(house.id) as ClimatePlace;
    const read = anew.map((frame) => climateDay(frame, inside, outside, place, untilMs));
    const before = known ? (book.get(house.id)?.past.slice(0, DAYS_BACK + 1 - DAYS_READ_ANEW) ?? []) : [];
    const past = [...before, ...read.slice(0, -1)];
    book.set(house.id, { key: keyOf(house.id), past });
    weather.set(house.id, {
      houseId: house.id,
      past,
      today: read.at(-1) as ClimateDay,
      nightOver: isNightOver(frames.at(-1) as ClimateDayFrame, untilMs),
      sensorsHeard: new Set(series.flatMap(({ rollUps, series: info }) => (rollUps.length > 0 ? [info.sensorId] : [])))
        .size,
      lastReadingAt: series.reduce<number | null>(
        (last, { series: { lastAt } }) => (lastAt !== null && (last === null || lastAt > last) ? lastAt : last),
        null,
      ),
      hung: hungCloth(site, house, collection),
    });
  }
  return weather;
}

function framesOf(site: Site, day: LocalDay): ClimateDayFrame[] {
  const frames: ClimateDayFrame[] = [];
  for (let back = DAYS_BACK; back >= 0; back -= 1) {
    const local = addDays(day, -back);
    const noonMs = civilNoon(site.zone, local);
    const sun = sunTimes(noonMs, site.latitude, site.longitude);
    frames.push({
      day: local,
      bounds: localDayBounds(site.zone, local),
      noonMs,
      noonBeforeMs: civilNoon(site.zone, addDays(local, -1)),
      sunriseMs: sun.sunriseMs,
      sunsetMs: sun.sunsetMs,
      alwaysDown: sun.alwaysDown,
    });
  }
  return frames;
}

/** Roll-ups by quantity, the sensors of one place put together. */
export function hoursOf(series: readonly SeriesRollUps[]): HouseHours {
  const byQuantity = new Map<Quantity, SeriesRollUps['rollUps'][]>();
  for (const { series: info, rollUps } of series) {
    const sensors = byQuantity.get(info.quantity);
    if (sensors) sensors.push(rollUps);
    else byQuantity.set(info.quantity, [rollUps]);
  }
  return Object.fromEntries([...byQuantity].map(([quantity, sensors]) => [quantity, hoursOfSensors(sensors)]));
}

/** A place whose light is told even without a light sensor. */
export type HousePlace = ClimatePlace & { readonly transmission: number };

/** What of the house shapes its climate figures. A measured transmission goes before the catalogue's. */
export function placeOf(site: Site, house: House, catalogue: Catalogue, collection: Collection): HousePlace {
  const cover = catalogue.covers.find(({ id }) => id === house.cover);
  const [low, high] = cover?.transmissionHouse ?? [0.6, 0.7];
  return {
    pressureKPa: atmosphericPressureKPa(site.elevationM),
    fans: house.fans,
    wetMarginC: cover?.wetMarginC ?? 2,
    transmission: (house.transmission ?? (low + high) / 2) * hungCloth(site, house, collection).transmission,
  };
}

/** By its nominal shade; a house nobody spoke of has no cloth hung. */
function hungCloth(site: Site, house: House, collection: Collection): HouseWeather['hung'] {
  const entered = collection.cloths.get(house.id);
  const cloth = house.cloths.find(({ id }) => id === entered?.value);
  return {
    transmission: cloth ? 1 - cloth.shadePct / 100 : 1,
    since: entered ? localDayOf(site.zone, entered.at) : null,
  };
}

const SENSORS = 'sensors of the house, last 7 days';

const known = (figure: ClimateFigure | undefined, from: string): Known<number> | undefined =>
  figure && { value: figure.value, from, certainty: figure.certainty };
/** Mean of a week; a week whose last three days were not heard tells nothing of now. */
const weekMean = (
  days: readonly ClimateDay[],
  pick: (day: ClimateDay) => ClimateFigure | undefined,
): ClimateFigure | undefined => (days.slice(-3).some(pick) ? meanFigure(days, pick) : undefined);

/** The last week, and what the coming days are expected to be like. */
export function houseInputOf(weather: HouseWeather, house: House, outlook?: HouseOutlook): HouseInput {
  const week = weather.past.slice(-7);
  // Nights are named by the day they end on: the seven nights up to this morning.
  const nights = [...weather.past.slice(-6), weather.today];
  return {
    recent: defined({
      nightMinC: known(
        weekMean(nights, (day) => day.nightMinC),
        SENSORS,
      ),
      dayMaxC: known(
        weekMean(week, (day) => day.dayMaxC),
        SENSORS,
      ),
      dli: known(
        weekMean(week, (day) => day.dli),
        SENSORS,
      ),
      peakPpfdUmol: known(
        highest(week, (day) => day.peakPpfdUmol),
        SENSORS,
      ),
    }),
    ...(outlook ? byOutlook(weather, outlook) : asInTheLastDays(weather)),
    stillAir: !house.fans,
  };
}

function highest(
  days: readonly ClimateDay[],
  pick: (day: ClimateDay) => ClimateFigure | undefined,
): ClimateFigure | undefined {
  const mean = weekMean(days, pick);
  return mean && { value: Math.max(...days.map((day) => pick(day)?.value ?? 0)), certainty: mean.certainty };
}

/** Evaporation to expect, today first: the mean of the last three days that are known. */
export function expectedEtMm(weather: HouseWeather): readonly number[] {
  const days = weather.past.slice(-7).flatMap((day) => (day.referenceEtMm ? [day.referenceEtMm.value] : []));
  const last = days.slice(-3);
  return last.length === 0 ? [] : [last.reduce((sum, et) => sum + et, 0) / last.length];
}
