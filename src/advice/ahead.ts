import { defined } from '../domain/optional.js';
import type { HouseOutlook, OutlookDay } from '../domain/outlook.js';
import { addDays } from '../domain/time.js';
import type { ClimateDay, ClimateFigure } from '../models/house-climate.js';
import { plainHotSpell } from '../science/heat.js';
import type { HouseInput, Known } from './fact-inputs.js';
import type { HouseWeather } from './house-weather.js';

/*
 * The coming days of a house. Light is told as it would be with no cloth on, so that what hangs today does not decide
 * what should hang tomorrow.
 */
type Coming = Pick<HouseInput, 'tonight' | 'ahead'>;

const NO_FORECAST = 'as in the last days: no forecast is set up';
const LIKE_LAST_NIGHT = 'as last night: the outlook does not tell';
/** Facts look at most so far ahead; what an outlook says beyond it is for the page. */
const DAYS_AHEAD = 4;

/** The last night that is over. Where it was not heard it is unknown: the one before it says nothing of tonight. */
export const lastNightOf = (weather: HouseWeather): ClimateDay =>
  weather.nightOver ? weather.today : (weather.past.at(-1) ?? weather.today);

/** While there is no outlook the coming days are taken to be like the last ones. */
export function asInTheLastDays(weather: HouseWeather, from = NO_FORECAST): Coming {
  const lastThree = weather.past.slice(-3);
  const lastNight = lastNightOf(weather);
  const hotSpell = plainHotSpell(
    lastThree.map((day) => day.dayMaxC?.value),
    [...weather.past.slice(-2), weather.today].map((day) => day.nightMinC?.value),
  );
  const ahead = (pick: (day: ClimateDay) => number | undefined): readonly number[] | undefined => {
    const values = lastThree.map(pick);
    return values.length > 0 && values.every((value) => value !== undefined) ? [...values].reverse() : undefined;
  };
  const withoutCloth = (day: ClimateDay, figure: ClimateFigure | undefined): number | undefined =>
    figure && figure.value / transmissionOn(weather, day);
  // Where light was measured before, its silence is no bright day.
  const lightSilent = weather.past.some((day) => day.dli) && !lastThree.every((day) => day.dli);
  return {
    tonight: defined({
      minC: estimated(lastNight.nightMinC, from),
      maxC: estimated(lastNight.nightMaxC, from),
      wetHours: estimated(lastNight.wetHours, from),
      maxRelHumidityPct: estimated(lastNight.nightMaxRelHumidityPct, from),
    }),
    ahead: {
      from,
      lightSilent,
      hungTransmission: weather.hung.transmission,
      ...defined({
        dayMaxC: ahead((day) => day.dayMaxC?.value),
        nightMinC: ahead((day) => day.nightMinC?.value),
        dli: ahead((day) => withoutCloth(day, day.dli)),
        peakPpfdUmol: ahead((day) => withoutCloth(day, day.peakPpfdUmol)),
        hotSpell,
      }),
    },
  };
}

/**
 * By the outlook of the house, from the morning's own day on, however long ago it was made. What it does not tell stays
 * unknown, but for the night, of which the last one still says something.
 */
export function byOutlook(weather: HouseWeather, outlook: HouseOutlook): Coming {
  const plain = asInTheLastDays(weather, LIKE_LAST_NIGHT);
  const { day } = weather.today;
  const days = outlook.days.filter((one) => one.day >= day).slice(0, DAYS_AHEAD);
  const today = days.find((one) => one.day === day);
  const later = days.filter((one) => one.day > day);
  const tomorrow = later.find((one) => one.day === addDays(day, 1));
  const { from } = outlook;
  // The outlook tells light under the cloth that hangs now.
  const bare = (value: number | undefined): number | undefined => value && value / weather.hung.transmission;
  const dli = today && untilGap(days, (one) => bare(one.dli));
  const figure = (value: number | undefined): Known<number> | undefined =>
    value === undefined ? undefined : { value, from, certainty: 'estimated' };
  return {
    tonight: {
      ...plain.tonight,
      ...defined({
        minC: figure(tomorrow?.nightMinC?.p50),
        wetHours: figure(today?.wetHours),
        maxRelHumidityPct: figure(today?.nightMaxRelHumidityPct),
      }),
    },
    ahead: {
      from,
      lightSilent: dli === undefined && plain.ahead.lightSilent === true,
      hungTransmission: weather.hung.transmission,
      ...defined({
        dayMaxC: today && untilGap(days, (one) => one.dayMaxC?.p50),
        // From tonight on: today's night is the one that has just ended.
        nightMinC: tomorrow && untilGap(later, (one) => one.nightMinC?.p50),
        dli,
        peakPpfdUmol: today && untilGap(days, (one) => bare(one.peakPpfdUmol)),
      }),
    },
  };
}

/** Up to the first day that is not told, so that no later one slides into its place. */
function untilGap(days: readonly OutlookDay[], pick: (day: OutlookDay) => number | undefined): number[] | undefined {
  const values = days.map(pick);
  const gap = values.indexOf(undefined);
  const told = (gap < 0 ? values : values.slice(0, gap)) as number[];
  return told.length > 0 ? told : undefined;
}

/** Share of light the cloth let through on a past day: what hangs now hung since it was entered, and none before. */
const transmissionOn = ({ hung }: HouseWeather, { day }: ClimateDay): number =>
  hung.since !== null && day > hung.since ? hung.transmission : 1;

const estimated = (figure: ClimateFigure | undefined, from: string): Known<number> | undefined =>
  figure && { value: figure.value, from, certainty: 'estimated' };
