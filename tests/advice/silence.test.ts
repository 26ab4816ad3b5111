import fc from 'fast-check';
import { expect, it } from 'vitest';
import { amountRank } from '../../src/domain/plants.js';
import { addDays, instantOnDay } from '../../src/domain/time.js';
import { adviceOn, MILD, openNursery, plantSoft, type Weather } from '../support/nursery.js';

/*
 * A silent sensor never waters. Every spell hides something in its gaps: the heat of noon, the cold before dawn, a wet
 * night, dull days, or how fast a pot dried.
 */
const DAY = '2026-06-10';
const SPELLS: Readonly<Record<string, Weather>> = {
  mild: MILD,
  // Beyond 35 °C on two of three days: a hot spell by the rulebook.
  hot: { nightC: 17, dayC: 37, relHumidityPct: 40, noonPpfdUmol: 900 },
  // Below the 5-6 °C that watered plants of these groups stand.
  cold: { nightC: 1, dayC: 23, relHumidityPct: 50, noonPpfdUmol: 900 },
  // 97 % is half a degree above the dew point: wet all night, at a temperature at which grey mould infects.
  damp: { nightC: 13, dayC: 18, relHumidityPct: 97, noonPpfdUmol: 900 },
  // Four mol a day; below six a day is dull.
  dull: { nightC: 12, dayC: 18, relHumidityPct: 60, noonPpfdUmol: 110 },
};
/** Soft and firm Echeveria, soft stone plants, with every reading heard: 0 no water, 1 a light drink, 2 a full one. */
const HEARD = {
  mild: [2, 2, 2],
  // The rulebook waters Echeveria through heat; stone plants have stopped growing.
  hot: [2, 2, 0],
  cold: [0, 0, 0],
  damp: [0, 0, 0],
  dull: [0, 0, 0],
};
const QUANTITIES = ['airTempC', 'relHumidityPct', 'ppfdUmol'] as const;

interface Gap {
  readonly quantities: readonly string[];
  readonly daysAgo: number;
  readonly fromHour: number;
  readonly hours: number;
  readonly everyDay: boolean;
}

function isIn(gap: Gap, at: number, quantity: string): boolean {
  const into = at - instantOnDay('Europe/Berlin', addDays(DAY, -gap.daysAgo), '00:00') - gap.fromHour * 3_600_000;
  // No clock changes in these weeks.
  const since = gap.everyDay ? into % 86_400_000 : into;
  return gap.quantities.includes(quantity) && into >= 0 && since < gap.hours * 3_600_000;
}

async function amountsAfter(weather: Weather, feltDry: boolean, gaps: readonly Gap[]): Promise<readonly number[]> {
  const nursery = await openNursery();
  try {
    await plantSoft(nursery, DAY);
    // Pots felt dry are known to be dry whatever the sensors say: only the weather holds the can back then.
    if (feltDry)
      await nursery.enter(addDays(DAY, -1), '18:05', {
        kind: 'signs',
        batchIds: ['thirsty', 'firm', 'stones'],
        substrate: 'looked-dry',
      });
    await nursery.readings(
      addDays(DAY, -61),
      DAY,
      weather,
      (at, quantity) => at < nursery.now && !gaps.some((gap) => isIn(gap, at, quantity)),
    );
    const round = await nursery.rounds.make('home', DAY);
    return ['thirsty', 'firm', 'stones'].map((id) => amountRank(adviceOn(round, id).verdict.amount));
  } finally {
    await nursery.close();
  }
}

const gap: fc.Arbitrary<Gap> = fc.record({
  quantities: fc.subarray([...QUANTITIES], { minLength: 1 }),
  daysAgo: fc.integer({ min: 0, max: 30 }),
  fromHour: fc.integer({ min: 0, max: 23 }),
  hours: fc.integer({ min: 1, max: 20 }),
  everyDay: fc.boolean(),
});

it('waters and holds back where everything is heard, so that the rest means something', async () => {
  for (const [spell, amounts] of Object.entries(HEARD))
    expect([spell, await amountsAfter(SPELLS[spell] as Weather, true, [])]).toEqual([spell, amounts]);
});

it.each([
  // Each of these once watered: a gap at the hottest hours of every day, before dawn, and of the light sensor.
  ['hot', { quantities: ['airTempC'], daysAgo: 30, fromHour: 9, hours: 7, everyDay: true }],
  ['cold', { quantities: ['airTempC'], daysAgo: 30, fromHour: 23, hours: 7, everyDay: true }],
  ['damp', { quantities: ['relHumidityPct'], daysAgo: 30, fromHour: 20, hours: 10, everyDay: true }],
  ['dull', { quantities: ['ppfdUmol'], daysAgo: 4, fromHour: 0, hours: 20, everyDay: true }],
] satisfies [string, Gap][])('does not water stone plants for a gap that hides a %s spell', async (spell, hole) => {
  const [, , stones] = await amountsAfter(SPELLS[spell] as Weather, true, [hole]);
  expect(stones).toBe(0);
});

it('never waters more for hearing less, whatever hours, days or sensors are missing', async () => {
  const heard = new Map<string, readonly number[]>();
  for (const spell of Object.keys(SPELLS))
    for (const felt of [false, true])
      heard.set(`${spell} ${felt}`, await amountsAfter(SPELLS[spell] as Weather, felt, []));
  await fc.assert(
    fc.asyncProperty(
      fc.constantFrom(...Object.keys(SPELLS)),
      fc.boolean(),
      fc.array(gap, { minLength: 1, maxLength: 3 }),
      async (spell, felt, gaps) => {
        const amounts = await amountsAfter(SPELLS[spell] as Weather, felt, gaps);
        for (const [index, most] of (heard.get(`${spell} ${felt}`) ?? []).entries())
          expect(amounts[index]).toBeLessThanOrEqual(most);
      },
    ),
    { numRuns: Number(process.env.LEAFTURN_TEST_GAPS ?? 20) },
  );
}, 600_000);
