/** The coming hours and days of a house, from what was learned of it and the weather that is expected. */
import { defined } from '../../domain/optional.js';
import type { OutlookDay, OutlookHour } from '../../domain/outlook.js';
import { addDays, localDayBounds, localDayOf } from '../../domain/time.js';
import { clamp } from '../../science/guards.js';
import { MS_PER_HOUR } from '../../science/units.js';
import { hourErrors } from './hour-errors.js';
import { nightSpan } from './nights.js';
import { dampNight, humidityHours, lightOfDay, ppfdOf } from './outlook-air.js';
import { modelCurve, usualCurve } from './outlook-curve.js';
import { DAYS_AHEAD, expectedMaxima, nightMinima, shapedTo } from './outlook-days.js';
import type { OutlookInput } from './outlook-input.js';
import type { SkyHour } from './record.js';
import type { AheadRun } from './what-if.js';

export interface HouseAhead {
  readonly hours: readonly OutlookHour[];
  readonly days: readonly OutlookDay[];
  /** What is needed to ask what another cloth would do; undefined: the air model cannot be run. */
  readonly run: AheadRun | undefined;
}

export function houseAhead(input: OutlookInput): HouseAhead {
  const { hours, at, place } = input;
  const startMs = (hours[0] as SkyHour).startMs;
  const knownHours = clamp(Math.floor((at - startMs) / MS_PER_HOUR), 0, hours.length);
  const localHourOf = (index: number): number => {
    const { day, startMs: hourMs } = hours[index] as SkyHour;
    return clamp(Math.floor((hourMs - localDayBounds(place.zone, day).startMs) / MS_PER_HOUR), 0, 23);
  };
  const errors = hourErrors(input.walk.mornings, hours, localHourOf, knownHours);
  const curve = modelCurve(input, knownHours, localHourOf, errors) ?? usualCurve(input, knownHours, localHourOf);
  const today = localDayOf(place.zone, at);
  const maxima = expectedMaxima(input, curve, today, knownHours);
  const nights = nightMinima(input, curve, today, knownHours);
  const shaped = shapedTo(curve, hours, maxima, nights, today);
  const humidity = humidityHours(input, shaped, knownHours, curve.coefficients);
  return {
    hours: shaped.map(
      ({ index, airTempC }, ahead): OutlookHour => ({
        at: (hours[index] as SkyHour).startMs,
        airTempC,
        ...defined({
          relHumidityPct: humidity?.[ahead],
          ppfdUmol: ppfdOf(hours[index] as SkyHour, input.lightTransmission),
          outsideTempC: hours[index]?.outsideTempC ?? undefined,
        }),
      }),
    ),
    days: Array.from({ length: DAYS_AHEAD }, (_, lead): OutlookDay => {
      const day = addDays(today, lead);
      const rows = input.days.find((one) => one.day === day);
      const damp = dampNight(hours, shaped, humidity, nightSpan(hours, place.zone, addDays(day, 1)), input.wetMarginC);
      return {
        day,
        lead,
        ...defined({
          dayMaxC: maxima.get(day),
          nightMinC: nights.get(day),
          ...(rows &&
            lightOfDay(hours.slice(rows.first, rows.end), input.lightTransmission, localDayBounds(place.zone, day))),
          wetHours: damp?.wetHours,
          nightMaxRelHumidityPct: damp?.maxRelHumidityPct,
        }),
      };
    }).filter((day) => Object.keys(day).length > 2),
    run: curve.run,
  };
}
