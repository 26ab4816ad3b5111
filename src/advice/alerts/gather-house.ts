import { type Collection, livingBatches } from '../../domain/collection.js';
import type { Quantity } from '../../domain/quantities.js';
import type { House, Site } from '../../domain/site.js';
import { addDays, daysBetween, type LocalDay, localDayBounds, localDayOf } from '../../domain/time.js';
import type { HouseFacts } from '../../models/alert-kinds/house-facts.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import { type DayHeat, type HeatRecord, heatRecord, heatRecordOf } from '../../models/hot-spell.js';
import { hoursOfSensors } from '../../models/house-climate.js';
import { LIGHT_QUANTITIES, RADIATION_FROM } from '../../science/light.js';
import { median } from '../../science/statistics/quantiles.js';
import type { SeriesFilter, SeriesInfo } from '../../storage/repositories.js';
import { type DayRange, dayRanges } from '../house-days.js';
import type { HouseWeather } from '../house-weather.js';
import type { ListedHouse } from './batches.js';
import type { AlertsParts, Slot } from './parts.js';

const FRESH_MS = 30 * 60_000;
/** Seasons of a house's own record that are looked back on. */
const RECORD_DAYS = 5 * 366;
const NO_LIST: ListedHouse = { batches: [], listFacts: {} };

/** Records of houses, made once a day: a season more or less changes little, and reading years costs time. */
export interface RecordBook {
  readonly houses: Map<string, { readonly key: string; readonly record: HeatRecord }>;
  /** The outside of the site, for houses whose own record is short. */
  readonly outside: Slot<{ readonly day: LocalDay; readonly days: readonly DayHeat[] }>;
}

export interface HouseGather {
  readonly at: number;
  readonly weather: HouseWeather | undefined;
  readonly listed: ListedHouse | undefined;
  /** The cloth advised today; undefined: none is spoken of. */
  readonly clothId: string | null | undefined;
  readonly cloudyNights: readonly LocalDay[];
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
  const { at, weather, series, clothId } = given;
  const { batches, listFacts } = given.listed ?? NO_LIST;
  const limits = alertLimitsOf(parts.alertLimits(site.id, house.id));
  const cover = parts.catalogue().covers.find(({ id }) => id === house.cover);
  const inside = series.filter(({ houseId, placement }) => houseId === house.id && placement === 'inside');
  const outlook = await parts.outlook?.(site.id, house.id);
  const buys = await parts.buys?.(site.id, house.id, clothId ?? null);
  const todayMaxC = await maxSoFar(parts, site, house, at, inside);
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
    cloudyNights: given.cloudyNights,
    ...(outlook && { outlook }),
    ...(todayMaxC !== undefined && { todayMaxC }),
    ...(buys && { buys }),
  };
}

async function maxSoFar(
  { storage }: AlertsParts,
  site: Site,
  house: House,
  at: number,
  believed: readonly SeriesInfo[],
): Promise<number | undefined> {
  const { startMs } = localDayBounds(site.zone, localDayOf(site.zone, at));
  const filter = { siteId: site.id, houseId: house.id, placement: 'inside', quantities: ['airTempC'] } as const;
  const ids = new Set(believed.map(({ seriesId }) => seriesId));
  const sensors = (await storage.readings.hourly(filter, startMs, at)).filter(({ series }) => ids.has(series.seriesId));
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
  const [radiationWm2] = LIGHT_QUANTITIES.flatMap((quantity) => {
    const value = fresh(quantity);
    return value === undefined ? [] : [RADIATION_FROM[quantity](Math.max(0, value))];
  });
  return {
    ...(airTempC !== undefined && { airTempC }),
    ...(radiationWm2 !== undefined && { radiationWm2 }),
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
  const known = records.houses.get(house.id);
  if (known?.key === key) return known.record;
  const daysAt = async (place: Pick<SeriesFilter, 'houseId' | 'placement'>): Promise<DayHeat[]> => {
    const filter = { siteId: site.id, quantities: ['airTempC'], ...place } as const;
    const sensors = await storage.readings.daily(filter, addDays(today, -RECORD_DAYS), addDays(today, -1));
    return withHoles(dayRanges(sensors, site.zone));
  };
  const outside = async (): Promise<readonly DayHeat[]> => {
    if (records.outside.kept?.day !== today)
      records.outside.kept = { day: today, days: await daysAt({ placement: 'outside' }) };
    return records.outside.kept.days;
  };
  const inside = await daysAt({ houseId: house.id, placement: 'inside' });
  const own = heatRecord(inside, share);
  const record = own.from === 'own record' ? own : heatRecordOf(inside, await outside(), share);
  records.houses.set(house.id, { key, record });
  return record;
}

/** Days one after the other, those too little was heard of empty; the lowest of a day is that of the night that ended on it. */
function withHoles(ranges: readonly DayRange[]): DayHeat[] {
  const whole = new Map(ranges.flatMap((range) => (range.isWhole ? [[range.day, range]] : [])));
  const [first, last] = [[...whole.keys()][0], [...whole.keys()].at(-1)];
  if (first === undefined || last === undefined) return [];
  return Array.from({ length: daysBetween(first, last) + 1 }, (_, index): DayHeat => {
    const day = addDays(first, index);
    const range = whole.get(day);
    return range ? { day, dayMaxC: range.max, nightMinC: range.min } : { day };
  });
}
