import { join } from 'node:path';
import { fahrenheitToCelsius } from '../../science/units.js';
import { numberOf, readCsv } from './tables.js';

/**
 * Archived forecasts of the daily high with the outcome, cities of the United States (US National Weather Service, public
 * domain). °F in the file, °C from here on.
 */
export const US_LEADS = [12, 24, 36, 48] as const;

export interface UsForecastDay {
  readonly date: string;
  /** By lead of `US_LEADS`; undefined where none was archived. */
  readonly forecastsC: readonly (number | undefined)[];
  readonly highC: number | undefined;
}

export interface UsSite {
  readonly name: string;
  /** Every day of the archive, in order. */
  readonly days: readonly UsForecastDay[];
}

const FORECASTS = [
  'forecast_hi_current_AM',
  'forecast_hi_prev_PM',
  'forecast_hi_prev_AM',
  'forecast_hi_2_prev_PM',
] as const;
/** The high as it stood the morning after. */
const OUTCOME = 'actual_hi_next_AM';

export function readUsForecasts(dataFolder: string): { readonly dates: readonly string[]; readonly sites: UsSite[] } {
  const path = join(dataFolder, 'weather/wx_us_forecasts/nws_hi_lo_forecasts_2021.csv.gz');
  const rows = readCsv(path, ['date', 'city', 'state', ...FORECASTS, OUTCOME]);
  const celsius = (text: string | undefined): number | undefined => {
    const fahrenheit = numberOf(text);
    return fahrenheit === undefined ? undefined : fahrenheitToCelsius(fahrenheit);
  };
  const sites = new Map<string, Map<string, UsForecastDay>>();
  for (const row of rows) {
    const name = `${row.city}, ${row.state}`;
    const days = sites.get(name) ?? new Map<string, UsForecastDay>();
    sites.set(name, days);
    const date = row.date as string;
    days.set(date, {
      date,
      forecastsC: FORECASTS.map((column) => celsius(row[column])),
      highC: celsius(row[OUTCOME]),
    });
  }
  const dates = [...new Set(rows.map((row) => row.date as string))].sort();
  const empty = (date: string): UsForecastDay => ({
    date,
    forecastsC: FORECASTS.map(() => undefined),
    highC: undefined,
  });
  return {
    dates,
    sites: [...sites].map(([name, days]) => ({ name, days: dates.map((date) => days.get(date) ?? empty(date)) })),
  };
}
