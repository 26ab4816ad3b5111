import { afterEach, beforeEach, expect, it } from 'vitest';
import { addDays, civilNoon, instantOnDay } from '../../../src/domain/time.js';
import type { CheckedReading } from '../../../src/storage/repositories.js';
import { type Nursery, openNursery, plantSoft } from '../../support/nursery.js';
import { band, feed, HOUR, outlook, watched } from './support.js';

/** A cool place: half past five on a morning in June, when 26 °C outside is already unusual. */
const DAY = '2026-06-10';
let nursery: Nursery;
beforeEach(async () => {
  nursery = await openNursery();
  await plantSoft(nursery, DAY);
  // Two months of the house: 23 °C by day, 6 °C above the outside of the same weeks.
  await feed(nursery, instantOnDay(nursery.site.zone, addDays(DAY, -61), '00:00'), nursery.now);
  await nursery.rounds.make('home', DAY);
});
afterEach(() => nursery.close());

/** Hourly outside air of two years and two months, 17 °C by day in the weeks around this season, cooler in winter. */
async function outsideYears(): Promise<void> {
  const { site, storage } = nursery;
  const readings: CheckedReading[] = [];
  for (let back = 790; back > 0; back -= 1) {
    const day = addDays(DAY, -back);
    const noonMs = civilNoon(site.zone, day);
    const isWinter = day.slice(5, 7) < '04' || day.slice(5, 7) > '10';
    const wobble = (back % 7) / 10;
    for (let hour = -12; hour < 12; hour += 1)
      readings.push({
        siteId: site.id,
        sensorId: 'yard',
        quantity: 'airTempC',
        houseId: null,
        benchId: null,
        placement: 'outside',
        at: noonMs + hour * HOUR,
        value: (isWinter ? 5 : 17) + wobble - 5 * (1 - Math.cos((hour / 12) * Math.PI)),
        flagMask: 0,
        timeSource: 'payload',
        receivedAt: noonMs + hour * HOUR,
      });
  }
  await storage.readings.commit({ readings, refusals: [], messages: readings.length });
}

const hotForHere = () =>
  outlook(
    nursery,
    [30.6, 31, 31].map((maxC) => ({ dayMaxC: band(maxC, 0.5), nightMinC: band(13, 1) })),
  );

it('a house of two months goes by the outdoor record, and says so', async () => {
  await outsideYears();
  const { watch, alerts } = watched(nursery, { outlook: async () => hotForHere() });
  await watch(0);
  const hot = (await alerts.open('home')).find(({ kind }) => kind === 'hot-spell');
  expect(hot?.text.reason).toContain('by the outdoor record of the season and how much warmer this house is.');
});

it('without one only the absolute limit counts', async () => {
  const { watch, told } = watched(nursery, { outlook: async () => hotForHere() });
  await watch(0);
  expect(told().filter((one) => one.includes('hot-spell'))).toEqual([]);
});
