/** Hours of a house from the roll-ups of its sensors, without what no working sensor says. */
import { globalFromPpfdWm2, ppfdFromLuxUmol } from '../../science/light.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { HourTable, HouseHours } from '../house-climate.js';
import type { ThermalHour } from './record.js';

/** Unchanged to the last digit for longer than this is stuck (common practice, no published source). */
const STUCK_HOURS = 12;

/** Weather of an hour as it was or is expected. */
export interface OutsideHour {
  readonly airTempC: number | null;
  readonly relHumidityPct: number | null;
  readonly radiationWm2: number | null;
}

export interface RolledFrom {
  /** First hour and first after the last, UTC ms on whole hours. */
  readonly fromMs: number;
  readonly toMs: number;
  /** Hours from here on are to come: no sensor speaks of them. */
  readonly nowMs: number;
  readonly inside: HouseHours;
  readonly outside: HouseHours;
  /** Weather where no outside sensor spoke: a forecast, past or to come. */
  readonly expected: (startMs: number) => OutsideHour | undefined;
  /** Share of the sun's warmth that the cloths left, by hour. */
  readonly clothTransmission: (startMs: number) => number;
}

export function rolledHours(from: RolledFrom): ThermalHour[] {
  const { inside, outside, nowMs } = from;
  const insideTemp = believed(inside.airTempC);
  const insideHumidity = believed(inside.relHumidityPct, 100);
  const outsideTemp = believed(outside.airTempC);
  const outsideHumidity = believed(outside.relHumidityPct, 100);
  const sun = sunOf(outside);
  const hours: ThermalHour[] = [];
  for (let startMs = from.fromMs; startMs < from.toMs; startMs += MS_PER_HOUR) {
    // An hour that is still running is not heard out.
    const heard = startMs + MS_PER_HOUR <= nowMs;
    const expected = from.expected(startMs);
    const told = <T>(table: ReadonlyMap<number, T>): T | undefined => (heard ? table.get(startMs) : undefined);
    const temp = told(insideTemp);
    hours.push({
      startMs,
      insideTempC: temp?.mean ?? null,
      insideMaxC: temp?.max ?? null,
      insideMinC: temp?.min ?? null,
      insideHeard: temp ? Math.min(1, Math.max(temp.coveredSeconds / 3600, 1 / 60)) : 0,
      insideRelHumidityPct: told(insideHumidity)?.mean ?? null,
      outsideTempC: told(outsideTemp)?.mean ?? expected?.airTempC ?? null,
      outsideRelHumidityPct: told(outsideHumidity)?.mean ?? expected?.relHumidityPct ?? null,
      outsideRadiationWm2: told(sun) ?? expected?.radiationWm2 ?? null,
      clothTransmission: from.clothTransmission(startMs),
    });
  }
  return hours;
}

type Row = NonNullable<ReturnType<HourTable['get']>>;

/** Hours with a reading, those left out that belong to a long run of one and the same value. */
function believed(table: HourTable | undefined, restValue?: number): Map<number, Row> {
  const kept = new Map<number, Row>();
  if (!table) return kept;
  let same: number | undefined;
  let since = 0;
  for (const startMs of [...table.keys()].sort((a, b) => a - b)) {
    const row = table.get(startMs) as Row;
    if (row.count === 0 || !Number.isFinite(row.mean)) continue;
    const still = row.min === row.max ? row.min : undefined;
    if (still === undefined || still !== same) since = startMs;
    same = still;
    if (still !== undefined && still !== restValue && startMs - since >= STUCK_HOURS * MS_PER_HOUR) continue;
    kept.set(startMs, row);
  }
  return kept;
}

/** Radiation outside, from a sun sensor, else from plant light or lux. */
function sunOf(outside: HouseHours): Map<number, number> {
  const sun = new Map<number, number>();
  const sources: readonly [HourTable | undefined, (value: number) => number][] = [
    [outside.radiationWm2, (value) => value],
    [outside.ppfdUmol, (value) => globalFromPpfdWm2(value)],
    [outside.illuminanceLux, (value) => globalFromPpfdWm2(ppfdFromLuxUmol(value))],
  ];
  for (const [table, toWm2] of sources)
    for (const [startMs, { count, mean }] of table ?? [])
      if (count > 0 && mean >= 0 && !sun.has(startMs)) sun.set(startMs, toWm2(mean));
  return sun;
}
