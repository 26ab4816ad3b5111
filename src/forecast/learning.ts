import { setImmediate as nextTurn } from 'node:timers/promises';
import type { IssuedForecast } from '../domain/forecast.js';
import type { Site } from '../domain/site.js';
import { type CorrectedForecast, correctForecast } from '../models/corrected-forecast.js';
import {
  type BiasSample,
  type ForecastBias,
  LEAD_CLASSES,
  learnBias,
  NOTHING_LEARNED,
  sunHourOf,
} from '../models/forecast-bias.js';
import { type ClearSkyMean, clearSkyMeans, wholeHours } from '../models/forecast-hours.js';
import { type HourTable, hoursOfSensors } from '../models/house-climate.js';
import { type ObservedHours, observedHours } from '../models/outdoor-hours.js';
import { globalFromPpfdWm2 } from '../science/light.js';
import type { ForecastStore, ReadingStore } from '../storage/repositories.js';

/** What the kept forecasts and the site's own outdoor sensors teach about a source. */
export interface LearningParts {
  readonly forecasts: ForecastStore;
  readonly readings: Pick<ReadingStore, 'hourly'>;
}

const HOUR_MS = 3_600_000;
/** Older hours weigh less than an eighth. */
const LEARNED_DAYS = 65;
/** Forecasts that follow each other more closely say nearly the same. */
const SPACING_MS = 6 * HOUR_MS;
/** Worked on between two looks at the rest of the work. */
const FORECASTS_AT_ONCE = 10;
const SAMPLES_AT_ONCE = 1000;
/** How many sites and sources stay learned. */
const KEPT = 64;

export interface BiasBook {
  /** The forecast as it is to be expected at the site, by what was known at `at`. */
  corrected(site: Site, forecast: IssuedForecast, at: number): Promise<CorrectedForecast>;
}

export function createBiasBook({ forecasts, readings }: LearningParts): BiasBook {
  /** Learned anew once an hour: roll-ups are whole hours. */
  const learned = new Map<string, Promise<ForecastBias>>();
  const skies = new Map<string, ClearSkyMean>();

  function skyOf(site: Site): ClearSkyMean {
    const place = {
      latitudeDeg: site.latitude,
      longitudeDeg: site.longitude,
      elevationM: Math.max(0, site.elevationM),
    };
    const key = `${site.id} ${JSON.stringify(place)}`;
    const known = skies.get(key);
    if (known) return known;
    const sky = clearSkyMeans(place);
    skies.set(key, sky);
    return sky;
  }

  async function learn(site: Site, source: string, until: number): Promise<ForecastBias> {
    const from = until - LEARNED_DAYS * 24 * HOUR_MS;
    const kept = await forecasts.range(site.id, { from, to: until, source, spacingMs: SPACING_MS });
    const sky = skyOf(site);
    const observed = await observedOf(readings, site, from, until, sky);
    const issued = kept.filter(({ receivedAt }) => receivedAt <= until);
    return learnFrom(await samplesOf(issued, observed, site, sky, until));
  }

  function biasOf(site: Site, source: string, at: number): Promise<ForecastBias> {
    const until = Math.floor(at / HOUR_MS) * HOUR_MS;
    const key = `${site.id} ${source} ${until}`;
    const known = learned.get(key);
    if (known) return known;
    const bias = learn(site, source, until);
    learned.set(key, bias);
    if (learned.size > KEPT) learned.delete(learned.keys().next().value as string);
    bias.catch(() => learned.delete(key));
    return bias;
  }

  return {
    corrected: async (site, forecast, at) =>
      correctForecast(
        forecast,
        await biasOf(site, forecast.source, at),
        { longitudeDeg: site.longitude, clearSky: skyOf(site) },
        at,
      ),
  };
}

/** The site's outdoor sensors, put together hour by hour; light from either kind of sensor. */
async function observedOf(
  readings: LearningParts['readings'],
  site: Site,
  from: number,
  until: number,
  sky: ClearSkyMean,
): Promise<ObservedHours> {
  const series = await readings.hourly(
    { siteId: site.id, placement: 'outside', quantities: ['airTempC', 'radiationWm2', 'ppfdUmol'] },
    from,
    until,
  );
  const of = (quantity: string): HourTable =>
    hoursOfSensors(series.filter((one) => one.series.quantity === quantity).map(({ rollUps }) => rollUps));
  const radiation = of('radiationWm2');
  return observedHours(of('airTempC'), radiation.size > 0 ? radiation : fromPpfd(of('ppfdUmol')), sky);
}

const fromPpfd = (hours: HourTable): HourTable =>
  new Map(
    [...hours].map(([at, hour]) => [
      at,
      {
        ...hour,
        min: globalFromPpfdWm2(Math.max(0, hour.min)),
        mean: globalFromPpfdWm2(Math.max(0, hour.mean)),
        max: globalFromPpfdWm2(Math.max(0, hour.max)),
      },
    ]),
  );

/** In pieces: readings go on coming in while weeks of hours are gone through. */
async function learnFrom(samples: readonly BiasSample[]): Promise<ForecastBias> {
  let bias = NOTHING_LEARNED;
  for (let start = 0; start < samples.length; start += SAMPLES_AT_ONCE) {
    bias = learnBias(samples.slice(start, start + SAMPLES_AT_ONCE), bias);
    await nextTurn();
  }
  return bias;
}

/** Of each hour and lead class one forecast, the newest: ten that say the same must not count ten times. */
async function samplesOf(
  issued: readonly IssuedForecast[],
  observed: ObservedHours,
  site: Site,
  sky: ClearSkyMean,
  until: number,
): Promise<BiasSample[]> {
  const samples = new Map<string, BiasSample>();
  for (const [index, forecast] of issued.entries()) {
    if (index % FORECASTS_AT_ONCE === 0) await nextTurn();
    for (const hour of wholeHours(forecast.hours, sky)) {
      const leadHours = (hour.at - forecast.issuedAt) / HOUR_MS;
      const observedC = observed.airTempC.get(hour.at) ?? null;
      const observedWm2 = observed.radiationWm2.get(hour.at) ?? null;
      if (hour.at + HOUR_MS > until || leadHours < 0 || (observedC === null && observedWm2 === null)) continue;
      const lead = LEAD_CLASSES.findIndex((end) => leadHours < end);
      samples.set(`${hour.at} ${lead}`, {
        at: hour.at,
        leadHours,
        sunHour: sunHourOf(hour.at, site.longitude),
        forecastC: hour.airTempC,
        observedC,
        forecastWm2: hour.radiationWm2,
        observedWm2,
      });
    }
  }
  return [...samples.values()].sort((a, b) => a.at - b.at || a.leadHours - b.leadHours);
}
