import type { JournalEntry, JournalEvent } from './journal.js';
import { compareNames } from './names.js';
import { defined } from './optional.js';
import type {
  Amount,
  Firmness,
  NewPairState,
  OldPairState,
  OriginZone,
  Phase,
  Sign,
  Stage,
  SubstrateNote,
} from './plants.js';
import type { TaskDone, TaskKind } from './tasks.js';
import type { LocalDay } from './time.js';

/** Something seen, and when. */
export interface Seen<T> {
  readonly value: T;
  readonly at: number;
  readonly by: string;
  readonly entryId: number;
}

export interface WateringDone {
  readonly entryId: number;
  readonly at: number;
  readonly by: string;
  readonly amount: Amount;
  readonly mlPerPot?: number;
  readonly answer: string;
  readonly day?: LocalDay;
  readonly lineId?: string;
}

export interface BenchState {
  readonly benchId: string;
  readonly houseId: string;
  readonly name: string;
  readonly lineId: string | null;
  readonly exposure: 'open' | 'under-gutter' | 'shaded-side';
}

/** One look at a batch: what was said then, and only that. */
export interface Look {
  readonly at: number;
  readonly by: string;
  readonly phase?: Phase;
  readonly stage?: Stage;
  readonly firmness?: Firmness;
  readonly oldPair?: OldPairState;
  readonly newPair?: NewPairState;
  readonly sheathed?: boolean;
  readonly substrate?: SubstrateNote;
  readonly signs: readonly Sign[];
}

/** A batch as its journal tells it. */
export interface BatchState {
  readonly batchId: string;
  readonly name: string;
  readonly group: string;
  readonly benchId: string;
  readonly potCount: number;
  readonly sownOn?: LocalDay;
  readonly potId: string;
  readonly mixId: string;
  readonly topDressing: 'none' | 'grit';
  readonly originZone?: OriginZone;
  readonly worth: number;
  readonly createdAt: number;
  readonly endedAt?: number;
  readonly endReason?: string;
  readonly lostPots: number;
  /** Benches it stood on, oldest first. */
  readonly places: readonly { readonly benchId: string; readonly from: number }[];
  readonly phase?: Seen<{ readonly phase: Phase; readonly stage?: Stage }>;
  readonly firmness?: Seen<Firmness>;
  readonly oldPair?: Seen<OldPairState>;
  readonly newPair?: Seen<NewPairState>;
  readonly sheathed?: Seen<boolean>;
  readonly substrate?: Seen<SubstrateNote>;
  /** Signs present by the last look that spoke of them. */
  readonly signs: ReadonlyMap<Sign, Seen<true>>;
  readonly repotted?: Seen<{ readonly rootsCut: boolean }>;
  /** Newest last; at most `LOOKS_KEPT`. */
  readonly looks: readonly Look[];
  /** Newest last; at most `WATERINGS_KEPT`. */
  readonly waterings: readonly WateringDone[];
  /** Newest last; at most `TASKS_KEPT` of each kind. */
  readonly tasksDone: readonly TaskDone[];
}

export interface Collection {
  readonly benches: ReadonlyMap<string, BenchState>;
  readonly batches: ReadonlyMap<string, BatchState>;
  /** Cloth hung per house, as entered; null: none. A house never spoken of is absent: unknown. */
  readonly cloths: ReadonlyMap<string, Seen<string | null>>;
  /** What was done for a house as a whole, by house; newest last, at most `TASKS_KEPT` of each kind. */
  readonly houseTasks: ReadonlyMap<string, readonly TaskDone[]>;
  /** Highest entry id that was folded in. */
  readonly journalId: number;
}

/** A pot is refilled many times between two repottings; the models need the last season of waterings at most. */
export const WATERINGS_KEPT = 120;
/** More than a look a week over the year that the growth cycle looks back. */
export const LOOKS_KEPT = 60;
/** More than any task is done in one season. */
export const TASKS_KEPT = 6;

/** A collection while it is being folded: `foldEntry` changes it in place. */
export interface OpenCollection {
  readonly benches: Map<string, BenchState>;
  readonly batches: Map<string, BatchState>;
  readonly cloths: Map<string, Seen<string | null>>;
  readonly houseTasks: Map<string, readonly TaskDone[]>;
}

export const openCollection = (from?: Collection): OpenCollection => ({
  benches: new Map(from?.benches),
  batches: new Map(from?.batches),
  cloths: new Map(from?.cloths),
  houseTasks: new Map(from?.houseTasks),
});

const seen = <T>(entry: JournalEntry, value: T): Seen<T> => ({
  value,
  at: entry.happenedAt,
  by: entry.by,
  entryId: entry.id,
});

/** Entries that stand: neither undone nor undo entries themselves. An undo can itself be undone. */
export function standingEntries(entries: readonly JournalEntry[]): JournalEntry[] {
  const undone = new Set<number>();
  // An undo is always entered after what it undoes, so walking back settles undone undos first.
  for (let i = entries.length - 1; i >= 0; i--) {
    const entry = entries[i] as JournalEntry;
    if (entry.event.kind === 'undo' && !undone.has(entry.id)) undone.add(entry.event.entryId);
  }
  return entries.filter((entry) => entry.event.kind !== 'undo' && !undone.has(entry.id));
}

/** Entries that stand, in the order of their effect: of happening, then of entering. */
export function entriesInOrder(entries: readonly JournalEntry[]): JournalEntry[] {
  const standing = standingEntries([...entries].sort((a, b) => a.id - b.id));
  return standing.sort((a, b) => a.happenedAt - b.happenedAt || a.id - b.id);
}

/**
 * The collection as the journal tells it. Order of effect is the order of happening (then of entering), so a note
 * entered late takes its place in time.
 * @param entries all entries of one site, by rising id; for replay those entered by that morning.
 */
export function foldCollection(entries: readonly JournalEntry[]): Collection {
  const state = openCollection();
  let journalId = 0;
  for (const entry of entries) journalId = Math.max(journalId, entry.id);
  for (const entry of entriesInOrder(entries)) foldEntry(state, entry);
  return { ...state, journalId };
}

/**
 * Adds one entry to a folded collection without folding all again. Undefined when the entry is an undo or lies in the
 * past of something already folded in: then `foldCollection` must run.
 */
export function extendCollection(
  collection: Collection,
  entry: JournalEntry,
  latestHappenedAt: number,
): Collection | undefined {
  if (entry.event.kind === 'undo' || entry.happenedAt < latestHappenedAt) return undefined;
  const state = openCollection(collection);
  foldEntry(state, entry);
  return { ...state, journalId: Math.max(collection.journalId, entry.id) };
}

function changeBatch(state: OpenCollection, batchId: string, change: (batch: BatchState) => BatchState): void {
  const batch = state.batches.get(batchId);
  if (batch) state.batches.set(batchId, change(batch));
}

/** One entry more. Entries must come in the order of `entriesInOrder`. */
export function foldEntry(state: OpenCollection, entry: JournalEntry): void {
  const event = entry.event;
  switch (event.kind) {
    case 'bench-added':
      state.benches.set(event.benchId, {
        benchId: event.benchId,
        houseId: event.houseId,
        name: event.name,
        lineId: event.lineId ?? null,
        exposure: event.exposure,
      });
      return;
    case 'bench-changed': {
      const bench = state.benches.get(event.benchId);
      if (bench)
        state.benches.set(event.benchId, {
          ...bench,
          ...defined({ name: event.name, lineId: event.lineId, exposure: event.exposure }),
        });
      return;
    }
    case 'batch-created':
      state.batches.set(event.batchId, newBatch(entry, event));
      return;
    case 'batch-changed':
      changeBatch(state, event.batchId, (batch) => {
        const { kind: _kind, batchId: _batchId, ...fields } = event;
        return { ...batch, ...defined(fields) };
      });
      return;
    case 'batch-moved':
      changeBatch(state, event.batchId, (batch) => moved(batch, event.benchId, entry.happenedAt));
      return;
    case 'batch-split': {
      const batch = state.batches.get(event.batchId);
      if (!batch) return;
      const pots = Math.min(event.potCount, batch.potCount);
      state.batches.set(event.batchId, { ...batch, potCount: batch.potCount - pots });
      const part = { ...batch, batchId: event.newBatchId, name: event.newName, potCount: pots, lostPots: 0 };
      state.batches.set(event.newBatchId, moved(part, event.benchId, entry.happenedAt));
      return;
    }
    case 'batch-ended':
      changeBatch(state, event.batchId, (batch) => ({
        ...batch,
        endedAt: entry.happenedAt,
        endReason: event.cause ? `${event.reason}: ${event.cause}` : event.reason,
      }));
      return;
    case 'loss':
      changeBatch(state, event.batchId, (batch) => {
        const pots = Math.min(event.potCount, batch.potCount);
        return { ...batch, potCount: batch.potCount - pots, lostPots: batch.lostPots + pots };
      });
      return;
    case 'watering':
      for (const batchId of event.batchIds)
        changeBatch(state, batchId, (batch) => ({
          ...batch,
          waterings: [...batch.waterings, wateringDone(entry, event)].slice(-WATERINGS_KEPT),
        }));
      return;
    case 'signs':
      for (const batchId of event.batchIds) changeBatch(state, batchId, (batch) => withSigns(batch, entry, event));
      return;
    case 'repotting':
      for (const batchId of event.batchIds)
        changeBatch(state, batchId, (batch) => ({
          ...batch,
          ...defined({ potId: event.potId, mixId: event.mixId }),
          repotted: seen(entry, { rootsCut: event.rootsCut }),
          tasksDone: withTask(batch.tasksDone, entry, 'repot'),
        }));
      return;
    case 'task-done':
      taskDone(state, entry, event);
      return;
    case 'cloth':
      state.cloths.set(event.houseId, seen(entry, event.clothId));
      return;
    case 'note':
    case 'undo':
      return;
  }
}

type Event<K extends JournalEvent['kind']> = Extract<JournalEvent, { kind: K }>;

function newBatch(entry: JournalEntry, event: Event<'batch-created'>): BatchState {
  return {
    batchId: event.batchId,
    name: event.name,
    group: event.group,
    benchId: event.benchId,
    potCount: event.potCount,
    ...defined({ sownOn: event.sownOn, originZone: event.originZone }),
    potId: event.potId,
    mixId: event.mixId,
    topDressing: event.topDressing,
    worth: event.worth,
    createdAt: entry.happenedAt,
    lostPots: 0,
    places: [{ benchId: event.benchId, from: entry.happenedAt }],
    signs: new Map(),
    looks: [],
    waterings: [],
    tasksDone: [],
  };
}

function withTask(done: readonly TaskDone[], entry: JournalEntry, task: TaskKind): TaskDone[] {
  const same = done.filter((one) => one.task === task);
  const oldest = same.length < TASKS_KEPT ? undefined : same[0];
  return [...done.filter((one) => one !== oldest), { task, at: entry.happenedAt, by: entry.by, entryId: entry.id }];
}

function taskDone(state: OpenCollection, entry: JournalEntry, event: Event<'task-done'>): void {
  const { task, houseId } = event;
  if (houseId !== undefined) state.houseTasks.set(houseId, withTask(state.houseTasks.get(houseId) ?? [], entry, task));
  const isThere = ({ endedAt, benchId }: BatchState): boolean =>
    endedAt === undefined && houseId !== undefined && state.benches.get(benchId)?.houseId === houseId;
  const batchIds = event.batchIds ?? [...state.batches.values()].filter(isThere).map(({ batchId }) => batchId);
  for (const batchId of batchIds)
    changeBatch(state, batchId, (batch) => ({
      ...batch,
      tasksDone: withTask(batch.tasksDone, entry, task),
      // Nobody said that the roots were spared: the careful assumption keeps the pots dry a while.
      ...(task === 'repot' && { repotted: seen(entry, { rootsCut: true }) }),
    }));
}

const moved = (batch: BatchState, benchId: string, at: number): BatchState => ({
  ...batch,
  benchId,
  places: batch.benchId === benchId ? batch.places : [...batch.places, { benchId, from: at }],
});

const wateringDone = (entry: JournalEntry, event: Event<'watering'>): WateringDone => ({
  entryId: entry.id,
  at: entry.happenedAt,
  by: entry.by,
  amount: event.amount,
  answer: event.answer,
  ...defined({ mlPerPot: event.mlPerPot, day: event.day, lineId: event.lineId }),
});

function withSigns(batch: BatchState, entry: JournalEntry, event: Event<'signs'>): BatchState {
  const signs = new Map(batch.signs);
  for (const sign of event.gone) signs.delete(sign);
  for (const sign of event.signs) signs.set(sign, seen(entry, true as const));
  // A stage belongs to leaf-pair replacement alone, so naming the stage names the phase.
  const phaseName = event.phase ?? (event.stage ? 'leaf-replacement' : undefined);
  const phase = phaseName && { phase: phaseName, ...(event.stage && { stage: event.stage }) };
  const look = <T>(value: T | undefined) => (value === undefined ? undefined : seen(entry, value));
  return {
    ...batch,
    signs,
    looks: [
      ...batch.looks,
      {
        at: entry.happenedAt,
        by: entry.by,
        signs: event.signs,
        ...defined({
          ...phase,
          firmness: event.firmness,
          oldPair: event.oldPair,
          newPair: event.newPair,
          sheathed: event.sheathed,
          substrate: event.substrate,
        }),
      },
    ].slice(-LOOKS_KEPT),
    ...defined({
      phase: look(phase),
      firmness: look(event.firmness),
      oldPair: look(event.oldPair),
      newPair: look(event.newPair),
      sheathed: look(event.sheathed),
      substrate: look(event.substrate),
    }),
  };
}

export const isLiving = ({ endedAt, potCount }: BatchState): boolean => endedAt === undefined && potCount > 0;

/** Batches still there, in bench order then by name. */
export const livingBatches = (collection: Collection): BatchState[] =>
  [...collection.batches.values()]
    .filter(isLiving)
    .sort((a, b) => compareNames(a.benchId, b.benchId) || compareNames(a.name, b.name));
