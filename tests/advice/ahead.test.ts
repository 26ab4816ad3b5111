import { describe, expect, it } from 'vitest';
import { asInTheLastDays, byOutlook } from '../../src/advice/ahead.js';
import type { HouseWeather } from '../../src/advice/house-weather.js';
import type { HouseOutlook, OutlookDay } from '../../src/domain/outlook.js';
import { addDays } from '../../src/domain/time.js';
import type { ClimateDay } from '../../src/models/house-climate.js';

const TODAY = '2026-06-10';
const figure = (value: number) => ({ value, certainty: 'known' as const });
const pastDay = (back: number): ClimateDay => ({
  day: addDays(TODAY, -back),
  dayMaxC: figure(20 + back),
  nightMinC: figure(10 + back),
  dli: figure(10),
  peakPpfdUmol: figure(500),
});
const weather = (change: Partial<HouseWeather> = {}): HouseWeather => ({
  houseId: 'h',
  past: [5, 4, 3, 2, 1].map(pastDay),
  today: { day: TODAY, nightMinC: figure(9), wetHours: figure(2) },
  nightOver: true,
  sensorsHeard: 1,
  lastReadingAt: null,
  hung: { transmission: 1, since: null },
  ...change,
});
const outlook = (days: readonly OutlookDay[]): HouseOutlook => ({
  houseId: 'h',
  issuedAt: 0,
  basis: 'forecast',
  from: 'forecast of 05:10 through the model of this house',
  hours: [],
  days,
  learned: [],
});
const band = (p50: number) => ({ p10: p50 - 2, p50, p90: p50 + 2 });

describe('without an outlook', () => {
  it('the coming days are like the last three, the last first', () => {
    expect(asInTheLastDays(weather()).ahead).toMatchObject({ dayMaxC: [21, 22, 23], dli: [10, 10, 10] });
  });

  it('light is told as it would be without the cloth that hung since', () => {
    // 50 % cloth since three days ago: the two days after it were measured under it, the day it was hung is left as it is.
    const { ahead } = asInTheLastDays(weather({ hung: { transmission: 0.5, since: addDays(TODAY, -3) } }));
    expect(ahead.dli).toEqual([20, 20, 10]);
    expect(ahead.peakPpfdUmol).toEqual([1000, 1000, 500]);
    expect(ahead.hungTransmission).toBe(0.5);
  });
});

describe('by the outlook of the house', () => {
  const days: OutlookDay[] = [
    { day: TODAY, lead: 0, dayMaxC: band(30), nightMinC: band(9), dli: 12, peakPpfdUmol: 700, wetHours: 5 },
    { day: addDays(TODAY, 1), lead: 1, dayMaxC: band(34), nightMinC: band(14), dli: 13, peakPpfdUmol: 800 },
    { day: addDays(TODAY, 2), lead: 2, dayMaxC: band(36), nightMinC: band(16) },
  ];

  it('takes the middle of each band, from today on, and the nights from tonight on', () => {
    const { ahead, tonight } = byOutlook(weather(), outlook(days));
    expect(ahead).toMatchObject({ dayMaxC: [30, 34, 36], nightMinC: [14, 16], dli: [12, 13] });
    expect(ahead.from).toBe('forecast of 05:10 through the model of this house');
    expect(tonight).toMatchObject({ minC: { value: 14 }, wetHours: { value: 5, certainty: 'estimated' } });
    expect(ahead).not.toHaveProperty('hotSpell');
  });

  it('takes the cloth off the light that is expected under it', () => {
    const { ahead } = byOutlook(weather({ hung: { transmission: 0.5, since: addDays(TODAY, -9) } }), outlook(days));
    expect(ahead.dli).toEqual([24, 26]);
  });

  it('a gap ends what is told, so that no later day is taken for an earlier one', () => {
    const { dayMaxC: _, ...silent } = days[1] as OutlookDay;
    const { ahead } = byOutlook(weather(), outlook([days[0] as OutlookDay, silent, days[2] as OutlookDay]));
    expect(ahead.dayMaxC).toEqual([30]);
  });

  it('made yesterday is read by the days it speaks of', () => {
    const made = days.map((day, index) => ({ ...day, day: addDays(TODAY, index - 1) }));
    const { ahead, tonight } = byOutlook(weather(), outlook(made));
    expect(ahead).toMatchObject({ dayMaxC: [34, 36], nightMinC: [16] });
    expect(tonight.minC?.value).toBe(16);
    // Nothing of today in it: tomorrow is not taken for today.
    expect(byOutlook(weather(), outlook(days.slice(1))).ahead).not.toHaveProperty('dayMaxC');
  });

  it('a night that is not told ends the nights', () => {
    const { nightMinC: _, ...dark } = days[1] as OutlookDay;
    const { ahead } = byOutlook(weather(), outlook([days[0] as OutlookDay, dark, days[2] as OutlookDay]));
    expect(ahead).not.toHaveProperty('nightMinC');
  });

  it('what it does not tell stays unknown, and says so of the night; light that fell silent is no bright day', () => {
    const { ahead, tonight } = byOutlook(weather(), outlook([]));
    expect(ahead).not.toHaveProperty('dayMaxC');
    expect(tonight.wetHours).toMatchObject({ value: 2, from: 'as last night: the outlook does not tell' });
    const silentLight = [pastDay(5), ...[4, 3, 2, 1].map((back) => ({ ...pastDay(back), dli: undefined }))];
    const { ahead: dark } = byOutlook(weather({ past: silentLight as ClimateDay[] }), outlook([]));
    expect(dark.lightSilent).toBe(true);
    expect(dark).not.toHaveProperty('dli');
  });
});
