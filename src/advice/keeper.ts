import { type Collection, entriesInOrder, foldCollection, foldEntry, openCollection } from '../domain/collection.js';
import { LeafturnError, type Problem } from '../domain/errors.js';
import { type JournalEntry, type JournalEvent, type JournalEventInput, journalEventSchema } from '../domain/journal.js';
import { didYouMean, pointerText, schemaProblems, shown } from '../domain/problems.js';
import type { Site } from '../domain/site.js';
import type { JournalStore } from '../storage/repositories.js';
import { type CatalogueIds, eventFindings, type Finding, momentInWords } from './journal-checks.js';
import { createTurns } from './turns.js';

/** An event on its way into the journal. */
export interface Draft {
  readonly event: JournalEventInput;
  /** UTC ms; left out: now. */
  readonly happenedAt?: number | undefined;
  readonly note?: string | undefined;
}

export interface RecordMeta {
  readonly by: string;
  /** UTC ms; left out: now. */
  readonly happenedAt?: number | undefined;
  readonly note?: string | undefined;
  /** Only for a history that was written down elsewhere; left out: now. */
  readonly enteredAt?: number | undefined;
  /** Of a write that may be sent again: what was entered with it before is given again, and nothing is entered twice. */
  readonly requestKey?: string | undefined;
}

/** Keeps the journal, and the collection it tells of. */
export interface Keeper {
  /** The collection of now. The object changes identity exactly when the journal grew. */
  collection(siteId: string): Promise<Collection>;
  /** Entries that no longer stand, and the entry that undid each. */
  undone(siteId: string): Promise<ReadonlyMap<number, number>>;
  /** The collection as it had been entered by an instant: what a morning knew. */
  collectionAsOf(siteId: string, enteredUntil: number): Promise<Collection>;
  /** Checks all events, then writes all of them, or none and throws a LeafturnError that lists everything wrong. */
  record(siteId: string, events: readonly JournalEventInput[], meta: RecordMeta): Promise<JournalEntry[]>;
  /** The same for events with times and notes of their own. */
  recordDrafts(
    siteId: string,
    drafts: readonly Draft[],
    meta: Pick<RecordMeta, 'by' | 'enteredAt' | 'requestKey'>,
  ): Promise<JournalEntry[]>;
  /** Called once per `record` with what was written, after it is on disk. Returns how to stop listening. */
  onEntry(listener: (entries: readonly JournalEntry[]) => void): () => void;
}

export interface KeeperParts {
  readonly storage: { readonly journal: JournalStore };
  sites(): readonly Site[];
  ids(): CatalogueIds;
  now(): number;
  /** Told when a listener throws; the entry stands all the same. */
  onTrouble?(error: unknown): void;
}

/** A phone's clock may run ahead a little; more than this is a mistake. */
export const FUTURE_ALLOWED_MS = 5 * 60_000;
/** Instants before 2000 are seconds taken for milliseconds, or an unset clock. */
const EARLIEST_MS = Date.UTC(2000, 0, 1);

interface Fold {
  readonly collection: Collection;
  /** Latest happening that was folded in: what comes after it needs no new fold. */
  readonly latestHappenedAt: number;
  readonly undone: ReadonlyMap<number, number>;
}

export function createKeeper(parts: KeeperParts): Keeper {
  const { journal } = parts.storage;
  const folds = new Map<string, Fold>();
  const listeners = new Set<(entries: readonly JournalEntry[]) => void>();

  /** One after another per site: a check holds only as long as nobody writes in between. */
  const inTurn = createTurns();

  function siteOf(siteId: string): Site {
    const site = parts.sites().find(({ id }) => id === siteId);
    if (site) return site;
    const known = parts.sites().map(({ id }) => id);
    throw new LeafturnError('not-found', `There is no site ${siteId}.`, [
      {
        path: '',
        expected: `one of the sites ${known.join(', ')}`,
        got: siteId,
        mend: didYouMean(siteId, known) ?? 'Sites are named in the configuration.',
      },
    ]);
  }

  /** The fold with everything the journal holds by now, whoever wrote it. */
  async function current(siteId: string): Promise<Fold> {
    const fold = folds.get(siteId);
    if (!fold) return refold(siteId);
    const entries = await journal.all(siteId, { afterId: fold.collection.journalId });
    return entries.length === 0 ? fold : add(siteId, fold, entries);
  }

  async function refold(siteId: string): Promise<Fold> {
    const entries = await journal.all(siteId);
    const fold = {
      collection: foldCollection(entries),
      latestHappenedAt: latestHappening(entries),
      undone: undoneEntries(entries),
    };
    folds.set(siteId, fold);
    return fold;
  }

  function add(siteId: string, fold: Fold, entries: readonly JournalEntry[]): Fold | Promise<Fold> {
    if (!inOrder(fold, entries)) return refold(siteId);
    const state = openCollection(fold.collection);
    let journalId = fold.collection.journalId;
    for (const entry of entries) {
      foldEntry(state, entry);
      journalId = Math.max(journalId, entry.id);
    }
    const next = {
      collection: { ...state, journalId },
      latestHappenedAt: Math.max(fold.latestHappenedAt, latestHappening(entries)),
      undone: fold.undone,
    };
    folds.set(siteId, next);
    return next;
  }

  async function record(
    siteId: string,
    drafts: readonly Draft[],
    meta: Pick<RecordMeta, 'by' | 'enteredAt' | 'requestKey'>,
  ): Promise<JournalEntry[]> {
    const site = siteOf(siteId);
    const now = parts.now();
    const enteredAt = meta.enteredAt ?? now;
    if (drafts.length === 0)
      throw new LeafturnError('invalid-input', 'There is nothing to enter.', [
        { path: '', expected: 'at least one event', got: 'none' },
      ]);
    const { events, problems } = parsed(drafts);
    drafts.forEach(({ happenedAt }, index) => {
      const problem = happenedAt === undefined ? undefined : momentProblem(happenedAt, now, site);
      if (problem) problems.push({ ...problem, path: `/${index}/happenedAt` });
    });
    if (problems.length > 0) throw refusal(problems);

    if (meta.requestKey !== undefined) {
      // The answer to the first time was lost on the way, with the process perhaps; the entries were not.
      const before = await journal.enteredWith(siteId, meta.requestKey);
      if (before.length > 0) return before;
    }
    const fold = await current(siteId);
    const candidates = events.map(
      (event, index): JournalEntry => ({
        // Ids are the database's to give; these stand in for them while the checks run.
        id: fold.collection.journalId + 1 + index,
        siteId,
        happenedAt: drafts[index]?.happenedAt ?? enteredAt,
        enteredAt,
        by: meta.by,
        event,
        ...(drafts[index]?.note !== undefined && { note: drafts[index].note }),
      }),
    );
    const findings = inOrder(fold, candidates)
      ? findingsInOrder(site, fold, candidates)
      : findingsAmong(site, await journal.all(siteId), candidates, fold.collection);
    if (findings.length > 0) throw refusal(findings);

    const written = await journal.append(
      candidates.map(({ id: _id, ...entry }) => entry),
      meta.requestKey === undefined ? {} : { requestKey: meta.requestKey },
    );
    await add(siteId, fold, written);
    for (const listener of listeners)
      try {
        listener(written);
      } catch (error) {
        parts.onTrouble?.(error);
      }
    return written;
  }

  /** What comes after everything folded in: each event is checked on top of the one before. */
  function findingsInOrder(site: Site, fold: Fold, candidates: readonly JournalEntry[]): Finding[] {
    const state = openCollection(fold.collection);
    return candidates.flatMap((entry, index) => {
      const findings = eventFindings(entry.event, entry.happenedAt, { site, ids: parts.ids(), state });
      if (findings.length === 0) foldEntry(state, entry);
      return findings.map((finding) => ({ ...finding, path: `/${index}${finding.path}` }));
    });
  }

  /**
   * What comes late, or takes something back: the history with it must hold as well as the history without it, and
   * every later entry with it.
   */
  function findingsAmong(
    site: Site,
    entries: readonly JournalEntry[],
    candidates: readonly JournalEntry[],
    later: Collection,
  ): Finding[] {
    const undos = undoFindings(site, entries, candidates);
    if (undos.length > 0) return undos;
    const byId = new Map(entries.map((entry) => [entry.id, entry]));
    const from = earliestTouched(candidates, byId);
    const walk = (all: readonly JournalEntry[]) => {
      const state = openCollection();
      const found = new Map<number, Finding[]>();
      for (const entry of entriesInOrder(all)) {
        if (entry.happenedAt >= from) {
          const findings = eventFindings(entry.event, entry.happenedAt, { site, ids: parts.ids(), state, later });
          if (findings.length > 0) found.set(entry.id, findings);
        }
        foldEntry(state, entry);
      }
      return found;
    };
    const before = walk(entries);
    const indexOf = new Map(candidates.map((entry, index) => [entry.id, index]));
    const only = candidates.length === 1 ? candidates[0] : undefined;
    return [...walk([...entries, ...candidates])].flatMap(([id, findings]): Finding[] => {
      const index = indexOf.get(id);
      if (index !== undefined) return findings.map((finding) => ({ ...finding, path: `/${index}${finding.path}` }));
      const entry = byId.get(id);
      if (before.has(id) || !entry) return [];
      return [
        {
          path: only ? (only.event.kind === 'undo' ? '/0/entryId' : '/0') : '',
          expected: 'nothing entered for a later time that depends on what this changes',
          got: `entry ${id} (${entry.event.kind}, ${momentInWords(site, entry.happenedAt)})`,
          mend: `Undo entry ${id} first.`,
          code: 'conflict',
        },
      ];
    });
  }

  async function known(siteId: string): Promise<Fold> {
    siteOf(siteId);
    return folds.get(siteId) ?? inTurn(siteId, () => current(siteId));
  }

  return {
    collection: async (siteId) => (await known(siteId)).collection,
    undone: async (siteId) => (await known(siteId)).undone,
    collectionAsOf: async (siteId, enteredUntil) => {
      siteOf(siteId);
      return foldCollection(await journal.all(siteId, { enteredUntil }));
    },
    record: (siteId, events, { by, enteredAt, requestKey, happenedAt, note }) =>
      inTurn(siteId, () =>
        record(
          siteId,
          events.map((event) => ({ event, happenedAt, note })),
          { by, enteredAt, requestKey },
        ),
      ),
    recordDrafts: (siteId, drafts, meta) => inTurn(siteId, () => record(siteId, drafts, meta)),
    onEntry: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

function parsed(drafts: readonly Draft[]): { events: JournalEvent[]; problems: Problem[] } {
  const events: JournalEvent[] = [];
  const problems: Problem[] = [];
  drafts.forEach((draft, index) => {
    const result = journalEventSchema.safeParse(draft.event);
    if (result.success) events.push(result.data);
    else
      problems.push(
        ...schemaProblems(journalEventSchema, draft.event, result.error, (path) => pointerText([index, ...path])),
      );
  });
  return { events, problems };
}

function momentProblem(happenedAt: number, now: number, site: Site): Omit<Problem, 'path'> | undefined {
  if (!(Number.isInteger(happenedAt) && happenedAt >= EARLIEST_MS))
    return {
      expected: 'an instant after the year 2000, in milliseconds UTC',
      got: shown(happenedAt),
      mend: 'Seconds must be multiplied by 1,000.',
    };
  if (happenedAt > now + FUTURE_ALLOWED_MS)
    return {
      expected: `a time not after now, ${momentInWords(site, now)}`,
      got: momentInWords(site, happenedAt),
      mend: 'Only what has happened goes into the journal.',
    };
  return undefined;
}

const latestHappening = (entries: readonly JournalEntry[]): number =>
  entries.reduce((latest, entry) => Math.max(latest, entry.happenedAt), Number.NEGATIVE_INFINITY);

/** True when every entry comes after the fold and after the one before, and none takes anything back. */
function inOrder(fold: Fold, entries: readonly JournalEntry[]): boolean {
  let latest = fold.latestHappenedAt;
  return entries.every((entry) => {
    const follows = entry.event.kind !== 'undo' && entry.happenedAt >= latest;
    latest = entry.happenedAt;
    return follows;
  });
}

/** By rising id, as `journal.all` gives them: an undo that was itself undone undoes nothing. */
function undoneEntries(entries: readonly JournalEntry[]): Map<number, number> {
  const undoneBy = new Map<number, number>();
  for (const entry of [...entries].reverse())
    if (entry.event.kind === 'undo' && !undoneBy.has(entry.id)) undoneBy.set(entry.event.entryId, entry.id);
  return undoneBy;
}

/** The earliest moment whose history a candidate changes; an undo changes that of what it takes back or brings back. */
function earliestTouched(candidates: readonly JournalEntry[], byId: ReadonlyMap<number, JournalEntry>): number {
  return candidates.reduce((earliest, candidate) => {
    let touched: JournalEntry | undefined = candidate;
    while (touched?.event.kind === 'undo') touched = byId.get(touched.event.entryId);
    return Math.min(earliest, touched?.happenedAt ?? Number.NEGATIVE_INFINITY);
  }, Number.POSITIVE_INFINITY);
}

function undoFindings(site: Site, entries: readonly JournalEntry[], candidates: readonly JournalEntry[]): Finding[] {
  const ids = new Set(entries.map((entry) => entry.id));
  const undoneBy = undoneEntries(entries);
  return candidates.flatMap((candidate, index): Finding[] => {
    if (candidate.event.kind !== 'undo') return [];
    const { entryId } = candidate.event;
    const path = `/${index}/entryId`;
    if (!ids.has(entryId))
      return [
        { path, expected: `an entry of the journal of ${site.name}`, got: String(entryId), code: 'invalid-input' },
      ];
    const undo = undoneBy.get(entryId);
    if (undo !== undefined)
      return [
        {
          path,
          expected: 'an entry that still stands',
          got: `${entryId}, undone by entry ${undo}`,
          mend: `To bring it back, undo entry ${undo}.`,
          code: 'conflict',
        },
      ];
    // A second undo of the same entry in one request meets this one.
    undoneBy.set(entryId, candidate.id);
    return [];
  });
}

function refusal(findings: readonly (Problem & { readonly code?: Finding['code'] })[]): LeafturnError {
  const codes = new Set(findings.map(({ code }) => code ?? 'invalid-input'));
  const [code] = codes.size === 1 ? codes : ['invalid-input' as const];
  const problems = findings.map(({ code: _code, ...problem }) => problem);
  const count = problems.length === 1 ? 'One thing is' : `${problems.length} things are`;
  return new LeafturnError(code ?? 'invalid-input', `${count} wrong; nothing was entered.`, problems);
}
