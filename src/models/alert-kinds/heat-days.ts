import type { Band } from '../../domain/outlook.js';
import { addDays, type LocalDay } from '../../domain/time.js';
import {
  type DayHeat,
  type HeatRecord,
  type HotSpellLimits,
  hotDayLimitC,
  hotSpellFrom,
  unusualDayMaxC,
} from '../hot-spell.js';
import { isChangingPair, probabilityAbove } from './finding.js';
import { type HouseFacts, hourOf, LEAD_DAYS, outlookDays, todayOf } from './house-facts.js';

/** From this hour on the day's maximum has been reached (common practice, no published source). */
const DAY_IS_OVER_HOUR = 18;
const DAYS_OF_SPELL = 3;
/** A spell that the middle of the forecast makes is as likely as not. */
const EVEN = 0.5;

/** A day from two days ago to three days ahead, measured or expected. */
export interface HeatDay {
  readonly day: LocalDay;
  /** Today or later. */
  readonly ahead: boolean;
  /** From here on the day is hot in this house. */
  readonly hotFromC: number;
  readonly band?: Band;
  /** Of the night that ends on this day. */
  readonly nightBand?: Band;
}

const certain = (value: number): Band => ({ p10: value, p50: value, p90: value });

/** What has been reached already cannot turn out lower. */
function atLeast(band: Band | undefined, reached: number | undefined): Band | undefined {
  if (band === undefined) return reached === undefined ? undefined : certain(reached);
  if (reached === undefined) return band;
  const raise = (value: number): number => Math.max(value, reached);
  return { p10: raise(band.p10), p50: raise(band.p50), p90: raise(band.p90) };
}

const NO_RECORD: HeatRecord = { from: 'too short', unusualMaxC: [] };
const recordOf = ({ record }: HouseFacts): HeatRecord => record ?? NO_RECORD;

/** What a hot spell is in this house now. */
export function spellLimits({ limits, batches }: Pick<HouseFacts, 'limits' | 'batches'>): HotSpellLimits {
  return {
    hotDayC: batches.some(isChangingPair) ? limits.hotDayLeafPairC : limits.hotDayC,
    hotNightC: limits.hotNightC,
    hotDaysOfThree: limits.hotDaysOfThree,
    floorC: limits.hotFloorC,
  };
}

export function heatDays(facts: HouseFacts): HeatDay[] {
  const today = todayOf(facts);
  const expected = new Map(outlookDays(facts).map((day) => [day.day, day]));
  const measured = new Map(facts.past.map((day) => [day.day, day]));
  const todayIsOver = hourOf(facts.zone, facts.at) >= DAY_IS_OVER_HOUR;
  const limits = spellLimits(facts);
  return Array.from({ length: DAYS_OF_SPELL + LEAD_DAYS }, (_, index): HeatDay => {
    const day = addDays(today, index - DAYS_OF_SPELL + 1);
    const outlook = expected.get(day);
    const past = measured.get(day);
    const soFar = day === today ? facts.todayMaxC : past?.dayMaxC;
    const band =
      day === today && todayIsOver && soFar !== undefined ? certain(soFar) : atLeast(outlook?.dayMaxC, soFar);
    const night = past?.nightMinC === undefined ? outlook?.nightMinC : certain(past.nightMinC);
    return {
      day,
      ahead: day >= today,
      hotFromC: hotDayLimitC(limits, unusualDayMaxC(recordOf(facts), day)),
      ...(band && { band }),
      ...(night && { nightBand: night }),
    };
  });
}

export const hotProbability = ({ band, hotFromC }: HeatDay): number => (band ? probabilityAbove(band, hotFromC) : 0);

/**
 * Probability of a spell: within some three days running, enough are hot, today or later among them. Days of one spell
 * rise and fall together, so the n-th likeliest of three is how likely n of them are.
 */
function ofThree(days: readonly HeatDay[], hot: (day: HeatDay) => number, needed: number): number {
  let best = 0;
  for (let start = 0; start + DAYS_OF_SPELL <= days.length; start += 1) {
    const window = days.slice(start, start + DAYS_OF_SPELL);
    const likely = window.map(hot).sort((a, b) => b - a)[needed - 1] ?? 0;
    const toCome = Math.max(0, ...window.filter(({ ahead }) => ahead).map(hot));
    best = Math.max(best, Math.min(likely, toCome));
  }
  return best;
}

/** How likely a spell is on or coming: by hot days, by warm nights, or by more heat in three days than the house knows. */
export function spellProbability(facts: HouseFacts, days: readonly HeatDay[]): number {
  const limits = spellLimits(facts);
  const warmNight = ({ nightBand }: HeatDay): number => (nightBand ? probabilityAbove(nightBand, limits.hotNightC) : 0);
  return Math.max(
    ofThree(days, hotProbability, limits.hotDaysOfThree),
    ofThree(days, warmNight, DAYS_OF_SPELL),
    isExcessHeat(facts, days, limits) ? EVEN : 0,
  );
}

function isExcessHeat(facts: HouseFacts, days: readonly HeatDay[], limits: HotSpellLimits): boolean {
  const middle = days
    .filter(({ ahead }) => ahead)
    .map(
      ({ day, band, nightBand }): DayHeat => ({
        day,
        ...(band && { dayMaxC: band.p50 }),
        ...(nightBand && { nightMinC: nightBand.p50 }),
      }),
    );
  const series = [...facts.past, ...middle];
  // A spell that begins today or later, or that began yesterday and goes on.
  return [-1, 0, 1].some((start) => {
    const { met, because } = hotSpellFrom(series, facts.past.length + start, recordOf(facts), limits);
    return met === true && because === 'excess heat';
  });
}
