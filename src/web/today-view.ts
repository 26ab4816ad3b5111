import type { BatchState, Collection, WateringDone } from '../domain/collection.js';
import type { Site } from '../domain/site.js';
import { localDayOf } from '../domain/time.js';
import type { BatchAdvice, HouseAdvice, LineAdvice, LookItem, Round } from '../domain/verdict.js';
import { type TaskView, tasksView } from './tasks-view.js';
import { type RowKind, rowKind } from './words.js';

/** What was done about a batch on the day of the list. */
export interface RowDone {
  readonly entryId: number;
  readonly at: number;
  readonly by: string;
  readonly answer: string;
  readonly amount: WateringDone['amount'];
  readonly mlPerPot?: number;
  /** The line that ran; its entry stands for every batch on it. */
  readonly lineId?: string;
}

export interface RowView {
  readonly advice: BatchAdvice;
  readonly kind: RowKind;
  readonly done?: RowDone;
  /** The verdict it had when the list was last read. */
  readonly was?: string;
}

export interface BenchRows {
  readonly benchId: string;
  readonly benchName: string;
  /** In walking order: drinks, looks and waits, done or not. */
  readonly rows: readonly RowView[];
  /** Stay dry and nothing was done: folded away under their number. */
  readonly dry: readonly RowView[];
  readonly dryPots: number;
}

export interface LineView {
  readonly line: LineAdvice;
  readonly benches: readonly BenchRows[];
  /** Batches a run of the line would still answer. Empty unless the line may run. */
  readonly toRun: readonly RowView[];
  /** The run that was noted, when one was. */
  readonly ran?: RowDone;
  readonly left: number;
}

export interface HouseView {
  readonly house: HouseAdvice;
  readonly lines: readonly LineView[];
  readonly left: number;
  readonly done: number;
  readonly looks: number;
  readonly litresLeft: number;
  /** Kind of alert → batches that give reason for it. */
  readonly alerts: readonly (readonly [kind: string, batches: number])[];
}

export interface LookView {
  readonly item: LookItem;
  /** Somebody looked after the list was made; the next list takes it up. */
  readonly looked: boolean;
}

export interface TodayView {
  readonly houses: readonly HouseView[];
  readonly look: readonly LookView[];
  readonly looksLeft: number;
  /** Lines to run and batches to water by hand that have not been answered. */
  readonly left: number;
  readonly linesLeft: number;
  readonly done: number;
  readonly litresLeft: number;
  readonly batches: number;
  readonly tasks: readonly TaskView[];
}

/**
 * What was done about a batch, read from the journal rather than from the list: an entry stands on the page at once,
 * before a new revision of the list is made, and an undone one is gone at once.
 */
export function doneToday(site: Site, round: Round, batch: BatchState | undefined): RowDone | undefined {
  const watering = batch?.waterings.findLast((one) => (one.day ?? localDayOf(site.zone, one.at)) === round.day);
  if (!watering) return undefined;
  const { entryId, at, by, answer, amount, mlPerPot, lineId } = watering;
  return {
    entryId,
    at,
    by,
    answer,
    amount,
    ...(mlPerPot !== undefined && { mlPerPot }),
    ...(lineId !== undefined && { lineId }),
  };
}

export const isDrink = (kind: RowKind): boolean => kind === 'full' || kind === 'light';

export function rowView(
  site: Site,
  round: Round,
  collection: Collection,
  advice: BatchAdvice,
  was?: ReadonlyMap<string, string>,
): RowView {
  const done = doneToday(site, round, collection.batches.get(advice.batchId));
  const before = was?.get(advice.batchId);
  return { advice, kind: rowKind(advice.verdict), ...(done && { done }), ...(before && { was: before }) };
}

function lineView(line: LineAdvice, rows: readonly RowView[]): LineView {
  const benches = new Map<string, RowView[]>();
  for (const row of rows) {
    const bench = benches.get(row.advice.benchId);
    if (bench) bench.push(row);
    else benches.set(row.advice.benchId, [row]);
  }
  const runs = line.action === 'run' && line.lineId !== null;
  const toRun = runs ? rows.filter((row) => !row.done) : [];
  const ran = runs ? rows.find((row) => row.done?.lineId === line.lineId)?.done : undefined;
  return {
    line,
    benches: [...benches].map(([benchId, all]) => {
      const dry = all.filter((row) => row.kind === 'dry' && !row.done);
      return {
        benchId,
        benchName: all[0]?.advice.benchName ?? benchId,
        rows: all.filter((row) => row.kind !== 'dry' || row.done),
        dry,
        dryPots: dry.reduce((pots, row) => pots + row.advice.potCount, 0),
      };
    }),
    toRun,
    ...(ran && { ran }),
    left: runs ? (toRun.length > 0 ? 1 : 0) : rows.filter((row) => isDrink(row.kind) && !row.done).length,
  };
}

/** True when something was seen on the batch that the list did not know of yet. */
function seenSince(batch: BatchState | undefined, journalId: number): boolean {
  if (!batch) return false;
  const looks = [batch.phase, batch.firmness, batch.oldPair, batch.newPair, batch.sheathed, batch.substrate];
  return [...looks, ...batch.signs.values()].some((seen) => seen !== undefined && seen.entryId > journalId);
}

function houseView(house: HouseAdvice, rowsOf: (line: LineAdvice) => RowView[], looks: readonly LookView[]): HouseView {
  const rowsByLine = house.lines.map((line) => ({ line, rows: rowsOf(line) }));
  const rows = rowsByLine.flatMap((one) => one.rows);
  const lines = rowsByLine.map((one) => lineView(one.line, one.rows));
  const alerts = new Map<string, number>();
  for (const row of rows) for (const kind of row.advice.verdict.alerts) alerts.set(kind, (alerts.get(kind) ?? 0) + 1);
  const ran = lines.filter((one) => one.line.action === 'run' && one.left === 0 && one.benches.length > 0).length;
  const byHand = lines
    .filter((one) => one.line.action !== 'run' || one.line.lineId === null)
    .flatMap((one) => one.benches.flatMap((bench) => bench.rows));
  return {
    house,
    lines,
    left: lines.reduce((sum, line) => sum + line.left, 0),
    done: ran + byHand.filter((row) => row.done).length,
    looks: looks.filter(({ item, looked }) => item.houseId === house.houseId && !looked).length,
    litresLeft: rows.filter((row) => isDrink(row.kind) && !row.done).reduce((sum, row) => sum + row.advice.litres, 0),
    alerts: [...alerts],
  };
}

/** The list as it is shown: the round, with what has been done since. */
export function todayView(
  site: Site,
  round: Round,
  collection: Collection,
  was?: ReadonlyMap<string, string>,
): TodayView {
  const rowsOf = (line: LineAdvice) => line.batches.map((advice) => rowView(site, round, collection, advice, was));
  const look = round.look.map((item) => ({
    item,
    looked: seenSince(collection.batches.get(item.batchId), round.journalId),
  }));
  const houses = round.houses.map((house) => houseView(house, rowsOf, look));
  return {
    houses,
    look,
    looksLeft: look.filter((one) => !one.looked).length,
    left: houses.reduce((sum, house) => sum + house.left, 0),
    linesLeft: houses.flatMap((house) => house.lines).filter((line) => line.toRun.length > 0).length,
    done: houses.reduce((sum, house) => sum + house.done, 0),
    litresLeft: houses.reduce((sum, house) => sum + house.litresLeft, 0),
    batches: round.houses.reduce((n, house) => n + house.lines.reduce((m, line) => m + line.batches.length, 0), 0),
    tasks: tasksView(site, round, collection),
  };
}

/** Every batch on the list with the house it stands in. */
export function* adviceOf(round: Round): Generator<{ house: HouseAdvice; line: LineAdvice; advice: BatchAdvice }> {
  for (const house of round.houses)
    for (const line of house.lines) for (const advice of line.batches) yield { house, line, advice };
}
