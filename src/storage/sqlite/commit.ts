import type { Database } from 'better-sqlite3';
import { LeafturnError } from '../../domain/errors.js';
import type { CheckedReading, CommitResult, IngestBatch, Refusal } from '../repositories.js';
import {
  addLine,
  addValue,
  type DayBucket,
  dayBucketAt,
  type HourBucket,
  hourBucketAt,
  type Point,
} from '../roll-up.js';
import { slotOf } from '../slot.js';
import { MESSAGES, PRUNED_BEFORE } from '../totals.js';
import { toDatabaseError } from '../trouble.js';
import { SeriesBook, type SeriesState, sumsColumns } from './series-book.js';
import { prepareStatements, ROWS_AT_ONCE, type Statements } from './statements.js';

/**
 * Takes a point that comes after all others of its series: the open bucket takes the line to it and its value, or is
 * closed and the next one opened. Returns the bucket that is open then.
 */
function advance<B extends HourBucket | DayBucket>(
  openBucket: B,
  bucketAt: (atMs: number) => B,
  close: (bucket: B) => void,
  last: Point,
  point: Point,
  joined: boolean,
): B {
  let open = openBucket;
  if (joined) {
    let fromMs = last.at;
    while (point.at >= open.endMs) {
      const endMs = open.endMs;
      addLine(open, last, point, fromMs, endMs);
      close(open);
      fromMs = endMs;
      open = bucketAt(endMs);
    }
    if (point.at > fromMs) addLine(open, last, point, fromMs, point.at);
  } else if (point.at >= open.endMs) {
    close(open);
    open = bucketAt(point.at);
  }
  addValue(open, point.value);
  return open;
}

function checkReading(reading: CheckedReading): void {
  if (Number.isFinite(reading.value) && Number.isSafeInteger(reading.at)) return;
  throw new LeafturnError('invalid-input', 'A reading cannot be kept: its value or its time is not a number.', [
    {
      path: `${reading.siteId}/${reading.sensorId}/${reading.quantity}`,
      expected: 'a finite value and a time in whole milliseconds',
      got: `value ${reading.value}, time ${reading.at}`,
      mend: 'Readings must pass the checks before they are committed.',
    },
  ]);
}

function inOrderOfTime(readings: readonly CheckedReading[]): readonly CheckedReading[] {
  for (let index = 1; index < readings.length; index += 1) {
    if ((readings[index] as CheckedReading).at < (readings[index - 1] as CheckedReading).at) {
      return [...readings].sort((a, b) => a.at - b.at);
    }
  }
  return readings;
}

interface NewRow {
  readonly slot: number;
  readonly seriesId: number;
  readonly at: number;
  readonly value: number;
  readonly flagMask: number;
}

/**
 * One transaction for everything a batch brings: readings, roll-ups, the counts of each series, refusals. It runs on
 * the writing connection without a pause, and must be called while nobody else uses that connection.
 */
export class Committer {
  readonly #statements: Statements;
  readonly #book: SeriesBook;
  readonly #db: Database;
  readonly #dataVersion: () => number;
  readonly #zoneOf: (siteId: string) => string;
  #seenVersion = -1;
  #newRows: NewRow[] = [];

  constructor(db: Database, zoneOf: (siteId: string) => string) {
    this.#db = db;
    this.#zoneOf = zoneOf;
    this.#statements = prepareStatements(db);
    this.#book = new SeriesBook(this.#statements, zoneOf);
    const version = db.prepare<[], number>('PRAGMA data_version').pluck();
    this.#dataVersion = () => version.get() ?? -1;
  }

  commit(batch: IngestBatch): CommitResult {
    batch.readings.forEach(checkReading);
    try {
      this.#statements.begin.run();
      const version = this.#dataVersion();
      if (version !== this.#seenVersion) {
        this.#book.forget();
        this.#seenVersion = version;
      }
      const result = this.#take(batch);
      this.#statements.commit.run();
      return result;
    } catch (error) {
      // What is in memory has gone ahead of what is on disk.
      this.#book.forget();
      this.#newRows = [];
      if (this.#db.inTransaction) this.#statements.rollback.run();
      throw toDatabaseError(error);
    }
  }

  #take(batch: IngestBatch): CommitResult {
    const touched = new Set<SeriesState>();
    let stored = 0;
    for (const reading of inOrderOfTime(batch.readings)) {
      const known = this.#book.find(reading);
      const state = known ?? this.#book.open(reading);
      touched.add(state);
      if (reading.receivedAt > state.lastReceivedAt) state.lastReceivedAt = reading.receivedAt;
      if (this.#keep(state, reading, known === undefined)) {
        state.stored += 1;
        stored += 1;
      } else {
        state.duplicates += 1;
      }
    }
    this.#writeNew();
    for (const state of touched) this.#book.save(state);
    for (const refusal of batch.refusals) this.#refuse(refusal);
    if (batch.messages > 0) this.#statements.addToTotal.run(MESSAGES, batch.messages);
    return { stored, duplicates: batch.readings.length - stored, refused: batch.refusals.length };
  }

  /** False when the series has a reading of that time already: the first one stays. */
  #keep(state: SeriesState, reading: CheckedReading, first: boolean): boolean {
    const { at, value } = reading;
    if (at === state.lastAt && !first) return false;
    if (first || at > state.lastAt) {
      // Newer than all of its series, so there cannot be such a row yet: written later, many at once.
      this.#newRows.push({ slot: slotOf(at), seriesId: state.id, at, value, flagMask: reading.flagMask });
      if (first) {
        addValue(state.hour, value);
        addValue(state.day, value);
      } else this.#takeNewest(state, { at, value });
      return true;
    }
    this.#writeNew();
    const { changes } = this.#statements.addReading.run(slotOf(at), state.id, at, value, reading.flagMask);
    if (changes === 0) return false;
    this.#takeLate(state, { at, value });
    return true;
  }

  /** In the order of the key, so that each page of the table is visited once. */
  #writeNew(): void {
    const rows = this.#newRows;
    if (rows.length === 0) return;
    rows.sort((a, b) => a.slot - b.slot || a.seriesId - b.seriesId || a.at - b.at);
    const whole = rows.length - (rows.length % ROWS_AT_ONCE);
    for (let from = 0; from < whole; from += ROWS_AT_ONCE) {
      const values: number[] = [];
      for (let index = from; index < from + ROWS_AT_ONCE; index += 1) {
        const row = rows[index] as NewRow;
        values.push(row.slot, row.seriesId, row.at, row.value, row.flagMask);
      }
      this.#statements.addReadings.run(values);
    }
    for (let index = whole; index < rows.length; index += 1) {
      const row = rows[index] as NewRow;
      this.#statements.addReading.run(row.slot, row.seriesId, row.at, row.value, row.flagMask);
    }
    this.#newRows = [];
  }

  #takeNewest(state: SeriesState, point: Point): void {
    const last = { at: state.lastAt, value: state.lastValue };
    const joined = point.at - last.at <= state.holdMs;
    state.hour = advance(state.hour, hourBucketAt, (hour) => this.#mergeHour(state, hour), last, point, joined);
    state.day = advance(
      state.day,
      (atMs) => dayBucketAt(this.#zoneOf(state.siteId), atMs),
      (day) => this.#mergeDay(state, day),
      last,
      point,
      joined,
    );
    state.lastAt = point.at;
    state.lastValue = point.value;
  }

  /**
   * A point between or before others. The line that joined its neighbours is replaced by the two that go through it.
   *
   * Where its neighbours may have been pruned, nobody can tell which lines were drawn: the point is counted, and the
   * integral with its covered time stays what it was, so that it never claims more than it holds.
   */
  #takeLate(state: SeriesState, point: Point): void {
    this.#changeBuckets(state, point.at, point.at + 1, (bucket) => addValue(bucket, point.value));
    const prunedBefore = this.#statements.total.get(PRUNED_BEFORE) ?? Number.NEGATIVE_INFINITY;
    if (point.at < prunedBefore) return;
    const before = this.#neighbourBefore(state, point.at, prunedBefore);
    if (!before && point.at - state.holdMs < prunedBefore) return;
    const after = this.#neighbourAfter(state, point.at);
    if (before && after && after.at - before.at <= state.holdMs) this.#changeLine(state, before, after, -1);
    if (before) this.#changeLine(state, before, point, 1);
    if (after) this.#changeLine(state, point, after, 1);
  }

  #changeLine(state: SeriesState, a: Point, b: Point, sign: 1 | -1): void {
    this.#changeBuckets(state, a.at, b.at, (bucket, fromMs, toMs) => addLine(bucket, a, b, fromMs, toMs, sign));
  }

  /** Applies a change to every hour and every day between two instants: the open one in memory, the others in their table. */
  #changeBuckets(
    state: SeriesState,
    fromMs: number,
    toMs: number,
    change: (bucket: HourBucket | DayBucket, fromMs: number, toMs: number) => void,
  ): void {
    const walk = <B extends HourBucket | DayBucket>(
      open: B,
      bucketAt: (atMs: number) => B,
      merge: (bucket: B) => void,
    ): void => {
      for (let at = fromMs; at < toMs; ) {
        const isOpen = at >= open.startMs && at < open.endMs;
        const bucket = isOpen ? open : bucketAt(at);
        const untilMs = Math.min(toMs, bucket.endMs);
        change(bucket, at, untilMs);
        if (!isOpen) merge(bucket);
        at = untilMs;
      }
    };
    walk(state.hour, hourBucketAt, (hour) => this.#mergeHour(state, hour));
    walk(
      state.day,
      (atMs) => dayBucketAt(this.#zoneOf(state.siteId), atMs),
      (day) => this.#mergeDay(state, day),
    );
  }

  #mergeHour(state: SeriesState, hour: HourBucket): void {
    this.#statements.mergeHour.run(state.id, hour.startMs, ...sumsColumns(hour));
  }

  #mergeDay(state: SeriesState, day: DayBucket): void {
    this.#statements.mergeDay.run(state.id, day.key, day.startMs, ...sumsColumns(day));
  }

  #neighbourBefore(state: SeriesState, at: number, prunedBefore: number): Point | undefined {
    const earliest = Math.max(at - state.holdMs, prunedBefore);
    for (let slot = slotOf(at); slot >= slotOf(earliest); slot -= 1) {
      const row = this.#statements.lastInSlotBefore.get(slot, state.id, at);
      if (row) return row.at >= earliest ? row : undefined;
    }
    return undefined;
  }

  #neighbourAfter(state: SeriesState, at: number): Point | undefined {
    const latest = Math.min(at + state.holdMs, state.lastAt);
    for (let slot = slotOf(at); slot <= slotOf(latest); slot += 1) {
      const row = this.#statements.firstInSlotAfter.get(slot, state.id, at);
      if (row) return row.at <= latest ? row : undefined;
    }
    return undefined;
  }

  #refuse(refusal: Refusal): void {
    const { at, topic, siteId, sensorId, quantity, reason, sentence, excerpt } = refusal;
    this.#statements.addRefusal.run(at, topic, siteId, sensorId, quantity, reason, sentence, excerpt);
    this.#statements.countRefusal.run(siteId ?? '', sensorId ?? '', quantity ?? '', reason, at, sentence);
  }
}
