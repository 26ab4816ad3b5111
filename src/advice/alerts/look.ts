import { type AlertKind, WEATHER_ALERTS, type WeatherAlert } from '../../domain/alerts.js';
import type { Collection } from '../../domain/collection.js';
import type { House, Site } from '../../domain/site.js';
import { clockAt, type LocalDay, localDayOf } from '../../domain/time.js';
import type { OpenAlert } from '../../models/alert-book.js';
import { burnRisk } from '../../models/alert-kinds/burn-risk.js';
import { diskLow, listNotDone } from '../../models/alert-kinds/chores.js';
import { clothNotAsAdvised } from '../../models/alert-kinds/cloth.js';
import { cloudyNights } from '../../models/alert-kinds/cloudy-nights.js';
import type { Finding } from '../../models/alert-kinds/finding.js';
import { frost } from '../../models/alert-kinds/frost.js';
import { hotSpell } from '../../models/alert-kinds/hot-spell.js';
import type { HouseFacts } from '../../models/alert-kinds/house-facts.js';
import { implausibleSensors } from '../../models/alert-kinds/sensor-implausible.js';
import { silentSensors } from '../../models/alert-kinds/sensor-silent.js';
import { stuckSensors } from '../../models/alert-kinds/sensor-stuck.js';
import { wetNight } from '../../models/alert-kinds/wet-night.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import type { HouseWeather } from '../house-weather.js';
import { loadWeather, type WeatherBook } from '../weather.js';
import { gatherLists, type ListBook, type Listed } from './batches.js';
import { gatherCloth, type LightBook } from './gather-cloth.js';
import { gatherHouse, hasPlants, type RecordBook } from './gather-house.js';
import { gatherSensors, type SensorBook } from './gather-sensors.js';
import type { AlertsParts, Slot } from './parts.js';

/** What was read of a site before and holds still. */
export interface LookBooks {
  readonly weather: WeatherBook;
  readonly past: Slot<{
    readonly day: LocalDay;
    readonly at: number;
    readonly houses: ReadonlyMap<string, HouseWeather>;
  }>;
  readonly sensors: SensorBook;
  readonly lists: ListBook;
  readonly records: RecordBook;
  readonly light: LightBook;
}
export const newBooks = (): LookBooks => ({
  weather: new Map(),
  past: {},
  lists: {},
  records: { houses: new Map(), outside: {} },
  sensors: {},
  light: new Map(),
});

export interface SiteLook {
  readonly findings: readonly Finding[];
  readonly weather: ReadonlyMap<string, HouseWeather>;
}

const PER_HOUSE: readonly AlertKind[] = [...WEATHER_ALERTS, 'cloth-not-as-advised', 'list-not-done'];

/** Looks at everything an alert of a site may be about. */
export async function lookAtSite(
  parts: AlertsParts,
  site: Site,
  at: number,
  open: readonly OpenAlert[],
  books: LookBooks,
): Promise<SiteLook> {
  const series = await parts.storage.readings.series({ siteId: site.id });
  const sensors = await gatherSensors(parts, site, at, series, books.sensors);
  const stuck = stuckSensors(sensors);
  const implausible = implausibleSensors(sensors);
  const doubted = new Set(
    [...stuck, ...implausible].flatMap(({ subject, doubted }) => doubted.map((one) => `${one} ${subject}`)),
  );
  const believed = series.filter(({ sensorId, quantity }) => !doubted.has(`${quantity} ${sensorId}`));
  const collection = await parts.keeper.collection(site.id);
  const listed = await gatherLists(parts, site, books.lists);
  const weather = await weatherOf(parts, site, at, collection, books);
  const cloudy = cloudyNights((await parts.forecast?.(site.id))?.hours ?? [], site, at);
  const findings: Finding[] = [...silentSensors(sensors), ...stuck, ...implausible, ...goneHouses(site, open)];
  for (const house of site.houses) {
    findings.push(listFinding(parts, site, house, at, listed));
    const ofHouse = { at, listed: listed.houses.get(house.id), series: believed };
    const shade = listed.today?.houses.find(({ houseId }) => houseId === house.id)?.shade;
    findings.push(
      clothNotAsAdvised(await gatherCloth(parts, site, house, { ...ofHouse, collection, shade, light: books.light })),
    );
    if (!hasPlants(collection, house.id)) {
      findings.push(
        ...WEATHER_ALERTS.map((kind): Finding => ({ kind, houseId: house.id, subject: '', ...NOTHING_TO_LOSE })),
      );
      continue;
    }
    const facts = await gatherHouse(parts, site, house, {
      ...ofHouse,
      weather: weather.get(house.id),
      clothId: shade?.clothId,
      cloudyNights: cloudy,
      records: books.records,
    });
    for (const kind of WEATHER_ALERTS) findings.push(weatherFinding(parts, kind, facts));
  }
  // The disk is the machine's: told once, with the first site.
  if (parts.sites()[0]?.id === site.id && parts.freeBytes)
    findings.push(diskLow({ limits: alertLimitsOf(), freeBytes: await parts.freeBytes() }));
  return { findings, weather };
}

const LOOKS = { 'hot-spell': hotSpell, frost, 'wet-night': wetNight, 'burn-risk': burnRisk };

/** One figure that cannot be true must not keep all other alerts from being looked at. */
function weatherFinding(parts: AlertsParts, kind: WeatherAlert, facts: HouseFacts): Finding {
  try {
    return LOOKS[kind](facts);
  } catch (error) {
    parts.onTrouble?.(error);
    return { kind, houseId: facts.houseId, subject: '', known: false };
  }
}

/** Past days change only with readings that come late. */
const WEATHER_ANEW_AFTER_MS = 30 * 60_000;

async function weatherOf(
  parts: AlertsParts,
  site: Site,
  at: number,
  collection: Collection,
  books: LookBooks,
): Promise<ReadonlyMap<string, HouseWeather>> {
  const day = localDayOf(site.zone, at);
  const known = books.past.kept;
  if (known?.day === day && at >= known.at && at - known.at < WEATHER_ANEW_AFTER_MS) return known.houses;
  const { readings } = parts.storage;
  const houses = await loadWeather(readings, site, parts.catalogue(), collection, day, at, books.weather);
  books.past.kept = { day, at, houses };
  return houses;
}

/** An empty house has nothing to lose to the weather. */
const NOTHING_TO_LOSE = { known: true, level: 0, clear: true } as const;

function listFinding(parts: AlertsParts, site: Site, house: House, at: number, { today }: Listed): Finding {
  const [hour, minute] = clockAt(site.zone, at).split(':').map(Number) as [number, number];
  return listNotDone({
    houseId: house.id,
    houseName: house.name,
    limits: alertLimitsOf(parts.alertLimits(site.id, house.id)),
    clockHours: hour + minute / 60,
    advice: today?.houses.find(({ houseId }) => houseId === house.id),
  });
}

/** Alerts of houses that were taken out of the site file. */
function goneHouses(site: Site, open: readonly OpenAlert[]): Finding[] {
  const here = new Set(site.houses.map(({ id }) => id));
  return open.flatMap(({ kind, houseId, subject }): Finding[] =>
    houseId !== null && !here.has(houseId) && PER_HOUSE.includes(kind)
      ? [{ kind, houseId, subject, known: 'gone' }]
      : [],
  );
}
