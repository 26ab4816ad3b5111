import type { Collection } from '../../domain/collection.js';
import type { Quantity } from '../../domain/quantities.js';
import type { House, Site } from '../../domain/site.js';
import { localDayBounds, localDayOf } from '../../domain/time.js';
import type { Round } from '../../domain/verdict.js';
import type { ClothFacts } from '../../models/alert-kinds/cloth.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import { globalFromPpfdWm2, ppfdFromLuxUmol } from '../../science/light.js';
import { sunPosition } from '../../science/sun.js';
import type { LightPair } from '../../science/transmission.js';
import type { SeriesInfo } from '../../storage/repositories.js';
import type { ListedHouse } from './batches.js';
import type { AlertsParts } from './parts.js';

const BIN_MS = 600_000;
/** Most readings of a day that are read of one sensor: one every ten seconds. */
const READINGS_AT_MOST = 9000;
/** How well the cover's light is known, measured or from the catalogue (starting values). */
const MEASURED_SPREAD = 0.08;
const CATALOGUE_SPREAD = 0.15;

const TO_RADIATION: Partial<Record<Quantity, (value: number) => number>> = {
  radiationWm2: (value) => value,
  ppfdUmol: globalFromPpfdWm2,
  illuminanceLux: (value) => globalFromPpfdWm2(ppfdFromLuxUmol(value)),
};

export async function gatherCloth(
  parts: AlertsParts,
  site: Site,
  house: House,
  given: {
    readonly at: number;
    readonly collection: Collection;
    readonly listed: ListedHouse | undefined;
    /** The list of today. */
    readonly today: Round | undefined;
    /** Without channels that are stuck or cannot be right. */
    readonly series: readonly SeriesInfo[];
  },
): Promise<ClothFacts> {
  const { at } = given;
  const wanted = house.cloths.length > 0 ? await wantedCloth(parts, site, house, given) : undefined;
  const believed = given.series.filter(({ quantity }) => quantity in TO_RADIATION);
  const inside = believed.find(({ houseId, placement }) => houseId === house.id && placement === 'inside');
  const outside = believed.find(({ placement }) => placement === 'outside');
  const cover = parts.catalogue().covers.find(({ id }) => id === house.cover);
  const [low, high] = cover?.transmissionHouse ?? [0.6, 0.7];
  const startMs = dayStart(site, at);
  return {
    at,
    zone: site.zone,
    houseId: house.id,
    houseName: house.name,
    limits: alertLimitsOf(parts.alertLimits(site.id, house.id)),
    cloths: house.cloths,
    wanted,
    pairs:
      wanted && inside && outside
        ? await pairsOf(parts, site, inside, outside, Math.max(startMs, wanted.since), at)
        : [],
    coverTransmission: house.transmission ?? (low + high) / 2,
    coverSpread: house.transmission === undefined ? CATALOGUE_SPREAD : MEASURED_SPREAD,
    batches: given.listed?.batches ?? [],
  };
}

const dayStart = (site: Site, at: number): number => localDayBounds(site.zone, localDayOf(site.zone, at)).startMs;

/** Time to hang a cloth after it was advised or entered (common practice, no published source). */
const TO_HANG_IT_MS = 3_600_000;

/** What ought to hang now: by the advice, in the hours for which it asks, unless somebody decided otherwise today. */
async function wantedCloth(
  parts: AlertsParts,
  site: Site,
  house: House,
  {
    at,
    collection,
    today,
  }: { readonly at: number; readonly collection: Collection; readonly today: Round | undefined },
): Promise<ClothFacts['wanted']> {
  const entered = collection.cloths.get(house.id);
  const said: ClothFacts['wanted'] = entered && {
    clothId: entered.value,
    since: entered.at + TO_HANG_IT_MS,
    by: 'journal',
  };
  const advised = await parts.advisedCloth?.(site.id, house.id);
  if (advised === undefined || (entered && entered.at >= dayStart(site, at))) return said;
  const { from, until } = today?.houses.find(({ houseId }) => houseId === house.id)?.shade ?? {};
  const since = Math.max(advised.since, from ?? 0) + TO_HANG_IT_MS;
  return at < since || (until !== undefined && at > until) ? said : { clothId: advised.clothId, since, by: 'advice' };
}

async function pairsOf(
  parts: AlertsParts,
  site: Site,
  inside: SeriesInfo,
  outside: SeriesInfo,
  fromMs: number,
  toMs: number,
): Promise<LightPair[]> {
  const [within, above] = [await binsOf(parts, inside, fromMs, toMs), await binsOf(parts, outside, fromMs, toMs)];
  return [...within].flatMap(([bin, light]): LightPair[] => {
    const over = above.get(bin);
    const middleMs = (bin + 0.5) * BIN_MS;
    return over === undefined
      ? []
      : [
          {
            inside: light,
            above: over,
            sunAltitudeDeg: sunPosition(middleMs, site.latitude, site.longitude).altitudeDeg,
          },
        ];
  });
}

/** Mean radiation by ten minutes. */
async function binsOf(
  { storage }: AlertsParts,
  { seriesId, quantity }: SeriesInfo,
  fromMs: number,
  toMs: number,
): Promise<Map<number, number>> {
  const toRadiation = TO_RADIATION[quantity] as (value: number) => number;
  const sums = new Map<number, { sum: number; count: number }>();
  for (const { at, value } of await storage.readings.raw(seriesId, fromMs, toMs, READINGS_AT_MOST)) {
    const bin = Math.floor(at / BIN_MS);
    const { sum, count } = sums.get(bin) ?? { sum: 0, count: 0 };
    sums.set(bin, { sum: sum + toRadiation(Math.max(0, value)), count: count + 1 });
  }
  return new Map([...sums].map(([bin, { sum, count }]) => [bin, sum / count]));
}
