import { describe, expect, it } from 'vitest';
import { changesBetween, sameAdvice } from '../../src/advice/changes.js';
import { lookList } from '../../src/advice/look-list.js';
import type { Amount } from '../../src/domain/plants.js';
import type { BatchAdvice, HouseAdvice, Round } from '../../src/domain/verdict.js';

const batch = (
  name: string,
  bench: number,
  potCount: number,
  more: Partial<BatchAdvice['verdict']> = {},
): BatchAdvice => ({
  batchId: name.toLowerCase(),
  name,
  group: 'conophytum',
  groupName: 'Conophytum',
  benchId: `b${bench}`,
  benchName: `Bench ${bench}`,
  potCount,
  phase: null,
  verdict: {
    amount: 'none' as Amount,
    postponed: false,
    inspect: true,
    lightRamp: false,
    alerts: [],
    mlPerPot: 0,
    sentence: 'Dry until someone has looked: whether the body is soft.',
    lookFor: 'whether the body is soft',
    lookSaves: 0.5,
    decidedBy: { table: 't', row: 'r' },
    vetoes: [],
    trace: [],
    ...more,
  },
  litres: 0,
});
const house = (houseId: string, batches: readonly BatchAdvice[]): HouseAdvice => ({
  houseId,
  name: houseId,
  climate: {
    nightMinC: null,
    dayMaxC: null,
    meanVpdKPa: null,
    dli: null,
    peakPpfdUmol: null,
    dewPointMarginMinC: null,
    sensorsHeard: 0,
    lastReadingAt: null,
    sentence: '',
  },
  lines: [
    {
      lineId: null,
      name: 'By hand',
      action: 'leave',
      amount: 'none',
      litres: 0,
      sentence: '',
      potsKeptDry: 0,
      batches,
    },
  ],
});

describe('the look list', () => {
  const houses = [
    house('north', [batch('A', 10, 5), batch('B', 2, 50), batch('Sure', 1, 500, { inspect: false })]),
    house('south', [batch('C', 1, 8), batch('D', 3, 20)]),
  ];

  it('asks only where a look is needed, at most as often as set, for what is worth most', () => {
    expect(lookList(houses, () => 1, 2).map(({ batchName }) => batchName)).toEqual(['B', 'D']);
    expect(lookList(houses, () => 1, 0)).toEqual([]);
  });

  it('asks for few precious pots before many ordinary ones', () => {
    const worth = ({ name }: BatchAdvice) => (name === 'C' ? 10 : 1);
    expect(lookList(houses, worth, 1).map(({ batchName }) => batchName)).toEqual(['C']);
  });

  it('asks where the advice is likely wrong, or the harm great, before where there are more pots', () => {
    const unsure = [
      house('north', [batch('Many', 1, 90, { lookSaves: 0.1 }), batch('Few', 2, 10, { lookSaves: 1.5 })]),
    ];
    expect(lookList(unsure, () => 1, 1)).toMatchObject([{ batchName: 'Few', saves: 15 }]);
  });

  it('is given in walking order: house by house, bench 2 before bench 10', () => {
    expect(lookList(houses, () => 1, 9).map(({ batchName }) => batchName)).toEqual(['B', 'A', 'C', 'D']);
  });

  it('says what to look for and why', () => {
    expect(lookList(houses, () => 1, 1)[0]).toMatchObject({
      lookFor: 'whether the body is soft',
      why: 'Dry until someone has looked: whether the body is soft.',
    });
  });
});

describe('what changed between two lists', () => {
  const round = (batches: readonly BatchAdvice[], rulebookRevision = '1') =>
    ({ houses: [house('north', batches)], tasks: [], rulebookRevision }) as unknown as Round;
  const dry = (name: string) => batch(name, 1, 5, { inspect: false });
  const light = (name: string) => batch(name, 1, 5, { inspect: false, amount: 'light', mlPerPot: 7 });

  it('is told in words, batch by batch', () => {
    expect(changesBetween(undefined, round([dry('A')]))).toEqual([]);
    expect(changesBetween(round([dry('A'), dry('B')]), round([light('A'), dry('C')]))).toEqual([
      'A (Bench 1): now a light drink, before leave dry.',
      'C (Bench 1) is new on the list: leave dry.',
      'B (Bench 1) is no longer on the list.',
    ]);
    expect(changesBetween(round([dry('A')]), round([dry('A')], '2'))).toEqual(['The rules were changed.']);
  });

  it('is cut where nobody would read on', () => {
    const names = Array.from({ length: 30 }, (_, index) => `P${index}`);
    const told = changesBetween(round(names.map(dry)), round(names.map(light)));
    expect(told).toHaveLength(13);
    expect(told.at(-1)).toBe('And 18 more changes.');
  });

  it('is nothing when nobody would do anything else', () => {
    expect(sameAdvice(round([dry('A')]), round([dry('A')]))).toBe(true);
    expect(sameAdvice(round([dry('A')]), round([light('A')]))).toBe(false);
    expect(sameAdvice(round([light('A')]), round([{ ...light('A'), potCount: 4 }]))).toBe(false);
  });
});
