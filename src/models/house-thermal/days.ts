/** Local days of a record: the highest inside, and what outside made them so. */
import type { LocalDay } from '../../domain/time.js';
import { MS_PER_HOUR } from '../../science/units.js';
import { isHeardThrough, WARM_HOURS } from '../house-climate.js';
import type { SkyHour } from './record.js';

/** Share of a day's time the inside must have been heard for its highest to count. */
const HEARD_SHARE = 0.8;
/** Share of a day's hours an outside figure needs. */
const FIGURE_SHARE = 0.75;
/** A day that the record only begins or ends in is measured by the shortest day the clocks can make. */
const FEWEST_HOURS = 23;

export type DayFigure =
  | 'outsideMaxC'
  | 'outsideMeanC'
  | 'radiationMeanWm2'
  | 'radiationPeakWm2'
  | 'clearSkyMeanWm2'
  | 'sunFromTempsWm2'
  | 'wetBulbMaxC';

/** Figures of the sky and the air outside over one local day; null where too few hours are known. */
export type DayFigures = Readonly<Record<DayFigure, number | null>>;

export interface ThermalDay {
  readonly day: LocalDay;
  /** First row of the day in the grid of hours, and the first after it. */
  readonly first: number;
  readonly end: number;
  /** Highest inside temperature; null when too much of the day, or of its warm hours, was not heard. */
  readonly maxC: number | null;
  readonly outside: DayFigures;
}

/** @param hours the grid of `skyHours` */
export function thermalDays(hours: readonly SkyHour[]): ThermalDay[] {
  const days: ThermalDay[] = [];
  let first = 0;
  for (let end = 1; end <= hours.length; end += 1) {
    if (end < hours.length && hours[end]?.day === hours[first]?.day) continue;
    const rows = hours.slice(first, end);
    days.push({ day: (rows[0] as SkyHour).day, first, end, maxC: insideMaxOf(rows), outside: figuresOf(rows) });
    first = end;
  }
  return days;
}

function insideMaxOf(rows: readonly SkyHour[]): number | null {
  const heard = rows.reduce((sum, row) => sum + row.insideHeard, 0);
  if (heard < HEARD_SHARE * Math.max(rows.length, FEWEST_HOURS) || !warmHeard(rows)) return null;
  const highs = rows.flatMap(({ insideMaxC }) => insideMaxC ?? []);
  return highs.length === 0 ? null : Math.max(...highs);
}

/** Whether the hours about the sun's noon were heard without a gap in which the highest could hide. */
function warmHeard(rows: readonly SkyHour[]): boolean {
  const highest = Math.max(...rows.map(({ clearSkyWm2 }) => clearSkyWm2));
  const noon = highest > 0 ? rows.find(({ clearSkyWm2 }) => clearSkyWm2 === highest) : rows[rows.length >> 1];
  if (!noon) return false;
  const [before, after] = WARM_HOURS;
  const heard = rows.filter(({ insideMaxC }) => insideMaxC !== null);
  return isHeardThrough(heard, noon.startMs + before * MS_PER_HOUR, noon.startMs + after * MS_PER_HOUR);
}

type FigureOfHour = (row: SkyHour) => number | null;

function figuresOf(rows: readonly SkyHour[]): DayFigures {
  const over = (pick: FigureOfHour, join: (values: readonly number[]) => number): number | null => {
    const values = rows.flatMap((row) => pick(row) ?? []);
    return values.length < FIGURE_SHARE * Math.max(rows.length, FEWEST_HOURS) ? null : join(values);
  };
  const highest = (values: readonly number[]): number => Math.max(...values);
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
  return {
    outsideMaxC: over((row) => row.outsideTempC, highest),
    outsideMeanC: over((row) => row.outsideTempC, mean),
    radiationMeanWm2: over((row) => row.outsideRadiationWm2, mean),
    radiationPeakWm2: over((row) => row.outsideRadiationWm2, highest),
    clearSkyMeanWm2: over((row) => row.clearSkyWm2, mean),
    sunFromTempsWm2: over((row) => row.sunFromTempsWm2, mean),
    wetBulbMaxC: over((row) => row.outsideWetBulbC, highest),
  };
}
