import { setImmediate as nextTurn } from 'node:timers/promises';
import { type Catalogue, type Cover, catalogueEntry } from '../domain/catalogue.js';
import { defined } from '../domain/optional.js';
import type { HouseOutlook } from '../domain/outlook.js';
import { findHouse, type House, type Site } from '../domain/site.js';
import { clockAt, localDayOf, shortDay } from '../domain/time.js';
import type { CorrectedForecast } from '../models/corrected-forecast.js';
import { airPrior } from '../models/house-thermal/air-prior.js';
import { type ThermalDay, thermalDays } from '../models/house-thermal/days.js';
import { skyHours } from '../models/house-thermal/hours.js';
import { learnedSentences, outlookSkill } from '../models/house-thermal/learned.js';
import { type HouseAhead, houseAhead } from '../models/house-thermal/outlook.js';
import type { SkyHour } from '../models/house-thermal/record.js';
import { type Walk, walkInSteps } from '../models/house-thermal/walk.js';
import { type ClothEffect, clothEffects, type DayEffect, ventEffects } from '../models/house-thermal/what-if.js';
import { MS_PER_HOUR } from '../science/units.js';
import type { Keeper } from './keeper.js';
import { type OutlookHours, type OutlookSources, readOutlookHours } from './outlook-hours.js';
import { measuredHouseTransmission } from './outlook-light.js';
import { createTurns } from './turns.js';
import { placeOf } from './weather.js';

export interface OutlooksParts extends OutlookSources {
  readonly keeper: Pick<Keeper, 'collection'>;
  sites(): readonly Site[];
  catalogue(): Catalogue;
  /** The forecast to go by, as known at an instant. */
  forecastFor(siteId: string, at: number): Promise<CorrectedForecast | undefined>;
}

export interface Outlooks {
  /** What a house is expected to be like from an instant on; undefined: nothing of it can be told. */
  outlook(siteId: string, houseId: string, at: number): Promise<HouseOutlook | undefined>;
  /** What another cloth of the store, or none (null), would do in the coming days; undefined: it cannot be told. */
  clothEffects(
    siteId: string,
    houseId: string,
    clothId: string | null,
    at: number,
  ): Promise<readonly ClothEffect[] | undefined>;
  /** What vents held open by day would do in the coming days; empty: they have not been seen to cool the house. */
  ventEffects(siteId: string, houseId: string, at: number): Promise<readonly DayEffect[]>;
}

/** Forecasts of the day are compared as they were made at this time, before the sun has warmed the house. */
const EARLIEST_ISSUE = '03:00';
const LATEST_ISSUE = '08:00';

interface Made {
  readonly key: string;
  readonly outlook: HouseOutlook | undefined;
  readonly ahead: HouseAhead | undefined;
}

/** Works out the outlooks of houses; each is kept until the hour, the forecast or the cloth is another one. */
export function createOutlooks(parts: OutlooksParts): Outlooks {
  const made = new Map<string, Made>();
  const walks = new Map<string, { readonly key: string; readonly walk: Walk }>();

  /** One after another per house: two that ask at once get one answer. */
  const inTurn = createTurns();

  async function walkOf(
    id: string,
    site: Site,
    house: House,
    hours: readonly SkyHour[],
    days: readonly ThermalDay[],
    read: OutlookHours,
    at: number,
  ): Promise<Walk> {
    const issuedAt = clampClock(site.roundAt);
    const steps = walkInSteps(hours, days, {
      place: site,
      prior: priorOf(parts.catalogue(), house),
      issuedAt,
      untilMs: at,
    });
    const key = JSON.stringify([
      hours[0]?.startMs,
      localDayOf(site.zone, at),
      clockAt(site.zone, at) >= issuedAt,
      read.forecast?.source,
      read.forecast?.issuedAt,
      house,
      hours.at(-1)?.clothWarmthShare,
    ]);
    const known = walks.get(id);
    if (known?.key === key) return known.walk;
    for (;;) {
      const step = steps.next();
      if (step.done) {
        walks.set(id, { key, walk: step.value });
        return step.value;
      }
      await nextTurn();
    }
  }

  async function make(site: Site, house: House, at: number): Promise<Made> {
    const id = `${site.id}/${house.id}`;
    const catalogue = parts.catalogue();
    const collection = await parts.keeper.collection(site.id);
    const forecast = await parts.forecastFor(site.id, at);
    const hungId = collection.cloths.get(house.id)?.value ?? null;
    const key = JSON.stringify([
      Math.floor(at / MS_PER_HOUR),
      forecast?.source,
      forecast?.issuedAt,
      hungId,
      house,
      site.zone,
      site.latitude,
      site.longitude,
    ]);
    const before = made.get(id);
    if (before?.key === key) return before;
    const read = await readOutlookHours(parts, site, house, at, forecast);
    const hours = skyHours(read.hours, site);
    const days = thermalDays(hours);
    const walk = await walkOf(id, site, house, hours, days, read, at);
    const cover = coverOf(catalogue, house);
    const place = placeOf(site, house, catalogue, collection);
    const since = collection.cloths.get(house.id)?.at;
    const ahead = houseAhead({
      at,
      place: site,
      prior: priorOf(catalogue, house),
      hours,
      days,
      walk,
      spreadOf: read.spreadOf,
      isGuess: read.basis === 'last-days',
      lightTransmission: measuredHouseTransmission(read, site, at, since) ?? place.transmission,
      wetMarginC: place.wetMarginC,
    });
    const known = days.filter(({ maxC }) => maxC !== null).length;
    const told = ahead.hours.length > 0 || ahead.days.length > 0;
    const outlook: HouseOutlook | undefined = told
      ? {
          houseId: house.id,
          issuedAt: at,
          basis: read.basis,
          from: fromWords(site, read, known > 0 ? 'the model of this house' : `the usual of ${cover.name}`, at),
          hours: ahead.hours,
          days: ahead.days,
          learned: learnedSentences({
            coverName: cover.name,
            heatToC: house.heatToC,
            walk,
            days,
            hasOutside: days.some(({ outside }) => outside.outsideMaxC !== null),
          }),
          ...defined({ skill: outlookSkill(walk, days) }),
        }
      : undefined;
    const result = { key, outlook, ahead };
    made.set(id, result);
    return result;
  }

  const find = (siteId: string, houseId: string): [Site, House] | undefined => {
    const site = parts.sites().find(({ id }) => id === siteId);
    const house = site && findHouse(site, houseId);
    return site && house && [site, house];
  };

  const madeFor = async (siteId: string, houseId: string, at: number): Promise<Made | undefined> => {
    const found = find(siteId, houseId);
    return found && inTurn(`${siteId}/${houseId}`, () => make(...found, at));
  };

  /** The coming days ready to be run again, and the cloths of the house. */
  async function runOf(siteId: string, houseId: string, at: number) {
    const house = find(siteId, houseId)?.[1];
    const run = (await madeFor(siteId, houseId, at))?.ahead?.run;
    if (!house || !run) return undefined;
    const hungId = (await parts.keeper.collection(siteId)).cloths.get(houseId)?.value ?? null;
    const clothOf = (id: string | null) => house.cloths.find((cloth) => cloth.id === id) ?? null;
    return { run, hung: clothOf(hungId), clothOf };
  }

  return {
    outlook: async (siteId, houseId, at) => (await madeFor(siteId, houseId, at))?.outlook,
    clothEffects: async (siteId, houseId, clothId, at) => {
      const found = await runOf(siteId, houseId, at);
      return found && clothEffects(found.run, found.hung, found.clothOf(clothId));
    },
    ventEffects: async (siteId, houseId, at) => {
      const found = await runOf(siteId, houseId, at);
      return found ? ventEffects(found.run, found.hung) : [];
    },
  };
}

const coverOf = ({ covers }: Catalogue, house: House): Cover => catalogueEntry('cover', covers, house.cover);

/** Two layers keep the leaves warmer on clear nights, and the house with them. */
const TWO_LAYERS_LEAF_DROP_C = 1.5;

function priorOf(catalogue: Catalogue, house: House) {
  const cover = coverOf(catalogue, house);
  const [low, high] = cover.transmissionHouse;
  return airPrior({
    transmission: house.transmission ?? (low + high) / 2,
    doubleCover: cover.clearNightLeafDropC < TWO_LAYERS_LEAF_DROP_C,
    heatToC: house.heatToC,
  });
}

const clampClock = (clock: string): string =>
  clock < EARLIEST_ISSUE ? EARLIEST_ISSUE : clock > LATEST_ISSUE ? LATEST_ISSUE : clock;

function fromWords(site: Site, { basis, forecast }: OutlookHours, through: string, at: number): string {
  if (basis === 'last-days' || !forecast) return `the last days again, through ${through}: no forecast is there`;
  const day = localDayOf(site.zone, forecast.issuedAt);
  const clock = clockAt(site.zone, forecast.issuedAt);
  const when = day === localDayOf(site.zone, at) ? clock : `${shortDay(day)}, ${clock}`;
  return `forecast of ${when} through ${through}`;
}
