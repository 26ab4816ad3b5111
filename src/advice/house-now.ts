import type { Catalogue } from '../domain/catalogue.js';
import { LeafturnError } from '../domain/errors.js';
import { QUANTITY_NAMES, type Quantity } from '../domain/quantities.js';
import type { Site } from '../domain/site.js';
import type { LocalDay } from '../domain/time.js';
import type { ClimateDay } from '../models/house-climate.js';
import type { Storage } from '../storage/repositories.js';
import type { Keeper } from './keeper.js';
import { loadWeather, type WeatherBook } from './weather.js';

export interface NowReading {
  readonly sensorId: string;
  readonly quantity: Quantity;
  readonly value: number;
  readonly at: number;
}
/** What a house is like now and was in the last week. */
export interface HouseNow {
  /** Newest reading of every sensor inside, quantity by quantity. */
  readonly readings: readonly NowReading[];
  /** The last seven days, oldest first. */
  readonly week: readonly ClimateDay[];
  /** What is known of today so far. */
  readonly today: ClimateDay;
}

export interface HouseNowParts {
  readonly storage: Pick<Storage, 'readings'>;
  readonly keeper: Pick<Keeper, 'collection'>;
  catalogue(): Catalogue;
  today(siteId: string): LocalDay;
  now(): number;
}

/** Looks at one house at a time. Days read once are kept, as for the list. */
export function createHouseNow(parts: HouseNowParts): (site: Site, houseId: string) => Promise<HouseNow> {
  const books = new Map<string, WeatherBook>();
  return async (site, houseId) => {
    const house = site.houses.find(({ id }) => id === houseId);
    if (!house) throw new LeafturnError('not-found', `There is no house called ${houseId} at ${site.name}.`);
    const key = `${site.id}/${houseId}`;
    const book: WeatherBook = books.get(key) ?? new Map();
    books.set(key, book);
    const { readings } = parts.storage;
    const collection = await parts.keeper.collection(site.id);
    const alone = { ...site, houses: [house] };
    const day = parts.today(site.id);
    const weather = (await loadWeather(readings, alone, parts.catalogue(), collection, day, parts.now(), book)).get(
      houseId,
    );
    if (!weather) throw new Error(`The weather of ${houseId} was not read.`);
    const series = await readings.series({ siteId: site.id, houseId, placement: 'inside' });
    const newest = series.flatMap(({ sensorId, quantity, lastValue, lastAt }) =>
      lastValue === null || lastAt === null ? [] : [{ sensorId, quantity, value: lastValue, at: lastAt }],
    );
    newest.sort(
      (a, b) =>
        QUANTITY_NAMES.indexOf(a.quantity) - QUANTITY_NAMES.indexOf(b.quantity) || (a.sensorId < b.sensorId ? -1 : 1),
    );
    return { readings: newest, week: weather.past.slice(-7), today: weather.today };
  };
}
