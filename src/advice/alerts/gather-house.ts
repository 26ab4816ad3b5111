import { type Collection, livingBatches } from '../../domain/collection.js';
import type { Quantity } from '../../domain/quantities.js';
import type { House, Site } from '../../domain/site.js';
import { addDays, type LocalDay, localDayBounds, localDayOf } from '../../domain/time.js';
import type { HouseFacts } from '../../models/alert-kinds/house-facts.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import { type DayHeat, type HeatRecord, heatRecordOf } from '../../models/hot-spell.js';
import { hoursOfSensors } from '../../models/house-climate.js';
import { globalFromPpfdWm2, ppfdFromLuxUmol } from '../../science/light.js';
import { median } from '../../science/statistics/quantiles.js';
import type { SeriesFilter, SeriesInfo } from '../../storage/repositories.js';
import type { HouseWeather } from '../house-weather.js';
import type { ListedHouse } from './batches.js';
import type { AlertsParts } from './parts.js';

const FRESH_MS = 30 * 60_000;
/** Seasons of a house's own record that are looked back on. */
const RECORD_DAYS = 5 * 366;
const NO_LIST: ListedHouse = { batches: [], listFacts: {} };

/** Records of houses, made once a day: a season more or less changes little, and reading years costs time. */
export type RecordBook = Map<string, { readonly key: string; readonly record: HeatRecord }>;

export interface HouseGather {
  readonly at: number;
  readonly weather: HouseWeather | undefined;
  readonly listed: ListedHouse | undefined;
  /** Without channels that are stuck or cannot be right. */
  readonly series: readonly SeriesInfo[];
  readonly records: RecordBook;
}

/** Whether any plants stand in a house. */
export function hasPlants(collection: Collection, houseId: string): boolean {
  return livingBatches(collection).some(({ benchId }) => collection.benches.get(benchId)?.houseId === houseId);
}

export async function gatherHouse(
  parts: AlertsParts,
  site: Site,
  house: House,
  given: HouseGather,
): Promise<HouseFacts> {
  const { at, weather, series } = given;
  const { batches, listFacts } = given.listed ?? NO_LIST;
  const limits = alertLimitsOf(parts.alertLimits(site.id, house.id));
  const cover = parts.catalogue().covers.find(({ id }) => id === house.cover);
  const inside = series.filter(({ houseId, placement }) => houseId === house.id && placement === 'inside');
  const outlook = await parts.outlook?.(site.id, house.id);
  const buys = await parts.buys?.(site.id, house.id);
  const cloudyNight = await parts.cloudyTonight?.(site.id);
  const todayMaxC = await maxSoFar(parts, site, house, at);
  return {
    at,
    zone: site.zone,
    houseId: house.id,
    houseName: house.name,
    limits,
    batches,
    listFacts,
    past: (weather?.past ?? []).map(
      ({ day, dayMaxC, nightMinC }): DayHeat => ({
        day,
        ...(dayMaxC && { dayMaxC: dayMaxC.value }),
        ...(nightMinC && { nightMinC: nightMinC.value }),
      }),
    ),
    now: newest(inside, at),
    record: await recordOf(parts, site, house, given, limits.hotPercentile / 100),
    clearNightLeafDropC: cover?.clearNightLeafDropC ?? 2,
    stillAir: !house.fans,
    ...(outlook && { outlook }),
    ...(todayMaxC !== undefined && { todayMaxC }),
    ...(cloudyNight !== undefined && { cloudyNight }),
    ...(buys && { buys }),
  };
}

async function maxSoFar({ storage }: AlertsParts, site: Site, house: House, at: number): Promise<number | undefined> {
  const { startMs } = localDayBounds(site.zone, localDayOf(site.zone, at));
  const filter = { siteId: site.id, houseId: house.id, placement: 'inside', quantities: ['airTempC'] } as const;
  const sensors = await storage.readings.hourly(filter, startMs, at);
  const hours = [...hoursOfSensors(sensors.map(({ rollUps }) => rollUps.filter(({ count }) => count > 0))).values()];
  return hours.length === 0 ? undefined : Math.max(...hours.map(({ max }) => max));
}

/** The newest readings of the house, the middle one of its sensors. */
function newest(series: readonly SeriesInfo[], at: number): HouseFacts['now'] {
  const fresh = (quantity: Quantity): number | undefined => {
    const values = series.flatMap((one) =>
      one.quantity === quantity && one.lastAt !== null && one.lastValue !== null && at - one.lastAt <= FRESH_MS
        ? [one.lastValue]
        : [],
    );
    return values.length === 0 ? undefined : median(values);
  };
  const airTempC = fresh('airTempC');
  const [radiation, ppfd, lux] = [fresh('radiationWm2'), fresh('ppfdUmol'), fresh('illuminanceLux')];
  const radiationWm2 =
    radiation ??
    (ppfd !== undefined
      ? globalFromPpfdWm2(ppfd)
      : lux !== undefined
        ? globalFromPpfdWm2(ppfdFromLuxUmol(lux))
        : undefined);
  return {
    ...(airTempC !== undefined && { airTempC }),
    ...(radiationWm2 !== undefined && { radiationWm2: Math.max(0, radiationWm2) }),
  };
}

async function recordOf(
  { storage }: AlertsParts,
  site: Site,
  house: House,
  { at, records }: HouseGather,
  share: number,
): Promise<HeatRecord> {
  const today = localDayOf(site.zone, at);
  const key = `${today} ${share}`;
  const known = records.get(`${site.id} ${house.id}`);
  if (known?.key === key) return known.record;
  const daysAt = async (place: Pick<SeriesFilter, 'houseId' | 'placement'>): Promise<DayHeat[]> => {
    const filter = { siteId: site.id, quantities: ['airTempC'], ...place } as const;
    const sensors = await storage.readings.daily(filter, addDays(today, -RECORD_DAYS), addDays(today, -1));
    return daysOf(sensors.map(({ days }) => days));
  };
  const inside = await daysAt({ houseId: house.id, placement: 'inside' });
  const record = heatRecordOf(inside, await daysAt({ placement: 'outside' }), share);
  records.set(`${site.id} ${house.id}`, { key, record });
  return record;
}

/** A day with fewer readings than this, by the busiest sensor's count, is too much of a gap to have a maximum. */
const FEWEST_HOURS = 18;

/** Day by day the middle of the sensors; the lowest of a calendar day is that of the night that ended on it. */
function daysOf(
  sensors: readonly (readonly { day: LocalDay; min: number; max: number; coveredSeconds: number }[])[],
): DayHeat[] {
  const byDay = new Map<LocalDay, { min: number; max: number }[]>();
  for (const days of sensors)
    for (const { day, min, max, coveredSeconds } of days)
      if (coveredSeconds >= FEWEST_HOURS * 3600) byDay.set(day, [...(byDay.get(day) ?? []), { min, max }]);
  const known = [...byDay.keys()].sort();
  const [first, last] = [known[0], known.at(-1)];
  if (first === undefined || last === undefined) return [];
  const days: DayHeat[] = [];
  for (let day = first; day <= last; day = addDays(day, 1)) {
    const there = byDay.get(day);
    days.push(
      there
        ? { day, dayMaxC: median(there.map(({ max }) => max)), nightMinC: median(there.map(({ min }) => min)) }
        : { day },
    );
  }
  return days;
}
