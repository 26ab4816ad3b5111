/** How far off the air model was of late, by hour of the local day and whole days ahead. */
import { quantile } from '../../science/statistics/quantiles.js';
import { AHEAD_HOURS } from './air-run.js';
import type { SkyHour } from './record.js';
import type { WalkedMorning } from './walk.js';

export interface HourError {
  /** Measured minus foretold, °C. */
  readonly offsetC: number;
  /** Four in five errors about that stay below this, °C. */
  readonly halfBandC: number;
}

export type HourErrors = (localHour: number, wholeDaysAhead: number) => HourError;

const MORNINGS_BACK = 28;
const HELD = 0.8;
/** With fewer errors than this the hours beside it count too. */
const ENOUGH = 8;
/** A house nobody heard is off by so much; so many such mornings come before those that were seen. */
const UNKNOWN_HALF_BAND_C = 5;
const MORNINGS_BEFORE = 3;

/**
 * @param localHourOf hour of the local day of a row of the grid, 0-23
 * @param knownHours rows of the grid that were measured
 */
export function hourErrors(
  mornings: readonly WalkedMorning[],
  hours: readonly SkyHour[],
  localHourOf: (index: number) => number,
  knownHours: number,
): HourErrors {
  const days = AHEAD_HOURS / 24;
  const table = Array.from({ length: days }, () => Array.from({ length: 24 }, (): number[] => []));
  for (const { morning, air } of mornings.slice(-MORNINGS_BACK))
    air?.hourlyC.forEach((foretold, ahead) => {
      const index = morning.fromHour + ahead;
      const measured = index < knownHours ? (hours[index]?.insideTempC ?? null) : null;
      if (measured !== null) table[Math.floor(ahead / 24)]?.[localHourOf(index)]?.push(measured - foretold);
    });
  const worked = table.map((ofDay) =>
    ofDay.map((own, hour): HourError => {
      const beside = own.length >= ENOUGH ? [0] : [-1, 0, 1];
      const errors = beside.flatMap((by) => ofDay[(hour + by + 24) % 24] ?? []);
      if (errors.length === 0) return { offsetC: 0, halfBandC: UNKNOWN_HALF_BAND_C };
      // The hours beside it err together with it: three errors of one morning tell of one morning.
      const seenMornings = errors.length / beside.length;
      const share = seenMornings / (seenMornings + MORNINGS_BEFORE);
      const offsetC = (share * errors.reduce((sum, error) => sum + error, 0)) / errors.length;
      const seen = quantile(
        errors.map((error) => Math.abs(error - offsetC)),
        HELD,
        8,
      );
      return { offsetC, halfBandC: share * seen + (1 - share) * UNKNOWN_HALF_BAND_C };
    }),
  );
  const last = worked.length - 1;
  return (localHour, wholeDaysAhead) =>
    worked[Math.min(Math.max(0, wholeDaysAhead), last)]?.[localHour] ?? { offsetC: 0, halfBandC: UNKNOWN_HALF_BAND_C };
}
