/** Hours of a house from the roll-ups of its sensors. */
import { globalFromPpfdWm2, ppfdFromLuxUmol } from '../../science/light.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { HourTable, HouseHours } from '../house-climate.js';
import type { ThermalHour } from './record.js';

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
  /** Without what a stuck or dead sensor told: `movingHours`. */
  readonly inside: HouseHours;
  readonly outside: HouseHours;
  /** Weather where no outside sensor spoke: a forecast, past or to come. */
  readonly expected: (startMs: number) => OutsideHour | undefined;
  /** Share of the sun's warmth that the cloths left, by hour. */
  readonly clothWarmthShare: (startMs: number) => number;
}

export function rolledHours(from: RolledFrom): ThermalHour[] {
  const { inside, outside, nowMs } = from;
  const insideTemp = heardOf(inside.airTempC);
  const insideHumidity = heardOf(inside.relHumidityPct);
  const outsideTemp = heardOf(outside.airTempC);
  const outsideHumidity = heardOf(outside.relHumidityPct);
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
      clothWarmthShare: from.clothWarmthShare(startMs),
    });
  }
  return hours;
}

/** Hours with a reading. */
const heardOf = (table: HourTable | undefined): HourTable =>
  new Map([...(table ?? [])].filter(([, { count, mean }]) => count > 0 && Number.isFinite(mean)));

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
