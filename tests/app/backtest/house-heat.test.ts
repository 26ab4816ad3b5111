import { describe, expect, it } from 'vitest';
import { hotSpellMornings, readHeatHouse, warmDayScores } from '../../../src/app/backtest/house-heat.js';
import { limitsFor } from '../../../src/app/backtest/weather-tables.js';
import { heatRecord, hotSpellFrom } from '../../../src/models/hot-spell.js';
import { contingencyScores } from '../../../src/science/scores.js';
import { sharedData } from '../../support/shared-data.js';

const META = 'houses/houses.json';
const path = sharedData(META);
const readHouse = (name: string) => readHeatHouse((path as string).slice(0, -META.length), name);
/** The house model walks through half a year of mornings. */
const PATIENCE_MS = 180_000;

describe.runIf(path)('pad-and-fan houses in Arizona, 2013-14 (University of Arizona open data)', () => {
  it.each(['desert-cooled-a', 'desert-cooled-b'])(
    '%s: hot days outside raise no hot-spell alert, not even with the limit for plants that change their leaf pair',
    async (name) => {
      const house = await readHouse(name);
      const outside = house.days.map(({ day, outside: { outsideMaxC } }) => ({
        day,
        ...(outsideMaxC !== null && { dayMaxC: outsideMaxC }),
      }));
      const inside = house.days.map(({ day, maxC }) => ({ day, ...(maxC !== null && { dayMaxC: maxC }) }));
      const spells = (days: typeof outside) =>
        days.filter((_, i) => hotSpellFrom(days, i, heatRecord(days.slice(0, i)), limitsFor(true)).met === true);
      // The outside air would have been a spell in April: five days of 32 to 34 °C.
      expect(spells(outside).length).toBeGreaterThan(2);
      expect(spells(inside)).toEqual([]);
      // By the forecasts of the house model, three days ahead, from its second morning on.
      expect(house.mornings.length).toBeGreaterThan(170);
      expect(hotSpellMornings(house)).toEqual([]);
    },
    PATIENCE_MS,
  );
});

describe.runIf(path)('research cells in Denmark, 2013-14', () => {
  it(
    'north-cell-a: warm days of late April are told a day ahead, better than by "as warm as the last day"',
    async () => {
      const house = await readHouse('north-cell-a');
      const [today, ahead] = [warmDayScores(house, 0), warmDayScores(house, 1)];
      for (const scores of [today, ahead]) {
        expect(scores.warmDays).toBe(4);
        const [told, last] = [contingencyScores(scores.told), contingencyScores(scores.persistence)];
        expect(told.pod).toBeGreaterThanOrEqual(0.75);
        expect(told.csi as number).toBeGreaterThan(last.csi as number);
      }
      expect(ahead.told.falseAlarms).toBeLessThanOrEqual(2);
      // The alert for changing plants holds on the mornings of that week and on no other.
      for (const day of hotSpellMornings(house)) expect(day >= '2014-04-20').toBe(true);
    },
    PATIENCE_MS,
  );

  it(
    'north-cell-b: no warm day is on record after the model may be scored, and none is told',
    async () => {
      const house = await readHouse('north-cell-b');
      const ahead = warmDayScores(house, 1);
      expect(ahead).toMatchObject({ warmDays: 0, told: { falseAlarms: 0 } });
      expect(hotSpellMornings(house)).toEqual([]);
    },
    PATIENCE_MS,
  );
});
