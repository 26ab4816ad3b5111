import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  benchLight,
  daysToLight,
  isRampFrozen,
  type LightDay,
  lightOver,
  lightWhereItStood,
  rampLimit,
  shadeForLimitPct,
} from '../../src/models/light-history.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { group } from './catalogue.js';

const lithops = group('lithops-summer-rain');
const week = (dli: number, peakPpfdUmol?: number): LightDay[] =>
  Array.from({ length: 7 }, (_, i) => ({ day: `2027-04-0${i + 1}`, dli, ...(peakPpfdUmol && { peakPpfdUmol }) }));

describe('light where the batch stood', () => {
  const days = ['2027-04-01', '2027-04-02', '2027-04-03', '2027-04-04'];
  const stays = [
    { from: '2027-04-02', houseId: 'north', exposure: 'open' as const },
    { from: '2027-04-04', houseId: 'south', exposure: 'under-gutter' as const },
  ];
  it('follows moves between houses and benches, and the cloth of each day', () => {
    const had = lightWhereItStood(days, stays, (houseId, day) => ({
      light: { day, dli: houseId === 'north' ? 10 : 20, peakPpfdUmol: 800 },
      ...(day === '2027-04-03' && { clothTransmission: 0.5 }),
    }));
    // Before the first stay nothing is known; then 10; then 10 under half a cloth; then three quarters of 20.
    expect(had.map((day) => day.dli)).toEqual([undefined, 10, 5, 15]);
    expect(had.map((day) => day.peakPpfdUmol)).toEqual([undefined, 800, 400, 600]);
  });
  it('a day without a reading stays unknown, it is not dark', () => {
    const had = lightWhereItStood(days, stays, () => undefined);
    expect(had.every((day) => day.dli === undefined)).toBe(true);
    expect(benchLight({ day: '2027-04-01' }, 'shaded-side')).toEqual({ day: '2027-04-01' });
  });
  it('refuses a cloth that lets more through than comes', () => {
    expect(() => benchLight({ day: '2027-04-01', dli: 3 }, 'open', 1.2)).toThrow(PhysicsRangeError);
  });
});

describe('means', () => {
  it('are known with every day, estimated with most, unknown with few', () => {
    expect(lightOver(week(12, 700), 7)).toEqual({ dli: 12, peakPpfdUmol: 700, certainty: 'known', days: 7 });
    expect(lightOver(week(12).slice(2), 7)).toMatchObject({ certainty: 'estimated', days: 5 });
    expect(lightOver(week(12).slice(4), 7)).toBeUndefined();
    expect(lightOver([], 7)).toBeUndefined();
  });
  it('count only the span asked for', () => {
    expect(lightOver([...week(30), ...week(10)], 7)?.dli).toBe(10);
  });
});

describe('the ramp', () => {
  it('allows 1.3 times the mean of the week and 1.5 times its highest hour', () => {
    const limit = rampLimit({ dli: 10, peakPpfdUmol: 600 }, lithops, false);
    expect(limit).toEqual({ dli: 13, peakPpfdUmol: 900, frozen: false });
  });
  it('never asks a stone plant to stay under 6 mol, a Haworthia under 4', () => {
    expect(rampLimit({ dli: 2, peakPpfdUmol: undefined }, lithops, false).dli).toBe(6);
    expect(rampLimit({ dli: 2, peakPpfdUmol: undefined }, group('haworthia-soft'), false).dli).toBe(4);
  });
  it('stands still in a hot spell and for a week after the new pair is bare', () => {
    expect([isRampFrozen(true, undefined), isRampFrozen(false, 3), isRampFrozen(false, 7)]).toEqual([
      true,
      true,
      false,
    ]);
    expect(rampLimit({ dli: 10, peakPpfdUmol: 600 }, lithops, true)).toMatchObject({ dli: 10, peakPpfdUmol: 600 });
  });
  it('takes about three weeks from shop light to a full bench, 6 to 30 mol (common practice: steps over about 3 weeks)', () => {
    const days = daysToLight(new Array(7).fill(6), 30, lithops) as number;
    expect(days).toBeGreaterThanOrEqual(18);
    expect(days).toBeLessThanOrEqual(26);
  });
  it('is over at once for a plant used to the light, and never longer for one used to more', () => {
    expect(daysToLight(new Array(7).fill(25), 30, lithops)).toBe(0);
    expect(daysToLight([], 30, lithops)).toBeUndefined();
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 30, noNaN: true }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        (dli, more) => {
          const less = daysToLight(new Array(7).fill(dli), 32, lithops) as number;
          expect(daysToLight(new Array(7).fill(dli + more), 32, lithops)).toBeLessThanOrEqual(less);
        },
      ),
    );
  });
  it('tells the shade that keeps a bright day within the limit', () => {
    const limit = { dli: 13, peakPpfdUmol: 900 };
    expect(shadeForLimitPct(limit, { dli: 26 })).toBeCloseTo(50, 10);
    expect(shadeForLimitPct(limit, { dli: 14, peakPpfdUmol: 1800 })).toBeCloseTo(50, 10);
    expect(shadeForLimitPct(limit, { dli: 5 })).toBe(0);
    expect(shadeForLimitPct(limit, { dli: 0 })).toBe(0);
    expect(shadeForLimitPct({ dli: 13, peakPpfdUmol: undefined }, { peakPpfdUmol: 1800 })).toBeUndefined();
  });
});
