import { type Quantity, quantityInfo } from '../../domain/quantities.js';
import type { CheckedReading, SeriesKey } from '../repositories.js';
import {
  type DayBucket,
  dayBucketAt,
  emptySums,
  HOUR_MS,
  type HourBucket,
  hourBucketAt,
  type Sums,
} from '../roll-up.js';
import type { Statements, StoredState } from './statements.js';

/** What a commit must know of a series: its newest reading and the hour and day that reading falls in. */
export interface SeriesState {
  readonly id: number;
  readonly siteId: string;
  readonly holdMs: number;
  houseId: string | null;
  benchId: string | null;
  placement: string;
  lastAt: number;
  lastValue: number;
  lastReceivedAt: number;
  stored: number;
  duplicates: number;
  hour: HourBucket;
  day: DayBucket;
  /** Not yet in `series_state`. */
  fresh: boolean;
}

/** By site, sensor and quantity. Three looks are quicker than joining three texts to one key for every reading. */
class SeriesMap {
  readonly #sites = new Map<string, Map<string, Map<string, SeriesState>>>();

  get({ siteId, sensorId, quantity }: SeriesKey): SeriesState | undefined {
    return this.#sites.get(siteId)?.get(sensorId)?.get(quantity);
  }

  set({ siteId, sensorId, quantity }: SeriesKey, state: SeriesState): void {
    const sensors = this.#sites.get(siteId) ?? new Map<string, Map<string, SeriesState>>();
    const quantities = sensors.get(sensorId) ?? new Map<string, SeriesState>();
    this.#sites.set(siteId, sensors.set(sensorId, quantities.set(quantity, state)));
  }
}

const holdMsOf = (quantity: string): number => quantityInfo(quantity as Quantity).holdMinutes * 60_000;
const orNull = (bound: number): number | null => (Number.isFinite(bound) ? bound : null);

/** The parameters of a bucket in the order of the statements. */
export const sumsColumns = (sums: Sums) =>
  [sums.count, orNull(sums.min), orNull(sums.max), sums.sum, sums.integral, sums.coveredMs] as const;

function stateOf(row: StoredState): SeriesState {
  return {
    id: row.series_id,
    siteId: row.site_id,
    holdMs: holdMsOf(row.quantity),
    houseId: row.house_id,
    benchId: row.bench_id,
    placement: row.placement,
    lastAt: row.last_at,
    lastValue: row.last_value,
    lastReceivedAt: row.last_received_at,
    stored: row.stored,
    duplicates: row.duplicates,
    hour: {
      key: row.hour_start,
      startMs: row.hour_start,
      endMs: row.hour_start + HOUR_MS,
      count: row.hour_count,
      min: row.hour_min ?? emptySums().min,
      max: row.hour_max ?? emptySums().max,
      sum: row.hour_sum,
      integral: row.hour_integral,
      coveredMs: row.hour_covered_ms,
    },
    day: {
      key: row.day,
      startMs: row.day_start,
      endMs: row.day_end,
      count: row.day_count,
      min: row.day_min ?? emptySums().min,
      max: row.day_max ?? emptySums().max,
      sum: row.day_sum,
      integral: row.day_integral,
      coveredMs: row.day_covered_ms,
    },
    fresh: false,
  };
}

/**
 * The series in memory. It is what the last commit left in the database, no more: after a failure, and when another
 * program wrote, it is thrown away and read again.
 */
export class SeriesBook {
  readonly #statements: Statements;
  readonly #zoneOf: (siteId: string) => string;
  #series: SeriesMap | undefined;

  constructor(statements: Statements, zoneOf: (siteId: string) => string) {
    this.#statements = statements;
    this.#zoneOf = zoneOf;
  }

  forget(): void {
    this.#series = undefined;
  }

  #load(): SeriesMap {
    const byKey = new SeriesMap();
    for (const row of this.#statements.loadStates.all()) {
      byKey.set({ siteId: row.site_id, sensorId: row.sensor_id, quantity: row.quantity as Quantity }, stateOf(row));
    }
    this.#series = byKey;
    return byKey;
  }

  /** The state of a known series, or undefined at its first reading. Follows a sensor that was moved. */
  find(reading: CheckedReading): SeriesState | undefined {
    const state = (this.#series ?? this.#load()).get(reading);
    if (!state) return undefined;
    if (
      state.houseId !== reading.houseId ||
      state.benchId !== reading.benchId ||
      state.placement !== reading.placement
    ) {
      this.#statements.moveSeries.run(reading.houseId, reading.benchId, reading.placement, state.id);
      state.houseId = reading.houseId;
      state.benchId = reading.benchId;
      state.placement = reading.placement;
    }
    return state;
  }

  /** A new series with its first reading not yet counted. */
  open(reading: CheckedReading): SeriesState {
    const { siteId, sensorId, quantity, houseId, benchId, placement, at, value, receivedAt } = reading;
    const { lastInsertRowid } = this.#statements.addSeries.run(siteId, sensorId, quantity, houseId, benchId, placement);
    const state: SeriesState = {
      id: Number(lastInsertRowid),
      siteId,
      holdMs: holdMsOf(quantity),
      houseId,
      benchId,
      placement,
      lastAt: at,
      lastValue: value,
      lastReceivedAt: receivedAt,
      stored: 0,
      duplicates: 0,
      hour: hourBucketAt(at),
      day: dayBucketAt(this.#zoneOf(siteId), at),
      fresh: true,
    };
    (this.#series ?? this.#load()).set(reading, state);
    return state;
  }

  save(state: SeriesState): void {
    const statement = state.fresh ? this.#statements.addState : this.#statements.saveState;
    statement.run(
      state.lastAt,
      state.lastValue,
      state.lastReceivedAt,
      state.stored,
      state.duplicates,
      state.hour.startMs,
      ...sumsColumns(state.hour),
      state.day.key,
      state.day.startMs,
      state.day.endMs,
      ...sumsColumns(state.day),
      state.id,
    );
    state.fresh = false;
  }
}
