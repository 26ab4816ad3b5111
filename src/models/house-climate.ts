import { defined } from '../domain/optional.js';
import type { Quantity, RollUp } from '../domain/quantities.js';
import type { DayBounds, LocalDay } from '../domain/time.js';
import { dewPointMarginC, vpdKPa } from '../science/air.js';
import { AERODYNAMIC_RESISTANCE_SM, glassReferenceEtMm } from '../science/evaporation.js';
import { dliFromPpfdIntegral, ppfdFromGlobalUmol, ppfdFromLuxUmol, radiationSumFromDliMJm2 } from '../science/light.js';
import { median } from '../science/statistics/quantiles.js';
import { MS_PER_HOUR } from '../science/units.js';

/**
 * The climate of a house, day by day, from the hourly roll-ups of its sensors. Each figure is known, estimated or
 * unknown by the share of its hours that were heard; a silent sensor never becomes a mild night.
 */
export interface ClimateFigure {
  readonly value: number;
  readonly certainty: 'known' | 'estimated';
}

/** Hours of one quantity, the sensors of the house put together. */
export type HourTable = ReadonlyMap<number, RollUp>;
export type HouseHours = Readonly<Partial<Record<Quantity, HourTable>>>;

export interface ClimatePlace {
  readonly pressureKPa: number;
  readonly fans: boolean;
  /** Condensation begins this far above the dew point under the cover, °C. */
  readonly wetMarginC: number;
  /** Share of outside light that reaches the benches, cloth included: for a house without a light sensor. */
  readonly transmission?: number;
}

/** One local day, with the sun's own limits, all UTC ms. */
export interface ClimateDayFrame {
  readonly day: LocalDay;
  readonly bounds: DayBounds;
  readonly noonMs: number;
  readonly noonBeforeMs: number;
  /** Null where the sun does not rise or set that day. */
  readonly sunriseMs: number | null;
  readonly sunsetMs: number | null;
  readonly alwaysDown: boolean;
}

export interface ClimateDay {
  readonly day: LocalDay;
  /** Lowest temperature from the noon before to this day's noon: the night that ends this morning. */
  readonly nightMinC?: ClimateFigure;
  readonly nightMaxC?: ClimateFigure;
  readonly dayMaxC?: ClimateFigure;
  readonly meanTempC?: ClimateFigure;
  readonly meanVpdKPa?: ClimateFigure;
  /** Mean from sunrise to sunset. */
  readonly daylightVpdKPa?: ClimateFigure;
  /** Closest the air came to its dew point in the night that ends this morning, °C. */
  readonly dewMarginMinC?: ClimateFigure;
  readonly nightMaxRelHumidityPct?: ClimateFigure;
  /** Hours of that night near the dew point at 9-21 °C, the temperatures at which grey mould infects. */
  readonly wetHours?: ClimateFigure;
  /** At bench height, mol m⁻² d⁻¹. */
  readonly dli?: ClimateFigure;
  /** Highest hourly mean. */
  readonly peakPpfdUmol?: ClimateFigure;
  /** Reference evaporation under the cover. */
  readonly referenceEtMm?: ClimateFigure;
}

/** Shares of the hours that must be there for a figure to count as known, and to be told at all (starting values). */
const KNOWN_SHARE = 0.9;
const TOLD_SHARE = 0.6;
/** The warmest or coldest hour may hide in a gap of more hours than this (starting value). */
const GAP_HOURS = 2;
/** Where these hours fall: around the sun's noon, and before sunrise (common practice, no published source). */
export const WARM_HOURS = [-3, 5] as const;
const BRIGHT_HOURS = [-2, 2] as const;
export const COLD_HOURS_BEFORE_SUNRISE = 6;
/** Grey mould infects between these: Sirjusingh & Sutton 1996, Plant Dis. 80:160-165; Yunis et al. 1994. */
export const MOULD_TEMP_C = [9, 21] as const;

/**
 * The sensors of a house put together hour by hour: of two the mean, of three or more the middle one, so that one sensor
 * in the sun or gone wrong does not bend the house.
 */
export function hoursOfSensors(sensors: readonly (readonly RollUp[])[]): HourTable {
  const hours = new Map<number, RollUp[]>();
  for (const sensor of sensors)
    for (const hour of sensor) {
      const others = hours.get(hour.startMs);
      if (others) others.push(hour);
      else hours.set(hour.startMs, [hour]);
    }
  const table = new Map<number, RollUp>();
  for (const [startMs, same] of hours)
    table.set(startMs, same.length === 1 ? (same[0] as RollUp) : together(startMs, same));
  return table;
}

function together(startMs: number, same: readonly RollUp[]): RollUp {
  const middle = (pick: (hour: RollUp) => number) =>
    same.length === 2 ? meanOf(same.map(pick)) : median(same.map(pick));
  const longest = Math.max(...same.map((hour) => hour.coveredSeconds));
  const covering = same.filter((hour) => hour.coveredSeconds > 0);
  return {
    startMs,
    count: same.reduce((sum, hour) => sum + hour.count, 0),
    min: middle((hour) => hour.min),
    mean: middle((hour) => hour.mean),
    max: middle((hour) => hour.max),
    integral: covering.length > 0 ? middleRate(covering) * longest : 0,
    coveredSeconds: longest,
  };
}

/** Per covered second; of two sensors the one that was silent for half the hour counts half as much. */
const middleRate = (covering: readonly RollUp[]): number =>
  covering.length > 2
    ? median(covering.map((hour) => hour.integral / hour.coveredSeconds))
    : covering.reduce((sum, hour) => sum + hour.integral, 0) /
      covering.reduce((sum, hour) => sum + hour.coveredSeconds, 0);

/**
 * The climate of one day.
 * @param inside hours of the sensors in the house, outside those of the site
 * @param untilMs what comes later is not known yet; a day that is not over has no maximum and no light sum
 */
export function climateDay(
  frame: ClimateDayFrame,
  inside: HouseHours,
  outside: HouseHours,
  place: ClimatePlace,
  untilMs: number,
): ClimateDay {
  const { startMs, endMs } = frame.bounds;
  const night = hoursBetween(inside.airTempC, frame.noonBeforeMs, frame.noonMs);
  const day = hoursBetween(inside.airTempC, startMs, endMs);
  // By the morning round the coldest hours are over; the hours up to noon are not waited for.
  const nightHours = expectedHours(frame.noonBeforeMs, Math.min(frame.noonMs, Math.max(untilMs, frame.noonBeforeMs)));
  const dayHours = expectedHours(startMs, endMs);
  const damp = dampHours(inside, frame);
  const { heardDli, ...light } = lightOfDay(frame, inside, outside, place);
  const meanTempC = figure(day, dayHours, (hours) => meanOf(hours.map((hour) => hour.mean)));
  const vpd = vpdHours(inside, startMs, endMs);
  const meanVpdKPa = figure(vpd, dayHours, meanOf);
  const sunUpMs = frame.alwaysDown ? undefined : ([frame.sunriseMs ?? startMs, frame.sunsetMs ?? endMs] as const);
  const nightOver = isNightOver(frame, untilMs);
  const coldHeard = isHeardThrough(night, ...coldHours(frame, untilMs));
  const darkHeard = isHeardThrough(damp, ...darkHours(frame, untilMs));
  const warmHeard = isHeardThrough(day, ...aroundSunNoon(frame, WARM_HOURS));
  const dayOver = untilMs >= endMs;
  return {
    day: frame.day,
    ...defined({
      nightMinC:
        nightOver && coldHeard
          ? figure(night, nightHours, (hours) => Math.min(...hours.map((hour) => hour.min)))
          : undefined,
      nightMaxC: nightOver ? darkMaximum(night, frame) : undefined,
      dayMaxC:
        dayOver && warmHeard ? figure(day, dayHours, (hours) => Math.max(...hours.map((hour) => hour.max))) : undefined,
      meanTempC,
      meanVpdKPa,
      daylightVpdKPa:
        dayOver && sunUpMs ? figure(vpdHours(inside, ...sunUpMs), expectedHours(...sunUpMs), meanOf) : undefined,
      ...(darkHeard && {
        dewMarginMinC: figure(damp, nightHours, (hours) => Math.min(...hours.map((hour) => hour.marginC))),
        nightMaxRelHumidityPct: figure(damp, nightHours, (hours) =>
          Math.max(...hours.map((hour) => hour.relHumidityPct)),
        ),
        wetHours: figure(damp, nightHours, (hours) => countWetHours(hours, place)),
      }),
      ...(dayOver ? light : {}),
      referenceEtMm: dayOver ? evaporation(frame, place, meanTempC, meanVpdKPa, light.dli, vpd, heardDli) : undefined,
    }),
  };
}

/** Whether the coldest hours of the night that ends on a day are over. */
export const isNightOver = (frame: ClimateDayFrame, atMs: number): boolean =>
  atMs >= (frame.sunriseMs ?? frame.noonMs) - MS_PER_HOUR;

type Span = readonly [fromMs: number, toMs: number];

function coldHours(frame: ClimateDayFrame, untilMs: number): Span {
  const { sunriseMs, noonBeforeMs, noonMs } = frame;
  return sunriseMs === null
    ? [noonBeforeMs, Math.min(noonMs, untilMs)]
    : [sunriseMs - COLD_HOURS_BEFORE_SUNRISE * MS_PER_HOUR, Math.min(sunriseMs, untilMs)];
}

function darkHours(frame: ClimateDayFrame, untilMs: number): Span {
  const { sunriseMs, sunsetMs, noonBeforeMs, noonMs } = frame;
  // The sun set the evening before within minutes of the same time.
  return sunriseMs === null || sunsetMs === null
    ? [noonBeforeMs, Math.min(noonMs, untilMs)]
    : [sunsetMs - 24 * MS_PER_HOUR, Math.min(sunriseMs, untilMs)];
}

function aroundSunNoon(frame: ClimateDayFrame, [before, after]: readonly [number, number]): Span {
  const { sunriseMs, sunsetMs, noonMs } = frame;
  const middle = sunriseMs === null || sunsetMs === null ? noonMs : (sunriseMs + sunsetMs) / 2;
  return [middle + before * MS_PER_HOUR, middle + after * MS_PER_HOUR];
}

/** Whether a span was heard without a gap in which its highest or lowest value could hide. */
export function isHeardThrough(hours: readonly { readonly startMs: number }[], fromMs: number, toMs: number): boolean {
  const heard = new Set(hours.map(({ startMs }) => startMs));
  let gap = 0;
  for (const at of hourStarts(fromMs, toMs)) {
    gap = heard.has(at) ? 0 : gap + 1;
    if (gap > GAP_HOURS) return false;
  }
  return true;
}

/** Mean of a figure over days; estimated as soon as one of them is, or when fewer than `atLeast` days are there. */
export function meanFigure(
  days: readonly ClimateDay[],
  pick: (day: ClimateDay) => ClimateFigure | undefined,
  atLeast = 4,
): ClimateFigure | undefined {
  const there = days.map(pick).filter((value) => value !== undefined);
  if (there.length === 0 || there.length < Math.min(atLeast, days.length)) return undefined;
  const sure = there.length === days.length && there.every((value) => value.certainty === 'known');
  return { value: meanOf(there.map((value) => value.value)), certainty: sure ? 'known' : 'estimated' };
}

const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Hours that start in the span; the first may begin a little before in zones that are not whole hours off. */
function hourStarts(fromMs: number, toMs: number): number[] {
  const starts: number[] = [];
  for (let at = Math.floor(fromMs / MS_PER_HOUR) * MS_PER_HOUR; at < toMs; at += MS_PER_HOUR)
    if (at + MS_PER_HOUR / 2 >= fromMs) starts.push(at);
  return starts;
}

function hoursBetween(table: HourTable | undefined, fromMs: number, toMs: number): RollUp[] {
  if (!table) return [];
  return hourStarts(fromMs, toMs)
    .map((at) => table.get(at))
    .filter((hour) => hour !== undefined && hour.count > 0) as RollUp[];
}

const expectedHours = (fromMs: number, toMs: number): number => Math.max(1, Math.round((toMs - fromMs) / MS_PER_HOUR));

function figure<T>(
  hours: readonly T[],
  expected: number,
  value: (hours: readonly T[]) => number,
): ClimateFigure | undefined {
  const share = hours.length / expected;
  if (hours.length === 0 || share < TOLD_SHARE) return undefined;
  return { value: value(hours), certainty: share >= KNOWN_SHARE ? 'known' : 'estimated' };
}

interface DampHour {
  readonly startMs: number;
  readonly tempC: number;
  readonly relHumidityPct: number;
  readonly marginC: number;
}

function dampHours(inside: HouseHours, frame: ClimateDayFrame): DampHour[] {
  const humidity = inside.relHumidityPct;
  return hoursBetween(inside.airTempC, frame.noonBeforeMs, frame.noonMs).flatMap((hour) => {
    const air = humidity?.get(hour.startMs);
    if (!air || air.count === 0) return [];
    // Bone-dry readings have no dew point; a margin this wide says the same.
    const relHumidityPct = Math.min(100, Math.max(1, air.mean));
    return [
      { startMs: hour.startMs, tempC: hour.mean, relHumidityPct, marginC: dewPointMarginC(hour.mean, relHumidityPct) },
    ];
  });
}

/** Close enough to the dew point, at temperatures at which grey mould infects. */
export const isWetHour = (tempC: number, marginC: number, wetMarginC: number): boolean =>
  marginC < wetMarginC && tempC >= MOULD_TEMP_C[0] && tempC <= MOULD_TEMP_C[1];

/** Wet hours of a night; an hour that was not heard counts as wet beside one that was. */
function countWetHours(hours: readonly DampHour[], place: ClimatePlace): number {
  const isWet = ({ marginC, tempC }: DampHour) => isWetHour(tempC, marginC, place.wetMarginC);
  let count = 0;
  for (const [index, hour] of hours.entries()) {
    const wet = isWet(hour);
    if (wet) count += 1;
    const before = hours[index - 1];
    if (before && (wet || isWet(before))) count += Math.round((hour.startMs - before.startMs) / MS_PER_HOUR) - 1;
  }
  return count;
}

function vpdHours(inside: HouseHours, fromMs: number, toMs: number): number[] {
  const humidity = inside.relHumidityPct;
  return hoursBetween(inside.airTempC, fromMs, toMs).flatMap((hour) => {
    const air = humidity?.get(hour.startMs);
    return air && air.count > 0 ? [vpdKPa(hour.mean, Math.min(100, Math.max(0, air.mean)))] : [];
  });
}

function darkMaximum(night: readonly RollUp[], frame: ClimateDayFrame): ClimateFigure | undefined {
  if (frame.sunriseMs === null) return undefined;
  const dark = night.filter(
    (hour) => hour.startMs < (frame.sunriseMs as number) && hour.startMs >= frame.bounds.startMs,
  );
  const expected = expectedHours(frame.bounds.startMs, frame.sunriseMs);
  if (!isHeardThrough(dark, frame.bounds.startMs, frame.sunriseMs - MS_PER_HOUR)) return undefined;
  return figure(dark, expected, (hours) => Math.max(...hours.map((hour) => hour.max)));
}

/** Light of the day at the bench: from a plant-light sensor, else radiation, else lux, else outside light through the cover. */
function lightOfDay(
  frame: ClimateDayFrame,
  inside: HouseHours,
  outside: HouseHours,
  place: ClimatePlace,
): { dli?: ClimateFigure; peakPpfdUmol?: ClimateFigure; heardDli?: number } {
  if (frame.alwaysDown)
    return { dli: { value: 0, certainty: 'known' }, peakPpfdUmol: { value: 0, certainty: 'known' }, heardDli: 0 };
  const from = frame.sunriseMs ?? frame.bounds.startMs;
  const to = frame.sunsetMs ?? frame.bounds.endMs;
  const through = place.transmission;
  const sources: [HourTable | undefined, (value: number) => number, 'known' | 'estimated'][] = [
    [inside.ppfdUmol, (value) => value, 'known'],
    [inside.radiationWm2, (value) => ppfdFromGlobalUmol(value), 'known'],
    [inside.illuminanceLux, (value) => ppfdFromLuxUmol(value), 'known'],
    ...(through === undefined
      ? []
      : ([
          [outside.ppfdUmol, (value) => value * through, 'estimated'],
          [outside.radiationWm2, (value) => ppfdFromGlobalUmol(value) * through, 'estimated'],
        ] as [HourTable | undefined, (value: number) => number, 'known' | 'estimated'][])),
  ];
  for (const [table, toPpfd, best] of sources) {
    const hours = hoursBetween(table, frame.sunriseMs === null ? from : from - MS_PER_HOUR / 2, to);
    const share = hours.length / expectedHours(from, to);
    const covered = hours.reduce((sum, hour) => sum + hour.coveredSeconds, 0);
    if (share < TOLD_SHARE || covered === 0) continue;
    const certainty = share >= KNOWN_SHARE ? best : 'estimated';
    // What the gaps would have held is taken to be like the hours that were heard.
    const fill = Math.max(1, (to - from) / 1000 / covered);
    const integral = hours.reduce((sum, hour) => sum + toPpfd(Math.max(0, hour.integral)), 0);
    return {
      dli: { value: dliFromPpfdIntegral(integral * (share >= KNOWN_SHARE ? 1 : fill)), certainty },
      heardDli: dliFromPpfdIntegral(integral),
      ...(isHeardThrough(hours, ...aroundSunNoon(frame, BRIGHT_HOURS)) && {
        peakPpfdUmol: { value: Math.max(...hours.map((hour) => toPpfd(Math.max(0, hour.mean)))), certainty },
      }),
    };
  }
  return {};
}

/** Evaporation of a day; hours nobody measured are taken for dark and saturated, so that a gap never dries a pot. */
function evaporation(
  frame: ClimateDayFrame,
  place: ClimatePlace,
  meanTempC: ClimateFigure | undefined,
  meanVpdKPa: ClimateFigure | undefined,
  dli: ClimateFigure | undefined,
  heardVpdKPa: readonly number[],
  heardDli: number | undefined,
): ClimateFigure | undefined {
  if (!meanTempC || !meanVpdKPa || !dli || heardDli === undefined) return undefined;
  const sure = [meanTempC, meanVpdKPa, dli].every((part) => part.certainty === 'known');
  const { startMs, endMs } = frame.bounds;
  const hours = Math.max(expectedHours(startMs, endMs), heardVpdKPa.length);
  return {
    value: glassReferenceEtMm({
      airTempC: meanTempC.value,
      vpdKPa: heardVpdKPa.reduce((sum, hour) => sum + hour, 0) / hours,
      radiationMJm2: radiationSumFromDliMJm2(heardDli),
      periodSeconds: (endMs - startMs) / 1000,
      pressureKPa: place.pressureKPa,
      aerodynamicResistanceSm: place.fans ? AERODYNAMIC_RESISTANCE_SM.fans : AERODYNAMIC_RESISTANCE_SM.still,
    }),
    certainty: sure ? 'known' : 'estimated',
  };
}
