import { describe, expect, it } from 'vitest';
import type { DueTask, TaskKind } from '../../src/domain/tasks.js';
import { addDays, clockAt, type LocalDay } from '../../src/domain/time.js';
import type { TaskBatch } from '../../src/models/due-tasks.js';
import { dueTasks } from '../../src/models/task-list.js';
import { catalogue } from './catalogue.js';
import { batch, done, growing, house, morning, NORTH, SOUTH, steadyAir } from './task-fixtures.js';

/** In no window of repotting or sowing of Echeveria, which has no sowing window at all. */
const QUIET = '2026-07-10';
const looked = (day: LocalDay) =>
  (['inspect-mealybugs', 'inspect-mites', 'inspect-gnats'] as const).map((kind) => done(kind, day));
const of = (tasks: readonly DueTask[], kind: TaskKind) => tasks.filter((task) => task.kind === kind);

describe('looks for pests', () => {
  const plants = [batch('echeveria'), batch('echeveria', { benchId: 'two', benchName: 'Bench 2', potCount: 5 })];

  it('tell the degree-days, the threshold, the day of the last look and what a generation takes', () => {
    const day = '2026-05-12';
    const here = house(plants, { done: looked('2026-03-03'), extremes: steadyAir(day, 100, 18.5) });
    const [task] = of(dueTasks(morning(day, [here])), 'inspect-mealybugs');
    // 69 days from 4 March to 11 May, 10 degrees above 8.5 °C on each; 667 are reached on the 67th, 9 May.
    expect(task).toMatchObject({
      id: 'inspect-mealybugs-north-1',
      reason:
        '690 degree-days above 8.5 °C since the last look on 3 March; a generation of the citrus mealybug takes 667.',
      dueSince: '2026-05-09',
      batches: 2,
      pots: 25,
      benches: [
        { benchId: 'one', benchName: 'Bench 1', batches: 1, batchIds: [] },
        { benchId: 'two', benchName: 'Bench 2', batches: 1, batchIds: [] },
      ],
      source: expect.stringMatching(/^Karacaoglu & Satar 2017.*; common practice, no published source$/),
      caution: expect.stringMatching(/label, local law and licensed practice/),
    });
    const cool = house(plants, { done: looked('2026-03-03'), extremes: steadyAir(day, 100, 18) });
    expect(of(dueTasks(morning(day, [cool])), 'inspect-mealybugs')).toEqual([]);
  });

  it('say that no look is on record, rather than nothing', () => {
    const [task] = of(
      dueTasks(morning(QUIET, [house(plants, { extremes: steadyAir(QUIET, 100, 25) })])),
      'inspect-mites',
    );
    expect(task?.reason).toBe(
      'No look for the two-spotted mite has been noted yet; the count of warmth begins with one.',
    );
    expect(task).not.toHaveProperty('dueSince');
  });

  it('go by the calendar, and say so, while the warmth is not known', () => {
    const silent = (days: number) => house(plants, { done: looked(addDays(QUIET, -days)) });
    expect(of(dueTasks(morning(QUIET, [silent(29)])), 'inspect-mealybugs')).toEqual([]);
    expect(of(dueTasks(morning(QUIET, [silent(34)])), 'inspect-mealybugs')[0]).toMatchObject({
      reason:
        'The warmth since the last look on 6 June is not known (temperature heard on 0 of 33 days), so every 30 days.',
      dueSince: addDays(QUIET, -4),
    });
    const gaps = new Map([...steadyAir(QUIET, 60, 30)].filter((_, index) => index % 4 > 0));
    const [task] = of(
      dueTasks(morning(QUIET, [house(plants, { done: looked(addDays(QUIET, -41)), extremes: gaps })])),
      'inspect-mealybugs',
    );
    expect(task?.reason).toContain('(10 of 40 days not heard, taken like the others)');
  });

  it('for mites are called for by five hot dry days as well', () => {
    const figure = (value: number) => ({ value, certainty: 'known' as const });
    const past = Array.from({ length: 6 }, (_, index) => ({
      day: addDays(QUIET, index - 6),
      dayMaxC: figure(33.44),
      daylightVpdKPa: figure(2.5),
    }));
    const at = (lookedDaysAgo: number) =>
      of(
        dueTasks(
          morning(QUIET, [
            house(plants, { done: looked(addDays(QUIET, -lookedDaysAgo)), extremes: steadyAir(QUIET, 9, 10), past }),
          ]),
        ),
        'inspect-mites',
      );
    expect(at(5)).toEqual([]);
    expect(at(6)[0]).toMatchObject({
      reason: '5 days in a row above 28 °C and 2 kPa by day (yesterday 33.4 °C, 2.5 kPa).',
      dueSince: QUIET,
    });
  });

  it('for gnats are called for by warm wet seed trays alone', () => {
    const figure = (value: number) => ({ value, certainty: 'known' as const });
    const past = Array.from({ length: 20 }, (_, index) => ({
      day: addDays(QUIET, index - 20),
      meanTempC: figure(22),
      referenceEtMm: figure(2),
    }));
    // Every other day 2 mm, gone on the day they were given: half of the days, which is not above half.
    const drinks = (every: number) =>
      new Map(past.filter((_, index) => index % every === 0).map(({ day }) => [day, 2]));
    const tray = (every: number): TaskBatch =>
      batch('lithops-summer-rain', {
        ageMonths: 4,
        surface: () => ({ readilyEvaporableMm: 3, topFactor: 1, drinksMm: drinks(every) }),
      });
    const gnats = (one: TaskBatch, more = {}) =>
      of(dueTasks(morning(QUIET, [house([one], { past, ...more })])), 'inspect-gnats');
    expect(gnats(tray(2))).toEqual([]);
    expect(gnats(tray(1))[0]?.reason).toBe('The surface was wet on 14 of the last 14 days at a mean of 22 °C.');
    expect(gnats({ ...tray(1), ageMonths: 30 })).toEqual([]);
    expect(gnats(tray(1), { done: looked(addDays(QUIET, -13)) })).toEqual([]);
    expect(gnats(tray(1), { past: [] })[0]?.reason).toMatch(/^How wet the surface was is not known/);
  });

  it('of single batches count for these alone, and a look at the house for what came later too', () => {
    const day = QUIET;
    const seen = batch('echeveria', { done: [done('inspect-mealybugs', addDays(day, -3))] });
    const [task] = of(
      dueTasks(morning(day, [house([seen, batch('echeveria')], { extremes: steadyAir(day, 9, 20) })])),
      'inspect-mealybugs',
    );
    expect(task).toMatchObject({ batches: 1 });
    const whole = house([seen, batch('echeveria')], {
      done: looked(addDays(day, -3)),
      extremes: steadyAir(day, 9, 20),
    });
    expect(of(dueTasks(morning(day, [whole])), 'inspect-mealybugs')).toEqual([]);
  });
});

describe('the list', () => {
  it('makes one line of forty batches, grouped by bench, with what differs counted', () => {
    const day = '2026-04-20';
    const many = Array.from({ length: 40 }, (_, index) =>
      batch('lithops-summer-rain', {
        phase: growing,
        benchId: `bench-${index % 4}`,
        benchName: `Bench ${index % 4}`,
        ...(index < 10 && { done: [done('repot', '2024-03-01')] }),
      }),
    );
    const repot = of(dueTasks(morning(day, [house(many, { done: looked(day) })])), 'repot');
    expect(repot).toHaveLength(1);
    expect(repot[0]).toMatchObject({ batches: 40, pots: 800, groupNames: ['Lithops, summer-rain origin'] });
    expect(repot[0]?.benches.map(({ benchName, batchIds }) => [benchName, batchIds.length])).toEqual([
      ['Bench 0', 10],
      ['Bench 1', 10],
      ['Bench 2', 10],
      ['Bench 3', 10],
    ]);
    expect(repot[0]?.reason).toMatch(
      /^Their own growth begins: good for repotting until 2\d May\. No repotting on record \(30 batches\); last repotted on 1 March 2024 \(10 batches\)\.$/,
    );
  });

  it('puts the window that closes first on top', () => {
    const day = '2026-05-10';
    const seed = batch('lithops-summer-rain', { drink: 'full', done: [done('pollinate', '2025-11-01')] });
    const split = batch('lithops-summer-rain', { phase: growing });
    const tasks = dueTasks(morning(day, [house([split, seed])]));
    // A look without an end stands where an end in a fortnight would: after the window that ends in eleven days.
    expect(tasks.map(({ kind }) => kind)).toEqual([
      'harvest-capsules',
      'repot',
      'inspect-mealybugs',
      'inspect-mites',
      'sow',
    ]);
    expect(tasks[0]?.until).toBe(day);
    const ends = tasks.flatMap(({ until }) => until ?? []);
    expect(ends).toEqual([...ends].sort());
  });

  it('puts a look that is long due beside what ends tomorrow, after what ends today', () => {
    const day = '2026-05-20';
    // The window of repotting ends on 21 May, that of the capsules today because of the drink.
    const seed = batch('lithops-summer-rain', {
      phase: growing,
      drink: 'full',
      done: [done('pollinate', '2025-11-01')],
    });
    const tasks = dueTasks(
      morning(day, [house([seed], { done: looked('2026-01-01'), extremes: steadyAir(day, 150, 25) })]),
    );
    expect(tasks.map(({ kind }) => kind)).toEqual([
      'harvest-capsules',
      'feed',
      'repot',
      'inspect-mealybugs',
      'inspect-mites',
      'sow',
    ]);
    expect(tasks.slice(2).map(({ dueSince }) => (dueSince as LocalDay) < day)).toEqual([true, true, true, true]);
  });

  it('leaves out what is switched off for a house, and keeps it in the others', () => {
    const one = () => batch('echeveria');
    const houses = [
      house([one()], { tasksOff: ['inspect-mites'] }),
      house([one()], { houseId: 'south', name: 'South house' }),
    ];
    expect(of(dueTasks(morning(QUIET, houses)), 'inspect-mites').map(({ houseId }) => houseId)).toEqual(['south']);
    expect(of(dueTasks(morning(QUIET, houses)), 'inspect-mealybugs')).toHaveLength(2);
  });

  it('tells the hours flowers are open by the sun of the place, also on days on which the clocks change', () => {
    // Flowers open from 14 to 19 sun time. Sun noon at 10° E on Central European Time is 12:20 less the equation of time,
    // 16 minutes on 25 October (Meeus 1998, ch. 28): 12:04 by the clock after the change, an hour later the day before.
    const at = (day: LocalDay) => {
      const plant = batch('lithops-summer-rain', { noted: [{ day: addDays(day, -2), phase: 'flowering' }] });
      const hours = of(dueTasks(morning(day, [house([plant])])), 'pollinate')[0]?.hours;
      return hours && [clockAt(NORTH.zone, hours.fromMs), clockAt(NORTH.zone, hours.toMs)];
    };
    expect(at('2026-10-24')).toEqual(['15:04', '20:04']);
    expect(at('2026-10-25')).toEqual(['14:04', '19:04']);
  });

  it('sows once for a group, in its own season in either hemisphere', () => {
    // Sowing windows: Lithops 165-250, Conophytum 330-30.
    const stones = [batch('lithops-summer-rain'), batch('lithops-summer-rain'), batch('conophytum')];
    const sow = (day: LocalDay, place = NORTH, members = stones) =>
      of(dueTasks(morning(day, [house(members)], place)), 'sow');
    expect(sow('2026-04-20').map(({ groupNames, houseId }) => [groupNames, houseId])).toEqual([
      [['Lithops, summer-rain origin'], null],
    ]);
    expect(sow('2026-04-10', SOUTH).map(({ groupNames }) => groupNames)).toEqual([['Conophytum']]);
    expect(sow('2026-10-20', SOUTH).map(({ groupNames }) => groupNames)).toEqual([['Lithops, summer-rain origin']]);
    const sown = [batch('lithops-summer-rain', { done: [done('sow', '2026-03-20')] }), stones[1] as TaskBatch];
    expect(sow('2026-04-20', NORTH, sown)).toEqual([]);
    expect(sow('2027-04-20', NORTH, sown)[0]?.reason).toMatch(/Last sown on 20 March 2026\.$/);
  });

  it('keeps what is done today, marked with who and when', () => {
    const day = '2026-04-20';
    const [a, b] = [batch('lithops-summer-rain', { phase: growing }), batch('lithops-summer-rain', { phase: growing })];
    const repot = (...members: TaskBatch[]) => of(dueTasks(morning(day, [house(members)])), 'repot')[0];
    const one = { ...a, done: [done('repot', day)] };
    expect(repot(one, b)).toBeDefined();
    expect(repot(one, b)).not.toHaveProperty('done');
    expect(repot(one, { ...b, done: one.done })?.done).toEqual({
      entryIds: [one.done[0]?.entryId],
      at: one.done[0]?.at,
      by: 'Ada',
    });
    const mites = of(dueTasks(morning(day, [house([a, b], { done: looked(day) })])), 'inspect-mites')[0];
    expect(mites?.done).toMatchObject({ by: 'Ada' });
    const sown = { ...a, done: [done('sow', day)] };
    expect(of(dueTasks(morning(day, [house([sown, b])])), 'sow')[0]?.done).toMatchObject({ by: 'Ada' });
  });

  it('says nothing of a house without batches', () => {
    expect(dueTasks(morning(QUIET, [house([])]))).toEqual([]);
  });
});

it('every task of the catalogue names where it comes from', () => {
  const tasks = [...catalogue.general.tasks, ...catalogue.speciesGroups.flatMap((group) => group.tasks)];
  expect(tasks.length).toBeGreaterThan(30);
  for (const task of tasks)
    for (const key of task.source)
      expect(catalogue.sources['species-groups'][key]?.text.length, key).toBeGreaterThan(10);
});
