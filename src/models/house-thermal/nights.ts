/** The lowest of each night, foretold along a record: by the air model and by the night before, blended, with a band. */
import type { Band } from '../../domain/outlook.js';
import { addDays, civilNoon, type LocalDay } from '../../domain/time.js';
import { MS_PER_HOUR } from '../../science/units.js';
import { COLD_HOURS_BEFORE_SUNRISE, isHeardThrough } from '../house-climate.js';
import { offsetOf } from './air-run.js';
import { createBands, type GivenBand } from './bands.js';
import { createBlend, type MemberForecast } from './blend.js';
import type { ThermalDay } from './days.js';
import type { SkyHour } from './record.js';
import type { WalkedMorning } from './walk.js';

export interface NightForecast {
  /** The night that ends on this day. */
  readonly day: LocalDay;
  readonly minC: Band;
}

/** From noon to noon, as rows of the grid. */
export interface NightSpan {
  readonly day: LocalDay;
  readonly first: number;
  readonly end: number;
}

/** Nights ahead of a morning: the next, and the two after it. */
const NIGHTS = [1, 2, 3] as const;
const HEARD_SHARE = 0.8;
/** Hours of a night that must be ahead in the model for its lowest to be told. */
const NIGHT_HOURS = 15;
const MEMBERS = [
  { name: 'last night', prior: 1 },
  { name: 'air-model', prior: 2 },
] as const;

export function nightSpan(hours: readonly SkyHour[], zone: string, day: LocalDay): NightSpan {
  const startMs = (hours[0] as SkyHour).startMs;
  const rowOf = (atMs: number): number => Math.max(0, Math.round((atMs - startMs) / MS_PER_HOUR));
  return { day, first: rowOf(civilNoon(zone, addDays(day, -1))), end: rowOf(civilNoon(zone, day)) };
}

/** Lowest of a night that was heard, its coldest hours with it. */
export function measuredNight(hours: readonly SkyHour[], { first, end }: NightSpan, knownHours: number): number | null {
  if (end > knownHours) return null;
  let lowest: number | null = null;
  let heard = 0;
  for (const hour of hours.slice(first, end)) {
    heard += hour.insideHeard;
    if (hour.insideMinC !== null) lowest = Math.min(lowest ?? hour.insideMinC, hour.insideMinC);
  }
  const isHeard = heard >= HEARD_SHARE * (end - first) && coldHeard(hours, { first, end });
  return isHeard ? lowest : null;
}

/** Whether the hours before sunrise were heard, as far as they have come, without a gap in which the lowest could hide. */
function coldHeard(hours: readonly SkyHour[], { first, end }: Omit<NightSpan, 'day'>): boolean {
  const night = hours.slice(first, end);
  const [from, to] = [night[0], night.at(-1)];
  if (!from || !to) return false;
  const lit = sunriseRow(hours, first);
  const endMs = to.startMs + MS_PER_HOUR;
  const heard = night.filter(({ insideMinC }) => insideMinC !== null);
  if (lit === undefined) return isHeardThrough(heard, from.startMs, endMs);
  // The sun rises within the first lit hour.
  const overMs = (hours[lit] as SkyHour).startMs + MS_PER_HOUR;
  const fromMs = Math.max(from.startMs, overMs - COLD_HOURS_BEFORE_SUNRISE * MS_PER_HOUR);
  return isHeardThrough(heard, fromMs, Math.min(overMs, endMs));
}

/** First lit row after the dark that follows a row; undefined where the sun stays up or down. */
function sunriseRow(hours: readonly SkyHour[], first: number): number | undefined {
  let dark = false;
  for (let index = first; index < Math.min(hours.length, first + 24); index += 1) {
    const lit = (hours[index] as SkyHour).clearSkyWm2 > 0;
    if (lit && dark) return index;
    dark = !lit;
  }
  return undefined;
}

/**
 * @param mornings of the walk, rising; the forecasts of the last one are given
 * @param knownHours rows of the grid that were measured
 */
export function nightsAhead(
  mornings: readonly WalkedMorning[],
  hours: readonly SkyHour[],
  days: readonly ThermalDay[],
  zone: string,
  knownHours: number,
): NightForecast[] {
  const blend = createBlend(MEMBERS, NIGHTS.length);
  const bands = createBands(NIGHTS.length);
  const errors = NIGHTS.map((): number[] => []);
  const spans = new Map<LocalDay, NightSpan>();
  const spanOf = (day: LocalDay): NightSpan => {
    const known = spans.get(day) ?? nightSpan(hours, zone, day);
    spans.set(day, known);
    return known;
  };
  let waiting: Waiting[] = [];
  let ahead: NightForecast[] = [];
  for (const { morning, air } of mornings) {
    waiting = waiting.filter((one) => {
      if (one.span.end > morning.fromHour) return true;
      const observed = measuredNight(hours, one.span, Math.min(knownHours, morning.fromHour));
      if (observed === null) return false;
      blend.learn(one.members, one.lead, observed);
      bands.learn(one.given, one.lead, one.dayIndex, observed);
      if (one.modelC !== null) errors[one.lead]?.push(observed - one.modelC);
      return false;
    });
    const today = (days[morning.dayIndex] as ThermalDay).day;
    // Today's night may have its coldest hour still before it; the one before is over for certain.
    const last = lastMeasured(hours, today, spanOf, Math.min(knownHours, morning.fromHour));
    ahead = NIGHTS.flatMap((nights, lead) => {
      const span = spanOf(addDays(today, nights));
      const from = span.first - morning.fromHour;
      const told = air?.hourlyC.subarray(Math.max(0, from), Math.max(0, span.end - morning.fromHour));
      const modelC = told && told.length >= NIGHT_HOURS ? Math.min(...told) : null;
      const members: MemberForecast[] = [
        last === null ? undefined : { mean: last },
        modelC === null ? undefined : { mean: modelC + offsetOf(errors[lead] ?? []) },
      ];
      const forecast = blend.combine(members, lead);
      if (forecast === undefined) return [];
      const given = bands.give(forecast, lead);
      waiting.push({ span, lead, members, modelC, given, dayIndex: morning.dayIndex + nights });
      return [{ day: span.day, minC: given.band }];
    });
  }
  return ahead;
}

interface Waiting {
  readonly span: NightSpan;
  readonly lead: number;
  readonly members: readonly MemberForecast[];
  readonly modelC: number | null;
  readonly given: GivenBand;
  readonly dayIndex: number;
}

/** Lowest since yesterday's noon, or of the night before where too little of that was heard. */
function lastMeasured(
  hours: readonly SkyHour[],
  today: LocalDay,
  spanOf: (day: LocalDay) => NightSpan,
  knownHours: number,
): number | null {
  const { first, end, day } = spanOf(today);
  return (
    measuredNight(hours, { day, first, end: Math.min(end, knownHours) }, knownHours) ??
    measuredNight(hours, spanOf(addDays(today, -1)), knownHours)
  );
}
