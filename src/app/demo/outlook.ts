import type { PushedForecast } from '../../forecast/pushed.js';
import { mixed, normal } from './random.js';
import {
  DAY_MS,
  STEP_MS,
  solarDayOf,
  solarDayStart,
  type WeatherOfDay,
  type WeatherSite,
  type WeatherStep,
} from './weather.js';

/**
 * Invented forecasts for the demo: its own weather to come, with an error that grows with the lead. What is foretold of
 * an hour comes nearer to the truth from issue to issue, and the made-up service is a little out at these places, as
 * real ones are: nights too warm, afternoons too cool, the sun too bright.
 */

const HOUR_MS = 3_600_000;
export const ISSUED_EVERY_MS = 6 * HOUR_MS;
/** How long it takes from the issue to the sender. */
const UNDER_WAY_MS = 4 * 60_000;
const HOURS_AHEAD = 78;
/** The past that is told of: enough to learn from. */
export const FORECAST_DAYS = 40;
const SOURCE = 'Invented weather service';

const NIGHT_TOO_WARM_C = 0.9;
const SUN_TOO_BRIGHT = 1.08;
const errorC = (leadHours: number): number => 0.3 + 0.025 * leadHours;
const errorOfSky = (leadHours: number): number => 0.03 + 0.0022 * leadHours;

export interface DemoForecast {
  readonly siteId: string;
  readonly body: PushedForecast;
  readonly receivedAt: number;
}
export type ForecastIssuedAt = (issuedAt: number) => DemoForecast;

export function forecastsOf(site: WeatherSite, weather: WeatherOfDay, seed: number): ForecastIssuedAt {
  const air = smooth(seed, `${site.id}/forecast/air`);
  const sky = smooth(seed, `${site.id}/forecast/sky`);

  return (issuedAt) => {
    const own = mixed(seed, site.id, issuedAt / ISSUED_EVERY_MS);
    const ownAir = smooth(own, 'air');
    const hours = Array.from({ length: HOURS_AHEAD }, (_, leadHours) => {
      const at = issuedAt + leadHours * HOUR_MS;
      const now = stepAt(site, weather, at);
      const sunHour = ((at - solarDayStart(site, solarDayOf(site, at))) / DAY_MS) * 24;
      const habit = NIGHT_TOO_WARM_C * Math.cos(((sunHour - 3) / 12) * Math.PI);
      const airError = errorC(leadHours) * (0.9 * air(at) + 0.4 * ownAir(at));
      const clear = Math.min(1, Math.max(0, now.clearness + errorOfSky(leadHours) * sky(at)));
      const radiation = meanOfHour(site, weather, at) * SUN_TOO_BRIGHT * (1 + errorOfSky(leadHours) * sky(at));
      return {
        at,
        airTempC: rounded(now.airTempC + habit + airError, 1),
        relHumidityPct: rounded(Math.min(100, Math.max(5, now.relHumidityPct - 3 * airError)), 0),
        radiationWm2: rounded(Math.min(1400, Math.max(0, radiation)), 0),
        cloudPct: rounded(100 * (1 - clear), 0),
        windMs: rounded(now.windMs, 1),
      };
    });
    return { siteId: site.id, body: { issuedAt, source: SOURCE, hours }, receivedAt: issuedAt + UNDER_WAY_MS };
  };
}

/** Issues that had reached the sender after `after` and by `until`. */
export function issuesBetween(after: number, until: number): number[] {
  const first = Math.floor((after - UNDER_WAY_MS) / ISSUED_EVERY_MS) + 1;
  const last = Math.floor((until - UNDER_WAY_MS) / ISSUED_EVERY_MS);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => (first + index) * ISSUED_EVERY_MS);
}

const rounded = (value: number, digits: number): number => Math.round(value * 10 ** digits) / 10 ** digits;

/** Chance that changes over six hours, standard deviation about 1. */
function smooth(seed: number, stream: string): (at: number) => number {
  const chance = normal(seed, stream);
  return (at) => {
    const position = at / (6 * HOUR_MS);
    const index = Math.floor(position);
    const share = position - index;
    // The line between two independent values is flatter than either.
    return (chance(index) * (1 - share) + chance(index + 1) * share) / Math.hypot(1 - share, share);
  };
}

function stepAt(site: WeatherSite, weather: WeatherOfDay, at: number): WeatherStep {
  const day = solarDayOf(site, at);
  return weather(day)[Math.floor((at - solarDayStart(site, day)) / STEP_MS)] as WeatherStep;
}

function meanOfHour(site: WeatherSite, weather: WeatherOfDay, at: number): number {
  const steps = HOUR_MS / STEP_MS;
  let sum = 0;
  for (let step = 0; step < steps; step += 1) sum += stepAt(site, weather, at + step * STEP_MS).radiationWm2;
  return sum / steps;
}
