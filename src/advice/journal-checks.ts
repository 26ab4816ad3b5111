import type { BatchState, BenchState, OpenCollection } from '../domain/collection.js';
import type { Problem } from '../domain/errors.js';
import type { JournalEvent } from '../domain/journal.js';
import { didYouMean } from '../domain/problems.js';
import { findHouse, type Site } from '../domain/site.js';
import { clockAt, dayInWords, localDayOf } from '../domain/time.js';

/** Ids of the catalogue an entry may name. */
export interface CatalogueIds {
  readonly groups: readonly string[];
  readonly pots: readonly string[];
  readonly mixes: readonly string[];
}

/** What an entry is checked against: the site, and the collection as it stood just before the entry. */
export interface Standing {
  readonly site: Site;
  readonly ids: CatalogueIds;
  readonly state: OpenCollection;
  /** Batches and benches of now, for entries that come late: what is unknown then may be known later. */
  readonly later?: {
    readonly batches: ReadonlyMap<string, BatchState>;
    readonly benches: ReadonlyMap<string, BenchState>;
  };
}

/** A problem and what kind of answer it asks for. */
export interface Finding extends Problem {
  readonly code: 'invalid-input' | 'conflict' | 'already-ended';
}

type Event<K extends JournalEvent['kind']> = Extract<JournalEvent, { kind: K }>;

/** `Tuesday 3 March 2026 at 07:12` on the wall clock of the site. */
export const momentInWords = (site: Site, at: number): string =>
  `${dayInWords(localDayOf(site.zone, at))} at ${clockAt(site.zone, at)}`;

/**
 * Everything that keeps an event from standing where it is put. Paths are JSON pointers into the event. An undo speaks
 * of other entries, not of the collection, and is checked by the keeper.
 */
export function eventFindings(event: JournalEvent, at: number, standing: Standing): Finding[] {
  const check = new Checks(at, standing);
  switch (event.kind) {
    case 'bench-added':
      check.unused('/benchId', event.benchId, standing.state.benches);
      check.houseAndLine(event.houseId, event.lineId);
      break;
    case 'bench-changed': {
      const bench = check.bench('/benchId', event.benchId);
      if (bench && typeof event.lineId === 'string') check.lineOfHouse(bench.houseId, event.lineId);
      if (event.name === undefined && event.lineId === undefined && event.exposure === undefined)
        check.add('', 'at least one of name, lineId, exposure', 'none of them');
      break;
    }
    case 'batch-created':
      check.unused('/batchId', event.batchId, standing.state.batches);
      check.oneOf('/group', 'a species group of the catalogue', event.group, standing.ids.groups);
      check.oneOf('/potId', 'a pot of the catalogue', event.potId, standing.ids.pots);
      check.oneOf('/mixId', 'a mix of the catalogue', event.mixId, standing.ids.mixes);
      check.bench('/benchId', event.benchId);
      check.notAfterToday('/sownOn', event.sownOn);
      break;
    case 'batch-changed': {
      check.livingBatch('/batchId', event.batchId);
      if (event.group !== undefined)
        check.oneOf('/group', 'a species group of the catalogue', event.group, standing.ids.groups);
      check.notAfterToday('/sownOn', event.sownOn);
      const { kind: _kind, batchId: _batchId, ...changes } = event;
      if (Object.values(changes).every((change) => change === undefined))
        check.add('', 'at least one of name, group, potCount, sownOn, originZone, worth', 'none of them');
      break;
    }
    case 'batch-moved':
      check.livingBatch('/batchId', event.batchId);
      check.bench('/benchId', event.benchId);
      break;
    case 'batch-split':
      split(check, event, standing);
      break;
    case 'batch-ended':
      check.livingBatch('/batchId', event.batchId);
      break;
    case 'loss': {
      const batch = check.livingBatch('/batchId', event.batchId);
      if (batch && event.potCount > batch.potCount)
        check.add('/potCount', `at most the ${batch.potCount} pots of ${batch.batchId}`, String(event.potCount));
      break;
    }
    case 'watering':
      watering(check, event);
      break;
    case 'signs':
      signs(check, event);
      break;
    case 'repotting':
      check.livingBatches(event.batchIds);
      if (event.potId !== undefined) check.oneOf('/potId', 'a pot of the catalogue', event.potId, standing.ids.pots);
      if (event.mixId !== undefined) check.oneOf('/mixId', 'a mix of the catalogue', event.mixId, standing.ids.mixes);
      break;
    case 'cloth': {
      const house = check.house(event.houseId);
      if (house && event.clothId !== null)
        check.oneOf(
          '/clothId',
          `a cloth of ${house.name}, or null for none`,
          event.clothId,
          house.cloths.map((cloth) => cloth.id),
        );
      break;
    }
    case 'task-done':
      taskDone(check, event);
      break;
    case 'note':
      if (event.houseId !== undefined) check.house(event.houseId);
      if (event.benchId !== undefined) check.bench('/benchId', event.benchId);
      for (const [index, batchId] of (event.batchIds ?? []).entries()) check.batch(`/batchIds/${index}`, batchId);
      break;
    case 'undo':
      break;
  }
  return check.findings;
}

function split(check: Checks, event: Event<'batch-split'>, standing: Standing): void {
  const batch = check.livingBatch('/batchId', event.batchId);
  check.unused('/newBatchId', event.newBatchId, standing.state.batches);
  check.bench('/benchId', event.benchId);
  if (batch && event.potCount >= batch.potCount)
    check.add('/potCount', `fewer than the ${batch.potCount} pots of ${batch.batchId}`, String(event.potCount), {
      mend: 'To take all of them to another bench, move the batch.',
    });
}

function watering(check: Checks, event: Event<'watering'>): void {
  const batches = check.livingBatches(event.batchIds);
  check.notAfterToday('/day', event.day);
  if (event.lineId !== undefined)
    for (const [index, batch] of batches.entries()) {
      const bench = batch && check.benchOf(batch);
      if (bench && bench.lineId !== event.lineId)
        check.add(
          `/batchIds/${index}`,
          `a batch on the line ${event.lineId}`,
          `${batch.batchId}, on ${bench.lineId ? `the line ${bench.lineId}` : 'a bench without a line'}`,
          { mend: 'Leave it out, or leave lineId out when it was watered by hand.' },
        );
    }
  if (event.answer === 'skipped' && event.amount !== 'none')
    check.add('/amount', 'none, because the drink was skipped', event.amount);
  if (event.amount === 'none' && (event.mlPerPot ?? 0) > 0)
    check.add('/mlPerPot', '0, or nothing, with amount none', String(event.mlPerPot));
  if (event.amount !== 'none' && event.mlPerPot === 0)
    check.add('/mlPerPot', `more than 0 mL with amount ${event.amount}`, '0', {
      mend: 'Leave mlPerPot out when it was not measured.',
    });
}

function signs(check: Checks, event: Event<'signs'>): void {
  check.livingBatches(event.batchIds);
  const { kind: _kind, batchIds: _batchIds, signs: seen, gone, ...looks } = event;
  if (seen.length + gone.length === 0 && Object.values(looks).every((look) => look === undefined))
    check.add('', 'at least one thing seen', 'none', {
      mend: 'Give phase, stage, firmness, oldPair, newPair, sheathed, substrate, signs or gone.',
    });
  if (event.stage !== undefined && event.phase !== undefined && event.phase !== 'leaf-replacement')
    check.add('/stage', 'a stage only with the phase leaf-replacement', `${event.stage} with ${event.phase}`);
  for (const [index, sign] of gone.entries())
    if (seen.includes(sign)) check.add(`/gone/${index}`, 'a sign that is not also seen now', sign);
}

function taskDone(check: Checks, event: Event<'task-done'>): void {
  const { task, batchIds, houseId } = event;
  if (batchIds !== undefined && houseId !== undefined)
    check.add('', 'batchIds or houseId', 'both', {
      mend: 'Give houseId where the whole house was meant, else the batches.',
    });
  else if (batchIds === undefined && houseId === undefined)
    check.add('', `batchIds or houseId: where ${task} was done`, 'neither');
  if (batchIds) check.livingBatches(batchIds);
  if (houseId !== undefined) check.house(houseId);
}

/** Collects what is wrong with one event. */
class Checks {
  readonly findings: Finding[] = [];
  readonly #at: number;
  readonly #standing: Standing;

  constructor(at: number, standing: Standing) {
    this.#at = at;
    this.#standing = standing;
  }

  add(
    path: string,
    expected: string,
    got: string,
    { mend, code = 'invalid-input' }: { mend?: string | undefined; code?: Finding['code'] } = {},
  ): void {
    this.findings.push({ path, expected, got, ...(mend !== undefined && { mend }), code });
  }

  unused(path: string, id: string, taken: ReadonlyMap<string, unknown>): void {
    if (!taken.has(id)) return;
    let next = 2;
    while (taken.has(`${id}-${next}`)) next += 1;
    this.add(path, 'an id that is not used yet', id, { mend: `${id}-${next} is free.`, code: 'conflict' });
  }

  oneOf(path: string, expected: string, id: string, known: readonly string[]): void {
    if (known.includes(id)) return;
    const list = known.length > 0 && known.length <= 20 ? `Known: ${known.join(', ')}.` : undefined;
    this.add(path, expected, id, {
      mend: didYouMean(id, known) ?? (known.length === 0 ? 'There are none yet.' : list),
    });
  }

  house(houseId: string) {
    const { site } = this.#standing;
    const house = findHouse(site, houseId);
    if (!house)
      this.oneOf(
        '/houseId',
        `a house of ${site.name}`,
        houseId,
        site.houses.map(({ id }) => id),
      );
    return house;
  }

  houseAndLine(houseId: string, lineId: string | undefined): void {
    if (this.house(houseId) && lineId !== undefined) this.lineOfHouse(houseId, lineId);
  }

  lineOfHouse(houseId: string, lineId: string): void {
    const house = findHouse(this.#standing.site, houseId);
    // A house taken out of the configuration has lines nobody can check any more.
    if (!house) return;
    this.oneOf(
      '/lineId',
      `a watering line of ${house.name}`,
      lineId,
      house.lines.map(({ id }) => id),
    );
  }

  bench(path: string, benchId: string): BenchState | undefined {
    const bench = this.#standing.state.benches.get(benchId);
    if (!bench) this.#unknown(path, 'bench', benchId, this.#standing.state.benches, this.#standing.later?.benches);
    return bench;
  }

  benchOf(batch: BatchState): BenchState | undefined {
    return this.#standing.state.benches.get(batch.benchId);
  }

  batch(path: string, batchId: string): BatchState | undefined {
    const batch = this.#standing.state.batches.get(batchId);
    if (!batch) this.#unknown(path, 'batch', batchId, this.#standing.state.batches, this.#standing.later?.batches);
    return batch;
  }

  livingBatch(path: string, batchId: string): BatchState | undefined {
    const batch = this.batch(path, batchId);
    if (batch?.endedAt === undefined) return batch;
    this.add(path, 'a batch that is still there', `${batchId}, ended on ${this.#moment(batch.endedAt)}`, {
      mend: 'If it ended by mistake, undo that entry.',
      code: 'already-ended',
    });
    return undefined;
  }

  livingBatches(batchIds: readonly string[]): (BatchState | undefined)[] {
    const first = new Map<string, number>();
    return batchIds.map((batchId, index) => {
      const before = first.get(batchId);
      if (before !== undefined) this.add(`/batchIds/${index}`, 'every batch once', `${batchId} again`);
      else first.set(batchId, index);
      return this.livingBatch(`/batchIds/${index}`, batchId);
    });
  }

  notAfterToday(path: string, day: string | undefined): void {
    const today = localDayOf(this.#standing.site.zone, this.#at);
    if (day !== undefined && day > today) this.add(path, `${today} or earlier, the day it happened`, day);
  }

  #unknown(
    path: string,
    what: 'bench' | 'batch',
    id: string,
    known: ReadonlyMap<string, unknown>,
    later: ReadonlyMap<string, unknown> | undefined,
  ): void {
    if (later?.has(id))
      this.add(path, `a ${what} that was there on ${this.#moment(this.#at)}`, id, {
        mend: `The ${what} came later: give a later happenedAt.`,
      });
    else this.oneOf(path, `a ${what} of ${this.#standing.site.name}`, id, [...known.keys()]);
  }

  #moment(at: number): string {
    return momentInWords(this.#standing.site, at);
  }
}
