import type { WaterPhase } from '../domain/catalogue.js';
import type { Fact } from '../domain/verdict.js';
import { isRampFrozen, rampLimit } from '../models/light-history.js';
import { globalFromPpfdWm2, peakOfHalfSineDayUmol } from '../science/light.js';
import type { FactInputs, Known } from './fact-inputs.js';

/*
 * Facts about the weather in the house and the light on the bench. Where no forecast came, the last week stands in for
 * it and the fact says so; what cannot be told stays unknown.
 */

type FactRecord = Record<string, Fact>;

export const known = (value: Fact['value'], from: string): Fact => ({ value, certainty: 'known', from });
export const estimated = (value: Fact['value'], from: string): Fact => ({ value, certainty: 'estimated', from });
export const factFrom = <T extends string | number | boolean>(input: Known<T>): Fact => ({
  value: input.value,
  certainty: input.certainty ?? 'known',
  ...(input.spread !== undefined && { spread: input.spread }),
  from: input.from,
});

const WEEK = 'the last week stands in for a forecast';
const FORECAST = 'forecast';

/** A day with less light than this is dull (common practice, no published source). */
const DULL_DLI = 6;
/** Hot spell without a house record: such a day maximum on two of three days, or such nights on three (starting rule). */
const HOT_DAY_C = 35;
const HOT_NIGHT_C = 22;
/** Grey mould needs this warmth of a wet hour. */
const WET_HOUR_C: readonly [number, number] = [9, 21];
/** Colder than this and as damp as that, a wet pot does not dry. */
const COLD_DAMP_C = 8;
const COLD_DAMP_RH_PCT = 92;
/** °C of a leaf in the sun above the air for each W/m², with vents open and shut (starting values, see heat limits). */
const LEAF_GAIN_OPEN = 0.015;
const LEAF_GAIN_SHUT = 0.02;
const EARTH_TILT_DEG = 23.44;

export function recentFacts({ house }: FactInputs): FactRecord {
  const { nightMinC, dayMaxC, dli, peakPpfdUmol } = house.recent;
  return {
    ...(nightMinC && { recentNightMinC: factFrom(nightMinC) }),
    ...(dayMaxC && { recentDayMaxC: factFrom(dayMaxC) }),
    ...(nightMinC &&
      dayMaxC && { recentDayMeanC: { ...factFrom(dayMaxC), value: (nightMinC.value + dayMaxC.value) / 2 } }),
    ...(dli && { recentDli: factFrom(dli) }),
    ...(peakPpfdUmol && { recentPeakPpfdUmol: factFrom(peakPpfdUmol) }),
  };
}

export function tonightFacts({ house }: FactInputs): FactRecord {
  const { tonight, ahead } = house;
  const firstNight = ahead.nightMinC?.[0];
  const minC = tonight.minC
    ? factFrom(tonight.minC)
    : firstNight === undefined
      ? undefined
      : known(firstNight, FORECAST);
  const wet = wetHoursFact(tonight.wetHours, minC?.value as number | undefined, tonight.maxC?.value);
  return {
    ...(minC && { tonightMinC: minC }),
    ...(tonight.maxC && { tonightMaxC: factFrom(tonight.maxC) }),
    ...(wet && { tonightWetHours: wet }),
    ...coldDampFact(minC?.value as number | undefined, tonight.maxRelHumidityPct?.value, wet !== undefined),
  };
}

/** Too warm or too cold a night all through has no wet hours that count, whatever its humidity. */
function wetHoursFact(wetHours: Known<number> | undefined, minC?: number, maxC?: number): Fact | undefined {
  if (wetHours) return factFrom(wetHours);
  if (minC !== undefined && minC > WET_HOUR_C[1]) return estimated(0, 'too warm a night for grey mould');
  if (maxC !== undefined && maxC < WET_HOUR_C[0]) return estimated(0, 'too cold a night for grey mould');
  return undefined;
}

function coldDampFact(minC: number | undefined, rhPct: number | undefined, wetHoursKnown: boolean): FactRecord {
  if (minC === undefined) return {};
  if (minC >= COLD_DAMP_C) return { tonightColdDamp: known(false, 'tonight is not that cold') };
  if (rhPct !== undefined) return { tonightColdDamp: known(rhPct >= COLD_DAMP_RH_PCT, FORECAST) };
  return wetHoursKnown ? { tonightColdDamp: estimated(false, 'no humidity forecast; the wet hours stand in') } : {};
}

export function aheadFacts(input: FactInputs): FactRecord {
  const { recent, tonight, ahead } = input.house;
  const from = ahead.from ?? FORECAST;
  const days = ahead.dayMaxC?.slice(0, 4) ?? [];
  const nights = [...(ahead.nightMinC?.slice(0, 3) ?? []), ...(tonight.minC ? [tonight.minC.value] : [])];
  const light = ahead.dli?.slice(0, 3) ?? [];
  const dayMax = days.length > 0 ? known(Math.max(...days), from) : standIn(recent.dayMaxC);
  const brightest = light.length > 0 ? known(Math.max(...light), from) : standIn(recent.dli);
  const peak = peakFact(input, brightest);
  const hot = hotSpellFact(input);
  const leafGain = input.house.stillAir === true ? LEAF_GAIN_SHUT : LEAF_GAIN_OPEN;
  const leafAt = (airTempC: number, ppfdUmol: number): number => airTempC + leafGain * globalFromPpfdWm2(ppfdUmol);
  return {
    ...(dayMax && { aheadDayMaxC: dayMax }),
    ...(days.length > 0 && { forecastDayMaxC: known(Math.max(...days), from) }),
    ...(nights.length > 0 && { aheadNightMinC: known(Math.min(...nights), from) }),
    ...dullDaysFact(light, from, ahead.lightSilent === true),
    ...(brightest && { aheadDli: brightest }),
    ...(peak && { aheadPeakPpfdUmol: peak }),
    ...(hot && { aheadHotSpell: hot }),
    daysToFairWeather: estimated(daysToFair(input), from),
    ...(dayMax &&
      peak && {
        leafTempC: estimated(leafAt(Number(dayMax.value), Number(peak.value)), LEAF_FROM),
        leafTempUnderClothC: estimated(
          leafAt(Number(dayMax.value), Number(peak.value) * (ahead.hungTransmission ?? 1)),
          LEAF_FROM,
        ),
      }),
  };
}

const LEAF_FROM = 'air and light ahead, starting value per W/m²';

const standIn = (week: Known<number> | undefined): Fact | undefined => week && estimated(week.value, WEEK);

/** Where light was never measured nobody expects dull days; where its sensor fell silent nobody knows. */
function dullDaysFact(light: readonly number[], from: string, silent: boolean): FactRecord {
  if (light.length > 0) return { aheadDullDays: known(longestDullRun(light), from) };
  return silent ? {} : { aheadDullDays: estimated(0, 'no light forecast') };
}

function longestDullRun(dli: readonly number[]): number {
  let run = 0;
  let longest = 0;
  for (const day of dli) {
    run = day < DULL_DLI ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}

function hotSpellFact({ house }: FactInputs): Fact | undefined {
  const { ahead, recent } = house;
  const from = ahead.from ?? FORECAST;
  if (ahead.hotSpell !== undefined) return known(ahead.hotSpell, from);
  const days = ahead.dayMaxC ?? [];
  const nights = ahead.nightMinC ?? [];
  if (days.length > 0) {
    const hotDays = days.some((_, i) => days.slice(i, i + 3).filter((day) => day >= HOT_DAY_C).length >= 2 && i < 3);
    const hotNights = nights.length >= 3 && nights.slice(0, 3).every((night) => night >= HOT_NIGHT_C);
    return known(hotDays || hotNights, from);
  }
  const { dayMaxC, nightMinC } = recent;
  if (!dayMaxC && !nightMinC) return undefined;
  const hot = (dayMaxC?.value ?? Number.NEGATIVE_INFINITY) >= HOT_DAY_C || (nightMinC?.value ?? 0) >= HOT_NIGHT_C;
  return estimated(hot, WEEK);
}

/** The first day from tomorrow on that is neither hot, nor dull, nor cold by the forecast; tomorrow when nothing is known. */
function daysToFair({ house, group }: FactInputs): number {
  const { dayMaxC = [], nightMinC = [], dli = [] } = house.ahead;
  const length = Math.max(dayMaxC.length, nightMinC.length, dli.length);
  for (let day = 1; day < length; day += 1) {
    const hot = (dayMaxC[day] ?? 0) >= HOT_DAY_C;
    const dull = (dli[day] ?? DULL_DLI) < DULL_DLI;
    const cold = (nightMinC[day] ?? 99) < group.climate.minSafeWetC;
    if (!hot && !dull && !cold) return day;
  }
  return Math.max(1, length);
}

/** Measured or forecast peak, else that of a clear half-sine day with as much light. */
function peakFact(input: FactInputs, brightest: Fact | undefined): Fact | undefined {
  const { ahead, recent } = input.house;
  const peaks = ahead.peakPpfdUmol?.slice(0, 3) ?? [];
  if (peaks.length > 0) return known(Math.max(...peaks), ahead.from ?? FORECAST);
  if (recent.peakPpfdUmol) return estimated(recent.peakPpfdUmol.value, WEEK);
  if (typeof brightest?.value !== 'number') return undefined;
  const hours = daylightHours(input.latitudeDeg, input.seasonAngleDeg);
  return estimated(peakOfHalfSineDayUmol(brightest.value, hours), 'from the daily light and the length of the day');
}

/**
 * Length of the day from the season angle: the same for the same season in both hemispheres.
 * cos(h) = -tan(latitude) tan(declination), declination counted towards the own pole. Source: FAO-56, Eq. 25 and 34.
 */
function daylightHours(latitudeDeg: number, seasonAngleDeg: number | undefined): number {
  if (seasonAngleDeg === undefined) return 12;
  const rad = Math.PI / 180;
  const sinDeclination = -Math.sin(EARTH_TILT_DEG * rad) * Math.sin(seasonAngleDeg * rad);
  const tanDeclination = sinDeclination / Math.sqrt(1 - sinDeclination ** 2);
  const cosHour = -Math.tan(Math.abs(latitudeDeg) * rad) * tanDeclination;
  // Half an hour at the least: in the polar night no daily light is left to have a peak.
  return Math.max(0.5, (24 / Math.PI) * Math.acos(Math.min(1, Math.max(-1, cosHour))));
}

/** What the plant is used to against what is coming. */
export function lightFacts(input: FactInputs, ahead: FactRecord, phase: WaterPhase | undefined): FactRecord {
  const { recent } = input.house;
  const history = input.lightHistory;
  const usedTo = history
    ? factFrom(history.dli)
    : recent.dli && estimated(recent.dli.value, 'light of the last week here');
  const comingDli = ahead.aheadDli?.value;
  const facts: FactRecord = {
    ...(usedTo && { usedToDli: usedTo }),
    ...(history?.days !== undefined && { usedToDays: known(history.days, 'light history') }),
    ...(typeof comingDli === 'number' && {
      lightExcessRatio: estimated(comingDli / input.group.light.dliTarget[1], 'light ahead and the group’s target'),
    }),
  };
  if (typeof usedTo?.value !== 'number') return facts;
  const freshSkin = phase === 'papery' ? (input.plant.phase?.daysInPhase ?? undefined) : undefined;
  const knownPeak = history ? history.peakPpfdUmol?.value : recent.peakPpfdUmol?.value;
  const frozen = isRampFrozen(ahead.aheadHotSpell?.value === true, freshSkin);
  const limit = rampLimit({ dli: usedTo.value, peakPpfdUmol: knownPeak }, input.group, frozen);
  if (typeof comingDli === 'number')
    facts.lightStepRatio = estimated(limit.dli > 0 ? comingDli / limit.dli : 0, 'light history and light ahead');
  const comingPeak = comingPeakOf(input, history !== undefined);
  if (comingPeak !== undefined && limit.peakPpfdUmol !== undefined && limit.peakPpfdUmol > 0)
    for (const [name, transmission] of [
      ['peakStepRatio', 1],
      ['peakStepUnderClothRatio', input.house.ahead.hungTransmission ?? 1],
    ] as const)
      facts[name] = estimated((comingPeak * transmission) / limit.peakPpfdUmol, 'light history and light ahead');
  return facts;
}

/** Only measured or forecast peaks are held against a known peak: two estimates would only compare themselves. */
function comingPeakOf({ house }: FactInputs, moved: boolean): number | undefined {
  const peaks = house.ahead.peakPpfdUmol?.slice(0, 3) ?? [];
  if (peaks.length > 0) return Math.max(...peaks);
  return moved ? house.recent.peakPpfdUmol?.value : undefined;
}
