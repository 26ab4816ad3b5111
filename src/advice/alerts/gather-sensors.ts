import { findHouse, type Site } from '../../domain/site.js';
import { addDays, localDayOf } from '../../domain/time.js';
import type { ChannelFacts, SensorFacts, SiteSensors } from '../../models/alert-kinds/sensor-facts.js';
import { REFUSED_HOURS } from '../../models/alert-kinds/sensor-facts.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { SeriesInfo, SeriesRefusals } from '../../storage/repositories.js';
import type { AlertsParts, Slot } from './parts.js';

/** Longer than any quantity may stand still by itself. */
const HOURS_BACK = 76;
const DAYS_BACK = 15;

/** Roll-ups change little from look to look, and reading those of many sensors takes a while. */
const READ_ANEW_AFTER_MS = 15 * 60_000;

interface RollUpsRead {
  readonly at: number;
  readonly hours: ReadonlyMap<number, ChannelFacts['hours']>;
  readonly days: ReadonlyMap<number, ChannelFacts['days']>;
}
export type SensorBook = Slot<RollUpsRead>;

/**
 * Everything the alerts about the sensors of a site may see.
 * @param series as they stand now
 */
export async function gatherSensors(
  parts: AlertsParts,
  site: Site,
  at: number,
  series: readonly SeriesInfo[],
  book: SensorBook = {},
): Promise<SiteSensors> {
  const { hours, days } = await rollUpsOf(parts, site, at, series, book);
  const refused = await parts.storage.refusals.since(site.id, at - REFUSED_HOURS * MS_PER_HOUR);
  const sensors = new Map<string, { readonly info: SeriesInfo; readonly channels: ChannelFacts[] }>();
  for (const one of series) {
    const sensor = sensors.get(one.sensorId) ?? { info: one, channels: [] };
    sensors.set(one.sensorId, sensor);
    sensor.channels.push({
      quantity: one.quantity,
      lastAt: one.lastAt,
      lastReceivedAt: one.lastReceivedAt,
      days: days.get(one.seriesId) ?? [],
      hours: hours.get(one.seriesId) ?? [],
      refused: refusedOf(refused, one),
    });
  }
  return {
    at,
    zone: site.zone,
    latitude: site.latitude,
    longitude: site.longitude,
    sensors: [...sensors].map(
      ([sensorId, { info, channels }]): SensorFacts => ({
        sensorId,
        houseId: info.houseId,
        placement: info.placement,
        channels,
      }),
    ),
    houseName: (houseId) => (houseId === null ? site.name : (findHouse(site, houseId)?.name ?? houseId)),
    limitsOf: (houseId) => alertLimitsOf(houseId === null ? {} : parts.alertLimits(site.id, houseId)),
  };
}

async function rollUpsOf(
  { storage }: AlertsParts,
  { id: siteId, zone }: Site,
  at: number,
  series: readonly SeriesInfo[],
  book: SensorBook,
): Promise<RollUpsRead> {
  const known = book.kept;
  const isFresh = known !== undefined && at >= known.at && at - known.at < READ_ANEW_AFTER_MS;
  if (isFresh && series.every(({ seriesId }) => known.hours.has(seriesId))) return known;
  const today = localDayOf(zone, at);
  const hourly = await storage.readings.hourly({ siteId }, at - HOURS_BACK * MS_PER_HOUR, at + MS_PER_HOUR);
  const daily = await storage.readings.daily({ siteId }, addDays(today, -DAYS_BACK), today);
  const withReadings = <T extends { readonly count: number }>(buckets: readonly T[]): T[] =>
    buckets.filter(({ count }) => count > 0);
  const read: RollUpsRead = {
    at,
    hours: new Map(hourly.map(({ series: { seriesId }, rollUps }) => [seriesId, withReadings(rollUps)])),
    days: new Map(daily.map(({ series: { seriesId }, days }) => [seriesId, withReadings(days)])),
  };
  book.kept = read;
  return read;
}

function refusedOf(refused: readonly SeriesRefusals[], series: SeriesInfo): ChannelFacts['refused'] {
  const found = refused.find(
    ({ sensorId, quantity, reason }) =>
      sensorId === series.sensorId && quantity === series.quantity && reason === 'out-of-range',
  );
  return found ? { count: found.count, lastAt: found.lastAt, lastSentence: found.lastSentence } : null;
}
