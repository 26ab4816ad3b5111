import type { Collection } from '../../domain/collection.js';
import type { House, Site } from '../../domain/site.js';
import { localDayBounds, localDayOf } from '../../domain/time.js';
import type { HouseShade } from '../../domain/verdict.js';
import type { ClothFacts } from '../../models/alert-kinds/cloth.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import { LIGHT_QUANTITIES, type LightQuantity, RADIATION_FROM } from '../../science/light.js';
import { sunPosition } from '../../science/sun.js';
import type { LightPair } from '../../science/transmission.js';
import type { RawPoint, SeriesInfo } from '../../storage/repositories.js';
import type { ListedHouse } from './batches.js';
import type { AlertsParts } from './parts.js';

const BIN_MS = 600_000;
/** Readings of a fast sensor are read so many at a time. */
const READINGS_AT_ONCE = 5000;
/** How well the cover's light is known, measured or from the catalogue (starting values). */
const MEASURED_SPREAD = 0.08;
const CATALOGUE_SPREAD = 0.15;

/** Light of the day of each sensor, so that every look reads on where the last one ended. */
export type LightBook = Map<number, { readonly dayStartMs: number; readonly bins: Map<number, Bin> }>;
interface Bin {
  readonly sum: number;
  readonly count: number;
}

export interface ClothGather {
  readonly at: number;
  readonly collection: Collection;
  readonly listed: ListedHouse | undefined;
  /** The advice of today for the cloth of the house. */
  readonly shade: HouseShade | undefined;
  /** Without channels that are stuck or cannot be right. */
  readonly series: readonly SeriesInfo[];
  readonly light: LightBook;
}

export async function gatherCloth(
  parts: AlertsParts,
  site: Site,
  house: House,
  given: ClothGather,
): Promise<ClothFacts> {
  const { at, series } = given;
  const wanted = house.cloths.length > 0 ? wantedCloth(site, house, given) : undefined;
  const sensorOf = (isThere: (one: SeriesInfo) => boolean): LightSeries | undefined =>
    LIGHT_QUANTITIES.flatMap((quantity) =>
      series.flatMap((one) => (one.quantity === quantity && isThere(one) ? [{ ...one, quantity }] : [])),
    )[0];
  const inside = sensorOf(({ houseId, placement }) => houseId === house.id && placement === 'inside');
  const outside = sensorOf(({ placement }) => placement === 'outside');
  const cover = parts.catalogue().covers.find(({ id }) => id === house.cover);
  const [low, high] = cover?.transmissionHouse ?? [0.6, 0.7];
  return {
    at,
    zone: site.zone,
    houseId: house.id,
    houseName: house.name,
    limits: alertLimitsOf(parts.alertLimits(site.id, house.id)),
    cloths: house.cloths,
    wanted,
    pairs: wanted && inside && outside ? await pairsOf(parts, site, { inside, outside }, wanted.since, given) : [],
    coverTransmission: house.transmission ?? (low + high) / 2,
    coverSpread: house.transmission === undefined ? CATALOGUE_SPREAD : MEASURED_SPREAD,
    batches: given.listed?.batches ?? [],
  };
}

type LightSeries = SeriesInfo & { readonly quantity: LightQuantity };

const dayStart = (site: Site, at: number): number => localDayBounds(site.zone, localDayOf(site.zone, at)).startMs;

/** Time to hang a cloth after it was advised or entered (common practice, no published source). */
const TO_HANG_IT_MS = 3_600_000;

/** What ought to hang now: by the advice, in the hours for which it asks, unless somebody decided otherwise today. */
function wantedCloth(site: Site, house: House, { at, collection, shade }: ClothGather): ClothFacts['wanted'] {
  const entered = collection.cloths.get(house.id);
  const said: ClothFacts['wanted'] = entered && {
    clothId: entered.value,
    since: entered.at + TO_HANG_IT_MS,
    by: 'journal',
  };
  if (shade === undefined || (entered && entered.at >= dayStart(site, at))) return said;
  const since = Math.max(shade.since, shade.from ?? 0) + TO_HANG_IT_MS;
  const isAskedFor = at >= since && (shade.until === undefined || at <= shade.until);
  return isAskedFor ? { clothId: shade.clothId, since, by: 'advice' } : said;
}

/** Light on both sides of the cover, of today and since the cloth ought to hang. */
async function pairsOf(
  parts: AlertsParts,
  site: Site,
  { inside, outside }: { readonly inside: LightSeries; readonly outside: LightSeries },
  sinceMs: number,
  { at, light }: ClothGather,
): Promise<LightPair[]> {
  const dayStartMs = dayStart(site, at);
  const within = await binsOf(parts, inside, dayStartMs, at, light);
  const above = await binsOf(parts, outside, dayStartMs, at, light);
  return [...within].flatMap(([bin, { sum, count }]): LightPair[] => {
    const over = above.get(bin);
    if (over === undefined || bin * BIN_MS < sinceMs) return [];
    const { altitudeDeg } = sunPosition((bin + 0.5) * BIN_MS, site.latitude, site.longitude);
    return [{ inside: sum / count, above: over.sum / over.count, sunAltitudeDeg: altitudeDeg }];
  });
}

/** Radiation of the day by ten minutes. */
async function binsOf(
  { storage }: AlertsParts,
  { seriesId, quantity }: LightSeries,
  dayStartMs: number,
  toMs: number,
  book: LightBook,
): Promise<ReadonlyMap<number, Bin>> {
  const known = book.get(seriesId);
  const bins = known?.dayStartMs === dayStartMs ? known.bins : new Map<number, Bin>();
  book.set(seriesId, { dayStartMs, bins });
  // The last of them was read while it was filling: it is read anew.
  const last = [...bins.keys()].at(-1);
  if (last !== undefined) bins.delete(last);
  let afterMs = Math.max(dayStartMs, (last ?? 0) * BIN_MS) - 1;
  for (;;) {
    const points = await storage.readings.raw(seriesId, afterMs, toMs, READINGS_AT_ONCE);
    for (const { at, value } of points) {
      const bin = Math.floor(at / BIN_MS);
      const { sum, count } = bins.get(bin) ?? { sum: 0, count: 0 };
      bins.set(bin, { sum: sum + RADIATION_FROM[quantity](Math.max(0, value)), count: count + 1 });
    }
    if (points.length < READINGS_AT_ONCE) return bins;
    afterMs = (points.at(-1) as RawPoint).at;
  }
}
