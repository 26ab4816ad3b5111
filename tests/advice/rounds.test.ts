import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { catalogueEntry } from '../../src/domain/catalogue.js';
import type { SetLimit } from '../../src/domain/house-settings.js';
import { addDays, instantOnDay } from '../../src/domain/time.js';
import type { Facts } from '../../src/domain/verdict.js';
import { limitsInForce } from '../../src/rules/house-limits.js';
import { limitsFor } from '../../src/rules/limits.js';
import { decide } from '../../src/rules/verdict.js';
import {
  adviceOn,
  batch,
  CATALOGUE,
  MILD,
  type Nursery,
  openNursery,
  plantSoft,
  RULEBOOK,
} from '../support/nursery.js';

const DAY = '2026-06-10';
let nursery: Nursery;

const begin = async (place: Parameters<typeof openNursery>[0] = {}, day = DAY) => {
  nursery = await openNursery(place);
  await plantSoft(nursery, day);
};
afterEach(() => nursery.close());

describe('a morning', () => {
  beforeEach(async () => {
    await begin();
    await nursery.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
    await nursery.readings(DAY, DAY, MILD, (at) => at < nursery.now);
  });

  it('gives a soft growing plant in a dry pot a full drink, and says how much for the pot and the bench', async () => {
    // Practice for growing Echeveria: a full drink once the pot is dry and the body soft.
    const round = await nursery.rounds.make('home', DAY);
    const thirsty = adviceOn(round, 'thirsty');
    expect(thirsty.verdict.amount).toBe('full');
    expect(thirsty.verdict.mlPerPot).toBeGreaterThan(10);
    expect(thirsty.litres).toBeCloseTo((thirsty.verdict.mlPerPot * 20) / 1000, 9);
    expect(thirsty.phase).toMatchObject({ phase: 'growing', from: 'entered on 9 June by Ada' });
    expect(thirsty.verdict.trace.length).toBeGreaterThan(10);
    expect(round).toMatchObject({ day: DAY, revision: 1, dayHours: 24, rulebookRevision: RULEBOOK.revision });
    const [house] = round.houses;
    expect(house?.climate).toMatchObject({ nightMinC: 13, dayMaxC: 23, sensorsHeard: 1 });
    expect(house?.lines.map(({ name, action }) => [name, action])).toEqual([
      ['Line A', 'run'],
      ['Watered by hand', 'by-hand'],
    ]);
  });

  it('is decided again, byte for byte, from what was kept', async () => {
    const made = await nursery.rounds.make('home', DAY);
    const kept = await nursery.storage.rounds.get('home', DAY, made.revision);
    for (const batchId of ['thirsty', 'firm']) {
      const group = CATALOGUE.speciesGroups.find(({ id }) => id === 'echeveria');
      if (!group || !kept) throw new Error('nothing was kept');
      const again = decide(RULEBOOK, kept.facts[batchId] as Facts, limitsFor(RULEBOOK, group, CATALOGUE.general));
      expect(JSON.stringify(again)).toBe(JSON.stringify(adviceOn(kept.round, batchId).verdict));
    }
  });

  it('is made anew by a sign, and says what changed', async () => {
    await nursery.rounds.make('home', DAY);
    nursery.now += 3_600_000;
    await nursery.enter(DAY, '06:00', { kind: 'signs', batchIds: ['thirsty'], signs: ['rot'] });
    const next = await nursery.rounds.make('home', DAY);
    expect(next.revision).toBe(2);
    expect(adviceOn(next, 'thirsty').verdict).toMatchObject({ amount: 'none', inspect: true });
    expect(next.changes).toEqual(['Batch thirsty (Bench 1): now look first, before a full drink.']);
    expect(next.look.map(({ batchId }) => batchId)).toContain('thirsty');
  });

  it('keeps its advice when it is followed, shows it as done, and takes it back with an undo', async () => {
    const before = await nursery.rounds.make('home', DAY);
    nursery.now += 3_600_000;
    const entry = await nursery.enter(DAY, '06:10', {
      kind: 'watering',
      batchIds: ['thirsty'],
      amount: 'full',
      mlPerPot: 45,
      answer: 'as-advised',
      day: DAY,
    });
    const after = adviceOn(await nursery.rounds.make('home', DAY), 'thirsty');
    expect(after.verdict).toEqual(adviceOn(before, 'thirsty').verdict);
    expect(after.done).toMatchObject({ entryId: entry, answer: 'as-advised', mlPerPot: 45, by: 'Ada' });
    await nursery.enter(DAY, '06:20', { kind: 'undo', entryId: entry });
    expect(adviceOn(await nursery.rounds.make('home', DAY), 'thirsty').done).toBeUndefined();
  });

  it('finds the pot wet on the day after the drink', async () => {
    await nursery.enter(DAY, '05:10', { kind: 'watering', batchIds: ['thirsty'], amount: 'full' });
    const tomorrow = addDays(DAY, 1);
    nursery.now = instantOnDay(nursery.site.zone, tomorrow, '05:30');
    await nursery.readings(DAY, tomorrow, MILD, (at) => at < nursery.now);
    expect(adviceOn(await nursery.rounds.make('home', tomorrow), 'thirsty').verdict.amount).toBe('none');
  });

  it('is not stored again when nobody would do anything else by it', async () => {
    const first = await nursery.rounds.make('home', DAY);
    nursery.now += 600_000;
    expect(await nursery.rounds.make('home', DAY, { onlyIfChanged: true })).toEqual(first);
    const [a, b] = await Promise.all([nursery.rounds.make('home', DAY), nursery.rounds.make('home', DAY)]);
    expect([a.revision, b.revision]).toEqual([2, 3]);
  });

  it('works out the same with what it remembers of the morning as from the beginning', async () => {
    await nursery.rounds.make('home', DAY);
    await nursery.enter(DAY, '05:20', { kind: 'signs', batchIds: ['firm'], firmness: 'very-soft' });
    const remembered = await nursery.rounds.make('home', DAY);
    const other = await openNursery();
    try {
      other.now = nursery.now;
      await other.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
      await other.readings(DAY, DAY, MILD, (at) => at < other.now);
      for (const { event, happenedAt } of await nursery.storage.journal.all('home'))
        await other.keeper.record('home', [event], { by: 'Ada', happenedAt, enteredAt: happenedAt });
      const fresh = await other.rounds.make('home', DAY);
      expect(fresh.houses).toEqual(remembered.houses);
    } finally {
      await other.close();
    }
  });
});

describe('a morning without readings', () => {
  it('waters nothing, and says that the house is silent', async () => {
    await begin();
    const round = await nursery.rounds.make('home', DAY);
    expect(round.counts).toMatchObject({ light: 0, full: 0 });
    expect(round.houses[0]?.climate).toMatchObject({ lastReadingAt: null, nightMinC: null });
    expect(round.houses[0]?.climate.sentence).toBe('No sensor has been heard in this house.');
  });
});

describe('a day on which the clocks change', () => {
  it.each([
    // IANA time zone database; Santiago's day begins at 01:00 on the day summer time begins.
    ['Europe/Berlin', 51, 10, '2026-10-25', 25],
    ['Europe/Berlin', 51, 10, '2027-03-28', 23],
    ['Australia/Sydney', -34, 151, '2026-10-04', 23],
    ['Australia/Sydney', -34, 151, '2027-04-04', 25],
    ['America/Santiago', -33, -71, '2026-09-06', 23],
    ['America/Santiago', -33, -71, '2027-04-03', 25],
  ])('%s at %d°, %d° on %s has %d hours, and a list', async (zone, latitude, longitude, day, hours) => {
    await begin({ zone, latitude, longitude }, day);
    await nursery.readings(addDays(day, -61), day, MILD);
    nursery.now = instantOnDay(zone, addDays(day, 1), '05:30');
    await nursery.readings(addDays(day, 1), addDays(day, 1), MILD, (at) => at < nursery.now);
    const list = await nursery.rounds.make('home', day);
    expect(list.dayHours).toBe(hours);
    // The day after sees the whole of it: half-hourly readings, two an hour.
    const next = await nursery.rounds.make('home', addDays(day, 1));
    expect(next.houses[0]?.climate).toMatchObject({ dayMaxC: 23, nightMinC: 13 });
    const [series] = await nursery.storage.readings.daily({ siteId: 'home', quantities: ['airTempC'] }, day, day);
    expect(series?.days[0]?.count).toBe(hours * 2);
  });
});

it('near the equator, where there is no season, the phase is what was entered and nothing is made up', async () => {
  await begin({ zone: 'Africa/Nairobi', latitude: -1, longitude: 37 });
  await nursery.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
  await nursery.enter(addDays(DAY, -2), '09:00', batch('unseen', '2', 'lithops-summer-rain'));
  const round = await nursery.rounds.make('home', DAY);
  expect(round.seasonAngleDeg).toBeNull();
  expect(adviceOn(round, 'thirsty').phase).toMatchObject({ phase: 'growing' });
  expect(adviceOn(round, 'unseen').phase).toBeNull();
  expect(adviceOn(round, 'unseen').verdict).toMatchObject({ amount: 'none', inspect: true });
});

describe('a morning under limits of the house', () => {
  const settings = (revision: number, limits: readonly SetLimit[]) => ({ revision, limits });
  const wait40 = [{ name: 'drink-gap', group: 'echeveria', value: 40 }] as const;

  beforeEach(async () => {
    await begin();
    await nursery.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
    await nursery.readings(DAY, DAY, MILD, (at) => at < nursery.now);
  });

  it('goes by them, says that they changed, and keeps which revision it was', async () => {
    const usual = await nursery.rounds.make('home', DAY);
    expect(usual.houses[0]?.settingsRevision).toBeUndefined();
    expect(adviceOn(usual, 'thirsty').verdict.amount).toBe('full');
    nursery.settings = settings(1, wait40);
    const own = await nursery.rounds.make('home', DAY);
    expect(own.houses[0]?.settingsRevision).toBe(1);
    expect(adviceOn(own, 'thirsty').verdict).toMatchObject({ amount: 'none', decidedBy: { table: 'policy' } });
    expect(own.changes).toEqual([
      'The limits of North house were changed.',
      'Batch thirsty (Bench 1): now leave dry, before a full drink.',
      'Batch firm (Bench 2): now leave dry, before a full drink.',
    ]);
    // Nobody would do anything else by the next revision, but it is another one that a morning must be able to name.
    nursery.settings = settings(2, [...wait40, { name: 'burn-leaf', value: 47 }]);
    const other = await nursery.rounds.make('home', DAY, { onlyIfChanged: true });
    expect([other.revision, other.houses[0]?.settingsRevision]).toEqual([3, 2]);
  });

  it('is decided again, byte for byte, from what was kept, though something else is set since', async () => {
    const { settings: store } = nursery.storage;
    const kept1 = {
      siteId: 'home',
      houseId: 'north',
      at: 0,
      by: 'Ada',
      why: 'slow pots',
      alertLimits: {},
      tasksOff: [],
    };
    await store.append({ ...kept1, revision: 1, limits: wait40 });
    await store.append({ ...kept1, revision: 2, limits: [] });
    nursery.settings = settings(1, wait40);
    const made = await nursery.rounds.make('home', DAY);
    nursery.settings = settings(2, []);
    await nursery.rounds.make('home', DAY);

    const kept = await nursery.storage.rounds.get('home', DAY, made.revision);
    const house = kept?.round.houses[0];
    const then = await store.get('home', 'north', house?.settingsRevision ?? 0);
    if (!kept || !then) throw new Error('nothing was kept');
    const limits = limitsInForce(RULEBOOK, CATALOGUE, then);
    for (const [batchId, groupId] of [
      ['thirsty', 'echeveria'],
      ['stones', 'lithops-summer-rain'],
    ] as const) {
      const group = catalogueEntry('species group', CATALOGUE.speciesGroups, groupId);
      const decideUnder = (own: readonly SetLimit[]) =>
        JSON.stringify(
          decide(RULEBOOK, kept.facts[batchId] as Facts, limitsFor(RULEBOOK, group, CATALOGUE.general, own)),
        );
      expect(decideUnder(limits)).toBe(JSON.stringify(adviceOn(kept.round, batchId).verdict));
      if (groupId === 'echeveria') expect(decideUnder([])).not.toBe(decideUnder(limits));
    }
  });

  it('can be tried before they are set: on the same facts, without a trace of it', async () => {
    const list = await nursery.rounds.make('home', DAY);
    const tried = await nursery.rounds.tryLimits('home', 'north', wait40);
    expect(tried.day).toBe(DAY);
    expect(tried.live.lines).toEqual(list.houses[0]?.lines);
    expect(await nursery.rounds.latest('home', DAY)).toEqual(list);
    nursery.settings = settings(1, wait40);
    const set = await nursery.rounds.make('home', DAY);
    expect(tried.draft.lines).toEqual(set.houses[0]?.lines);
    await expect(nursery.rounds.tryLimits('home', 'south', wait40)).rejects.toThrow('There is no house south at home.');
  });
});
