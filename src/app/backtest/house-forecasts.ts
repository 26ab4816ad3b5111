/**
 * Forecasts of a house's highest inside temperature, walked along its record morning after morning: at 06:00 of the issue
 * day everything measured until then is known, and the outside columns up to the end of the predicted day stand for a
 * perfect forecast of the weather.
 */
import type { LocalDay } from '../../domain/time.js';
import { addDays } from '../../domain/time.js';
import { airPrior, UNKNOWN_HOUSE } from '../../models/house-thermal/air-prior.js';
import type { Removed } from '../../models/house-thermal/cleaning.js';
import type { ThermalDay } from '../../models/house-thermal/days.js';
import { prepareRecord } from '../../models/house-thermal/house-record.js';
import type { ThermalPlace, ThermalSample } from '../../models/house-thermal/record.js';
import { SIMPLE_FORECASTS, type SimpleForecast, simpleForecasts } from '../../models/house-thermal/simple-forecasts.js';
import { type DayForecast, LEADS, walk } from '../../models/house-thermal/walk.js';

const ISSUED_AT = '06:00';
/** Where nothing says from which day on forecasts count: after a month of learning. */
const LEARNING_DAYS = 30;

export interface HouseForecasts {
  readonly days: readonly ThermalDay[];
  /** By rising morning and lead. */
  readonly forecasts: readonly DayForecast[];
  readonly removed: readonly Removed[];
}

export function forecastsOf(samples: readonly ThermalSample[], place: ThermalPlace): HouseForecasts {
  const { hours, days, removed } = prepareRecord(samples, place);
  const { mornings } = walk(hours, days, { place, prior: airPrior(UNKNOWN_HOUSE), issuedAt: ISSUED_AT });
  return { days, forecasts: mornings.flatMap(({ forecasts }) => forecasts), removed };
}

export const FORECAST_HEADER = 'day,lead,p10,p50,p90';

/** One line for each day and lead, by day. */
export function forecastLines(forecasts: readonly DayForecast[]): string[] {
  return [...forecasts]
    .sort((a, b) => a.dayIndex - b.dayIndex || a.lead - b.lead)
    .map(({ day, lead, maxC: { p10, p50, p90 } }) =>
      [day, lead, ...[p10, p50, p90].map((value) => value.toFixed(3))].join(','),
    );
}

export interface LeadScore {
  readonly lead: number;
  readonly days: number;
  /** Mean absolute errors, °C; NaN without days. */
  readonly modelMaeC: number;
  readonly simpleMaeC: Readonly<Record<SimpleForecast, number>>;
  /** 1 - error of the model over that of the best simple forecast. */
  readonly skill: number;
  /** Share of days inside the 80 % band. */
  readonly held: number;
  /** Mean width of the band over the width that holds 80 % of the errors of the last day's value. */
  readonly widthRatio: number;
}

/**
 * Scores of the days from `scoreFrom` on for which the model and all three simple forecasts have a value.
 * @param scoreFrom left out: a month after the first day
 */
export function scoresOf({ days, forecasts }: HouseForecasts, scoreFrom?: LocalDay): LeadScore[] {
  const from = scoreFrom ?? addDays((days[0] as ThermalDay).day, LEARNING_DAYS);
  const options = {
    hasOutside: days.some(({ outside }) => outside.outsideMaxC !== null),
    hasSun: days.some(({ outside }) => outside.radiationMeanWm2 !== null),
  };
  const wanted = options.hasOutside ? SIMPLE_FORECASTS : (['persistence'] as const);
  return LEADS.map((lead) => {
    const cases = forecasts.flatMap((forecast) => {
      const truth = days[forecast.dayIndex]?.maxC ?? null;
      if (forecast.lead !== lead || forecast.day < from || truth === null) return [];
      const simple = simpleForecasts(days, forecast.dayIndex, lead, options);
      return wanted.every((name) => simple[name] !== undefined) ? [{ truth, simple, band: forecast.maxC }] : [];
    });
    const simpleMaeC = Object.fromEntries(
      SIMPLE_FORECASTS.map((name) => [
        name,
        mean(cases.map(({ simple, truth }) => Math.abs((simple[name] ?? Number.NaN) - truth))),
      ]),
    ) as Record<SimpleForecast, number>;
    const modelMaeC = mean(cases.map(({ band, truth }) => Math.abs(band.p50 - truth)));
    const ofLast = cases.map(({ truth, simple }) => truth - (simple.persistence as number));
    return {
      lead,
      days: cases.length,
      modelMaeC,
      simpleMaeC,
      skill: 1 - modelMaeC / Math.min(...wanted.map((name) => simpleMaeC[name])),
      held: mean(cases.map(({ band, truth }) => (truth >= band.p10 && truth <= band.p90 ? 1 : 0))),
      widthRatio:
        ofLast.length === 0
          ? Number.NaN
          : mean(cases.map(({ band }) => band.p90 - band.p10)) / (ranked(ofLast, 0.9) - ranked(ofLast, 0.1)),
    };
  });
}

/** The value at a share of the ranks, rounded down. */
const ranked = (values: readonly number[], share: number): number =>
  [...values].sort((a, b) => a - b)[Math.floor(share * (values.length - 1))] ?? Number.NaN;

const mean = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : values.reduce((sum, value) => sum + value, 0) / values.length;

/** 1 - the geometric mean of the error ratios of several houses. NaN where no house has days. */
export function geometricSkill(skills: readonly number[]): number {
  const known = skills.filter((skill) => Number.isFinite(skill));
  return 1 - Math.exp(mean(known.map((skill) => Math.log(1 - skill))));
}
