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
/** Grey mould infects between these: Sirjusingh & Sutton 1996, Plant Dis. 80:160-165; Yunis et al. 1994. */
const MOULD_TEMP_C = [9, 21] as const;

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
  const light = lightOfDay(frame, inside, outside, place);
  const meanTempC = figure(day, dayHours, (hours) => meanOf(hours.map((hour) => hour.mean)));
  const vpd = figure(vpdHours(inside, startMs, endMs), dayHours, meanOf);
  const nightOver = untilMs >= (frame.sunriseMs ?? frame.noonMs) - MS_PER_HOUR;
  return {
    day: frame.day,
    ...defined({
      nightMinC: nightOver
        ? figure(night, nightHours, (hours) => Math.min(...hours.map((hour) => hour.min)))
        : undefined,
      nightMaxC: nightOver ? darkMaximum(night, frame) : undefined,
      dayMaxC:
        untilMs >= endMs ? figure(day, dayHours, (hours) => Math.max(...hours.map((hour) => hour.max))) : undefined,
      meanTempC,
      meanVpdKPa: vpd,
      dewMarginMinC: figure(damp, nightHours, (hours) => Math.min(...hours.map((hour) => hour.marginC))),
      nightMaxRelHumidityPct: figure(damp, nightHours, (hours) =>
        Math.max(...hours.map((hour) => hour.relHumidityPct)),
      ),
      wetHours: figure(
        damp,
        nightHours,
        (hours) =>
          hours.filter(
            (hour) => hour.marginC < place.wetMarginC && hour.tempC >= MOULD_TEMP_C[0] && hour.tempC <= MOULD_TEMP_C[1],
          ).length,
      ),
      ...(untilMs >= endMs ? light : {}),
      referenceEtMm: untilMs >= endMs ? evaporation(frame, place, meanTempC, vpd, light.dli) : undefined,
    }),
  };
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
function hoursBetween(table: HourTable | undefined, fromMs: number, toMs: number): RollUp[] {
  if (!table) return [];
  const hours: RollUp[] = [];
  for (let at = Math.floor(fromMs / MS_PER_HOUR) * MS_PER_HOUR; at < toMs; at += MS_PER_HOUR) {
    const hour = at + MS_PER_HOUR / 2 >= fromMs ? table.get(at) : undefined;
    if (hour && hour.count > 0) hours.push(hour);
  }
  return hours;
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
    return [{ tempC: hour.mean, relHumidityPct, marginC: dewPointMarginC(hour.mean, relHumidityPct) }];
  });
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
  // The evening before has the same length of darkness within minutes.
  const dark = night.filter(
    (hour) => hour.startMs < (frame.sunriseMs as number) && hour.startMs >= frame.bounds.startMs,
  );
  const expected = expectedHours(frame.bounds.startMs, frame.sunriseMs);
  return figure(dark, expected, (hours) => Math.max(...hours.map((hour) => hour.max)));
}

/** Light of the day at the bench: from a plant-light sensor, else radiation, else lux, else outside light through the cover. */
function lightOfDay(
  frame: ClimateDayFrame,
  inside: HouseHours,
  outside: HouseHours,
  place: ClimatePlace,
): { dli?: ClimateFigure; peakPpfdUmol?: ClimateFigure } {
  if (frame.alwaysDown)
    return { dli: { value: 0, certainty: 'known' }, peakPpfdUmol: { value: 0, certainty: 'known' } };
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
      peakPpfdUmol: { value: Math.max(...hours.map((hour) => toPpfd(Math.max(0, hour.mean)))), certainty },
    };
  }
  return {};
}

function evaporation(
  frame: ClimateDayFrame,
  place: ClimatePlace,
  meanTempC: ClimateFigure | undefined,
  vpd: ClimateFigure | undefined,
  dli: ClimateFigure | undefined,
): ClimateFigure | undefined {
  if (!meanTempC || !vpd || !dli) return undefined;
  const sure = [meanTempC, vpd, dli].every((part) => part.certainty === 'known');
  return {
    value: glassReferenceEtMm({
      airTempC: meanTempC.value,
      vpdKPa: vpd.value,
      radiationMJm2: radiationSumFromDliMJm2(dli.value),
      periodSeconds: (frame.bounds.endMs - frame.bounds.startMs) / 1000,
      pressureKPa: place.pressureKPa,
      aerodynamicResistanceSm: place.fans ? AERODYNAMIC_RESISTANCE_SM.fans : AERODYNAMIC_RESISTANCE_SM.still,
    }),
    certainty: sure ? 'known' : 'estimated',
  };
}
