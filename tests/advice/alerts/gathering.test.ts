import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { outcomeOf } from '../../../src/advice/alerts/outcomes.js';
import type { HouseOutlook } from '../../../src/domain/outlook.js';
import type { Site } from '../../../src/domain/site.js';
import { addDays, instantOnDay } from '../../../src/domain/time.js';
import type { StoredAlert } from '../../../src/storage/repositories.js';
import { MILD, type Nursery, openNursery, plantSoft } from '../../support/nursery.js';
import { band, feed, HOUR, outlook, watched } from './support.js';

/* What the alerts take for true of what was measured and forecast. */
const DAY = '2026-06-10';
let nursery: Nursery;
beforeEach(async () => {
  nursery = await openNursery();
  await plantSoft(nursery, DAY);
});
afterEach(() => nursery.close());
const at = (clock: string, day = DAY) => instantOnDay(nursery.site.zone, day, clock);

it('the highest of the day so far is not that of a sensor that cannot be right', async () => {
  const from = at('00:00', addDays(DAY, -12));
  await feed(nursery, from, at('15:00'));
  // Stands in the same house, and sends °F since the day before yesterday.
  const other = { sensorId: 'door' };
  await feed(nursery, from, at('00:00', addDays(DAY, -2)), MILD, other);
  await feed(nursery, at('00:00', addDays(DAY, -2)), at('15:00'), { ...MILD, nightC: 55, dayC: 73 }, other);
  nursery.now = at('15:00');
  const { watch, told } = watched(nursery, {
    outlook: async () => outlook(nursery, [{ dayMaxC: band(24, 1) }, { dayMaxC: band(24, 1) }]),
  });
  await watch(0);
  expect(told()).toContain('new sensor-implausible door');
  expect(told().filter((one) => one.includes('hot-spell'))).toEqual([]);
});

it('cloud that is forecast for the whole night keeps leaves as warm as the air', async () => {
  await feed(nursery, at('00:00', addDays(DAY, -61)), nursery.now);
  await nursery.rounds.make('home', DAY);
  const ahead = (): HouseOutlook => outlook(nursery, [{}, { nightMinC: band(5, 0) }]);
  const reasonUnder = async (cloudPct: number): Promise<string | undefined> => {
    const hours = Array.from({ length: 48 }, (_, index) => ({
      at: at('00:00') + index * HOUR,
      airTempC: null,
      relHumidityPct: null,
      radiationWm2: null,
      cloudPct,
      windMs: null,
      rainMm: null,
    }));
    const { watch, alerts } = watched(nursery, {
      outlook: async () => ahead(),
      alertLimits: () => ({ frostBelowC: 6, frostMoistBelowC: 6 }),
      forecast: async () => ({ hours }),
    });
    await watch(0);
    return (await alerts.open('home')).find(({ kind }) => kind === 'frost')?.text.reason;
  };
  expect(await reasonUnder(40)).toContain('colder than the air on a clear night');
  expect(await reasonUnder(100)).not.toContain('colder than the air on a clear night');
});

it('how leaves in the sun came out is told from a lux sensor too', async () => {
  const { storage, site } = nursery;
  const reading = (quantity: 'airTempC' | 'illuminanceLux', clock: string, value: number) => ({
    siteId: site.id,
    sensorId: 'lux',
    quantity,
    houseId: 'north',
    benchId: null,
    placement: 'inside' as const,
    at: at(clock),
    value,
    flagMask: 0,
    timeSource: 'payload' as const,
    receivedAt: at(clock),
  });
  const readings = ['12:05', '12:35', '12:55'].flatMap((clock) => [
    reading('airTempC', clock, 38),
    reading('illuminanceLux', clock, 100_000),
  ]);
  await storage.readings.commit({ readings, refusals: [], messages: readings.length });
  const alert = {
    kind: 'burn-risk',
    houseId: 'north',
    machine: { pendingSince: at('11:00'), firedAt: at('12:00'), resolvedAt: at('15:00') },
    detail: { lastDay: DAY },
  } as unknown as StoredAlert;
  const outcome = await outcomeOf(alert, site, at('00:10', addDays(DAY, 1)), storage.readings, undefined);
  // 100,000 lx of sun are 100,000 / 54 / 2.0565 = 900 W/m²; in moving air 38 + 0.015 × 900 = 51.5 °C.
  expect(outcome).toBe('Leaves in the sun came to about 52 °C on 10 June.');
});

it.each([
  ['once a day for all houses', 60, 1],
  ['not at all where the own records of two years are long enough', 760, 0],
])('the outside record is read %s', async (_, ownDays, times) => {
  const [north] = nursery.site.houses;
  if (!north) throw new Error('the nursery has a house');
  const site: Site = { ...nursery.site, houses: [north, { ...north, id: 'south', name: 'South house' }] };
  await feed(nursery, at('00:00'), nursery.now);
  const { readings } = nursery.storage;
  const [series] = await readings.series({ siteId: 'home', quantities: ['airTempC'] });
  if (!series) throw new Error('the nursery has a sensor');
  const own = Array.from({ length: ownDays }, (_, back) => {
    const day = addDays(DAY, back - ownDays);
    const heard = { count: 24, mean: 18, integral: 0, coveredSeconds: 86_400 };
    return { day, startMs: at('00:00', day), min: 13, max: 23, ...heard };
  });
  const daily = vi.fn<typeof readings.daily>(async (filter, from, to) => {
    if (filter.placement === undefined) return readings.daily(filter, from, to);
    return filter.placement === 'inside' ? [{ series, days: own }] : [];
  });
  const collection = await nursery.keeper.collection('home');
  const bench = [...collection.benches.values()][0];
  const batch = [...collection.batches.values()][0];
  if (!bench || !batch) throw new Error('the nursery has a batch on a bench');
  const both = {
    ...collection,
    benches: new Map(collection.benches).set('other', { ...bench, benchId: 'other', houseId: 'south' }),
    batches: new Map(collection.batches).set('guest', { ...batch, batchId: 'guest', benchId: 'other' }),
  };
  const { watch } = watched(nursery, {
    sites: () => [site],
    storage: { ...nursery.storage, readings: { ...readings, daily } },
    keeper: { collection: async () => both },
  });
  await watch(HOUR);
  const places = daily.mock.calls.map(([{ placement, houseId }]) => `${placement} ${houseId}`);
  expect(places.filter((place) => place.startsWith('inside'))).toEqual(['inside north', 'inside south']);
  expect(places.filter((place) => place.startsWith('outside'))).toHaveLength(times);
});
