import type { AlertsParts } from '../../../src/advice/alerts/parts.js';
import { type Alerts, createAlerts } from '../../../src/advice/alerts/service.js';
import type { AlertEvent } from '../../../src/domain/alerts.js';
import type { Band, HouseOutlook, OutlookDay } from '../../../src/domain/outlook.js';
import { addDays, civilNoon, type LocalDay, localDayOf } from '../../../src/domain/time.js';
import type { CheckedReading } from '../../../src/storage/repositories.js';
import { CATALOGUE, MILD, type Nursery, northReading, type Weather } from '../../support/nursery.js';

export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;

export interface Watched {
  readonly alerts: Alerts;
  readonly events: AlertEvent[];
  /** `new frost`, `over frost`: what was told, in order. */
  told(): string[];
  /** Looks every five minutes, the first one now, until the clock has gone on so far. */
  watch(forMs: number): Promise<void>;
}

export function watched(nursery: Nursery, more: Partial<AlertsParts> = {}): Watched {
  const alerts = createAlerts({
    storage: nursery.storage,
    keeper: nursery.keeper,
    rounds: nursery.rounds,
    sites: () => [nursery.site],
    catalogue: () => CATALOGUE,
    alertLimits: () => ({}),
    now: () => nursery.now,
    ...more,
  });
  const events: AlertEvent[] = [];
  alerts.onEvent((event) => events.push(event));
  return {
    alerts,
    events,
    told: () => events.map(({ what, alert }) => `${what} ${alert.kind}${alert.subject && ` ${alert.subject}`}`),
    async watch(forMs) {
      const until = nursery.now + forMs;
      for (;;) {
        await alerts.evaluate(nursery.site.id);
        if (nursery.now >= until) return;
        nursery.now += 5 * MINUTE;
      }
    },
  };
}

export const band = (p50: number, half: number): Band => ({ p10: p50 - half, p50, p90: p50 + half });

/** An outlook from today on, one entry a day. */
export function outlook(
  { site, now }: Pick<Nursery, 'site' | 'now'>,
  days: readonly Omit<OutlookDay, 'day' | 'lead'>[],
  hours: HouseOutlook['hours'] = [],
): HouseOutlook {
  const today: LocalDay = localDayOf(site.zone, now);
  return {
    houseId: 'north',
    issuedAt: now,
    basis: 'forecast',
    from: 'a forecast of the test',
    hours,
    days: days.map((day, lead) => ({ day: addDays(today, lead), lead, ...day })),
    learned: [],
  };
}

/** Half-hourly readings after `from` up to `to`: a day's course of warmth, light and damp, none of which ever stands still. */
export async function feed(
  { site, storage }: Pick<Nursery, 'site' | 'storage'>,
  from: number,
  to: number,
  weather: Weather = MILD,
  more: Partial<CheckedReading> = {},
): Promise<void> {
  const readings: CheckedReading[] = [];
  for (let at = Math.floor(from / 1_800_000) * 1_800_000 + 1_800_000; at <= to; at += 1_800_000) {
    const noonMs = civilNoon(site.zone, localDayOf(site.zone, at));
    const height = Math.cos(((at - noonMs) / (24 * HOUR)) * 2 * Math.PI);
    for (const [quantity, value] of [
      ['airTempC', weather.nightC + ((weather.dayC - weather.nightC) * (height + 1)) / 2],
      ['relHumidityPct', weather.relHumidityPct - 5 * height],
      ['ppfdUmol', Math.max(0, weather.noonPpfdUmol * height)],
    ] as const)
      readings.push({ ...northReading(site.id, quantity, value, at), ...more });
  }
  await storage.readings.commit({ readings, refusals: [], messages: readings.length });
}
