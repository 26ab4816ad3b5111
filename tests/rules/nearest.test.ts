import { describe, expect, it } from 'vitest';
import type { FactValue, NearestChange } from '../../src/domain/verdict.js';
import { weigh } from '../../src/rules/decide.js';
import { type LimitValues, sheetOf } from '../../src/rules/evaluate.js';
import type { Limits, PhaseLimits } from '../../src/rules/limits.js';
import { nearestChange } from '../../src/rules/nearest.js';
import type { Condition, Row, Step } from '../../src/rules/schema.js';
import { cold, drink, heat, row, smallBook, smallLimits } from './small-book.js';
import { facts } from './support.js';

/*
 * The smallest change that can come by itself, or by looking, and turns the verdict: each kind of it on rulebooks of a
 * row or two, with the words a grower reads and the day it is expected.
 */

type Tables = Partial<Record<Step, readonly Row[]>>;

/** A growing plant with one drink, under these values. */
const growing = (values: LimitValues = {}, more: Partial<PhaseLimits> = {}): Limits => {
  const all = { 'drink-body': 'working', ...values };
  return smallLimits({ growing: { values: all, drinks: [drink('full', all)], atMost: 'full', ...more } }, all);
};

function nearest(
  tables: Tables,
  known: Readonly<Record<string, FactValue | null>>,
  limits: Limits = growing(),
): NearestChange | undefined {
  const sheet = sheetOf(facts({ waterPhase: 'growing', day: '2026-05-20', ...known }));
  const book = smallBook(tables);
  return nearestChange(book, sheet, limits, weigh(book, sheet, limits));
}

const isFirm: Condition = { fact: 'workingSoftness', op: 'below', value: 'soft' };
const notVerySoft: Condition = { fact: 'workingSoftness', op: 'below', value: 'very-soft' };
const isMoist: Condition = { fact: 'dryDays', op: 'below', limit: 'drink-gap' };
const none = (id: string, ...when: Condition[]): Row => row(id, { cap: 'none' }, ...when);

it('is nothing where nothing that can come by itself would turn it', () => {
  expect(
    nearest({ safety: [none('rot', { fact: 'signRot', op: 'is', value: true })] }, { signRot: true }),
  ).toBeUndefined();
});

describe('a plant that grows softer', () => {
  const firm = { guard: [none('firm', isFirm)] };

  it('is told by its body', () => {
    expect(nearest(firm, { workingSoftness: 'firm' })).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the body is soft.',
      fact: 'workingSoftness',
    });
  });

  it('goes step by step: the first that turns it', () => {
    const hard = { guard: [none('firm', notVerySoft)] };
    expect(nearest(hard, { workingSoftness: 'soft' })?.sentence).toBe(
      'Becomes a full drink when the body is very soft.',
    );
    expect(nearest(hard, { workingSoftness: 'firm' })?.sentence).toBe(
      'Becomes a full drink when the body is very soft.',
    );
    // A plant grows no firmer by itself.
    const sunken = { guard: [none('sunken', { fact: 'workingSoftness', op: 'is', value: 'very-soft' })] };
    expect(nearest(sunken, { workingSoftness: 'very-soft' })).toBeUndefined();
  });

  it('may be found so today, where nobody knows', () => {
    expect(nearest(firm, {})).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink if the body is found soft.',
      fact: 'workingSoftness',
    });
    const isSoft = (fact: string): Condition => ({ fact, op: 'is', value: 'soft' });
    const rescue = [row('soft', { raise: 'light' }, isSoft('workingSoftness'), isSoft('thirst'))];
    expect(nearest({ rescue }, {}, growing({}, { drinks: [] }))?.fact).toBe('workingSoftness');
  });

  it.each([
    ['new-pair', 'newPairSoftness', 'the new pair'],
    ['older-pair', 'olderPairSoftness', 'the older pair'],
  ])('is looked for in the body that the drink looks at: %s', (body, fact, name) => {
    const tables = { guard: [none('firm', { fact, op: 'below', value: 'soft' })] };
    expect(nearest(tables, { [fact]: 'firm' }, growing({ 'drink-body': body }))).toEqual({
      amount: 'full',
      sentence: `Becomes a full drink when ${name} is soft.`,
      fact,
    });
    expect(nearest(tables, {}, growing({ 'drink-body': body }))?.sentence).toBe(
      `Becomes a full drink if ${name} is found soft.`,
    );
  });

  it('of a phase without drinks is looked for in the working body', () => {
    const rescue = {
      rescue: [row('sunken', { raise: 'light' }, { fact: 'workingSoftness', op: 'is', value: 'very-soft' })],
    };
    expect(nearest(rescue, { workingSoftness: 'firm' }, growing({}, { drinks: [], atMost: 'light' }))?.sentence).toBe(
      'Becomes a light drink when the body is very soft.',
    );
  });

  it('supposes fair weather of a day to come, and the thirst that goes with it', () => {
    const tables = {
      guard: [none('firm', isFirm), none('not-thirsty', { fact: 'thirst', op: 'below', value: 'soft' })],
      climate: [
        none('cold', cold),
        none('hot', heat),
        none('wet', { fact: 'tonightWetHours', op: 'at-least', value: 6 }),
      ],
    };
    const now = { workingSoftness: 'firm', thirst: 'firm', tonightMinC: 9, aheadHotSpell: false, tonightWetHours: 8 };
    expect(nearest(tables, now)?.sentence).toBe('Becomes a full drink when the body is soft.');
  });
});

describe('a pot that dries', () => {
  const moist = { policy: [none('gap', isMoist)] };
  const gap = (days: number) => growing({ 'drink-gap': days });

  it('is told in days, from how long it is dry already', () => {
    expect(nearest(moist, { dryDays: 3 }, gap(10))).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the pot has been dry for 10 days, in about 7 days.',
      fact: 'dryDays',
      expectedOn: '2026-05-27',
    });
  });

  it('and in days until it is dry and so long after, where it is moist', () => {
    expect(nearest(moist, { dryDays: 0, daysToDry: 4.2 }, gap(10))).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the pot has been dry for 10 days, in about 15 days.',
      fact: 'dryDays',
      expectedOn: '2026-06-04',
    });
    // Nobody knows when it will be dry: no date.
    expect(nearest(moist, { dryDays: 0 }, gap(10))).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the pot has been dry for 10 days.',
      fact: 'dryDays',
    });
  });

  it('a gap of a day or none is "when it has been dry"', () => {
    for (const days of [1, 0, 0.5])
      expect(
        nearest(
          { pot: [none('moist', { fact: 'dryDays', op: 'below', value: 1 })] },
          { dryDays: 0, daysToDry: 2 },
          gap(days),
        )?.sentence,
      ).toBe('Becomes a full drink when the pot has been dry, in about 3 days.');
  });

  it('is tried for the gap of every drink, the shorter first', () => {
    const two = growing(
      {},
      {
        drinks: [
          drink('full', { 'drink-gap': 20, 'drink-body': 'working' }),
          drink('light', { 'drink-gap': 10, 'drink-body': 'working' }),
        ],
      },
    );
    expect(nearest(moist, { dryDays: 5 }, two)?.sentence).toBe(
      'Becomes a light drink when the pot has been dry for 10 days, in about 5 days.',
    );
    expect(nearest(moist, { dryDays: 0 }, two)?.sentence).toBe(
      'Becomes a light drink when the pot has been dry for 10 days.',
    );
    // Dry enough for the light one: nothing can come by itself that takes it away.
    expect(nearest(moist, { dryDays: 12 }, two)).toBeUndefined();
  });

  it('is past where it is as dry as asked, and not told where nobody knows how dry', () => {
    const firm = { guard: [none('cold', cold)] };
    expect(nearest(firm, { dryDays: 10 }, gap(10))?.fact).not.toBe('dryDays');
    expect(nearest(moist, { dryDays: null }, gap(10))?.fact).not.toBe('dryDays');
    expect(nearest(moist, { waterPhase: null, dryDays: 3 }, gap(10))).toBeUndefined();
  });

  it('in less than a day is told as a day', () => {
    expect(nearest(moist, { dryDays: 9.8 }, gap(10))).toMatchObject({
      sentence: 'Becomes a full drink when the pot has been dry for 10 days, in about 1 day.',
      expectedOn: '2026-05-21',
    });
  });

  it('and a plant that softens: where it takes both', () => {
    const both = { ...moist, guard: [none('firm', isFirm)] };
    expect(nearest(both, { dryDays: 3, workingSoftness: 'firm' }, gap(10))).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the body is soft and the pot has been dry for 10 days.',
      fact: 'workingSoftness',
    });
  });
});

describe('weather that passes', () => {
  const wait = { climate: [row('cold', { cap: 'none', postpone: true }, cold)] };

  it('is told with its day, where one is in sight', () => {
    expect(nearest(wait, { tonightMinC: 2, daysToFairWeather: 2 })).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the weather has passed, in about 2 days.',
      fact: 'daysToFairWeather',
      expectedOn: '2026-05-22',
    });
    expect(nearest(wait, { tonightMinC: 2 })).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the weather has passed.',
      fact: 'daysToFairWeather',
    });
  });

  it('is told of heat ahead that holds a drink of the phase back, without a day', () => {
    const hot = { policy: [none('heat-ahead', { fact: 'forecastDayMaxC', op: 'at-least', value: 30 })] };
    expect(nearest(hot, { forecastDayMaxC: 33, daysToFairWeather: 2 })).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the weather has passed.',
      fact: 'daysToFairWeather',
    });
    // So it is where something else leaves a light drink.
    const less = { ...hot, guard: [row('rot', { cap: 'light' }, { fact: 'signRot', op: 'is', value: true })] };
    expect(nearest(less, { forecastDayMaxC: 33, signRot: true })?.fact).toBe('daysToFairWeather');
    // Another row about the same, or one that is merely open, is no weather to wait for.
    const other = { policy: [none('other', { fact: 'forecastDayMaxC', op: 'at-least', value: 30 })] };
    expect(nearest(other, { forecastDayMaxC: 33 })?.fact).not.toBe('daysToFairWeather');
    expect(nearest(hot, { forecastDayMaxC: null })?.fact).not.toBe('daysToFairWeather');
  });

  it('supposes a fair day in everything', () => {
    const bad = (fact: string, op: Condition['op'], value: number | boolean): Row =>
      row(fact, { cap: 'none', postpone: true }, { fact, op, value } as Condition);
    const climate = [
      bad('tonightWetHours', 'at-least', 6),
      bad('tonightColdDamp', 'is', true),
      bad('aheadDullDays', 'at-least', 2),
      bad('aheadHotSpell', 'is', true),
      bad('tonightMinC', 'below', 10),
      bad('aheadNightMinC', 'below', 10),
      bad('aheadDayMaxC', 'at-least', 30),
      bad('forecastDayMaxC', 'at-least', 30),
    ];
    const foul = {
      tonightWetHours: 9,
      tonightColdDamp: true,
      aheadDullDays: 4,
      aheadHotSpell: true,
      tonightMinC: 2,
      aheadNightMinC: 2,
      aheadDayMaxC: 38,
      forecastDayMaxC: 38,
    };
    expect(nearest({ climate }, foul)?.sentence).toBe('Becomes a full drink when the weather has passed.');
  });
});

describe('roots that heal', () => {
  const healing = { safety: [none('repotted', { fact: 'repottedDaysAgo', op: 'below', limit: 'repot-dry-days' })] };
  // What the phase asks for counts, not what the house asks for elsewhere.
  const limits = { ...growing({ 'repot-dry-days': 7 }), base: { 'repot-dry-days': 30 } };

  it('are told with the day', () => {
    expect(nearest(healing, { repottedDaysAgo: 3 }, limits)).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the roots have healed, in about 4 days.',
      fact: 'repottedDaysAgo',
      expectedOn: '2026-05-24',
    });
  });

  it('are healed at the limit, and not spoken of where it was never repotted or nothing is asked', () => {
    const held = { ...healing, guard: [none('cold', cold)] };
    for (const repottedDaysAgo of [7, 9, null])
      expect(nearest(held, { repottedDaysAgo }, limits)?.fact).not.toBe('repottedDaysAgo');
    expect(nearest(held, { repottedDaysAgo: 3 }, growing())?.fact).not.toBe('repottedDaysAgo');
  });
});

describe('the next phase', () => {
  const resting = smallLimits({
    'dormant-cold': { values: { 'drink-body': 'working' }, drinks: [], note: 'Rests.' },
    growing: { drinks: [drink('full')], atMost: 'full', note: 'It drinks.' },
  });
  const rest = { waterPhase: 'dormant-cold', nextPhase: 'growing', phaseProbability: 0.9 };

  it('is told with its day', () => {
    expect(nearest({}, { ...rest, daysToNextPhase: 12 }, resting)).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink once it is growing, in about 12 days.',
      fact: 'waterPhase',
      expectedOn: '2026-06-01',
    });
    expect(nearest({}, { ...rest, daysToNextPhase: 12, day: null }, resting)).not.toHaveProperty('expectedOn');
    expect(nearest({}, rest, resting)).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink once it is growing.',
      fact: 'waterPhase',
    });
    expect(nearest({}, { ...rest, nextPhase: null }, resting)).toBeUndefined();
  });

  it('comes with the season and the mild weather of its day', () => {
    const outOfSeason: Condition = { fact: 'seasonAngleDeg', op: 'out-of-season', limit: 'drink-season' };
    const tables = {
      guard: [
        none('season', outOfSeason),
        none('too-early', { fact: 'daysFromWaterSeason', op: 'at-least', value: 5 }),
        none('unsure', { fact: 'phaseProbability', op: 'below', value: 0.95 }),
        none('cold-week', { fact: 'recentNightMinC', op: 'below', value: 10 }),
        none('hot-week', { fact: 'recentDayMaxC', op: 'above', value: 30 }),
        none('hot-mean', { fact: 'recentDayMeanC', op: 'above', value: 20 }),
        none('dull-week', { fact: 'recentDli', op: 'below', value: 10 }),
        none('cold-night', cold),
      ],
    };
    const limits = smallLimits({
      'dormant-cold': { values: { 'drink-body': 'working' }, drinks: [] },
      // The year is 360 degrees long: 30 days are 29.6 of them, which leads from 350 through 0 to 19.6.
      growing: { values: { 'drink-season': [[19, 20]] }, drinks: [drink('full')], atMost: 'full' },
    });
    const winter = {
      ...rest,
      seasonAngleDeg: 350,
      daysFromWaterSeason: 30,
      recentNightMinC: 1,
      recentDayMaxC: 40,
      recentDayMeanC: 30,
      recentDli: 2,
      tonightMinC: -3,
    };
    expect(nearest(tables, { ...winter, daysToNextPhase: 30 }, limits)?.sentence).toBe(
      'Becomes a full drink once it is growing, in about 30 days.',
    );
    expect(nearest(tables, { ...winter, daysToNextPhase: 60 }, limits)).toBeUndefined();
    expect(nearest(tables, { ...winter, daysToNextPhase: 5 }, limits)).toBeUndefined();
    // Nobody knows when: the season is that of today.
    expect(nearest(tables, { ...winter, seasonAngleDeg: 19.5 }, limits)?.fact).toBe('waterPhase');
  });
});

describe('a drink that would be held back', () => {
  it('by a look that finds the plant firm', () => {
    expect(nearest({ guard: [none('firm', isFirm)] }, { workingSoftness: 'soft', thirst: 'soft' })).toEqual({
      amount: 'none',
      sentence: 'Becomes no water if the body is found firm.',
      fact: 'workingSoftness',
    });
    // What is not known or firm already cannot be found firm.
    const thirsty = { guard: [none('firm', { fact: 'newPairSoftness', op: 'is', value: 'firm' })] };
    expect(nearest(thirsty, { workingSoftness: 'soft', newPairSoftness: 'soft' })).toBeUndefined();
    const rescue = [row('thirsty', { raise: 'full' }, { fact: 'thirst', op: 'is', value: 'soft' })];
    const found = (workingSoftness: string | null) =>
      nearest(
        { rescue },
        { workingSoftness, thirst: 'soft' },
        growing({}, { drinks: [drink('light', { 'drink-body': 'working' })] }),
      )?.amount;
    expect([found('soft'), found('firm'), found(null)]).toEqual(['light', undefined, undefined]);
    expect(
      nearest(
        { guard: [none('calm', { fact: 'thirst', op: 'is', value: 'firm' })] },
        { workingSoftness: 'soft', thirst: 'soft' },
      )?.amount,
    ).toBe('none');
  });

  it('by a night that turns wet, at the limit of the house', () => {
    const wet = { climate: [none('wet', { fact: 'tonightWetHours', op: 'at-least', limit: 'wet-night-hours' })] };
    expect(nearest(wet, { tonightWetHours: 0 }, growing({ 'wet-night-hours': 6 }))).toEqual({
      amount: 'none',
      sentence: 'Becomes no water if tonight turns wet, 6 h or more near the dew point.',
      fact: 'tonightWetHours',
    });
    expect(
      nearest(
        { climate: [none('wet', { fact: 'tonightWetHours', op: 'at-least', value: 6 })] },
        { tonightWetHours: 0 },
      ),
    ).toBeUndefined();
  });
});

it('of several the sooner counts, and one without a date as if in fifteen days', () => {
  const tables = {
    policy: [none('never', { choice: 'never', op: 'is', value: true })],
    rescue: [row('soft', { raise: 'light' }, { fact: 'workingSoftness', op: 'is', value: 'very-soft' })],
    seedlings: [row('young', { raise: 'light' }, { fact: 'dryDays', op: 'at-least', value: 10 })],
  };
  const values = { 'drink-gap': 10, 'drink-body': 'working', never: true };
  const limits = growing(values, { drinks: [drink('light', values)], atMost: 'light' });
  // The pot is dry in so many days and ten more; the plant softens nobody knows when.
  const sooner = (daysToDry: number) =>
    nearest(tables, { dryDays: 0, daysToDry, workingSoftness: 'firm' }, limits)?.fact;
  expect(sooner(4)).toBe('dryDays');
  expect(sooner(6)).toBe('workingSoftness');
});
