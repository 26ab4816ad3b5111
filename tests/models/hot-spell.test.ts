import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addDays } from '../../src/domain/time.js';
import {
  type DayHeat,
  type HeatRecord,
  type HotSpellLimits,
  heatRecord,
  heatRecordFromOutside,
  heatRecordOf,
  hotDayLimitC,
  hotSpellFrom,
  unusualDayMaxC,
} from '../../src/models/hot-spell.js';
import { PhysicsRangeError } from '../../src/science/guards.js';

const LIMITS: HotSpellLimits = { hotDayC: 35, hotNightC: 22, hotDaysOfThree: 2, floorC: 30 };
const NO_RECORD: HeatRecord = { from: 'too short', unusualMaxC: [] };

/** Days from a date on; null: not heard. */
const daysFrom = (
  first: string,
  maximaC: readonly (number | null)[],
  minimaC: readonly (number | null)[] = [],
): DayHeat[] =>
  maximaC.map((maxC, i) => {
    const minC = minimaC[i] ?? null;
    return {
      day: addDays(first, i),
      ...(maxC !== null && { dayMaxC: maxC }),
      ...(minC !== null && { nightMinC: minC }),
    };
  });

/** Two years and a half of a house that follows the year between 15 and 29 °C, warmest in mid July, with a daily wobble. */
const wave = (index: number): number =>
  22 - 7 * Math.cos((2 * Math.PI * (index - 15)) / 365.25) + 3 * Math.sin(index * 1.7);
const YEARS = daysFrom(
  '2021-01-01',
  Array.from({ length: 910 }, (_, i) => wave(i)),
  Array.from({ length: 910 }, (_, i) => wave(i) - 10),
);

describe('without a record', () => {
  it.each([
    ['two of three days at 35 °C', [35, 28, 35], [10, 10, 10, 10], true, 'hot days'],
    ['one day alone', [41, 28, 28], [10, 10, 10, 10], false, undefined],
    ['just below', [34.9, 34.9, 34.9], [10, 10, 10, 10], false, undefined],
    ['three nights that stay at 22 °C', [30, 30, 30], [10, 22, 22, 22], true, 'warm nights'],
    ['two such nights', [30, 30, 30], [22, 22, 21.9, 22], false, undefined],
    ['a day not heard that could make it one', [35, null, 28], [10, 10, 10, 10], undefined, undefined],
    ['a day not heard that changes nothing', [28, null, 28], [10, 10, 10, 10], false, undefined],
    ['a night not heard that could make it one', [28, 28, 28], [10, 22, null, 22], undefined, undefined],
    ['hot enough whatever the silent day was', [35, null, 35], [10, 10, 10, 10], true, 'hot days'],
  ] as const)('%s', (_, maximaC, minimaC, met, because) => {
    const days = daysFrom('2026-07-01', [...maximaC, null], minimaC);
    const spell = hotSpellFrom(days, 0, NO_RECORD, LIMITS);
    expect(spell.met).toBe(met);
    expect(spell.because).toBe(because);
  });

  it('is stricter while plants change their leaf pair', () => {
    const days = daysFrom('2026-07-01', [33, 33, 28, null], [10, 10, 10, 10]);
    expect(hotSpellFrom(days, 0, NO_RECORD, LIMITS).met).toBe(false);
    expect(hotSpellFrom(days, 0, NO_RECORD, { ...LIMITS, hotDayC: 32 }).met).toBe(true);
  });
});

describe('with two seasons of its own record', () => {
  const record = heatRecord(YEARS);

  it('knows the 95th percentile of daily means and what is unusual at a time of the year', () => {
    expect(record.from).toBe('own record');
    const means = YEARS.slice(0, -1).map((day, i) => ((day.dayMaxC ?? 0) + (YEARS[i + 1]?.nightMinC ?? 0)) / 2);
    const above = means.filter((mean) => mean > (record.dailyMean95C ?? 0)).length / means.length;
    expect(above).toBeGreaterThan(0.04);
    expect(above).toBeLessThan(0.06);
    expect(unusualDayMaxC(record, '2023-07-15')).toBeGreaterThan(29);
    expect(unusualDayMaxC(record, '2023-01-15')).toBeLessThan(19);
    expect(unusualDayMaxC(record, '2024-02-29')).toBe(unusualDayMaxC(record, '2023-02-28'));
  });

  it('nothing is told from less than 600 daily means, however many days are on the calendar', () => {
    expect(heatRecord(YEARS.slice(0, 601)).from).toBe('own record');
    expect(heatRecord(YEARS.slice(0, 599))).toEqual(NO_RECORD);
    expect(heatRecord(YEARS.map(({ day }) => ({ day })))).toEqual(NO_RECORD);
  });

  it('days unusual for the time of the year are hot from the floor on, and not below it', () => {
    // 31 °C in April: far above what is usual there in spring, above the floor, below 35 °C.
    const april = daysFrom('2023-04-10', [31, 31, 24, null], [10, 10, 10, 10]);
    expect(hotSpellFrom(april, 0, record, LIMITS)).toMatchObject({ met: true, because: 'hot days', hotDays: 2 });
    const january = daysFrom('2023-01-10', [27, 27, 27, null], [10, 10, 10, 10]);
    expect(unusualDayMaxC(record, '2023-01-10')).toBeLessThan(20);
    expect(hotSpellFrom(january, 0, record, LIMITS)).toMatchObject({ met: false, hotDays: 0 });
  });

  it('three days of heat with nights that bring no relief are a spell though no day is hot', () => {
    // A record in which 33 °C days are usual but nights are cool; now the nights stay at 21 °C.
    const hotYears = YEARS.map((day) => ({
      ...day,
      dayMaxC: (day.dayMaxC ?? 0) + 6,
      nightMinC: (day.nightMinC ?? 0) - 4,
    }));
    const usual = heatRecord(hotYears);
    const days = daysFrom(
      '2023-06-10',
      [...Array.from({ length: 30 }, () => 27), 33, 33, 33, null],
      [...Array.from({ length: 31 }, () => 15), 21.5, 21.5, 21.5],
    );
    const spell = hotSpellFrom(days, 30, usual, LIMITS);
    expect(spell).toMatchObject({ met: true, because: 'excess heat', hotDays: 0 });
    // By hand: means 27.25; 29 days of 21 and one of 21 before: acclimatisation 6.25, significance 27.25 - T95.
    const significance = 27.25 - (usual.dailyMean95C ?? 0);
    expect(spell.excessHeatFactorC2).toBeCloseTo(significance * 6.25, 6);
    // Cool nights: the same days are no spell.
    const cool = days.map((day) => ({ ...day, nightMinC: 15 }));
    expect(hotSpellFrom(cool, 30, usual, LIMITS).met).toBe(false);
    // Nights not heard at all leave it open.
    const silent = days.map(({ day, dayMaxC }) => ({ day, ...(dayMaxC !== undefined && { dayMaxC }) }));
    expect(hotSpellFrom(silent, 30, usual, LIMITS).met).toBe(undefined);
  });

  it('the limit of a hot day is never above the absolute one and never below the floor that is below it', () => {
    fc.assert(
      fc.property(fc.double({ min: -20, max: 60, noNaN: true }), (unusualC) => {
        const limitC = hotDayLimitC(LIMITS, unusualC);
        expect(limitC).toBeLessThanOrEqual(35);
        expect(limitC).toBeGreaterThanOrEqual(30);
      }),
    );
    expect(hotDayLimitC(LIMITS, undefined)).toBe(35);
    expect(hotDayLimitC({ ...LIMITS, hotDayC: 28 }, undefined)).toBe(28);
  });
});

describe('with a short record beside a long one of the outside', () => {
  const outside = heatRecord(YEARS);
  const inside = daysFrom(
    '2023-03-01',
    Array.from({ length: 40 }, (_, i) => wave(i + 789) + 8),
    Array.from({ length: 40 }, (_, i) => wave(i + 789) - 10 + 2),
  );

  it('the outside record is shifted by the middle of the differences: 8 °C by day, 5 °C of the daily mean', () => {
    const record = heatRecordFromOutside(outside, inside, YEARS);
    expect(record.from).toBe('outside record');
    expect((record.dailyMean95C ?? 0) - (outside.dailyMean95C ?? 0)).toBeCloseTo(5, 6);
    expect((unusualDayMaxC(record, '2023-07-15') ?? 0) - (unusualDayMaxC(outside, '2023-07-15') ?? 0)).toBeCloseTo(
      8,
      6,
    );
  });

  it('stands in only while the house has no record of its own', () => {
    expect(heatRecordOf(inside, YEARS)).toEqual(heatRecordFromOutside(outside, inside, YEARS));
    expect(heatRecordOf(YEARS, inside)).toEqual(outside);
    expect(heatRecordOf(inside, [])).toEqual(NO_RECORD);
  });

  it('tells nothing from fewer than thirty days of both, or beside a short outside record', () => {
    expect(heatRecordFromOutside(outside, inside.slice(0, 29), YEARS)).toEqual(NO_RECORD);
    expect(heatRecordFromOutside(NO_RECORD, inside, YEARS)).toEqual(NO_RECORD);
    expect(heatRecordFromOutside(outside, inside, [])).toEqual(NO_RECORD);
  });
});

describe('whatever the days', () => {
  const temp = fc.option(fc.double({ min: 0, max: 45, noNaN: true }), { nil: null });
  const week = fc.tuple(fc.array(temp, { minLength: 4, maxLength: 4 }), fc.array(temp, { minLength: 4, maxLength: 4 }));

  it('no day below the floor and no warm night: no spell, and never an unknown one once all is heard', () => {
    const record = heatRecord(YEARS);
    fc.assert(
      fc.property(week, ([maximaC, minimaC]) => {
        const days = daysFrom('2023-07-01', maximaC, minimaC);
        const spell = hotSpellFrom(days, 0, record, LIMITS);
        const all = [...maximaC.slice(0, 3), ...minimaC.slice(1)];
        if (all.every((value) => value !== null)) expect(spell.met).not.toBe(undefined);
        if (maximaC.every((c) => c !== null && c < 30) && minimaC.every((c) => c !== null && c < 22))
          expect(spell.met).toBe(false);
      }),
    );
  });

  it('hearing what was silent never turns a spell into none', () => {
    fc.assert(
      fc.property(week, fc.double({ min: 0, max: 45, noNaN: true }), ([maximaC, minimaC], heardC) => {
        const before = hotSpellFrom(daysFrom('2023-07-01', maximaC, minimaC), 0, NO_RECORD, LIMITS);
        const heard = daysFrom(
          '2023-07-01',
          maximaC.map((c) => c ?? heardC),
          minimaC.map((c) => c ?? heardC),
        );
        const after = hotSpellFrom(heard, 0, NO_RECORD, LIMITS);
        if (before.met !== undefined) expect(after.met).toBe(before.met);
      }),
    );
  });

  it('catches NaN', () => {
    const days = daysFrom('2023-07-01', [Number.NaN, 20, 20, null], [10, 10, 10, 10]);
    expect(() => hotSpellFrom(days, 0, NO_RECORD, LIMITS)).toThrow(PhysicsRangeError);
    expect(() => heatRecord([{ day: '2023-07-01', dayMaxC: Number.NaN }])).toThrow(PhysicsRangeError);
  });
});
