import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Collection,
  entriesInOrder,
  extendCollection,
  foldCollection,
  LOOKS_KEPT,
  livingBatches,
  standingEntries,
  TASKS_KEPT,
  WATERINGS_KEPT,
} from '../../src/domain/collection.js';
import { type JournalEntry, type JournalEventInput, journalEventSchema } from '../../src/domain/journal.js';
import { FIRMNESS, SIGNS } from '../../src/domain/plants.js';
import { TASK_KINDS } from '../../src/domain/tasks.js';

const DAY = 86_400_000;
let nextId = 1;
const entry = (event: JournalEventInput, happenedAt: number, id = nextId++): JournalEntry => ({
  id,
  siteId: 'home',
  happenedAt,
  enteredAt: happenedAt,
  by: 'Mirel',
  event: journalEventSchema.parse(event),
});
/** Entries a day apart, numbered from 1. */
const journal = (...events: JournalEventInput[]): JournalEntry[] =>
  events.map((event, index) => entry(event, index * DAY, index + 1));

const BENCH = { kind: 'bench-added', benchId: 'one', houseId: 'north', name: 'One', lineId: 'left' } as const;
const BATCH = {
  kind: 'batch-created',
  batchId: 'a',
  name: 'A',
  group: 'conophytum',
  benchId: 'one',
  potCount: 30,
} as const;
const batchOf = (collection: Collection, id = 'a') => {
  const batch = collection.batches.get(id);
  if (!batch) throw new Error(`no batch ${id}`);
  return batch;
};

describe('what the journal tells', () => {
  it('a new batch has the documented defaults', () => {
    const batch = batchOf(foldCollection(journal(BENCH, BATCH)));
    expect(batch).toMatchObject({ potCount: 30, potId: 'square-7cm-plastic', mixId: 'mineral-80-20', worth: 1 });
    expect(batch.places).toEqual([{ benchId: 'one', from: DAY }]);
    expect(batch.phase).toBeUndefined();
  });

  it('losses and splits move pots, and none is made or vanishes', () => {
    const collection = foldCollection(
      journal(
        BENCH,
        BATCH,
        { kind: 'loss', batchId: 'a', potCount: 4, cause: 'rot' },
        { kind: 'batch-split', batchId: 'a', newBatchId: 'b', newName: 'B', potCount: 10, benchId: 'one' },
        { kind: 'loss', batchId: 'b', potCount: 99, cause: 'pest' },
      ),
    );
    expect(batchOf(collection)).toMatchObject({ potCount: 16, lostPots: 4 });
    expect(batchOf(collection, 'b')).toMatchObject({ potCount: 0, lostPots: 10 });
    expect(livingBatches(collection).map(({ batchId }) => batchId)).toEqual(['a']);
  });

  it('a part taken off a batch brings its history along', () => {
    const collection = foldCollection(
      journal(
        BENCH,
        BATCH,
        { kind: 'watering', batchIds: ['a'], amount: 'full' },
        { kind: 'signs', batchIds: ['a'], firmness: 'soft', signs: ['stretched'] },
        { kind: 'batch-split', batchId: 'a', newBatchId: 'b', newName: 'B', potCount: 5, benchId: 'one' },
        { kind: 'signs', batchIds: ['a'], gone: ['stretched'] },
      ),
    );
    expect(batchOf(collection, 'b').waterings).toHaveLength(1);
    expect(batchOf(collection, 'b').firmness?.value).toBe('soft');
    expect([...batchOf(collection, 'b').signs.keys()]).toEqual(['stretched']);
    expect(batchOf(collection).signs.size).toBe(0);
  });

  it('a look that does not speak of a thing leaves it as it was', () => {
    const collection = foldCollection(
      journal(
        BENCH,
        BATCH,
        { kind: 'signs', batchIds: ['a'], firmness: 'soft', oldPair: 'firm' },
        { kind: 'signs', batchIds: ['a'], newPair: 'hidden' },
      ),
    );
    expect(batchOf(collection).firmness).toMatchObject({ value: 'soft', at: 2 * DAY });
    expect(batchOf(collection).oldPair?.value).toBe('firm');
    expect(batchOf(collection).newPair?.at).toBe(3 * DAY);
  });

  it('a stage names the phase it belongs to', () => {
    const collection = foldCollection(journal(BENCH, BATCH, { kind: 'signs', batchIds: ['a'], stage: 'papery' }));
    expect(batchOf(collection).phase?.value).toEqual({ phase: 'leaf-replacement', stage: 'papery' });
  });

  it('a bench taken off its line is watered by hand', () => {
    const collection = foldCollection(journal(BENCH, { kind: 'bench-changed', benchId: 'one', lineId: null }));
    expect(collection.benches.get('one')).toMatchObject({ lineId: null, name: 'One' });
  });

  it('a house of whose cloth nothing was said is unknown, and one with none is known', () => {
    const collection = foldCollection(journal({ kind: 'cloth', houseId: 'north', clothId: null }));
    expect(collection.cloths.get('north')?.value).toBeNull();
    expect(collection.cloths.has('south')).toBe(false);
  });

  it('an ended batch stays on record and off the list', () => {
    const collection = foldCollection(
      journal(BENCH, BATCH, { kind: 'batch-ended', batchId: 'a', reason: 'died', cause: 'frost' }),
    );
    expect(batchOf(collection)).toMatchObject({ endedAt: 2 * DAY, endReason: 'died: frost' });
    expect(livingBatches(collection)).toEqual([]);
  });

  it('keeps the newest waterings and looks, not all of them', () => {
    const drinks = Array.from({ length: WATERINGS_KEPT + 7 }, (_, mlPerPot) => ({
      kind: 'watering' as const,
      batchIds: ['a'],
      amount: 'light' as const,
      mlPerPot,
    }));
    const looks = Array.from({ length: LOOKS_KEPT + 7 }, () => ({
      kind: 'signs' as const,
      batchIds: ['a'],
      firmness: 'firm' as const,
    }));
    const batch = batchOf(foldCollection(journal(BENCH, BATCH, ...drinks, ...looks)));
    expect(batch.waterings).toHaveLength(WATERINGS_KEPT);
    expect(batch.waterings.at(-1)?.mlPerPot).toBe(WATERINGS_KEPT + 6);
    expect(batch.looks).toHaveLength(LOOKS_KEPT);
  });
});

describe('tasks done', () => {
  const SOUTH = { ...BENCH, benchId: 'two', houseId: 'south' } as const;
  const FED: JournalEventInput = { kind: 'task-done', task: 'feed', batchIds: ['a'] };
  const LOOKED: JournalEventInput = { kind: 'task-done', task: 'inspect-mites', houseId: 'north' };
  const done = (collection: Collection, id = 'a') =>
    batchOf(collection, id).tasksDone.map(({ task, at }) => [task, at]);

  it('are told of the batches named, and go along with a part taken off', () => {
    const collection = foldCollection(
      journal(BENCH, BATCH, { ...BATCH, batchId: 'b' }, FED, {
        kind: 'batch-split',
        batchId: 'a',
        newBatchId: 'c',
        newName: 'C',
        potCount: 5,
        benchId: 'one',
      }),
    );
    expect(done(collection)).toEqual([['feed', 3 * DAY]]);
    expect(done(collection, 'b')).toEqual([]);
    expect(done(collection, 'c')).toEqual([['feed', 3 * DAY]]);
  });

  it('for a house are told of the house and of every batch that stood there then', () => {
    const collection = foldCollection(
      journal(BENCH, SOUTH, BATCH, { ...BATCH, batchId: 'b', benchId: 'two' }, LOOKED, { ...BATCH, batchId: 'c' }),
    );
    expect(collection.houseTasks.get('north')).toMatchObject([{ task: 'inspect-mites', at: 4 * DAY, by: 'Mirel' }]);
    expect(collection.houseTasks.has('south')).toBe(false);
    expect(['a', 'b', 'c'].map((id) => done(collection, id).length)).toEqual([1, 0, 0]);
  });

  it('a repotting counts as one, and a repotting told as a task keeps the pots dry as after cut roots', () => {
    const told = (event: JournalEventInput) => batchOf(foldCollection(journal(BENCH, BATCH, event)));
    const spared = told({ kind: 'repotting', batchIds: ['a'], rootsCut: false });
    expect(spared.tasksDone).toMatchObject([{ task: 'repot', at: 2 * DAY }]);
    expect(spared.repotted?.value).toEqual({ rootsCut: false });
    const task = told({ kind: 'task-done', task: 'repot', batchIds: ['a'] });
    expect(task.repotted).toMatchObject({ value: { rootsCut: true }, at: 2 * DAY });
  });

  it('keeps the newest of each kind, whatever other kinds were done', () => {
    const many = Array.from({ length: TASKS_KEPT + 3 }, () => FED);
    const batch = batchOf(foldCollection(journal(BENCH, BATCH, LOOKED, ...many)));
    expect(batch.tasksDone.map(({ task }) => task)).toEqual(['inspect-mites', ...many.slice(3).map(() => 'feed')]);
    expect(batch.tasksDone.at(-1)?.entryId).toBe(3 + TASKS_KEPT + 3);
  });

  it('are taken back by an undo', () => {
    const collection = foldCollection(
      journal(BENCH, BATCH, FED, LOOKED, { kind: 'undo', entryId: 3 }, { kind: 'undo', entryId: 4 }),
    );
    expect(done(collection)).toEqual([]);
    expect(collection.houseTasks.size).toBe(0);
  });
});

describe('undo', () => {
  const DRINK: JournalEventInput = { kind: 'watering', batchIds: ['a'], amount: 'full' };

  it('takes an entry back, and an undo of the undo brings it back', () => {
    const drunk = (...undos: JournalEventInput[]): number =>
      batchOf(foldCollection(journal(BENCH, BATCH, DRINK, ...undos))).waterings.length;
    expect(drunk()).toBe(1);
    expect(drunk({ kind: 'undo', entryId: 3 })).toBe(0);
    expect(drunk({ kind: 'undo', entryId: 3 }, { kind: 'undo', entryId: 4 })).toBe(1);
    expect(drunk({ kind: 'undo', entryId: 3 }, { kind: 'undo', entryId: 4 }, { kind: 'undo', entryId: 5 })).toBe(0);
    expect(drunk({ kind: 'undo', entryId: 3 }, { kind: 'undo', entryId: 3 }, { kind: 'undo', entryId: 5 })).toBe(0);
  });

  it('undone entries and undo entries do not stand', () => {
    const entries = journal(BENCH, BATCH, DRINK, { kind: 'undo', entryId: 3 });
    expect(standingEntries(entries).map(({ id }) => id)).toEqual([1, 2]);
  });
});

// --- properties ------------------------------------------------------------------------------------------------------

const batchId = fc.constantFrom('a', 'b', 'c');
const benchId = fc.constantFrom('one', 'two');
const event: fc.Arbitrary<JournalEventInput> = fc.oneof(
  fc.record({
    kind: fc.constant('bench-added' as const),
    benchId,
    houseId: fc.constant('north'),
    name: fc.constant('B'),
  }),
  fc.record({
    kind: fc.constant('batch-created' as const),
    batchId,
    name: fc.constant('N'),
    group: fc.constant('conophytum'),
    benchId,
    potCount: fc.integer({ min: 1, max: 40 }),
  }),
  fc.record({ kind: fc.constant('batch-moved' as const), batchId, benchId }),
  fc.record({
    kind: fc.constant('batch-split' as const),
    batchId,
    newBatchId: batchId,
    newName: fc.constant('P'),
    potCount: fc.integer({ min: 1, max: 20 }),
    benchId,
  }),
  fc.record({ kind: fc.constant('batch-ended' as const), batchId, reason: fc.constant('sold' as const) }),
  fc.record({
    kind: fc.constant('loss' as const),
    batchId,
    potCount: fc.integer({ min: 1, max: 20 }),
    cause: fc.constant('rot' as const),
  }),
  fc.record({
    kind: fc.constant('watering' as const),
    batchIds: fc.uniqueArray(batchId, { minLength: 1 }),
    amount: fc.constantFrom('none' as const, 'light' as const, 'full' as const),
  }),
  fc.record({
    kind: fc.constant('signs' as const),
    batchIds: fc.uniqueArray(batchId, { minLength: 1 }),
    firmness: fc.constantFrom(...FIRMNESS),
    signs: fc.uniqueArray(fc.constantFrom(...SIGNS), { maxLength: 3 }),
    gone: fc.uniqueArray(fc.constantFrom(...SIGNS), { maxLength: 3 }),
  }),
  fc.record({ kind: fc.constant('repotting' as const), batchIds: fc.tuple(batchId) }),
  fc.record({
    kind: fc.constant('task-done' as const),
    task: fc.constantFrom(...TASK_KINDS),
    batchIds: fc.uniqueArray(batchId, { minLength: 1 }),
  }),
  fc.record({
    kind: fc.constant('task-done' as const),
    task: fc.constantFrom(...TASK_KINDS),
    houseId: fc.constantFrom('north', 'south'),
  }),
  fc.record({
    kind: fc.constant('cloth' as const),
    houseId: fc.constant('north'),
    clothId: fc.constantFrom('white', null),
  }),
);

/** A journal as people keep one: mostly in order, some entries late, some taken back, some of these brought back. */
const journals = fc
  .array(fc.record({ event, day: fc.integer({ min: 0, max: 20 }), undo: fc.option(fc.nat(), { freq: 4 }) }), {
    maxLength: 30,
  })
  .map((rows) =>
    rows.map(({ event: one, day, undo }, index) =>
      entry(undo !== null && index > 0 ? { kind: 'undo', entryId: (undo % index) + 1 } : one, day * DAY, index + 1),
    ),
  );
const RUNS = { numRuns: 1000 };

describe('the fold', () => {
  it('does not depend on the order in which entries are read', () => {
    fc.assert(
      fc.property(
        journals.chain((entries) =>
          fc.tuple(fc.constant(entries), fc.shuffledSubarray(entries, { minLength: entries.length })),
        ),
        ([entries, shuffled]) => {
          expect(foldCollection(shuffled)).toEqual(foldCollection(entries));
        },
      ),
      RUNS,
    );
  });

  it('entry by entry comes to the same as all at once, or says that it cannot', () => {
    fc.assert(
      fc.property(journals, (entries) => {
        let collection = foldCollection([]);
        let latest = Number.NEGATIVE_INFINITY;
        entries.forEach((one, index) => {
          const extended = extendCollection(collection, one, latest);
          const whole = foldCollection(entries.slice(0, index + 1));
          if (extended) expect(extended).toEqual(whole);
          else expect(one.event.kind === 'undo' || one.happenedAt < latest).toBe(true);
          collection = whole;
          latest = Math.max(latest, one.happenedAt);
        });
      }),
      RUNS,
    );
  });

  it('an undo leaves what would be if the entry had never been made, and its undo what was before', () => {
    fc.assert(
      fc.property(
        journals.filter((entries) => entries.length > 0),
        fc.nat(),
        (entries, choice) => {
          const standing = standingEntries(entries);
          fc.pre(standing.length > 0);
          const target = standing[choice % standing.length] as JournalEntry;
          const undo = entry({ kind: 'undo', entryId: target.id }, 21 * DAY, entries.length + 1);
          const back = entry({ kind: 'undo', entryId: undo.id }, 22 * DAY, entries.length + 2);
          const without = foldCollection(entriesInOrder(entries).filter(({ id }) => id !== target.id));
          const { journalId: _a, ...undone } = foldCollection([...entries, undo]);
          const { journalId: _b, ...never } = without;
          expect(undone).toEqual(never);
          const { journalId: _c, ...before } = foldCollection(entries);
          const { journalId: _d, ...restored } = foldCollection([...entries, undo, back]);
          expect(restored).toEqual(before);
        },
      ),
      RUNS,
    );
  });

  it('a late entry takes its place in time', () => {
    fc.assert(
      fc.property(journals, fc.nat(), (entries, choice) => {
        const plain = entries.filter(({ event: one }) => one.kind !== 'undo');
        fc.pre(plain.length > 1);
        // Whatever was entered last would have come to the same, entered at the time it happened.
        const late = plain[choice % plain.length] as JournalEntry;
        const others = plain.filter((one) => one !== late);
        const sorted = [...plain].sort(
          (a, b) => a.happenedAt - b.happenedAt || (a === late ? 1 : b === late ? -1 : a.id - b.id),
        );
        const inTime = sorted.map((one, index) => ({ ...one, id: index + 1 }));
        const lateId = inTime[sorted.indexOf(late)]?.id;
        const enteredLast = [...others, { ...late, id: 1000 }];
        const shape = ({ benches, batches, cloths }: Collection) => ({
          benches: [...benches.keys()].sort(),
          pots: [...batches.values()]
            .map(({ batchId: id, potCount, lostPots, benchId: at }) => [id, potCount, lostPots, at])
            .sort(),
          drinks: [...batches.values()].map(({ batchId: id, waterings }) => [id, waterings.map(({ at }) => at)]).sort(),
          cloths: [...cloths].map(([house, { value }]) => [house, value]),
        });
        expect(lateId).toBeDefined();
        expect(shape(foldCollection(enteredLast))).toEqual(shape(foldCollection(inTime)));
      }),
      RUNS,
    );
  });

  it('never changes a collection it was given', () => {
    fc.assert(
      fc.property(journals, event, (entries, one) => {
        const collection = foldCollection(entries);
        const before = structuredClone(collection);
        extendCollection(collection, entry(one, 30 * DAY, 1000), 29 * DAY);
        expect(collection).toEqual(before);
      }),
      RUNS,
    );
  });
});
