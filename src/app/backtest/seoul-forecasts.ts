import { join } from 'node:path';
import { MS_PER_86400_S } from '../../science/units.js';
import {
  correctedMaximum,
  type ForecastCase,
  learnOutcome,
  type PlaceCorrection,
  startPlaceCorrection,
  startSharedCorrection,
  usualPredictors,
} from './maximum-correction.js';
import { numberOf, readCsv } from './tables.js';

/**
 * Next-day forecasts of a numerical model with the outcome, 25 stations, summers (UCI repository, "Bias correction of
 * numerical prediction model temperature forecast"; Cho et al. 2020, Earth Space Sci. 7, e2019EA000740). The last year given
 * is told from the years before it.
 */
export interface SeoulScores {
  readonly year: string;
  readonly days: number;
  /** The model's maximum as it came. */
  readonly rawMaeC: number;
  /** Today's maximum again. */
  readonly persistenceMaeC: number;
  /** Learned on the earlier years; nothing is learned in the last one. */
  readonly correctedMaeC: number;
  /** The same, learning on from each outcome as it comes in. */
  readonly learningOnMaeC: number;
  /** Station offsets alone, from the earlier years. */
  readonly offsetsMaeC: number;
}

const COLUMNS = {
  forecast: 'LDAPS_Tmax_lapse',
  forecastMin: 'LDAPS_Tmin_lapse',
  humidity: 'LDAPS_RHmin',
  wind: 'LDAPS_WS',
  latentHeat: 'LDAPS_LH',
  today: 'Present_Tmax',
  next: 'Next_Tmax',
} as const;
const CLOUDS = ['LDAPS_CC1', 'LDAPS_CC2', 'LDAPS_CC3'] as const;
const RAINS = ['LDAPS_PPT1', 'LDAPS_PPT2', 'LDAPS_PPT3'] as const;

interface SeoulDay {
  readonly station: string;
  readonly date: string;
  readonly forecastC: number;
  readonly todayC: number;
  readonly nextC: number;
  /** What else the model says of the day: about -2 to 2 each. */
  readonly more: readonly number[];
}

function readDays(dataFolder: string): SeoulDay[] {
  const path = join(dataFolder, 'weather/wx_seoul_forecasts/Bias_correction_ucl.csv.gz');
  const rows = readCsv(path, ['station', 'Date', ...Object.values(COLUMNS), ...CLOUDS, ...RAINS]);
  return rows.flatMap((row): SeoulDay[] => {
    const all = [...Object.values(COLUMNS), ...CLOUDS, ...RAINS].map((column) => numberOf(row[column]));
    // The last two rows hold minima and maxima of the columns, without a station.
    if (!row.station || all.some((value) => value === undefined)) return [];
    const of = (column: string): number => Number(row[column]);
    const mean = (columns: readonly string[]): number => columns.reduce((sum, c) => sum + of(c), 0) / columns.length;
    return [
      {
        station: row.station,
        date: row.Date as string,
        forecastC: of(COLUMNS.forecast),
        todayC: of(COLUMNS.today),
        nextC: of(COLUMNS.next),
        more: [
          (of(COLUMNS.forecastMin) - 23) / 3,
          (of(COLUMNS.humidity) - 57) / 15,
          (of(COLUMNS.wind) - 7) / 2,
          (of(COLUMNS.latentHeat) - 62) / 34,
          (mean(CLOUDS) - 0.35) / 0.25,
          Math.log1p(3 * mean(RAINS)) - 0.5,
        ],
      },
    ];
  });
}

/** Outcomes of all stations that the shared part remembers where it learns on: three summers. */
const PACE = { forgetting: 1 - 1 / 4650, placeDrift: 0.001 };
const OFFSETS_ALONE = { forgetting: 1, placeDrift: 0.001 };

export function backtestSeoul(dataFolder: string): SeoulScores {
  const days = readDays(dataFolder).sort((a, b) => a.date.localeCompare(b.date));
  const year = days.at(-1)?.date.slice(0, 4) ?? '';
  const scored = days.filter(({ date }) => date.startsWith(year));
  const mae = (errors: readonly number[]): number => errors.reduce((sum, e) => sum + Math.abs(e), 0) / errors.length;
  const told = (learnOn: boolean, offsetsAlone = false): number => mae(walk(days, year, learnOn, offsetsAlone));
  return {
    year,
    days: scored.length,
    rawMaeC: mae(scored.map(({ forecastC, nextC }) => forecastC - nextC)),
    persistenceMaeC: mae(scored.map(({ todayC, nextC }) => todayC - nextC)),
    offsetsMaeC: told(false, true),
    correctedMaeC: told(false),
    learningOnMaeC: told(true),
  };
}

interface Station {
  place: PlaceCorrection;
  last: { readonly day: SeoulDay; readonly given: ForecastCase; learned: boolean } | undefined;
}

/**
 * Errors of the last year. Each forecast is corrected with what was known on its evening: today's maximum of every station
 * included, with which yesterday's forecasts have come out.
 */
function walk(days: readonly SeoulDay[], year: string, learnOn: boolean, offsetsAlone: boolean): number[] {
  let shared = startSharedCorrection(caseOf(days[0] as SeoulDay, 0, offsetsAlone).predictors.length);
  const stations = new Map<string, Station>();
  const errors: number[] = [];
  const evenings = new Map<string, SeoulDay[]>();
  for (const day of days) evenings.set(day.date, [...(evenings.get(day.date) ?? []), day]);
  for (const [date, evening] of evenings) {
    const inLastYear = date.startsWith(year);
    for (const station of stations.values()) {
      if (!station.last || station.last.learned || (station.last.day.date.startsWith(year) && !learnOn)) continue;
      const { given, day } = station.last;
      station.last.learned = true;
      const learned = learnOutcome(shared, station.place, given, day.nextC, offsetsAlone ? OFFSETS_ALONE : PACE);
      shared = learned.shared;
      station.place = learned.place;
    }
    for (const day of evening) {
      const station = stations.get(day.station) ?? { place: startPlaceCorrection(), last: undefined };
      stations.set(day.station, station);
      const before = station.last?.day;
      const isNext = before !== undefined && Date.parse(date) - Date.parse(before.date) === MS_PER_86400_S;
      const given = caseOf(day, isNext ? day.todayC - before.forecastC : 0, offsetsAlone);
      if (inLastYear) errors.push(correctedMaximum(shared, station.place, given).meanC - day.nextC);
      station.last = { day, given, learned: false };
    }
  }
  return errors;
}

function caseOf(day: SeoulDay, lastErrorC: number, offsetsAlone: boolean): ForecastCase {
  const { forecastC, todayC } = day;
  const usual = usualPredictors({ forecastC, lastObservedC: todayC, lastErrorC });
  return { forecastC, predictors: offsetsAlone ? [1] : [...usual, ...day.more] };
}
