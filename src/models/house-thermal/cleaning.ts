/**
 * Samples of a house as they were logged, with what no working sensor says taken out: sentinels, blocks of zeros, stuck
 * sensors, days that are copies of the day before. A sample is never changed into a guess: what is not believed is null.
 *
 * Each value is judged by itself and by what came before it, never by what came after, so that a forecast made at some
 * moment of a record sees what the service would have seen then.
 */
import { QUANTITIES } from '../../domain/quantities.js';
import { sunPosition } from '../../science/sun.js';
import { MS_PER_HOUR } from '../../science/units.js';
import { STILL_DAYLIGHT_MS } from '../still-hours.js';
import type { ThermalColumn, ThermalPlace, ThermalSample, ThermalValues } from './record.js';
import { THERMAL_COLUMNS } from './record.js';

/** What a working sensor can say; humidity and light a little beyond, where offsets are known. */
const BOUNDS: Readonly<Record<ThermalColumn, readonly [number, number]>> = {
  insideTempC: [-30, 80],
  insideRelHumidityPct: [0, 105],
  outsideTempC: [-40, 60],
  outsideRelHumidityPct: [0, 105],
  outsideRadiationWm2: [-20, 1500],
};
/** Unchanged to the last digit for longer than this is stuck. */
const STUCK_MS = (QUANTITIES.airTempC.stuckAfterMinutes / 60) * MS_PER_HOUR;
/** Exactly 0 °C straight after a value so far from it, within the hour, is a logger that lost its sensor. */
const ZERO_JUMP_C = 5;
/** With the sun higher than this there is light under any cloud. */
const LIGHT_SURELY_DEG = 10;
/** The same as 24 hours before, digit by digit, for this long and through so many different values, is a copy. */
const COPIED_HOURS = 6;
const COPIED_DISTINCT = 10;
const LAG_MS = 24 * MS_PER_HOUR;

export type ThermalFault = 'impossible' | 'zero' | 'stuck' | 'copied';

export interface Removed {
  readonly column: ThermalColumn;
  readonly fault: ThermalFault;
  readonly count: number;
}

export interface CleanSamples {
  /** Rising in time, one per instant. */
  readonly samples: readonly ThermalSample[];
  /** How many values were taken out, and why. */
  readonly removed: readonly Removed[];
}

/** @param samples in any order; of several at one instant the last counts */
export function cleanSamples(samples: readonly ThermalSample[], place: ThermalPlace): CleanSamples {
  const byInstant = new Map<number, ThermalSample>();
  for (const sample of samples) if (Number.isFinite(sample.at)) byInstant.set(sample.at, sample);
  const rows = [...byInstant.values()].sort((a, b) => a.at - b.at);
  const judges = THERMAL_COLUMNS.map((column) => ({ column, judge: judgeOf(column, place) }));
  const counts = new Map<string, number>();
  const cleaned = rows.map((row) => {
    const values: { -readonly [Column in ThermalColumn]: number | null } = { ...NOTHING };
    for (const { column, judge } of judges) {
      const value = row[column];
      if (value === null) continue;
      const fault = judge(row);
      if (fault === undefined) values[column] = withoutOffset(column, value);
      else counts.set(`${column} ${fault}`, (counts.get(`${column} ${fault}`) ?? 0) + 1);
    }
    return { at: row.at, ...values };
  });
  const removed = [...counts].map(([key, count]) => {
    const [column, fault] = key.split(' ') as [ThermalColumn, ThermalFault];
    return { column, fault, count };
  });
  return { samples: cleaned, removed };
}

const NOTHING: ThermalValues = {
  insideTempC: null,
  insideRelHumidityPct: null,
  outsideTempC: null,
  outsideRelHumidityPct: null,
  outsideRadiationWm2: null,
};

const isHumidity = (column: ThermalColumn): boolean =>
  column === 'insideRelHumidityPct' || column === 'outsideRelHumidityPct';

/** 101 % of humidity, -3 W/m² at night: known offsets at the ends of the range. */
function withoutOffset(column: ThermalColumn, value: number): number {
  if (isHumidity(column)) return Math.min(100, value);
  return column === 'outsideRadiationWm2' ? Math.max(0, value) : value;
}

/** Judges the values of one column, row after row. */
function judgeOf(column: ThermalColumn, place: ThermalPlace): (row: ThermalSample) => ThermalFault | undefined {
  const [low, high] = BOUNDS[column];
  const isZero = zeroJudge(column, place);
  const isStuck = stuckJudge(column);
  const isCopied = copyJudge(column);
  return (row) => {
    const value = row[column] as number;
    if (!(value >= low && value <= high)) return 'impossible';
    if (isZero(row, value)) return 'zero';
    // Both must see every value, also one that the other has refused.
    const copied = isCopied(row.at, value);
    if (isStuck(row.at, value)) return 'stuck';
    return copied ? 'copied' : undefined;
  };
}

type Judge = (at: number, value: number) => boolean;

/** Zeros that no weather brings: no humidity at all, no light under a high sun, 0 °C out of nowhere. */
function zeroJudge(column: ThermalColumn, place: ThermalPlace): (row: ThermalSample, value: number) => boolean {
  if (isHumidity(column)) return (_row, value) => value === 0;
  if (column === 'outsideRadiationWm2')
    return (row, value) =>
      value === 0 && sunPosition(row.at, place.latitude, place.longitude).altitudeDeg > LIGHT_SURELY_DEG;
  const partner: ThermalColumn = column === 'insideTempC' ? 'insideRelHumidityPct' : 'outsideRelHumidityPct';
  let before: { readonly at: number; readonly value: number; readonly lost: boolean } | undefined;
  return (row, value) => {
    const jumped =
      before !== undefined &&
      row.at - before.at <= MS_PER_HOUR &&
      (before.lost || Math.abs(before.value) >= ZERO_JUMP_C);
    const lost = value === 0 && (row[partner] === 0 || jumped);
    before = { at: row.at, value, lost };
    return lost;
  };
}

function stuckJudge(column: ThermalColumn): Judge {
  const light = column === 'outsideRadiationWm2';
  const longestMs = light ? STILL_DAYLIGHT_MS : STUCK_MS;
  let since: number | undefined;
  let same: number | undefined;
  return (at, value) => {
    if (value !== same || since === undefined) {
      same = value;
      since = at;
    }
    // Darkness lasts all night, saturated air all through a foggy day.
    if (light && value <= 1) return false;
    if (isHumidity(column) && value >= 100) return false;
    return at - since > longestMs;
  };
}

function copyJudge(column: ThermalColumn): Judge {
  const light = column === 'outsideRadiationWm2';
  const seen = new Map<number, number>();
  let since: number | undefined;
  const distinct = new Set<number>();
  return (at, value) => {
    const old = seen.get(at - LAG_MS);
    seen.delete(at - 2 * LAG_MS);
    seen.set(at, value);
    if (old !== value) {
      since = undefined;
      distinct.clear();
      return false;
    }
    since ??= at;
    if (!(light && value <= 1)) distinct.add(value);
    return at - since >= COPIED_HOURS * MS_PER_HOUR && distinct.size >= COPIED_DISTINCT;
  };
}
