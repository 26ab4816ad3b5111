import type { ForecastHour } from '../../domain/forecast.js';
import { addDays, civilNoon, type LocalDay, localDayOf } from '../../domain/time.js';
import { sunPosition } from '../../science/sun.js';
import { MS_PER_HOUR } from '../../science/units.js';
import { LEAD_DAYS } from './house-facts.js';

/** Less cloud than this, and leaves look at the open sky for a part of the hour (starting value). */
const CLOUDY_PCT = 90;

/**
 * Nights from now on, by the day they end on, that stay under cloud: leaves get no colder than the air then. One dark hour
 * that is clearer, or of which the forecast says nothing, is enough for a night to count as clear.
 * @param at UTC ms; of a night that is going on the rest counts
 */
export function cloudyNights(
  hours: readonly Pick<ForecastHour, 'at' | 'cloudPct'>[],
  { zone, latitude, longitude }: { readonly zone: string; readonly latitude: number; readonly longitude: number },
  at: number,
): LocalDay[] {
  const cloudAt = new Map(hours.map((hour) => [hour.at, hour.cloudPct]));
  const today = localDayOf(zone, at);
  return Array.from({ length: LEAD_DAYS + 1 }, (_, lead) => addDays(today, lead)).filter((day) => {
    const dark: number[] = [];
    const fromMs = Math.max(at, civilNoon(zone, addDays(day, -1)));
    const toMs = civilNoon(zone, day);
    for (let hour = Math.floor(fromMs / MS_PER_HOUR) * MS_PER_HOUR; hour < toMs; hour += MS_PER_HOUR)
      if (sunPosition(hour + MS_PER_HOUR / 2, latitude, longitude).altitudeDeg < 0) dark.push(hour);
    return dark.length > 0 && dark.every((hour) => (cloudAt.get(hour) ?? 0) >= CLOUDY_PCT);
  });
}
