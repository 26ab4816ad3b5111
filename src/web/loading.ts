import { createHash, randomUUID } from 'node:crypto';
import type { FastifyRequest } from 'fastify';
import type { BatchState, Collection } from '../domain/collection.js';
import { LeafturnError } from '../domain/errors.js';
import { findHouse, type House, type Site } from '../domain/site.js';
import type { LocalDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import type { PageDeps } from './deps.js';
import type { PageContext } from './parts/context.js';
import { adviceOf, type RowView, rowView, type TodayView, todayView } from './today-view.js';
import { headline } from './words.js';

export function pageContext(deps: PageDeps, request: FastifyRequest, site: Site): PageContext {
  return {
    site,
    severalSites: deps.sites().length > 1,
    now: deps.now(),
    key: randomUUID(),
    reader: deps.reader(request),
  };
}

export function siteOf(deps: PageDeps, siteId: string): Site {
  const site = deps.sites().find((one) => one.id === siteId);
  if (!site) throw new LeafturnError('not-found', `There is no site called ${siteId}.`);
  return site;
}

export function houseOf(site: Site, houseId: string): House {
  const house = findHouse(site, houseId);
  if (!house) throw new LeafturnError('not-found', `There is no house called ${houseId} at ${site.name}.`);
  return house;
}

export function batchOf({ batches }: Collection, site: Site, batchId: string): BatchState {
  const batch = batches.get(batchId);
  if (!batch) throw new LeafturnError('not-found', `There is no batch called ${batchId} at ${site.name}.`);
  return batch;
}

/** Today's list, or the last one there is: an old list that says so is better than none. */
export async function currentRound(deps: PageDeps, siteId: string, today: LocalDay): Promise<Round | undefined> {
  const round = await deps.round(siteId, today);
  if (round) return round;
  const day = await deps.latestDay(siteId, today);
  return day === undefined ? undefined : deps.round(siteId, day);
}

/** Changes whenever the list would read differently: another verdict, or something done about it. */
export function digestOf(round: Round, view: TodayView): string {
  const hash = createHash('sha256').update(`${round.day};${round.look.length};`);
  for (const house of view.houses)
    for (const { line, benches } of house.lines) {
      hash.update(`${line.lineId},${line.action};`);
      for (const bench of benches)
        for (const row of [...bench.rows, ...bench.dry])
          hash.update(`${row.advice.batchId},${headline(row.advice.verdict)},${row.done?.entryId ?? ''};`);
    }
  for (const { item, looked } of view.look) hash.update(`${item.batchId},${looked};`);
  for (const { task, done } of view.tasks) hash.update(`${task.id},${task.batches},${done?.at ?? ''};`);
  return hash.digest('hex').slice(0, 16);
}

export interface Loaded {
  readonly round: Round;
  readonly collection: Collection;
  readonly view: TodayView;
  readonly digest: string;
}

export async function loadList(
  deps: PageDeps,
  site: Site,
  round: Round,
  was?: ReadonlyMap<string, string>,
): Promise<Loaded> {
  const collection = await deps.collection(site.id);
  const view = todayView(site, round, collection, was);
  return { round, collection, view, digest: digestOf(round, view) };
}

/** Rows of the list by batch, for the pages that show some of them. */
export function rowsById(site: Site, round: Round, collection: Collection): Map<string, RowView> {
  const rows = new Map<string, RowView>();
  for (const { advice } of adviceOf(round)) rows.set(advice.batchId, rowView(site, round, collection, advice));
  return rows;
}
