import { findHouse, type Site } from '../../domain/site.js';
import { addDays, localDayOf } from '../../domain/time.js';
import type { ChannelFacts, SensorFacts, SiteSensors } from '../../models/alert-kinds/sensor-facts.js';
import { REFUSED_HOURS } from '../../models/alert-kinds/sensor-facts.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import type { SeriesInfo, SeriesRefusals } from '../../storage/repositories.js';
import type { AlertsParts } from './parts.js';

const HOUR_MS = 3_600_000;
/** Longer than any quantity may stand still by itself. */
const HOURS_BACK = 76;
const DAYS_BACK = 15;

/** Everything the alerts about the sensors of a site may see. */
export async function gatherSensors(parts: AlertsParts, site: Site, at: number): Promise<SiteSensors> {
  const { readings, refusals } = parts.storage;
  const today = localDayOf(site.zone, at);
  const siteId = site.id;
  const hourly = await readings.hourly({ siteId }, at - HOURS_BACK * HOUR_MS, at + HOUR_MS);
  const daily = await readings.daily({ siteId }, addDays(today, -DAYS_BACK), today);
  const refused = await refusals.since(siteId, at - REFUSED_HOURS * HOUR_MS);
  const days = new Map(daily.map(({ series, days }) => [series.seriesId, days]));
  const sensors = new Map<string, { readonly info: SeriesInfo; readonly channels: ChannelFacts[] }>();
  for (const { series, rollUps } of hourly) {
    const sensor = sensors.get(series.sensorId) ?? { info: series, channels: [] };
    sensors.set(series.sensorId, sensor);
    sensor.channels.push({
      quantity: series.quantity,
      lastAt: series.lastAt,
      lastReceivedAt: series.lastReceivedAt,
      days: (days.get(series.seriesId) ?? []).filter(({ count }) => count > 0),
      hours: rollUps.filter(({ count }) => count > 0),
      refused: refusedOf(refused, series),
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
    limitsOf: (houseId) => alertLimitsOf(houseId === null ? {} : parts.alertLimits(siteId, houseId)),
  };
}

function refusedOf(refused: readonly SeriesRefusals[], series: SeriesInfo): ChannelFacts['refused'] {
  const found = refused.find(
    ({ sensorId, quantity, reason }) =>
      sensorId === series.sensorId && quantity === series.quantity && reason === 'out-of-range',
  );
  return found ? { count: found.count, lastAt: found.lastAt, lastSentence: found.lastSentence } : null;
}
