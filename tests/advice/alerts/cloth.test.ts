import { afterEach, beforeEach, expect, it } from 'vitest';
import type { Site } from '../../../src/domain/site.js';
import { addDays, instantOnDay } from '../../../src/domain/time.js';
import type { Round } from '../../../src/domain/verdict.js';
import { type Nursery, openNursery, plantSoft } from '../../support/nursery.js';
import { feed, HOUR, watched } from './support.js';

const DAY = '2026-06-10';
const CLOTH = { id: 'black', name: 'Black cloth', shadePct: 50, place: 'inside', colour: 'black' } as const;
let nursery: Nursery;
let site: Site;
const at = (clock: string) => instantOnDay(nursery.site.zone, DAY, clock);

/** A house under a cover that lets 65 % through, with a light sensor inside and one on the roof. */
async function light(inside: number): Promise<void> {
  const weather = { nightC: 13, dayC: 23, relHumidityPct: 55, noonPpfdUmol: 1500 };
  const from = instantOnDay(nursery.site.zone, addDays(DAY, -3), '00:00');
  await feed(nursery, from, at('20:00'), weather, { sensorId: 'roof', houseId: null, placement: 'outside' });
  await feed(nursery, from, at('20:00'), { ...weather, noonPpfdUmol: 1500 * inside });
}

beforeEach(async () => {
  nursery = await openNursery();
  const [house] = nursery.site.houses;
  if (!house) throw new Error('the nursery has a house');
  site = { ...nursery.site, houses: [{ ...house, transmission: 0.65, cloths: [CLOTH] }] };
  await plantSoft(nursery, DAY);
});
afterEach(() => nursery.close());

/** The collection, with a cloth entered today. */
const entered = (clock: string, value: string | null) => ({
  collection: async () => ({
    ...(await nursery.keeper.collection('home')),
    cloths: new Map([['north', { value, at: at(clock), by: 'Ada', entryId: 1 }]]),
  }),
});

const tell = async (more: Parameters<typeof watched>[1]): Promise<string[]> => {
  const { told, watch } = watched(nursery, { sites: () => [site], ...more });
  await watch(HOUR);
  return told().filter((one) => one.includes('cloth'));
};

it('that the journal says hangs, but that lets all the light in, is told', async () => {
  await light(0.65);
  nursery.now = at('15:00');
  expect(await tell({ keeper: entered('07:00', 'black') })).toEqual(['new cloth-not-as-advised']);
});

it('that hangs as entered is not', async () => {
  await light(0.325);
  nursery.now = at('15:00');
  expect(await tell({ keeper: entered('07:00', 'black') })).toEqual([]);
});

/** The list of the day, with its advice for the black cloth. */
const advised = (since: string, from?: string) => {
  const shade = { clothId: 'black', since: at(since), hungId: null, sentence: '', benches: [], warnings: [] };
  const house = { houseId: 'north', shade: { ...shade, ...(from && { from: at(from) }) }, lines: [] };
  const round = { day: DAY, revision: 1, madeAt: at('05:30'), houses: [house] } as unknown as Round;
  return { today: () => DAY, latest: async () => round };
};

it('that was advised this morning and was not hung is told, once there was time to hang it', async () => {
  await light(0.65);
  nursery.now = at('06:30');
  expect(await tell({ rounds: advised('06:00') })).toEqual([]);
  nursery.now = at('12:00');
  expect(await tell({ rounds: advised('06:00') })).toEqual(['new cloth-not-as-advised']);
});

it('is not asked for before the hour for which it is advised', async () => {
  await light(0.65);
  nursery.now = at('12:00');
  expect(await tell({ rounds: advised('05:30', '14:00') })).toEqual([]);
  nursery.now = at('18:00');
  expect(await tell({ rounds: advised('05:30', '14:00') })).toEqual(['new cloth-not-as-advised']);
});

it('that somebody decided against today is as they entered it', async () => {
  await light(0.65);
  nursery.now = at('15:00');
  expect(await tell({ rounds: advised('06:00'), keeper: entered('08:00', null) })).toEqual([]);
});

it('is looked at with the newest light of a sensor that speaks every two seconds, and no reading is read twice for long', async () => {
  await light(0.325);
  const { readings } = nursery.storage;
  const series = await readings.series({ siteId: 'home', quantities: ['ppfdUmol'] });
  const asked: number[] = [];
  // 12 hours of light, every two seconds: more than is read at once. The cloth was taken off at noon.
  const raw: typeof readings.raw = async (seriesId, afterMs, toMs, limit) => {
    asked.push(afterMs);
    const isInside = series.find((one) => one.seriesId === seriesId)?.placement === 'inside';
    const points = [];
    const first = Math.max(at('06:00'), Math.floor(afterMs / 2000) * 2000 + 2000);
    for (let t = first; t < toMs && points.length < limit; t += 2000)
      points.push({ at: t, value: 800 * (isInside ? (t < at('12:00') ? 0.325 : 0.65) : 1), flagMask: 0 });
    return points;
  };
  const storage = { ...nursery.storage, readings: { ...readings, raw } };
  const keeper = entered('11:00', 'black');
  const { told, watch } = watched(nursery, { sites: () => [site], storage, keeper });
  nursery.now = at('18:00');
  await watch(15 * 60_000);
  expect(told().filter((one) => one.includes('cloth'))).toEqual(['new cloth-not-as-advised']);
  asked.length = 0;
  nursery.now = at('18:20');
  await watch(0);
  // On from the ten minutes that were filling at the last look.
  expect(asked).toEqual([at('18:10') - 1, at('18:10') - 1]);
});
