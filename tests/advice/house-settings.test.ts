import { describe, expect, it, onTestFinished } from 'vitest';
import { createHouseSettings, type HouseSettingsBook } from '../../src/advice/house-settings.js';
import { LeafturnError, problemLine } from '../../src/domain/errors.js';
import type { SettingsChange } from '../../src/domain/house-settings.js';
import { parseRulebook } from '../../src/rules/rulebook.js';
import type { Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { CATALOGUE, RULEBOOK } from '../support/nursery.js';

const T0 = Date.UTC(2026, 5, 1, 8);

interface Desk {
  readonly storage: Storage;
  readonly book: HouseSettingsBook;
  now: number;
  rulebook: typeof RULEBOOK;
  open(): Promise<HouseSettingsBook>;
}

async function desk(): Promise<Desk> {
  const storage = await openSqliteStorage({ path: ':memory:', zoneOf: () => 'UTC' });
  onTestFinished(() => storage.close());
  const state = { now: T0, rulebook: RULEBOOK };
  const open = () =>
    createHouseSettings({
      store: storage.settings,
      rulebook: () => state.rulebook,
      catalogue: () => CATALOGUE,
      now: () => state.now,
    });
  return Object.assign(state, { storage, open, book: await open() });
}

const set = (book: HouseSettingsBook, change: SettingsChange, expected: number, by = 'Ada') =>
  book.set('home', 'north', change, { by, why: 'our pots dry slowly', expected });
const gap = (value: number, more: object = {}): SettingsChange => ({
  limits: [{ name: 'drink-gap', ...more, value }],
});

/** Everything that is wrong, a line each. */
async function problems(work: Promise<unknown> | (() => unknown)): Promise<string[]> {
  try {
    await (typeof work === 'function' ? work() : work);
  } catch (error) {
    if (error instanceof LeafturnError) return [`${error.code}: ${error.message}`, ...error.problems.map(problemLine)];
    throw error;
  }
  return [];
}

describe('what is set for a house', () => {
  it('is nothing at first, and each change a revision with who, when and why', async () => {
    const { book } = await desk();
    expect(book.current('home', 'north')).toMatchObject({ revision: 0, limits: [], tasksOff: [] });
    const first = await set(book, gap(9), 0);
    expect(first).toEqual({
      siteId: 'home',
      houseId: 'north',
      revision: 1,
      at: T0,
      by: 'Ada',
      why: 'our pots dry slowly',
      limits: [{ name: 'drink-gap', value: 9 }],
      alertLimits: {},
      tasksOff: [],
    });
    expect(book.current('home', 'north')).toEqual(first);
    expect(book.current('home', 'south').revision).toBe(0);
  });

  it('is there again after a restart, and on a past morning what held then', async () => {
    const house = await desk();
    await set(house.book, gap(9), 0);
    house.now += 86_400_000;
    await set(house.book, gap(10), 1);
    const again = await house.open();
    expect(again.current('home', 'north')).toMatchObject({ revision: 2, limits: [{ value: 10 }] });
    expect(await house.storage.settings.at('home', 'north', T0 + 3_600_000)).toMatchObject({
      revision: 1,
      limits: [{ value: 9 }],
    });
  });

  it('takes the place of what was set for the same plants, and leaves other plants alone', async () => {
    const { book } = await desk();
    await set(
      book,
      {
        limits: [
          { name: 'drink-gap', value: 9 },
          { name: 'drink-gap', group: 'conophytum', value: 12 },
        ],
      },
      0,
    );
    const next = await set(book, gap(14, { group: 'conophytum' }), 1);
    expect(next.limits).toEqual([
      { name: 'drink-gap', group: 'conophytum', value: 14 },
      { name: 'drink-gap', value: 9 },
    ]);
    const without = await set(book, { unset: [{ name: 'drink-gap', group: 'conophytum' }] }, 2);
    expect(without.limits).toEqual([{ name: 'drink-gap', value: 9 }]);
  });

  it('is the same array until a limit is set anew, so that nothing is worked out twice', async () => {
    const { book } = await desk();
    expect(book.inForce('home', 'north').limits).toBe(book.inForce('home', 'south').limits);
    await set(book, gap(9), 0);
    const { limits } = book.inForce('home', 'north');
    expect(book.inForce('home', 'north').limits).toBe(limits);
    await set(book, { tasksOff: ['feed'] }, 1);
    expect(book.inForce('home', 'north')).toMatchObject({ revision: 2, limits });
    expect(book.inForce('home', 'north').limits).toBe(limits);
    await set(book, gap(10), 2);
    expect(book.inForce('home', 'north').limits).not.toBe(limits);
  });

  it('goes back one step as a new revision, down to what is usual, and by number', async () => {
    const { book } = await desk();
    await set(book, gap(9), 0);
    await set(book, gap(10), 1);
    const back = await book.goBack('home', 'north', { by: 'Ben', expected: 2 });
    expect(back).toMatchObject({
      revision: 3,
      by: 'Ben',
      why: 'Back to what held before: revision 1.',
      limits: [{ name: 'drink-gap', value: 9 }],
    });
    const usual = await book.goBack('home', 'north', { by: 'Ben', expected: 3 }, { to: 0 });
    expect(usual).toMatchObject({ revision: 4, why: 'Back to what is usual.', limits: [] });
    const again = await book.goBack('home', 'north', { by: 'Ben', expected: 4 }, { to: 2, why: 'ten was right' });
    expect(again).toMatchObject({ revision: 5, why: 'ten was right', limits: [{ value: 10 }] });
    expect((await book.history('home', 'north')).map(({ revision, limits }) => [revision, limits[0]?.value])).toEqual([
      [5, 10],
      [4, undefined],
      [3, 9],
      [2, 10],
      [1, 9],
    ]);
  });

  it('tells whoever listens, once it is kept', async () => {
    const { book, storage } = await desk();
    const told: Promise<unknown>[] = [];
    const stop = book.onChange(({ revision }) => told.push(storage.settings.get('home', 'north', revision)));
    await set(book, gap(9), 0);
    stop();
    await set(book, gap(10), 1);
    expect(await Promise.all(told)).toMatchObject([{ revision: 1 }]);
  });
});

describe('a change is refused', () => {
  it('with everything that is wrong at once, and nothing is kept', async () => {
    const { book } = await desk();
    const change: SettingsChange = {
      limits: [
        { name: 'wet-night-hour', value: 5 },
        { name: 'drink-gap', group: 'conophytun', value: 500 },
        { name: 'drink-gap', phase: 'growing', value: 5 },
        { name: 'drink-gap', phase: 'growing', value: 6 },
      ],
      unset: [{ name: 'min-wet' }, { name: 'drink-gap', phase: 'growing' }],
      alertLimits: { frostBelowC: 20 },
      tasksOff: ['fead'],
    };
    expect(await problems(() => set(book, change, 0))).toEqual([
      'invalid-input: This cannot be set. Nothing was changed.',
      '/limits/0/name: expected the name of a limit, got "wet-night-hour". Did you mean wet-night-hours?',
      '/limits/1/group: expected a species group of the catalogue, got "conophytun". Did you mean conophytum?',
      '/limits/1/value: expected 0 to 200 days, got 500.',
      expect.stringMatching(/^\/limits\/3: expected each limit once for the same plants/),
      expect.stringMatching(/^\/unset\/1: expected each limit once for the same plants/),
      expect.stringMatching(/^\/unset\/0: expected a value that is set for this house, got \{"name":"min-wet"\}/),
      expect.stringMatching(/^\/unset\/1: expected a value that is set for this house/),
      '/alertLimits/frostBelowC: expected a number, -8 to 8 °C, got 20.',
      expect.stringMatching(/^\/tasksOff\/0: expected one of harvest-capsules, .* got "fead"\. Did you mean feed\?$/),
    ]);
    expect(book.current('home', 'north').revision).toBe(0);
  });

  it('when it would turn a range round, with another limit or with the catalogue', async () => {
    const { book } = await desk();
    expect(await problems(() => set(book, { limits: [{ name: 'repot-light-days', value: 6 }] }, 0))).toEqual([
      'invalid-input: This cannot be set. Nothing was changed.',
      expect.stringMatching(
        /^\/limits\/0\/value: expected at least 7 days, where “Dry days after repotting” stands \(.*\), got 6 days\. Change the other one first, or both together\.$/,
      ),
    ]);
    await set(
      book,
      {
        limits: [
          { name: 'repot-light-days', value: 6 },
          { name: 'repot-dry-days', value: 5 },
        ],
      },
      0,
    );
    expect(await problems(() => set(book, { unset: [{ name: 'repot-dry-days' }] }, 1))).toEqual([
      expect.anything(),
      expect.stringMatching(
        /^\/unset\/0: expected at most 6 days, where “Days after repotting with light drinks only” stands .* got 7 days/,
      ),
    ]);
    expect(await problems(() => set(book, { limits: [{ name: 'drink-night-most', value: 4 }] }, 1))).toEqual([
      expect.anything(),
      expect.stringMatching(
        /^\/limits\/0\/value: expected at least \d °C, where “Coldest nights for the drink” stands .* got 4 °C/,
      ),
    ]);
  });

  it('without a reason, and when nothing would change', async () => {
    const { book } = await desk();
    expect(await problems(() => book.set('home', 'north', gap(9), { by: 'Ada', why: '  ', expected: 0 }))).toEqual([
      expect.anything(),
      '/why: expected the reason for the change, got nothing. Add it.',
    ]);
    await set(book, gap(9), 0);
    expect(await problems(() => set(book, gap(9), 1))).toEqual([
      expect.anything(),
      '(top): expected a change, got what is in force already.',
    ]);
    expect(await problems(() => set(book, {}, 1))).toHaveLength(2);
  });

  it('when somebody was there first, in this process or in another', async () => {
    const { book, open } = await desk();
    const other = await open();
    await set(other, gap(9), 0, 'Ben');
    const late = [
      'conflict: Ben set something for this house in the meantime: our pots dry slowly',
      '/expected: expected the newest revision, 1, got 0. Look at what is in force now, then set it again.',
    ];
    expect(await problems(() => set(book, gap(10), 0))).toEqual(late);
    // What the other one set is known from now on.
    expect(book.current('home', 'north')).toMatchObject({ revision: 1, by: 'Ben' });
    expect(await problems(() => set(book, gap(10), 0))).toEqual(late);
    const both = await Promise.allSettled([set(book, gap(10), 1), set(book, gap(11), 1)]);
    expect(both.map(({ status }) => status)).toEqual(['fulfilled', 'rejected']);
    expect((await book.history('home', 'north')).map(({ revision }) => revision)).toEqual([2, 1]);
  });

  it('when there is nothing to go back to', async () => {
    const { book } = await desk();
    expect(await problems(() => book.goBack('home', 'north', { by: 'Ada', expected: 0 }))).toEqual([
      'conflict: There is nothing to go back to.',
      '/to: expected a house for which something was set, got one for which nothing was ever set.',
    ]);
    await set(book, gap(9), 0);
    expect(await problems(() => book.goBack('home', 'north', { by: 'Ada', expected: 1 }, { to: 1 }))).toEqual([
      expect.anything(),
      '/to: expected 0 to 0, got 1.',
    ]);
  });
});

describe('limits of alerts and tasks', () => {
  it('are set beside the limits, and checked like them', async () => {
    const { book } = await desk();
    const kept = await set(book, { alertLimits: { frostBelowC: 3 }, tasksOff: ['sow', 'feed', 'sow'] }, 0);
    expect(kept).toMatchObject({ alertLimits: { frostBelowC: 3 }, tasksOff: ['feed', 'sow'] });
    expect(await problems(() => set(book, { alertLimits: { frostBelow: 3 } }, 1))).toEqual([
      expect.anything(),
      expect.stringMatching(/^\/alertLimits\/frostBelow: .* Did you mean frostBelowC\?$/),
    ]);
    expect(await set(book, { alertLimits: { frostBelowC: null }, tasksOff: [] }, 1)).toMatchObject({
      alertLimits: {},
      tasksOff: [],
    });
  });
});

it('a value that a new rulebook no longer takes does not hold, and holds again with the old one', async () => {
  const house = await desk();
  await set(
    house.book,
    {
      limits: [
        { name: 'drink-gap', value: 90 },
        { name: 'dull-days', value: 3 },
      ],
    },
    0,
  );
  const file = structuredClone(RULEBOOK.file);
  for (const limit of file.limits) if (limit.name === 'drink-gap') limit.bounds = [0, 60];
  const narrower = parseRulebook(file);
  if (!narrower.ok) throw new Error('the changed rulebook is sound');
  house.rulebook = narrower.rulebook;
  expect(house.book.inForce('home', 'north')).toMatchObject({ revision: 1, limits: [{ name: 'dull-days', value: 3 }] });
  house.rulebook = RULEBOOK;
  expect(house.book.inForce('home', 'north').limits).toHaveLength(2);
});
