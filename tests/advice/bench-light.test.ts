import { afterEach, expect, it } from 'vitest';
import { houseAtBench } from '../../src/advice/batch-light.js';
import { addDays, instantOnDay } from '../../src/domain/time.js';
import { adviceOn, batch, MILD, type Nursery, openNursery } from '../support/nursery.js';

const DAY = '2026-06-10';
let nursery: Nursery | undefined;
afterEach(async () => {
  await nursery?.close();
  nursery = undefined;
});

it('a bench in the shade of the house gets its share of the light that was and of the light to come', () => {
  const house = {
    recent: { dli: { value: 20, from: 'sensors' }, nightMinC: { value: 9, from: 'sensors' } },
    tonight: {},
    ahead: { dli: [20, 10], peakPpfdUmol: [1000], dayMaxC: [25] },
  };
  expect(houseAtBench(house, 'open')).toBe(house);
  expect(houseAtBench(house, 'under-gutter')).toEqual({
    recent: { dli: { value: 15, from: 'sensors' }, nightMinC: { value: 9, from: 'sensors' } },
    tonight: {},
    ahead: { dli: [15, 7.5], peakPpfdUmol: [750], dayMaxC: [25] },
  });
  expect(houseAtBench({ recent: {}, tonight: {}, ahead: {} }, 'shaded-side')).toEqual({
    recent: {},
    tonight: {},
    ahead: {},
  });
});

it('plants that have long stood on a shaded bench need no steps of light and no cloth for staying there', async () => {
  nursery = await openNursery();
  const { enter, readings, rounds, site } = nursery;
  const from = addDays(DAY, -30);
  nursery.now = instantOnDay(site.zone, DAY, '05:30');
  const benches = ['open', 'under-gutter', 'shaded-side'] as const;
  await enter(
    from,
    '09:00',
    ...benches.map((exposure) => ({
      kind: 'bench-added' as const,
      benchId: exposure,
      houseId: 'north',
      name: exposure,
      exposure,
    })),
    ...benches.map((exposure) => batch(`on-${exposure}`, exposure, 'faucaria')),
  );
  await readings(from, addDays(DAY, -1), MILD);
  const round = await rounds.make('home', DAY);
  const light = benches.map((exposure) => {
    const { verdict } = adviceOn(round, `on-${exposure}`);
    return { ramp: verdict.lightRamp, shade: verdict.shade };
  });
  expect(light[0]?.ramp).toBe(false);
  expect(light[1]).toEqual({ ramp: false, shade: null });
  expect(light[2]).toEqual({ ramp: false, shade: null });
});
