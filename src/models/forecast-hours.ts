import type { ForecastHour } from '../domain/forecast.js';
import { type ClearSkyPlace, clearSkyEnergyMJm2, cloudyRadiationShare } from '../science/radiation.js';
import { MS_PER_HOUR } from '../science/units.js';

/**
 * A forecast as sources give it, made ready to stand beside hourly roll-ups: values of moments become means of the hour
 * that begins there, steps of up to six hours become hours, and radiation that is not told is worked out from the cloud.
 */
export interface WholeHour extends ForecastHour {
  /** The radiation is worked out from cloud and sun, not told by the source. */
  readonly radiationEstimated: boolean;
}

/** Clear-sky mean of the hour that begins at an instant, W/m². */
export type ClearSkyMean = (at: number) => number;

/** Sources thin out to six-hourly steps after two or three days; what is further apart is a gap and stays one. */
const LONGEST_STEP_HOURS = 6;
const MOMENTS = ['airTempC', 'relHumidityPct', 'cloudPct', 'windMs'] as const;

/**
 * Hours of a forecast without holes between its steps.
 * @param hours rising; temperature, humidity, cloud and wind at `at`, radiation and rain of the hour that begins there
 * @returns means of the hours; the last step before a gap stands for its hour as it is
 */
export function wholeHours(hours: readonly ForecastHour[], clearSky: ClearSkyMean): WholeHour[] {
  return hours.flatMap((step, index) => {
    const next = hours[index + 1];
    const length = next ? (next.at - step.at) / MS_PER_HOUR : 1;
    if (!next || length > LONGEST_STEP_HOURS) return [withRadiation(step, clearSky)];
    return Array.from({ length }, (_, after) => {
      const means = Object.fromEntries(
        MOMENTS.map((name) => [name, meanOfHour(step[name], next[name], after, length)]),
      ) as Pick<ForecastHour, (typeof MOMENTS)[number]>;
      return withRadiation(
        {
          at: step.at + after * MS_PER_HOUR,
          ...means,
          // What is told of one hour is not told of the others of a long step.
          radiationWm2: after === 0 ? step.radiationWm2 : null,
          rainMm: length === 1 ? step.rainMm : null,
        },
        clearSky,
      );
    });
  });
}

/** From the straight line between two moments; over a long step a missing end is not made up from the other. */
function meanOfHour(from: number | null, to: number | null, after: number, length: number): number | null {
  if (from !== null && to !== null) return from + ((to - from) * (after + 0.5)) / length;
  return length === 1 ? (from ?? to) : null;
}

function withRadiation(hour: ForecastHour, clearSky: ClearSkyMean): WholeHour {
  if (hour.radiationWm2 !== null || hour.cloudPct === null) return { ...hour, radiationEstimated: false };
  const radiationWm2 = clearSky(hour.at) * cloudyRadiationShare(hour.cloudPct);
  return { ...hour, radiationWm2, radiationEstimated: true };
}

/** Each hour is worked out once: forecasts of one place speak of the same hours again and again. */
export function clearSkyMeans(place: ClearSkyPlace): ClearSkyMean {
  const known = new Map<number, number>();
  return (at) => {
    let mean = known.get(at);
    if (mean === undefined) {
      mean = (clearSkyEnergyMJm2(at, at + MS_PER_HOUR, place) * 1e6) / 3600;
      known.set(at, mean);
    }
    return mean;
  };
}
