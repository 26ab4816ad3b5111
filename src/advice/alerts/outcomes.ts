import { type AlertKind, WEATHER_ALERTS } from '../../domain/alerts.js';
import { findHouse, type Site } from '../../domain/site.js';
import {
  addDays,
  clockAt,
  durationInWords,
  type LocalDay,
  localDayBounds,
  localDayOf,
  shortDay,
} from '../../domain/time.js';
import type { OpenAlert } from '../../models/alert-book.js';
import { MOST_RADIATION_WM2 } from '../../models/alert-kinds/burn-risk.js';
import { degrees } from '../../models/alert-kinds/finding.js';
import { hoursOfSensors } from '../../models/house-climate.js';
import { leafTempC } from '../../science/heat.js';
import { LIGHT_QUANTITIES, type LightQuantity, RADIATION_FROM } from '../../science/light.js';
import type { ReadingStore, StoredAlert } from '../../storage/repositories.js';
import { type DayRange, dayRanges } from '../house-days.js';
import type { HouseWeather } from '../house-weather.js';

/*
 * How alerts turned out, told from what was measured. Those about the weather wait until the days they spoke of are over.
 */

const WEATHER: readonly AlertKind[] = WEATHER_ALERTS;
export const waitsForWeather = ({ kind }: Pick<OpenAlert, 'kind'>): boolean => WEATHER.includes(kind);

const NOT_MEASURED = 'Nothing was measured at that time, so nobody knows.';

/** What can be told as soon as it is over: of everything but the weather. */
export function outcomeAtOnce(alert: OpenAlert, zone: string, gone: boolean): string | null {
  const { firedAt, resolvedAt } = alert.machine;
  if (firedAt === undefined || resolvedAt === undefined) return null;
  if (gone && alert.kind === 'list-not-done') return undoneList(firedAt, resolvedAt, zone);
  if (gone) return 'What it was about is no longer there.';
  const lasted = durationInWords(resolvedAt - firedAt);
  switch (alert.kind) {
    case 'sensor-silent':
      return `Heard again ${lasted} after this was told.`;
    case 'sensor-stuck':
      return `It moved again ${lasted} after this was told.`;
    case 'sensor-implausible':
      return `Its readings made sense again ${lasted} after this was told, or the new ones are now all there are.`;
    case 'cloth-not-as-advised':
      return `The light agreed again ${lasted} after this was told.`;
    case 'list-not-done':
      return localDayOf(zone, firedAt) === localDayOf(zone, resolvedAt)
        ? `The list was done by ${clockAt(zone, resolvedAt)}.`
        : undoneList(firedAt, resolvedAt, zone);
    case 'disk-low':
      return `There was room again ${lasted} after this was told.`;
    default:
      return null;
  }
}

const undoneList = (firedAt: number, endedAt: number, zone: string): string =>
  localDayOf(zone, firedAt) === localDayOf(zone, endedAt)
    ? 'It was no longer asked for: its hour was set later, or its house was taken away.'
    : 'The day went by without it.';

/** First and last day an alert spoke of. */
function daysOf({ machine, detail }: OpenAlert, zone: string): readonly [LocalDay, LocalDay] {
  const first = localDayOf(zone, machine.firedAt ?? machine.pendingSince);
  const expected = detail.lastDay ?? localDayOf(zone, detail.expectedAt ?? machine.resolvedAt ?? machine.pendingSince);
  // ISO days sort as text.
  return [first, [first, expected].sort()[1] as LocalDay];
}

/**
 * How an alert about the weather turned out; undefined while its days are not over.
 * @param weather of its house, the last two months
 */
export async function outcomeOf(
  alert: StoredAlert,
  site: Site,
  at: number,
  readings: ReadingStore,
  weather: HouseWeather | undefined,
): Promise<string | undefined> {
  const [first, last] = daysOf(alert, site.zone);
  // A wet or frosty night that begins on the last day ends on the next.
  const overOn = alert.kind === 'wet-night' ? addDays(last, 1) : last;
  if (localDayOf(site.zone, at) <= overOn) return undefined;
  const house = alert.houseId === null ? undefined : findHouse(site, alert.houseId);
  if (house === undefined) return 'The house is no longer there.';
  switch (alert.kind) {
    case 'hot-spell':
      return extreme(await airOf(readings, site, house.id, first, last), 'max');
    case 'frost':
      return extreme(await airOf(readings, site, house.id, first, last), 'min');
    case 'wet-night':
      return wetOutcome(weather, first, overOn);
    default:
      return leafOutcome(readings, site, house.id, house.fans, first, last);
  }
}

/** What was heard of a day counts, be it a part: that cold or heat did come. */
async function airOf(
  readings: ReadingStore,
  site: Site,
  houseId: string,
  first: LocalDay,
  last: LocalDay,
): Promise<DayRange[]> {
  const filter = { siteId: site.id, houseId, placement: 'inside', quantities: ['airTempC'] } as const;
  return dayRanges(await readings.daily(filter, first, last), site.zone);
}

function extreme(days: readonly DayRange[], side: 'min' | 'max'): string {
  const [first, ...rest] = days;
  if (first === undefined) return NOT_MEASURED;
  const further = (a: DayRange, b: DayRange): boolean => (side === 'max' ? a.max > b.max : a.min < b.min);
  const found = rest.reduce((best, day) => (further(day, best) ? day : best), first);
  const tenths = (Math.round(found[side] * 10) / 10).toFixed(1);
  return `The house ${side === 'max' ? 'reached' : 'fell to'} ${tenths} °C on ${shortDay(found.day)}.`;
}

function wetOutcome(weather: HouseWeather | undefined, first: LocalDay, last: LocalDay): string {
  // Nights are named by the day they end on.
  const nights = (weather?.past ?? []).filter(({ day, wetHours }) => day > first && day <= last && wetHours);
  const wettest = nights.sort((a, b) => (b.wetHours?.value ?? 0) - (a.wetHours?.value ?? 0))[0];
  if (wettest?.wetHours === undefined) return NOT_MEASURED;
  const hours = Math.round(wettest.wetHours.value);
  return `${hours} wet ${hours === 1 ? 'hour' : 'hours'} in the night to ${shortDay(wettest.day)}.`;
}

async function leafOutcome(
  readings: ReadingStore,
  site: Site,
  houseId: string,
  fans: boolean,
  first: LocalDay,
  last: LocalDay,
): Promise<string> {
  const fromMs = localDayBounds(site.zone, first).startMs;
  const toMs = localDayBounds(site.zone, last).endMs;
  const filter = { siteId: site.id, houseId, placement: 'inside' } as const;
  const hoursOf = async (quantity: 'airTempC' | LightQuantity) => {
    const sensors = await readings.hourly({ ...filter, quantities: [quantity] }, fromMs, toMs);
    return hoursOfSensors(sensors.map(({ rollUps }) => rollUps.filter(({ count }) => count > 0)));
  };
  const air = await hoursOf('airTempC');
  const light = new Map<number, number>();
  for (const quantity of LIGHT_QUANTITIES)
    for (const [at, { mean }] of await hoursOf(quantity))
      if (mean >= 0 && !light.has(at)) light.set(at, RADIATION_FROM[quantity](mean));
  let hottest: { readonly at: number; readonly leafC: number } | undefined;
  for (const [at, { mean }] of air) {
    const radiationWm2 = light.get(at);
    if (radiationWm2 === undefined || radiationWm2 > MOST_RADIATION_WM2) continue;
    const leafC = leafTempC(mean, radiationWm2, fans ? 'moving-air' : 'still-air');
    if (hottest === undefined || leafC > hottest.leafC) hottest = { at, leafC };
  }
  if (hottest === undefined) return NOT_MEASURED;
  return `Leaves in the sun came to about ${degrees(hottest.leafC)} on ${shortDay(localDayOf(site.zone, hottest.at))}.`;
}
