import { afterEach, expect, it } from 'vitest';
import type { AlertKind } from '../../../src/domain/alerts.js';
import { addDays, instantOnDay } from '../../../src/domain/time.js';
import type { Round } from '../../../src/domain/verdict.js';
import { batch, bench, MILD, type Nursery, openNursery, type Weather } from '../../support/nursery.js';
import { feed, watched } from './support.js';

/*
 * The list and the alerts speak of one house: a batch whose verdict carries an alert is at risk in the alert, and no
 * weather alert is told without a verdict or a forecast that gives reason for it.
 */
let nursery: Nursery;
afterEach(() => nursery.close());

const GROUPS = ['echeveria', 'lithops-summer-rain', 'conophytum', 'haworthia-soft', 'titanopsis-aloinopsis'];
const WEATHER: readonly AlertKind[] = ['hot-spell', 'frost', 'wet-night', 'burn-risk'];

const carried = (round: Round, kind: AlertKind): string[] =>
  round.houses.flatMap(({ lines }) =>
    lines.flatMap(({ batches }) =>
      batches.filter(({ verdict }) => verdict.alerts.includes(kind)).map(({ batchId }) => batchId),
    ),
  );

it.each<[string, string, Weather, readonly AlertKind[]]>([
  ['mild days', '2026-06-10', MILD, []],
  ['hot days', '2026-07-10', { nightC: 20, dayC: 37, relHumidityPct: 40, noonPpfdUmol: 1400 }, ['hot-spell']],
  [
    'days that harm',
    '2026-07-10',
    { nightC: 20, dayC: 45, relHumidityPct: 30, noonPpfdUmol: 1900 },
    ['hot-spell', 'burn-risk'],
  ],
  ['frosty nights', '2026-01-20', { nightC: 0.5, dayC: 8, relHumidityPct: 60, noonPpfdUmol: 300 }, ['frost']],
  ['wet nights', '2026-10-10', { nightC: 12, dayC: 16, relHumidityPct: 96, noonPpfdUmol: 300 }, ['wet-night']],
])('after %s', async (_, day, weather, kinds) => {
  nursery = await openNursery();
  nursery.now = instantOnDay(nursery.site.zone, day, '06:00');
  await nursery.enter(
    addDays(day, -90),
    '09:00',
    bench('1', 'line-a'),
    ...GROUPS.map((group) => batch(group, '1', group)),
  );
  await feed(nursery, instantOnDay(nursery.site.zone, addDays(day, -61), '00:00'), nursery.now, weather);
  const round = await nursery.rounds.make('home', day);
  const { watch, alerts } = watched(nursery);
  await watch(0);
  const open = await alerts.open('home');
  expect(
    open
      .map(({ kind }) => kind)
      .filter((kind) => WEATHER.includes(kind))
      .sort(),
  ).toEqual([...kinds].sort());
  for (const kind of WEATHER) {
    const atRisk = open.find((alert) => alert.kind === kind)?.batchIds ?? [];
    expect(atRisk).toEqual(expect.arrayContaining(carried(round, kind)));
    if (kinds.includes(kind)) expect(carried(round, kind).length).toBeGreaterThan(0);
  }
});
