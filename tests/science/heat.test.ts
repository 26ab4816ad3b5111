import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../src/science/guards.js';
import {
  calendarDay,
  calendarDayPercentiles,
  chillHours,
  daysAbove,
  excessHeat,
  excessHeatOn,
  heatDayMeanC,
  heatSeverityLimitsC2,
  leafTempC,
  nightLeafTempC,
  plainHotSpell,
  warmDaysPct,
  warmSpells,
} from '../../src/science/heat.js';

describe('calendar of the percentile indices', () => {
  it('has 365 days, 29 February counting as the 28th', () => {
    expect(calendarDay(1, 1)).toBe(1);
    expect(calendarDay(2, 28)).toBe(59);
    expect(calendarDay(2, 29)).toBe(59);
    expect(calendarDay(3, 1)).toBe(60);
    expect(calendarDay(12, 31)).toBe(365);
  });

  it('takes the five days around, over the turn of the year, with quantile type 8', () => {
    // 31 December's window: 29 to 31 December and 1, 2 January; 4 years of values 1 to 20.
    const values = [363, 364, 365, 1, 2].flatMap((day, index) =>
      [1, 2, 3, 4].map((year) => ({ calendarDay: day, value: index * 4 + year })),
    );
    // Hyndman & Fan (1996), type 8 of 1 to 20 at 0.9: 18.6333.
    expect(calendarDayPercentiles(values, 0.9)[364]).toBeCloseTo(18.633333, 5);
    // A day further on only four of the five days hold values; two days on, too few are left.
    expect(calendarDayPercentiles(values, 0.9)[0]).toBeDefined();
    expect(calendarDayPercentiles(values, 0.9)[10]).toBeUndefined();
  });

  it('is unknown with less than two seasons', () => {
    const oneSeason = Array.from({ length: 365 }, (_, index) => ({ calendarDay: index + 1, value: 20 }));
    expect(calendarDayPercentiles(oneSeason).every((limit) => limit === undefined)).toBe(true);
    expect(calendarDayPercentiles([...oneSeason, ...oneSeason]).every((limit) => limit === 20)).toBe(true);
  });
});

describe('warm days and spells', () => {
  it('an unknown day is neither warm nor cool, and ends a run', () => {
    const maxima = [34, 34, 34, undefined, 34, 34, 34];
    const limits = Array.from({ length: 7 }, () => 33);
    expect(daysAbove(maxima, limits)[3]).toBeUndefined();
    expect(warmSpells(maxima, limits, 6)).toEqual({
      days: 0,
      runs: [
        { start: 0, length: 3 },
        { start: 4, length: 3 },
      ],
    });
    expect(warmDaysPct(maxima, limits)).toBe(100);
    expect(warmDaysPct([undefined], [33])).toBeUndefined();
  });

  it('days in spells never exceed warm days, and a higher threshold never adds any', () => {
    const series = fc.array(fc.option(fc.integer({ min: 25, max: 40 }), { nil: undefined }), { maxLength: 60 });
    fc.assert(
      fc.property(series, (maxima) => {
        const at = (limit: number) =>
          warmSpells(
            maxima,
            maxima.map(() => limit),
            3,
          );
        const warm = daysAbove(
          maxima,
          maxima.map(() => 32),
        ).filter((above) => above === true).length;
        expect(at(32).days).toBeLessThanOrEqual(warm);
        expect(at(32).runs.reduce((sum, run) => sum + run.length, 0)).toBe(warm);
        expect(at(34).days).toBeLessThanOrEqual(at(32).days);
      }),
    );
  });
});

describe('excess heat', () => {
  it('the forward window on a day is the trailing one two days later', () => {
    const series = fc.array(fc.double({ min: 5, max: 40, noNaN: true }), { minLength: 40, maxLength: 60 });
    fc.assert(
      fc.property(series, fc.integer({ min: 30, max: 37 }), (means, index) => {
        expect(excessHeatOn(means, index, 28, 'forward')).toEqual(excessHeatOn(means, index + 2, 28, 'trailing'));
      }),
    );
  });

  it('rises with the heat of the three days and with the cool before them, and has the sign of the significance', () => {
    const temp = fc.double({ min: 5, max: 45, noNaN: true });
    fc.assert(
      fc.property(temp, temp, temp, (mean3, mean30, limit) => {
        const factor = (hot: number, before: number) => excessHeat(hot, before, limit).excessHeatFactorC2;
        expect(Math.sign(factor(mean3, mean30))).toBe(Math.sign(mean3 - limit));
        if (mean3 > limit) {
          expect(factor(mean3 + 1, mean30)).toBeGreaterThan(factor(mean3, mean30));
          expect(factor(mean3, mean30 - 1)).toBeGreaterThanOrEqual(factor(mean3, mean30));
        }
      }),
    );
  });

  it('is unknown when one of the 33 days is missing or out of the series', () => {
    const means = Array.from({ length: 40 }, () => 20);
    expect(excessHeatOn(means, 30, 25)).toBeDefined();
    expect(excessHeatOn(means, 29, 25)).toBeUndefined();
    expect(excessHeatOn(means, 38, 25)).toBeUndefined();
    expect(excessHeatOn(means.with(12, undefined as never), 31, 25)).toBeUndefined();
  });

  it('severe and extreme come from the positive factors only', () => {
    expect(heatSeverityLimitsC2([-5, 0, -1])).toBeUndefined();
    const limits = heatSeverityLimitsC2([-20, 2, 4, 6, 8, 10]);
    expect(limits?.extreme).toBe(3 * (limits?.severe ?? Number.NaN));
    expect(limits?.severe).toBeGreaterThan(8);
  });

  it('takes the night that follows', () => {
    expect(heatDayMeanC(36, 24)).toBe(30);
  });
});

describe('hot spell without a record', () => {
  it('needs two hot days of three, or three warm nights', () => {
    expect(plainHotSpell([35, 34, 35], [15, 15, 15])).toBe(true);
    expect(plainHotSpell([35, 34, 34], [15, 15, 15])).toBe(false);
    expect(plainHotSpell([30, 30, 30], [22, 23, 22])).toBe(true);
    expect(plainHotSpell([30, 30, 30], [22, 21.9, 22])).toBe(false);
  });

  it('is unknown where the missing days could decide it', () => {
    expect(plainHotSpell([36, undefined, 30], [15, 15, 15])).toBeUndefined();
    expect(plainHotSpell([36, undefined, 36], [15, 15, 15])).toBe(true);
    expect(plainHotSpell([30, undefined, 30], [15, 15, 15])).toBe(false);
    expect(plainHotSpell([], [])).toBeUndefined();
  });
});

describe('chill, leaf and frost', () => {
  it('counts the hours between the limits and says how many were known', () => {
    expect(chillHours([-1, 0, 0.1, 5, 7.2, 7.3, undefined])).toEqual({ hours: 3, knownHours: 6 });
  });

  it('a thick leaf in strong light is as much above the air as was measured (Gates et al. 1968: 10 to 16 °C)', () => {
    for (const air of ['moving-air', 'still-air'] as const) {
      const above = leafTempC(30, 800, air) - 30;
      expect(above).toBeGreaterThanOrEqual(10);
      expect(above).toBeLessThanOrEqual(16);
    }
    expect(leafTempC(12, 0, 'still-air')).toBe(12);
  });

  it('an exposed leaf on a clear night is below the air (Leuning & Cremer 1988: 1 to 3 °C)', () => {
    expect(nightLeafTempC(3, true)).toBe(1);
    expect(nightLeafTempC(3, false)).toBe(3);
  });
});

describe('refusals', () => {
  it('NaN is refused with a named error, and never counts as a cool day', () => {
    for (const call of [
      () => daysAbove([Number.NaN], [33]),
      () => warmSpells([34], [Number.NaN]),
      () => excessHeat(Number.NaN, 20, 25),
      () =>
        excessHeatOn(
          Array.from({ length: 33 }, () => Number.NaN),
          30,
          25,
        ),
      () => calendarDayPercentiles([{ calendarDay: 3, value: Number.NaN }]),
      () => calendarDayPercentiles([{ calendarDay: 366, value: 3 }]),
      () => calendarDay(13, 1),
      () => plainHotSpell([Number.NaN, 30, 30], [15, 15, 15]),
      () => chillHours([Number.NaN]),
      () => chillHours([5], { aboveC: 7, toC: 7 }),
      () => leafTempC(20, Number.NaN, 'still-air'),
      () => nightLeafTempC(Number.NaN, true),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
  });
});
