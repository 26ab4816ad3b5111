import { afterEach, describe, expect, it } from 'vitest';
import { roundText } from '../../src/app/commands/list.js';
import { retainedList } from '../../src/app/service/retained-list.js';
import type { DueTask, TaskKind } from '../../src/domain/tasks.js';
import { addDays, instantOnDay, type LocalDay } from '../../src/domain/time.js';
import type { Round } from '../../src/domain/verdict.js';
import { batch, bench, MILD, type Nursery, openNursery, plantSoft } from '../support/nursery.js';

const DAY = '2026-06-10';
let nursery: Nursery;
const begin = async (place: Parameters<typeof openNursery>[0] = {}, day = DAY) => {
  nursery = await openNursery(place);
  await plantSoft(nursery, day);
};
afterEach(() => nursery.close());

const of = (round: Round, kind: TaskKind): DueTask[] => round.tasks.filter((task) => task.kind === kind);
const lookedFor = (day: LocalDay, ...kinds: TaskKind[]) =>
  nursery.enter(day, '10:00', ...kinds.map((task) => ({ kind: 'task-done' as const, task, houseId: 'north' })));

/** Two mild months, and the night that ends this morning. */
async function mild(): Promise<void> {
  await nursery.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
  await nursery.readings(DAY, DAY, MILD, (at) => at < nursery.now);
}

describe('the tasks of a morning', () => {
  it('count the warmth since the last look from what the sensors told day by day', async () => {
    await begin();
    await nursery.readings(addDays(DAY, -41), addDays(DAY, -1), { ...MILD, nightC: 25, dayC: 25 });
    await lookedFor(addDays(DAY, -42), 'inspect-mealybugs', 'inspect-mites');
    const [mealybugs] = of(await nursery.rounds.make('home', DAY), 'inspect-mealybugs');
    // 41 days at a steady 25 °C give 41 × 16.5 = 676.5; the 667 of a generation are reached on the last of them.
    expect(mealybugs).toMatchObject({
      reason:
        '676 degree-days above 8.5 °C since the last look on 29 April; a generation of the citrus mealybug takes 667.',
      dueSince: addDays(DAY, -1),
      batches: 3,
    });
  });

  it('go by the calendar and say so while no temperature is known', async () => {
    await begin();
    await lookedFor(addDays(DAY, -31), 'inspect-mealybugs', 'inspect-mites');
    const round = await nursery.rounds.make('home', DAY);
    expect(of(round, 'inspect-mealybugs')[0]?.reason).toBe(
      'The warmth since the last look on 10 May is not known (temperature heard on 0 of 30 days), so every 30 days.',
    );
    expect(of(round, 'inspect-mites')[0]?.reason).toContain('so every 14 days');
  });

  it('stay on the list once done, marked as such, and come off the next; an undo brings them back', async () => {
    await begin();
    await mild();
    const before = await nursery.rounds.make('home', DAY);
    expect(of(before, 'feed')[0]).toMatchObject({
      batches: 3,
      benches: [
        { benchId: '1', benchName: 'Bench 1', batches: 1, batchIds: ['thirsty'] },
        { benchId: '2', benchName: 'Bench 2', batches: 2, batchIds: ['firm', 'stones'] },
      ],
      reason: 'A full drink is on today’s list. Not done yet on record.',
    });
    nursery.now += 3_600_000;
    const entry = await nursery.enter(DAY, '06:10', {
      kind: 'task-done',
      task: 'feed',
      batchIds: ['thirsty', 'firm', 'stones'],
    });
    const after = await nursery.rounds.make('home', DAY);
    expect(of(after, 'feed')[0]?.done).toMatchObject({ entryIds: [entry], by: 'Ada' });
    // What is due or done is no change of the watering that must be read.
    expect(after.changes).toEqual([]);
    await nursery.enter(DAY, '06:20', { kind: 'undo', entryId: entry });
    expect(of(await nursery.rounds.make('home', DAY), 'feed')[0]).not.toHaveProperty('done');
    expect(of(before, 'feed')[0]).not.toHaveProperty('done');
  });

  it('a list is made anew when a task was done, though the water is the same', async () => {
    await begin();
    await mild();
    const first = await nursery.rounds.make('home', DAY);
    nursery.now += 600_000;
    expect((await nursery.rounds.make('home', DAY, { onlyIfChanged: true })).revision).toBe(first.revision);
    await nursery.enter(DAY, '05:35', { kind: 'task-done', task: 'feed', houseId: 'north' });
    expect((await nursery.rounds.make('home', DAY, { onlyIfChanged: true })).revision).toBe(2);
  });

  it('are kept with the morning', async () => {
    await begin();
    const made = await nursery.rounds.make('home', DAY);
    expect(made.tasks.length).toBeGreaterThan(1);
    const kept = await nursery.storage.rounds.get('home', DAY, made.revision);
    expect(kept?.round.tasks).toEqual(made.tasks);
  });

  it('tell of capsules before the mist runs over them', async () => {
    await begin();
    await nursery.enter(addDays(DAY, -80), '09:00', bench('mist', 'line-m'), batch('seeded', 'mist', 'echeveria'));
    await nursery.enter(addDays(DAY, -25), '08:00', { kind: 'watering', batchIds: ['seeded'], amount: 'full' });
    await nursery.enter(addDays(DAY, -1), '18:05', {
      kind: 'signs',
      batchIds: ['seeded'],
      phase: 'seed-set',
      firmness: 'soft',
    });
    await mild();
    const [capsules] = of(await nursery.rounds.make('home', DAY), 'harvest-capsules');
    // Seed of Echeveria ripens in the season angles 200-320: 10 April to 10 August in the north.
    expect(capsules).toMatchObject({
      until: DAY,
      reason: 'Mist waters from above, and a drink is on today’s list: take them first. Seed since 9 June, 1 day.',
    });
  });

  it('leave out what the grower switched off for the house', async () => {
    await begin();
    nursery.settings = { revision: 1, limits: [], tasksOff: ['inspect-mites'] };
    const round = await nursery.rounds.make('home', DAY);
    expect(of(round, 'inspect-mites')).toEqual([]);
    expect(of(round, 'inspect-mealybugs')).toHaveLength(1);
  });

  it('for seed trays ask how long the surface was wet', async () => {
    await begin();
    await nursery.enter(
      addDays(DAY, -60),
      '09:00',
      batch('trays', '2', 'lithops-summer-rain', { sownOn: '2026-04-01' }),
    );
    for (let back = 20; back > 0; back -= 1)
      await nursery.enter(addDays(DAY, -back), '08:00', { kind: 'watering', batchIds: ['trays'], amount: 'light' });
    await mild();
    const [gnats] = of(await nursery.rounds.make('home', DAY), 'inspect-gnats');
    expect(gnats).toMatchObject({
      batches: 1,
      reason: expect.stringMatching(/^The surface was wet on 14 of the last 14 days/),
    });
  });
});

describe('a look before the clocks change', () => {
  it.each([
    // Days of 23 and 25 hours (IANA time zone database): a day is a day, whatever its length.
    ['Europe/Berlin', 51, 10, '2026-10-27'],
    ['Europe/Berlin', 51, 10, '2027-03-30'],
    ['Australia/Sydney', -34, 151, '2026-10-06'],
    ['America/Santiago', -33, -71, '2026-09-08'],
  ])('%s: the warmth of every day counts once (%s)', async (zone, latitude, longitude, day) => {
    await begin({ zone, latitude, longitude }, day);
    await nursery.readings(addDays(day, -10), addDays(day, -1), { ...MILD, nightC: 27.5, dayC: 27.5 });
    await lookedFor(addDays(day, -11), 'inspect-mites');
    nursery.now = instantOnDay(zone, day, '05:30');
    const [mites] = of(await nursery.rounds.make('home', day), 'inspect-mites');
    // Ten days, 15 degrees above 12.5 °C on each; 146.5 make a generation.
    expect(mites?.reason).toMatch(
      /^150 degree-days above 12\.5 °C since the last look on .*; a generation of the two-spotted mite takes 146\.5/,
    );
    expect(mites?.dueSince).toBe(addDays(day, -1));
  });
});

it('the list as text and the list for other programs tell them too', async () => {
  await begin();
  await mild();
  const round = await nursery.rounds.make('home', DAY);
  const text = roundText(nursery.site, round, nursery.now);
  expect(text).toContain('Also due:');
  expect(text).toContain('  Feed 3 batches. North house: Bench 1, Bench 2 · today');
  expect(text).toContain('    A full drink is on today’s list. Not done yet on record.');
  // What to mind before any spraying is said once, below the list.
  expect(text.match(/label, local law and licensed practice/g)).toHaveLength(1);
  const { tasks } = retainedList(round) as { tasks: object[] };
  expect(tasks).toContainEqual({ task: 'feed', house: 'north', benches: ['1', '2'], batches: 3, until: DAY });
  expect(tasks).toHaveLength(round.tasks.length);
});
