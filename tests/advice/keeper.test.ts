import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { foldCollection } from '../../src/domain/collection.js';
import { LeafturnError, type Problem } from '../../src/domain/errors.js';
import type { JournalEntry, JournalEventInput } from '../../src/domain/journal.js';
import { batch, bench, DAY, type Garden, HOUR, MINUTE, openGarden, plant } from '../support/garden.js';

let garden: Garden;
beforeEach(async () => {
  garden = await openGarden();
});
afterEach(() => garden.close());

const enter = (events: readonly JournalEventInput[], happenedAt?: number) =>
  garden.keeper.record('home', events, { by: 'Ada', happenedAt });

async function refusal(work: Promise<unknown>): Promise<LeafturnError> {
  const error = await work.then(
    () => undefined,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(LeafturnError);
  return error as LeafturnError;
}
async function problemsOf(work: Promise<unknown>): Promise<readonly Problem[]> {
  return (await refusal(work)).problems;
}
const water = (batchIds: string[], more: object = {}): JournalEventInput => ({
  kind: 'watering',
  batchIds,
  amount: 'light',
  ...more,
});

describe('what is entered', () => {
  test('is in the collection at once, and in that of the next start', async () => {
    await plant(garden);
    await enter([water(['stones', 'cones'], { lineId: 'line-a', mlPerPot: 12 })]);
    const collection = await garden.keeper.collection('home');
    expect(collection.batches.get('stones')?.waterings).toMatchObject([{ amount: 'light', mlPerPot: 12, by: 'Ada' }]);
    expect(await garden.again().collection('home')).toEqual(collection);
  });

  test('is told to listeners once per record, after it is written', async () => {
    const heard: JournalEntry[][] = [];
    const stop = garden.keeper.onEntry((entries) => heard.push([...entries]));
    await plant(garden);
    expect(heard.map((entries) => entries.length)).toEqual([6]);
    stop();
    await enter([water(['stones'])]);
    expect(heard).toHaveLength(1);
  });

  test('a write sent again after its answer was lost is entered once, and answered the same', async () => {
    await plant(garden);
    const send = (keeper = garden.keeper) =>
      keeper.record('home', [water(['stones'])], { by: 'Ada', requestKey: 'phone-1' });
    const first = await send();
    // The process ended between writing and answering: the next one knows nothing but the database.
    expect(await send(garden.again())).toEqual(first);
    expect(await send()).toEqual(first);
    expect((await garden.keeper.collection('home')).batches.get('stones')?.waterings).toHaveLength(1);
  });

  test('a listener that throws does not take the entry back', async () => {
    garden.keeper.onEntry(() => {
      throw new Error('listener broke');
    });
    await plant(garden);
    expect((await garden.keeper.collection('home')).batches.size).toBe(3);
  });

  test('events of one record may build on each other', async () => {
    await enter([bench('new'), batch('fresh', 'new'), water(['fresh'])]);
    expect((await garden.keeper.collection('home')).batches.get('fresh')?.waterings).toHaveLength(1);
  });

  test('sites are kept apart', async () => {
    await plant(garden);
    expect((await garden.keeper.collection('far')).batches.size).toBe(0);
    await garden.keeper.record('far', [bench('b1', undefined, 'tunnel')], { by: 'Ada' });
    expect((await garden.keeper.collection('far')).benches.get('b1')?.houseId).toBe('tunnel');
    expect((await garden.keeper.collection('home')).benches.get('b1')?.houseId).toBe('north');
  });

  test('all of it or none', async () => {
    await plant(garden);
    const before = await garden.keeper.collection('home');
    const error = await refusal(enter([water(['stones']), water(['nobody'])]));
    expect(error.message).toBe('One thing is wrong; nothing was entered.');
    expect(await garden.keeper.collection('home')).toBe(before);
    expect(await garden.storage.journal.all('home', { afterId: before.journalId })).toEqual([]);
  });

  test('two records at once are checked one after the other', async () => {
    await plant(garden);
    const part = (newBatchId: string): JournalEventInput => ({
      kind: 'batch-split',
      batchId: 'cones',
      newBatchId,
      newName: newBatchId,
      potCount: 7,
      benchId: 'b2',
    });
    const both = await Promise.allSettled([enter([part('left')]), enter([part('right')])]);
    // Twelve pots hold seven once, not twice.
    expect(both.map(({ status }) => status)).toEqual(['fulfilled', 'rejected']);
    expect((await garden.keeper.collection('home')).batches.get('cones')?.potCount).toBe(5);
  });

  test('a morning knows only what had been entered by then', async () => {
    await plant(garden);
    const morning = garden.now;
    garden.now += DAY;
    // Entered a day later, though it happened before the morning.
    await enter([water(['stones'])], morning - 10 * MINUTE);
    const known = await garden.keeper.collectionAsOf('home', morning);
    expect(known.batches.get('stones')?.waterings).toEqual([]);
    expect((await garden.keeper.collection('home')).batches.get('stones')?.waterings).toHaveLength(1);
  });

  test('what another writer put into the journal is taken up with the next entry', async () => {
    await plant(garden);
    const other = garden.again();
    await other.record('home', [water(['stones'])], { by: 'Ben' });
    await enter([water(['stones'])]);
    expect((await garden.keeper.collection('home')).batches.get('stones')?.waterings).toHaveLength(2);
  });
});

describe('what cannot be', () => {
  test('every problem is listed, with where, what was expected, what came, and the nearest', async () => {
    await plant(garden);
    const problems = await problemsOf(
      enter([
        water(['stoness', 'cones']),
        { kind: 'cloth', houseId: 'nort', clothId: null },
        batch('extra', 'b9', { group: 'lithop-summer', mixId: 'sand' }),
      ]),
    );
    expect(problems).toEqual([
      { path: '/0/batchIds/0', expected: 'a batch of Home', got: 'stoness', mend: 'Did you mean stones?' },
      { path: '/1/houseId', expected: 'a house of Home', got: 'nort', mend: 'Did you mean north?' },
      {
        path: '/2/group',
        expected: 'a species group of the catalogue',
        got: 'lithop-summer',
        mend: 'Did you mean lithops-summer?',
      },
      {
        path: '/2/mixId',
        expected: 'a mix of the catalogue',
        got: 'sand',
        mend: 'Known: mineral-80-20, mineral-pure.',
      },
      { path: '/2/benchId', expected: 'a bench of Home', got: 'b9', mend: 'Did you mean b1?' },
    ]);
  });

  test('a field that is not in form points at the field', async () => {
    const wrong = { kind: 'watering', batchIds: [], amount: 'ful' } as unknown as JournalEventInput;
    expect(await problemsOf(enter([wrong]))).toEqual([
      { path: '/0/batchIds', expected: 'at least 1 entry', got: '[]' },
      { path: '/0/amount', expected: 'one of none, light, full', got: '"ful"', mend: 'Did you mean full?' },
    ]);
  });

  test.each<[string, JournalEventInput, string, string]>([
    ['a bench twice', bench('b1'), '/0/benchId', 'an id that is not used yet'],
    ['a line of no house', bench('b9', 'line-z'), '/0/lineId', 'a watering line of North house'],
    ['a batch twice', batch('stones', 'b1'), '/0/batchId', 'an id that is not used yet'],
    [
      'sown tomorrow',
      batch('x', 'b1', { sownOn: '2026-02-26' }),
      '/0/sownOn',
      '2026-02-25 or earlier, the day it happened',
    ],
    [
      'a split of more pots than there are',
      { kind: 'batch-split', batchId: 'cones', newBatchId: 'part', newName: 'Part', potCount: 13, benchId: 'b1' },
      '/0/potCount',
      'fewer than the 12 pots of cones',
    ],
    [
      'a split of all pots',
      { kind: 'batch-split', batchId: 'cones', newBatchId: 'part', newName: 'Part', potCount: 12, benchId: 'b1' },
      '/0/potCount',
      'fewer than the 12 pots of cones',
    ],
    [
      'more lost pots than there are',
      { kind: 'loss', batchId: 'cones', potCount: 13, cause: 'rot' },
      '/0/potCount',
      'at most the 12 pots of cones',
    ],
    [
      'a batch off the line that ran',
      water(['seedlings'], { lineId: 'line-a' }),
      '/0/batchIds/0',
      'a batch on the line line-a',
    ],
    ['a batch twice in one watering', water(['stones', 'stones']), '/0/batchIds/1', 'every batch once'],
    [
      'a skipped drink with water',
      water(['stones'], { answer: 'skipped' }),
      '/0/amount',
      'none, because the drink was skipped',
    ],
    [
      'no drink with millilitres',
      water(['stones'], { amount: 'none', mlPerPot: 5 }),
      '/0/mlPerPot',
      '0, or nothing, with amount none',
    ],
    ['a drink of nothing', water(['stones'], { mlPerPot: 0 }), '/0/mlPerPot', 'more than 0 mL with amount light'],
    [
      'an answer to a morning to come',
      water(['stones'], { day: '2026-02-26' }),
      '/0/day',
      '2026-02-25 or earlier, the day it happened',
    ],
    ['a look that saw nothing', { kind: 'signs', batchIds: ['stones'] }, '/0', 'at least one thing seen'],
    [
      'a sign seen and gone',
      { kind: 'signs', batchIds: ['stones'], signs: ['rot'], gone: ['rot'] },
      '/0/gone/0',
      'a sign that is not also seen now',
    ],
    [
      'a stage of another phase',
      { kind: 'signs', batchIds: ['stones'], phase: 'growing', stage: 'papery' },
      '/0/stage',
      'a stage only with the phase leaf-replacement',
    ],
    [
      'a cloth the house does not have',
      { kind: 'cloth', houseId: 'north', clothId: 'thick' },
      '/0/clothId',
      'a cloth of North house, or null for none',
    ],
    [
      'a pot nobody knows',
      { kind: 'repotting', batchIds: ['stones'], potId: 'bucket' },
      '/0/potId',
      'a pot of the catalogue',
    ],
    [
      'a task done both for batches and for a house',
      { kind: 'task-done', task: 'feed', batchIds: ['stones'], houseId: 'north' },
      '/0',
      'batchIds or houseId',
    ],
    ['a task done nowhere', { kind: 'task-done', task: 'feed' }, '/0', 'batchIds or houseId: where feed was done'],
    [
      'a task done for a batch nobody knows',
      { kind: 'task-done', task: 'feed', batchIds: ['stones', 'conez'] },
      '/0/batchIds/1',
      'a batch of Home',
    ],
    [
      'a task done in a house nobody knows',
      { kind: 'task-done', task: 'inspect-mites', houseId: 'nort' },
      '/0/houseId',
      'a house of Home',
    ],
    [
      'a bench change of nothing',
      { kind: 'bench-changed', benchId: 'b1' },
      '/0',
      'at least one of name, lineId, exposure',
    ],
    ['an undo of nothing', { kind: 'undo', entryId: 999 }, '/0/entryId', 'an entry of the journal of Home'],
  ])('%s', async (_what, event, path, expected) => {
    await plant(garden);
    expect(await problemsOf(enter([event]))).toMatchObject([{ path, expected }]);
  });

  test('a batch that ended takes no more waterings, and says when it ended', async () => {
    await plant(garden);
    await enter([{ kind: 'batch-ended', batchId: 'cones', reason: 'died', cause: 'frost' }]);
    garden.now += HOUR;
    const error = await refusal(enter([water(['cones'])]));
    expect(error.code).toBe('already-ended');
    expect(error.problems).toEqual([
      {
        path: '/0/batchIds/0',
        expected: 'a batch that is still there',
        got: 'cones, ended on Wednesday 25 February 2026 at 08:00',
        mend: 'If it ended by mistake, undo that entry.',
      },
    ]);
  });

  test('a watering from before the end, entered after it, is taken', async () => {
    await plant(garden);
    await enter([{ kind: 'batch-ended', batchId: 'cones', reason: 'sold' }]);
    garden.now += HOUR;
    await enter([water(['cones'])], garden.now - 90 * MINUTE);
    expect((await garden.keeper.collection('home')).batches.get('cones')?.waterings).toHaveLength(1);
  });

  test('nothing may happen in the future, but a clock may run five minutes ahead', async () => {
    await plant(garden);
    await enter([water(['stones'])], garden.now + 5 * MINUTE);
    expect(await problemsOf(enter([water(['stones'])], garden.now + 6 * MINUTE))).toEqual([
      {
        path: '/0/happenedAt',
        expected: 'a time not after now, Wednesday 25 February 2026 at 08:00',
        got: 'Wednesday 25 February 2026 at 08:06',
        mend: 'Only what has happened goes into the journal.',
      },
    ]);
  });

  test('seconds are not taken for milliseconds', async () => {
    expect(await problemsOf(enter([bench('x')], garden.now / 1000))).toMatchObject([
      { path: '/0/happenedAt', mend: 'Seconds must be multiplied by 1,000.' },
    ]);
  });

  test('a late entry before its batch came to be says so', async () => {
    await plant(garden);
    expect(await problemsOf(enter([water(['stones'])], garden.now - DAY))).toEqual([
      {
        path: '/0/batchIds/0',
        expected: 'a batch that was there on Tuesday 24 February 2026 at 08:00',
        got: 'stones',
        mend: 'The batch came later: give a later happenedAt.',
      },
    ]);
  });

  test('a late entry must not make a later one untrue', async () => {
    await plant(garden);
    await enter([{ kind: 'loss', batchId: 'cones', potCount: 12, cause: 'frost' }]);
    // Of the twelve pots lost at eight, five cannot have been lost half an hour before.
    const error = await refusal(
      enter([{ kind: 'loss', batchId: 'cones', potCount: 5, cause: 'rot' }], garden.now - 30 * MINUTE),
    );
    expect(error.code).toBe('conflict');
    expect(error.problems).toMatchObject([{ path: '/0', got: 'entry 7 (loss, Wednesday 25 February 2026 at 08:00)' }]);
  });

  test('a site nobody knows', async () => {
    const error = await refusal(garden.keeper.record('hom', [bench('x')], { by: 'Ada' }));
    expect(error.code).toBe('not-found');
    expect(error.problems).toMatchObject([{ expected: 'one of the sites home, far', mend: 'Did you mean home?' }]);
  });

  test('an empty record', async () => {
    expect(await problemsOf(enter([]))).toEqual([{ path: '', expected: 'at least one event', got: 'none' }]);
  });
});

describe('undo', () => {
  test('is an entry of its own; the collection is as if the other had never been', async () => {
    await plant(garden);
    const before = await garden.keeper.collection('home');
    const [watering] = await enter([water(['stones'])]);
    await enter([{ kind: 'undo', entryId: watering?.id ?? 0 }]);
    const after = await garden.keeper.collection('home');
    expect(after.batches).toEqual(before.batches);
    expect(await garden.storage.journal.all('home')).toHaveLength(8);
    expect([...(await garden.keeper.undone('home'))]).toEqual([[7, 8]]);
  });

  test('of an undo brings the entry back', async () => {
    await plant(garden);
    await enter([water(['stones'])]);
    await enter([{ kind: 'undo', entryId: 7 }]);
    await enter([{ kind: 'undo', entryId: 8 }]);
    expect((await garden.keeper.collection('home')).batches.get('stones')?.waterings).toHaveLength(1);
    expect((await garden.keeper.undone('home')).get(7)).toBeUndefined();
  });

  test('twice is refused and names the first', async () => {
    await plant(garden);
    await enter([water(['stones'])]);
    await enter([{ kind: 'undo', entryId: 7 }]);
    const error = await refusal(enter([{ kind: 'undo', entryId: 7 }]));
    expect(error.code).toBe('conflict');
    expect(error.problems).toEqual([
      {
        path: '/0/entryId',
        expected: 'an entry that still stands',
        got: '7, undone by entry 8',
        mend: 'To bring it back, undo entry 8.',
      },
    ]);
  });

  test('of what later entries stand on is refused and names them', async () => {
    await plant(garden);
    await enter([water(['stones'])]);
    expect(await problemsOf(enter([{ kind: 'undo', entryId: 4 }]))).toEqual([
      {
        path: '/0/entryId',
        expected: 'nothing entered for a later time that depends on what this changes',
        got: 'entry 7 (watering, Wednesday 25 February 2026 at 08:00)',
        mend: 'Undo entry 7 first.',
      },
    ]);
  });

  test('of an end gives the batch back', async () => {
    await plant(garden);
    const [ended] = await enter([{ kind: 'batch-ended', batchId: 'cones', reason: 'mistake' }]);
    await enter([{ kind: 'undo', entryId: ended?.id ?? 0 }]);
    await enter([water(['cones'])]);
    expect((await garden.keeper.collection('home')).batches.get('cones')?.endedAt).toBeUndefined();
  });
});

describe('property', () => {
  const moves = fc.array(
    fc.record({
      what: fc.constantFrom('water', 'loss', 'split', 'move', 'end', 'undo', 'signs'),
      batchId: fc.constantFrom('stones', 'cones', 'seedlings', 'part-1', 'part-2'),
      pots: fc.integer({ min: 1, max: 60 }),
      agoMinutes: fc.integer({ min: 0, max: 59 }),
      entry: fc.integer({ min: 1, max: 20 }),
    }),
    { minLength: 1, maxLength: 15 },
  );

  test('whatever is taken keeps pots whole, and the cached collection equals the folded journal', async () => {
    await fc.assert(
      fc.asyncProperty(moves, async (steps) => {
        const own = await openGarden();
        try {
          await plant(own);
          let part = 0;
          for (const { what, batchId, pots, agoMinutes, entry } of steps) {
            const event: JournalEventInput =
              what === 'water'
                ? water([batchId])
                : what === 'loss'
                  ? { kind: 'loss', batchId, potCount: pots, cause: 'rot' }
                  : what === 'split'
                    ? {
                        kind: 'batch-split',
                        batchId,
                        newBatchId: `part-${++part}`,
                        newName: 'Part',
                        potCount: pots,
                        benchId: 'b3',
                      }
                    : what === 'move'
                      ? { kind: 'batch-moved', batchId, benchId: 'b2' }
                      : what === 'end'
                        ? { kind: 'batch-ended', batchId, reason: 'sold' }
                        : what === 'signs'
                          ? { kind: 'signs', batchIds: [batchId], firmness: 'soft' }
                          : { kind: 'undo', entryId: entry };
            await own.keeper
              .record('home', [event], { by: 'Ada', happenedAt: own.now - agoMinutes * MINUTE })
              .catch((error: unknown) => expect(error).toBeInstanceOf(LeafturnError));
            own.now += MINUTE;
          }
          const collection = await own.keeper.collection('home');
          expect(foldCollection(await own.storage.journal.all('home'))).toEqual(collection);
          // Splits move pots, losses take them: none appears and none vanishes.
          let pots = 0;
          for (const one of collection.batches.values()) pots += one.potCount + one.lostPots;
          const made = ['stones', 'cones', 'seedlings'].filter((id) => collection.batches.has(id));
          const begun = { stones: 40, cones: 12, seedlings: 200 } as Record<string, number>;
          expect(pots).toBe(made.reduce((sum, id) => sum + (begun[id] ?? 0), 0));
        } finally {
          await own.close();
        }
      }),
      { numRuns: 40 },
    );
  });
});
