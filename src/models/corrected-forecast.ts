import type { IssuedForecast } from '../domain/forecast.js';
import { relHumidityPctFromVapourPressure, vapourPressureKPa } from '../science/air.js';
import { MS_PER_HOUR } from '../science/units.js';
import { type BiasSummary, biasSummary, correctionAt, type ForecastBias, sunHourOf } from './forecast-bias.js';
import { type ClearSkyMean, type WholeHour, wholeHours } from './forecast-hours.js';

/** An hour as it is to be expected at the site itself: means of the hour, with how far off they usually are. */
export interface CorrectedHour extends WholeHour {
  /** Standard deviation, °C. */
  readonly airTempSpreadC: number;
  /** Standard deviation as a share of the radiation. */
  readonly radiationSpread: number;
}

export interface CorrectedForecast extends IssuedForecast {
  readonly hours: readonly CorrectedHour[];
  readonly learned: BiasSummary;
}

/** Radiation that passes the clear sky by more than broken cloud can add in an hour's mean (starting value). */
const OVER_CLEAR_SKY = 1.1;

export interface CorrectionPlace {
  readonly longitudeDeg: number;
  readonly clearSky: ClearSkyMean;
}

/**
 * A forecast as it is to be expected at the site: every hour there, shifted by what was learned there.
 * @param at what was learned by then counts; its weight fades from there back
 */
export function correctForecast(
  forecast: IssuedForecast,
  bias: ForecastBias,
  { longitudeDeg, clearSky }: CorrectionPlace,
  at: number = forecast.receivedAt,
): CorrectedForecast {
  const hours = wholeHours(forecast.hours, clearSky).map((hour): CorrectedHour => {
    const leadHours = (hour.at - forecast.issuedAt) / MS_PER_HOUR;
    const { addC, spreadC, lightFactor, lightSpread } = correctionAt(
      bias,
      leadHours,
      sunHourOf(hour.at, longitudeDeg),
      at,
    );
    const airTempC = hour.airTempC === null ? null : hour.airTempC + addC;
    return {
      ...hour,
      airTempC,
      relHumidityPct: sameVapour(hour.airTempC, hour.relHumidityPct, airTempC),
      radiationWm2: corrected(hour.radiationWm2, lightFactor, clearSky(hour.at)),
      airTempSpreadC: spreadC,
      radiationSpread: lightSpread,
    };
  });
  return { ...forecast, hours, learned: biasSummary(bias, at) };
}

function corrected(radiationWm2: number | null, factor: number, clearSkyWm2: number): number | null {
  if (radiationWm2 === null) return null;
  return Math.min(radiationWm2 * factor, Math.max(radiationWm2, clearSkyWm2 * OVER_CLEAR_SKY));
}

/** Warmer air of the same vapour is drier: the forecast's vapour is kept. */
function sameVapour(forecastC: number | null, relHumidityPct: number | null, airTempC: number | null): number | null {
  if (forecastC === null || relHumidityPct === null || airTempC === null) return relHumidityPct;
  return Math.min(100, relHumidityPctFromVapourPressure(airTempC, vapourPressureKPa(forecastC, relHumidityPct)));
}
