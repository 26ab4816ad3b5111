import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WATER_PHASES, type WaterPhase } from '../../src/domain/plants.js';
import type { SpeciesTask, TaskKind } from '../../src/domain/tasks.js';
import { addDays, daysBetween, type LocalDay, localDayOf } from '../../src/domain/time.js';
import { dueForBatch, firstFlower, seedSince, type TaskBatch } from '../../src/models/due-tasks.js';
import { tasksOf } from '../../src/models/task-list.js';
import { seasonsOf } from '../../src/models/task-season.js';
import { instantOfSeasonAngle, seasonAngleDistance } from '../../src/science/season.js';
import { catalogue, group } from './catalogue.js';
import { batch, done, growing, NORTH, SOUTH } from './task-fixtures.js';

type Place = typeof NORTH;
const EQUATOR: Place = { zone: 'Africa/Nairobi', latitudeDeg: -1, longitudeDeg: 37 };

const taskOf = (one: TaskBatch, kind: TaskKind, index = 0): SpeciesTask => {
  const found = tasksOf(one.group, catalogue.general).filter((task) => task.kind === kind)[index];
  if (!found) throw new Error(`${one.group.id} has no ${kind}`);
  return found;
};
const dueOn = (day: LocalDay, one: TaskBatch, kind: TaskKind, place: Place = NORTH, index = 0) =>
  dueForBatch(taskOf(one, kind, index), one, day, seasonsOf(place.zone, day, place.latitudeDeg));

describe('repotting', () => {
  const lithops = (more: Partial<TaskBatch> = {}) => batch('lithops-summer-rain', { phase: growing, ...more });

  it.each([
    // Windows 200-240 and 325-350 end at solar longitudes 60 (21 May) and 170 (13 September) in the north, 240
    // (23 November) and 350 (11 March) in the south: tables of the sun, remembered, within a day.
    ['in the north', NORTH, '2026-04-12', '2026-05-21', '2026-06-10'],
    ['in the north in late summer', NORTH, '2026-08-25', '2026-09-13', '2026-09-20'],
    ['in the south', SOUTH, '2026-10-20', '2026-11-23', '2026-12-10'],
    ['in the south in late summer', SOUTH, '2026-02-20', '2026-03-11', '2026-03-20'],
  ] as const)('is due in the group’s own window %s', (_where, place, day, until, after) => {
    const due = dueOn(day, lithops(), 'repot', place);
    expect(Math.abs(daysBetween(due?.until as LocalDay, until))).toBeLessThanOrEqual(1);
    expect((due?.dueSince as LocalDay) < day).toBe(true);
    expect(due).toMatchObject({ own: 'no repotting on record' });
    expect(dueOn(after, lithops(), 'repot', place)).toBeUndefined();
  });

  it('is not due while the pair changes, nor where that is to be feared, nor when the phase is not known', () => {
    const day = '2026-04-20';
    expect(dueOn(day, lithops({ phase: { label: 'splitting', probability: 0.8 } }), 'repot')).toBeUndefined();
    const split = { ...growing, probability: 0.55, second: { label: 'splitting', probability: 0.4 } } as const;
    expect(dueOn(day, lithops({ phase: split }), 'repot')).toBeUndefined();
    const papery = { ...growing, probability: 0.4, second: { label: 'papery', probability: 0.3 } } as const;
    expect(dueOn(day, lithops({ phase: papery }), 'repot')).toBeDefined();
    const { phase: _none, ...unknown } = lithops();
    expect(dueOn(day, unknown, 'repot')).toBeUndefined();
  });

  it('comes back two years after the last, or after sowing, and never for seedlings', () => {
    const day = '2026-04-20';
    expect(dueOn(day, lithops({ done: [done('repot', '2025-04-18')] }), 'repot')).toBeUndefined();
    expect(dueOn(day, lithops({ done: [done('repot', '2024-04-18')] }), 'repot')).toMatchObject({
      own: 'last repotted on 18 April 2024',
    });
    expect(dueOn(day, lithops({ sownOn: '2025-02-01', ageMonths: 14 }), 'repot')).toBeUndefined();
    expect(dueOn(day, lithops({ sownOn: '2023-02-01', ageMonths: 38 }), 'repot')).toMatchObject({
      own: 'no repotting on record',
    });
    expect(dueOn(day, lithops({ ageMonths: 11 }), 'repot')).toBeUndefined();
  });

  it('what is done today does not take it off today’s list', () => {
    const day = '2026-04-20';
    expect(dueOn(day, lithops({ done: [done('repot', day)] }), 'repot')).toBeDefined();
    expect(dueOn(addDays(day, 1), lithops({ done: [done('repot', day)] }), 'repot')).toBeUndefined();
  });

  it('near the equator a phase that was entered decides alone', () => {
    expect(dueOn('2026-06-20', lithops(), 'repot', EQUATOR)).toMatchObject({ common: 'They are in growth.' });
    const { phase: _none, ...unknown } = lithops();
    expect(dueOn('2026-06-20', unknown, 'repot', EQUATOR)).toBeUndefined();
  });
});

describe('feeding', () => {
  const day = '2026-05-10';
  const fed = (...days: LocalDay[]) =>
    batch('echeveria', { phase: growing, drink: 'full', done: days.map((one) => done('feed', one)) });

  it('goes with a full drink of growing plants, four weeks apart, three times in half a year', () => {
    expect(dueOn(day, fed(), 'feed')).toMatchObject({ common: 'A full drink is on today’s list.' });
    expect(dueOn(day, { ...fed(), drink: 'light' }, 'feed')).toBeUndefined();
    expect(dueOn(day, { ...fed(), phase: { label: 'dormant-cold', probability: 0.9 } }, 'feed')).toBeUndefined();
    expect(dueOn(day, fed(addDays(day, -27)), 'feed')).toBeUndefined();
    expect(dueOn(day, fed(addDays(day, -60), addDays(day, -28)), 'feed')).toMatchObject({
      own: 'done 2 times this season, last on 12 April',
    });
    expect(dueOn(day, fed(addDays(day, -120), addDays(day, -60), addDays(day, -28)), 'feed')).toBeUndefined();
    expect(dueOn(day, fed(addDays(day, -200), addDays(day, -60), addDays(day, -28)), 'feed')).toBeDefined();
  });

  it('is monthly and dilute for seedlings, with any drink and in any phase', () => {
    const seedlings = batch('lithops-summer-rain', { ageMonths: 5, sownOn: '2025-12-01', drink: 'light' });
    expect(taskOf(seedlings, 'feed', 1).text).toMatch(/very dilute/);
    expect(dueOn(day, seedlings, 'feed', NORTH, 1)).toBeDefined();
    expect(dueOn(day, seedlings, 'feed')).toBeUndefined();
    expect(dueOn(day, { ...seedlings, drink: 'none' }, 'feed', NORTH, 1)).toBeUndefined();
    expect(dueOn(day, { ...seedlings, done: [done('feed', addDays(day, -29))] }, 'feed', NORTH, 1)).toBeUndefined();
    expect(dueOn(day, { ...seedlings, ageMonths: 1 }, 'feed', NORTH, 1)).toBeUndefined();
  });
});

describe('pollinating', () => {
  const FLOWER = '2026-09-20';
  const flowering = (...more: TaskBatch['done']) =>
    batch('lithops-summer-rain', { noted: [{ day: FLOWER, phase: 'flowering' }], done: more });
  const on = (days: number, ...more: TaskBatch['done']) =>
    dueOn(addDays(FLOWER, days), flowering(...more), 'pollinate');

  it('begins two days after the first flower, is best until the fourth, and comes again two days later', () => {
    expect([0, 1].map((days) => on(days))).toEqual([undefined, undefined]);
    expect(on(2)).toMatchObject({
      until: addDays(FLOWER, 4),
      own: 'first flower noted on 20 September, 2 days ago',
    });
    expect(on(4)?.until).toBe(addDays(FLOWER, 4));
    expect(on(6)).not.toHaveProperty('until');
    const once = done('pollinate', addDays(FLOWER, 2));
    expect(on(3, once)).toBeUndefined();
    expect(on(4, once)?.own).toMatch(/; pollinated on 22 September$/);
    expect(on(7, once, done('pollinate', addDays(FLOWER, 4)))).toBeUndefined();
  });

  it('needs a flower that somebody saw, and one not long ago', () => {
    expect(
      dueOn(
        '2026-09-25',
        batch('lithops-summer-rain', { phase: { label: 'flowering', probability: 0.9 } }),
        'pollinate',
      ),
    ).toBeUndefined();
    expect(on(22)).toBeUndefined();
    const over = {
      ...flowering(),
      noted: [...flowering().noted, { day: addDays(FLOWER, 3), phase: 'seed-set' as const }],
    };
    expect(dueOn(addDays(FLOWER, 4), over, 'pollinate')).toBeUndefined();
  });

  it('counts from the first of several looks at one flowering, not from last year’s', () => {
    const looks = [
      { day: '2025-09-20', phase: 'flowering' as const },
      { day: FLOWER, phase: 'flowering' as const },
      { day: addDays(FLOWER, 5), phase: 'flowering' as const },
    ];
    expect(firstFlower(batch('lithops-summer-rain', { noted: looks }), addDays(FLOWER, 6))).toBe(FLOWER);
  });
});

describe('taking capsules', () => {
  const POLLINATED = '2025-10-01';
  const seeded = (more: Partial<TaskBatch> = {}) =>
    batch('lithops-summer-rain', { done: [done('pollinate', POLLINATED)], ...more });
  const at = (days: number) => addDays(POLLINATED, days);

  it('is due five to nine months after pollination, and not once they are taken', () => {
    expect(dueOn(at(149), seeded(), 'harvest-capsules')).toBeUndefined();
    expect(dueOn(at(150), seeded(), 'harvest-capsules')).toMatchObject({
      dueSince: at(150),
      until: at(270),
      own: 'seed since 1 October, 150 days',
    });
    expect(dueOn(at(300), seeded(), 'harvest-capsules')).not.toHaveProperty('until');
    expect(dueOn(at(366), seeded(), 'harvest-capsules')).toBeUndefined();
    const taken = seeded({ done: [done('pollinate', POLLINATED), done('harvest-capsules', at(160))] });
    expect(dueOn(at(200), taken, 'harvest-capsules')).toBeUndefined();
    expect(dueOn(at(200), batch('lithops-summer-rain'), 'harvest-capsules')).toBeUndefined();
  });

  it('must be done today where water comes: any drink from above, or a full one', () => {
    const day = at(160);
    expect(dueOn(day, seeded({ drink: 'light' }), 'harvest-capsules')?.until).toBe(at(270));
    expect(dueOn(day, seeded({ drink: 'full' }), 'harvest-capsules')).toMatchObject({
      until: day,
      common: 'A full drink is on today’s list: take them first.',
    });
    expect(dueOn(day, seeded({ drink: 'light', fromAbove: 'Mist line' }), 'harvest-capsules')).toMatchObject({
      until: day,
      common: 'Mist line waters from above, and a drink is on today’s list: take them first.',
    });
    expect(dueOn(day, seeded({ fromAbove: 'Mist line' }), 'harvest-capsules')).toMatchObject({
      until: at(270),
      common: 'Mist line waters from above.',
    });
  });

  it('seed that was noted ripens with the season of its group, sooner than by the count of days', () => {
    // Season angles 150-250 are 20 February to 31 May in the north.
    const noted = (day: LocalDay) => batch('lithops-summer-rain', { noted: [{ day, phase: 'seed-set' }] });
    expect(seedSince(noted('2025-12-20'), '2026-03-10')).toBe('2025-12-20');
    expect(dueOn('2026-02-10', noted('2025-12-20'), 'harvest-capsules')).toBeUndefined();
    expect(dueOn('2026-03-10', noted('2025-12-20'), 'harvest-capsules')).toMatchObject({
      own: 'seed since 20 December, 80 days',
    });
  });
});

it('seed of last year that was taken does not hide that of this year', () => {
  const one = batch('lithops-summer-rain', {
    noted: [
      { day: '2025-11-20', phase: 'seed-set' },
      { day: '2026-09-20', phase: 'seed-set' },
    ],
    done: [done('harvest-capsules', '2026-04-10')],
  });
  expect(seedSince(one, '2026-10-10')).toBe('2026-09-20');
  expect(seedSince(one, '2026-05-10')).toBeUndefined();
});

it('mirrored hemispheres are told the same at the same season', () => {
  const FROM = Date.UTC(2026, 0, 1);
  const dayOf = (angle: number, latitudeDeg: number) =>
    localDayOf('UTC', instantOfSeasonAngle(angle, latitudeDeg, FROM) as number);
  const dueAt = (angle: number, latitudeDeg: number, id: string, label: WaterPhase, lastDaysAgo: number) => {
    const day = dayOf(angle, latitudeDeg);
    const last = addDays(day, -lastDaysAgo);
    const one = batch(id, {
      phase: { label, probability: 0.9 },
      drink: 'full',
      done: [done('repot', last), done('pollinate', last)],
    });
    const kinds = ['repot', 'feed', 'harvest-capsules'] as const;
    return kinds.map((kind) => dueOn(day, one, kind, { zone: 'UTC', latitudeDeg, longitudeDeg: 0 }) !== undefined);
  };
  const nearEnd = (angle: number, id: string) =>
    group(id)
      .tasks.flatMap(({ seasons }) => seasons.flat())
      .some((end) => seasonAngleDistance(end, angle) < 1.5);
  fc.assert(
    fc.property(
      fc.integer({ min: 0, max: 359 }),
      fc.constantFrom(...catalogue.speciesGroups.map(({ id }) => id)),
      fc.constantFrom(...WATER_PHASES),
      fc.integer({ min: 1, max: 1200 }),
      (angle, id, label, lastDaysAgo) => {
        // A day is one degree: at the very end of a window its noon may fall on either side.
        fc.pre(!nearEnd(angle, id));
        expect(dueAt(angle, -51, id, label, lastDaysAgo)).toEqual(dueAt(angle, 51, id, label, lastDaysAgo));
      },
    ),
    { numRuns: 1000 },
  );
});
