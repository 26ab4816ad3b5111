import { clothHistory } from '../domain/cloth-history.js';
import type { IssuedForecast } from '../domain/forecast.js';
import type { Quantity } from '../domain/quantities.js';
import type { House, Site } from '../domain/site.js';
import { addDays, type LocalDay, localDayBounds, localDayOf } from '../domain/time.js';
import type { CorrectedForecast } from '../models/corrected-forecast.js';
import { clearSkyMeans, type WholeHour, wholeHours } from '../models/forecast-hours.js';
import type { HouseHours } from '../models/house-climate.js';
import { clothWarmth } from '../models/house-thermal/cloth.js';
import type { WeatherSpread } from '../models/house-thermal/outlook-input.js';
import type { ThermalHour } from '../models/house-thermal/record.js';
import { type OutsideHour, rolledHours } from '../models/house-thermal/rolled-hours.js';
import { movingHours } from '../models/still-hours.js';
import type { ClearSkyPlace } from '../science/radiation.js';
import { MS_PER_HOUR } from '../science/units.js';
import type { Storage } from '../storage/repositories.js';
import { type LastDaysAgain, lastDaysAgain } from './last-days.js';
import { hoursOf } from './weather.js';

/** What the outlook of a house is read from. */
export interface OutlookSources {
  readonly storage: Pick<Storage, 'readings' | 'journal' | 'forecasts'>;
}

/** Days a house is learned from: a season's change and not the one before. */
const LEARNED_DAYS = 120;
const DAYS_AHEAD = 4;
const INSIDE: readonly Quantity[] = ['airTempC', 'relHumidityPct', 'ppfdUmol', 'radiationWm2', 'illuminanceLux'];
const OUTSIDE: readonly Quantity[] = ['airTempC', 'relHumidityPct', 'radiationWm2', 'ppfdUmol', 'illuminanceLux'];
/** With fewer of its hours told by sensors the weather of the past is filled up from the forecasts of then. */
const SENSORS_ENOUGH = 0.7;
const PAST_SPACING_MS = 6 * MS_PER_HOUR;
/** Of an hour the forecast does not tell, °C (starting value): published errors of daily highs lie at 1.1 to 1.4 °C. */
const UNTOLD_SPREAD_C = 1.6;
/** What tells of the cloths: what was hung, and what was taken back. */
const CLOTH_KINDS = ['cloth', 'undo'] as const;

export interface OutlookHours {
  readonly hours: readonly ThermalHour[];
  readonly inside: HouseHours;
  readonly outside: HouseHours;
  readonly basis: 'forecast' | 'last-days';
  readonly forecast?: CorrectedForecast;
  readonly spreadOf: (startMs: number) => WeatherSpread;
}

export async function readOutlookHours(
  sources: OutlookSources,
  site: Site,
  house: House,
  at: number,
  /** The forecast to go by; undefined: there is none. */
  forecast: CorrectedForecast | undefined,
): Promise<OutlookHours> {
  const hourOf = (ms: number): number => Math.floor(ms / MS_PER_HOUR) * MS_PER_HOUR;
  const today = localDayOf(site.zone, at);
  const earliestMs = hourOf(localDayBounds(site.zone, addDays(today, -LEARNED_DAYS)).startMs);
  const toMs = hourOf(localDayBounds(site.zone, addDays(today, DAYS_AHEAD)).startMs);
  const nowMs = hourOf(at);
  const { readings, forecasts, journal } = sources.storage;
  const [insideSeries, outsideSeries, entries] = await Promise.all([
    readings.hourly({ siteId: site.id, houseId: house.id, placement: 'inside', quantities: INSIDE }, earliestMs, at),
    readings.hourly({ siteId: site.id, placement: 'outside', quantities: OUTSIDE }, earliestMs, at),
    journal.list({ siteId: site.id, kinds: CLOTH_KINDS, afterId: 0, limit: Number.MAX_SAFE_INTEGER }),
  ]);
  const clearSky = clearSkyMeans(skyPlaceOf(site));
  const [inside, outside] = [insideSeries, outsideSeries].map((series) => movingHours(hoursOf(series), clearSky)) as [
    HouseHours,
    HouseHours,
  ];
  const fromMs = firstDay(site, inside, earliestMs, today);
  const weather = new Map<number, OutsideHour>();
  if (told(outside, fromMs, nowMs) < SENSORS_ENOUGH) {
    const past = await forecasts.range(site.id, {
      from: fromMs - 24 * MS_PER_HOUR,
      to: at,
      spacingMs: PAST_SPACING_MS,
    });
    for (const issued of past) fill(weather, issued, wholeHours(issued.hours, clearSky));
  }
  if (forecast) fill(weather, forecast, forecast.hours);
  const again = forecast ? undefined : lastDaysAgain(outside, weather, nowMs);
  const cloths = clothsOf(
    clothHistory(
      entries.filter(({ enteredAt }) => enteredAt <= at),
      house.id,
    ),
    house,
  );
  return {
    hours: rolledHours({
      fromMs,
      toMs,
      nowMs,
      inside,
      outside,
      expected: (startMs) => (startMs >= nowMs && again ? again.expected(startMs) : weather.get(startMs)),
      clothWarmthShare: cloths,
    }),
    inside,
    outside,
    basis: forecast ? 'forecast' : 'last-days',
    ...(forecast && { forecast }),
    spreadOf: forecast ? spreadsOf(forecast) : (again as LastDaysAgain).spreadOf,
  };
}

/** The day on which the house was first heard: nothing is learned from the empty days before. */
function firstDay(site: Site, { airTempC }: HouseHours, earliestMs: number, today: LocalDay): number {
  const heard = [...(airTempC?.keys() ?? [])].reduce((first, ms) => Math.min(first, ms), Number.POSITIVE_INFINITY);
  const yesterdayMs = localDayBounds(site.zone, addDays(today, -1)).startMs;
  const fromMs = Math.max(earliestMs, Math.min(heard, yesterdayMs));
  return Math.floor(fromMs / MS_PER_HOUR) * MS_PER_HOUR;
}

/** Share of the past hours of which a sensor told the outside temperature. */
function told({ airTempC }: HouseHours, fromMs: number, nowMs: number): number {
  let count = 0;
  for (const startMs of airTempC?.keys() ?? []) if (startMs >= fromMs && startMs < nowMs) count += 1;
  return count / Math.max(1, (nowMs - fromMs) / MS_PER_HOUR);
}

/** Hours of a forecast from its issue on; one that comes later says them better. */
function fill(weather: Map<number, OutsideHour>, { issuedAt }: IssuedForecast, hours: readonly WholeHour[]): void {
  for (const hour of hours) if (hour.at + MS_PER_HOUR > issuedAt) weather.set(hour.at, hour);
}

function spreadsOf({ hours }: CorrectedForecast): (startMs: number) => WeatherSpread {
  const byHour = new Map(
    hours.map((hour) => [
      hour.at,
      { airTempC: hour.airTempSpreadC, radiationWm2: hour.radiationSpread * (hour.radiationWm2 ?? 0) },
    ]),
  );
  return (startMs) => byHour.get(startMs) ?? { airTempC: UNTOLD_SPREAD_C, radiationWm2: 0 };
}

const skyPlaceOf = ({ latitude, longitude, elevationM }: Site): ClearSkyPlace => ({
  latitudeDeg: latitude,
  longitudeDeg: longitude,
  elevationM: Math.max(0, elevationM),
});

/** Share of the sun's warmth that the cloth of an hour left; before any was spoken of there was none. */
function clothsOf(
  changes: readonly { readonly at: number; readonly clothId: string | null }[],
  house: House,
): (startMs: number) => number {
  const shares = changes.map(({ at, clothId }) => ({
    at,
    share: clothWarmth(house.cloths.find(({ id }) => id === clothId) ?? null),
  }));
  return (startMs) => shares.findLast(({ at }) => at < startMs + MS_PER_HOUR / 2)?.share ?? 1;
}
