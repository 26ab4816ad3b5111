/** From what was logged to what the forecasts are made of. */
import { cleanSamples, type Removed } from './cleaning.js';
import { type ThermalDay, thermalDays } from './days.js';
import { hoursOfSamples, skyHours } from './hours.js';
import type { SkyHour, ThermalPlace, ThermalSample } from './record.js';

export interface PreparedRecord {
  /** A grid of UTC hours without holes. */
  readonly hours: readonly SkyHour[];
  readonly days: readonly ThermalDay[];
  readonly removed: readonly Removed[];
}

export function prepareRecord(samples: readonly ThermalSample[], place: ThermalPlace): PreparedRecord {
  const { samples: clean, removed } = cleanSamples(samples, place);
  const hours = skyHours(hoursOfSamples(clean), place);
  return { hours, days: thermalDays(hours), removed };
}
