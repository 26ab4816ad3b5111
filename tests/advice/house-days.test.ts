import { describe, expect, it } from 'vitest';
import { dayRanges } from '../../src/advice/house-days.js';
import { localDayBounds } from '../../src/domain/time.js';
import type { SeriesDays } from '../../src/storage/repositories.js';

const ZONE = 'Europe/Berlin';
const sensor = (...days: [day: string, min: number, max: number, hours: number][]): SeriesDays =>
  ({
    series: {},
    days: days.map(([day, min, max, hours]) => ({
      day,
      startMs: localDayBounds(ZONE, day).startMs,
      count: hours * 4,
      min,
      max,
      mean: (min + max) / 2,
      integral: 0,
      coveredSeconds: hours * 3600,
    })),
  }) as unknown as SeriesDays;

describe('the range of a day', () => {
  it('is the middle of the sensors that heard enough of it; one that heard the night alone does not bend it', () => {
    const sensors = [
      sensor(['2026-06-01', 10, 30, 24]),
      sensor(['2026-06-01', 12, 34, 18]),
      sensor(['2026-06-01', 11, 15, 9]),
    ];
    expect(dayRanges(sensors, ZONE)).toEqual([{ day: '2026-06-01', min: 11, max: 32, isWhole: true }]);
  });

  it('of which only a part was heard is what came, and is said not to be whole', () => {
    expect(dayRanges([sensor(['2026-06-01', 11, 15, 9], ['2026-06-02', 0, 0, 0])], ZONE)).toEqual([
      { day: '2026-06-01', min: 11, max: 15, isWhole: false },
    ]);
  });

  it('needs three quarters of its own hours: a day of 25 hours more than one of 23', () => {
    const heard = (day: string) => dayRanges([sensor([day, 5, 15, 18])], ZONE)[0]?.isWhole;
    expect([heard('2026-03-29'), heard('2026-06-01'), heard('2026-10-25')]).toEqual([true, true, false]);
  });
});
