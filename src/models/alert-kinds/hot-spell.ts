import type { Band } from '../../domain/outlook.js';
import { addDays, instantOnDay, type LocalDay, shortDay } from '../../domain/time.js';
import {
  type AlertBatch,
  type AlertDetail,
  atRisk,
  degrees,
  degreesOf,
  type Finding,
  HEAT_CAUTION,
  isChangingPair,
  percent,
  probabilityAbove,
  sentences,
} from './finding.js';
import { basisOf, type HouseFacts, hourOf, LEAD_DAYS, outlookDays, todayOf } from './house-facts.js';

/*
 * Hot spell: enough of three days reach the limit of a hot day, or three nights stay warm; or a single day comes to what
 * harms a group that stands here. The limit of a hot day is the absolute one (lower while leaf pairs change) or that of
 * the house's own record, whichever is lower; the record never makes a day hot that is below the floor.
 */

/** From this hour on the day's maximum has been reached (common practice, no published source). */
const DAY_IS_OVER_HOUR = 18;
const DAYS_OF_SPELL = 3;

interface HeatDay {
  readonly day: LocalDay;
  /** Today or later. */
  readonly ahead: boolean;
  readonly band?: Band;
  readonly nightBand?: Band;
}

const certain = (value: number): Band => ({ p10: value, p50: value, p90: value });

/** Two days back to three days ahead, each measured or expected. */
function heatDays(facts: HouseFacts): HeatDay[] {
  const today = todayOf(facts);
  const expected = new Map(outlookDays(facts).map((day) => [day.day, day]));
  const measured = new Map(facts.past.map((day) => [day.day, day]));
  const todayIsOver = hourOf(facts.zone, facts.at) >= DAY_IS_OVER_HOUR;
  return Array.from({ length: DAYS_OF_SPELL + LEAD_DAYS }, (_, index): HeatDay => {
    const day = addDays(today, index - DAYS_OF_SPELL + 1);
    const ahead = day >= today;
    const outlook = expected.get(day);
    const past = measured.get(day);
    const sofar = day === today ? facts.todayMaxC : past?.dayMaxC;
    const band =
      day === today && todayIsOver && sofar !== undefined ? certain(sofar) : atLeast(outlook?.dayMaxC, sofar);
    const night = past?.nightMinC === undefined ? outlook?.nightMinC : certain(past.nightMinC);
    return { day, ahead, ...(band && { band }), ...(night && { nightBand: night }) };
  });
}

/** What has been reached already cannot turn out lower. */
function atLeast(band: Band | undefined, reached: number | undefined): Band | undefined {
  if (band === undefined) return reached === undefined ? undefined : certain(reached);
  if (reached === undefined) return band;
  const raise = (value: number): number => Math.max(value, reached);
  return { p10: raise(band.p10), p50: raise(band.p50), p90: raise(band.p90) };
}

/**
 * Probability of a spell: within some three days running, enough are hot, today or later among them. Days of one spell
 * rise and fall together, so the n-th likeliest of three is how likely n of them are.
 */
function spellProbability(days: readonly HeatDay[], hot: (day: HeatDay) => number, needed: number): number {
  let best = 0;
  for (let start = 0; start + DAYS_OF_SPELL <= days.length; start += 1) {
    const window = days.slice(start, start + DAYS_OF_SPELL);
    const likely = window.map(hot).sort((a, b) => b - a)[needed - 1] ?? 0;
    const toCome = Math.max(0, ...window.filter(({ ahead }) => ahead).map(hot));
    best = Math.max(best, Math.min(likely, toCome));
  }
  return best;
}

/** The limit of a hot day in this house now. */
export function hotDayLimitC({
  limits,
  batches,
  ownHotDayC,
}: Pick<HouseFacts, 'limits' | 'batches' | 'ownHotDayC'>): number {
  const absolute = batches.some(isChangingPair) ? limits.hotDayLeafPairC : limits.hotDayC;
  return ownHotDayC === undefined ? absolute : Math.min(absolute, Math.max(ownHotDayC, limits.hotFloorC));
}

export function hotSpell(facts: HouseFacts): Finding {
  const subject = { kind: 'hot-spell', houseId: facts.houseId, subject: '' } as const;
  const { limits, batches } = facts;
  const days = heatDays(facts);
  const told = batches.filter(({ verdictAlerts }) => verdictAlerts.includes('hot-spell'));
  const hasAhead = days.some(({ ahead, band }) => ahead && band !== undefined);
  const listKnows = facts.listFacts['aheadHotSpell']?.value != null;
  if (!hasAhead && !listKnows) return { ...subject, known: false };

  const limitC = hotDayLimitC(facts);
  const damageC = Math.min(...batches.map(({ damageDayMaxC }) => damageDayMaxC));
  const hotDay = ({ band }: HeatDay): number => (band ? probabilityAbove(band, limitC) : 0);
  const hotNight = ({ nightBand }: HeatDay): number => (nightBand ? probabilityAbove(nightBand, limits.hotNightC) : 0);
  const harmful = ({ band, ahead }: HeatDay): number =>
    band && ahead && damageC < Number.POSITIVE_INFINITY ? probabilityAbove(band, damageC) : 0;
  const spell = Math.max(
    spellProbability(days, hotDay, limits.hotDaysOfThree),
    spellProbability(days, hotNight, DAYS_OF_SPELL),
  );
  const harm = Math.max(...days.map(harmful));
  const [tell, clear] = [limits.hotTellPct / 100, limits.hotClearPct / 100];
  const level = harm >= tell ? 2 : spell >= tell || told.length > 0 ? 1 : 0;
  if (level === 0) return { ...subject, known: true, level, clear: spell < clear && harm < clear };
  const first = days.find(
    (day) => day.ahead && (level === 2 ? harmful(day) : Math.max(hotDay(day), hotNight(day))) >= tell,
  );
  return {
    ...subject,
    known: true,
    level,
    // A forecast is not waited for.
    atOnce: true,
    detail: detailOf(facts, days, {
      level,
      limitC,
      damageC,
      probability: level === 2 ? harm : spell,
      tell,
      first,
      told,
    }),
  };
}

interface Spell {
  readonly level: 1 | 2;
  readonly limitC: number;
  readonly damageC: number;
  readonly probability: number;
  readonly tell: number;
  readonly first: HeatDay | undefined;
  /** Batches whose verdict carries the alert. */
  readonly told: readonly AlertBatch[];
}

function detailOf(facts: HouseFacts, days: readonly HeatDay[], spell: Spell): AlertDetail {
  const { batches, houseName, buys } = facts;
  const { level, first, probability, tell, told } = spell;
  const hot = days.filter(
    ({ ahead, band }) => ahead && band !== undefined && probabilityAbove(band, spell.limitC) >= tell,
  );
  const harmed = batches.filter(({ damageDayMaxC }) =>
    days.some(({ ahead, band }) => ahead && band !== undefined && probabilityAbove(band, damageDayMaxC) >= tell),
  );
  const endangered =
    probability >= tell && level === 1
      ? batches
      : batches.filter((batch) => told.includes(batch) || harmed.includes(batch));
  const today = todayOf(facts);
  const isOn = first?.day === today;
  const begins = first && beginOf(facts, first, level === 2 ? spell.damageC : spell.limitC);
  const title = `${level === 2 ? 'Harmful heat' : 'Hot spell'} ${isOn || first === undefined ? 'in' : 'coming to'} ${houseName}`;
  return {
    text: {
      title,
      reason: sentences(
        hot.length > 0
          ? `Expected: ${hot.map(({ day, band }) => `${shortDay(day)} up to ${degreesOf(band as Band)}`).join(', ')}.`
          : 'By the list of today a hot spell is on or coming.',
        probability >= tell ? `It is ${percent(probability)}.` : '',
        limitSentence(facts, spell),
        basisOf(facts),
        atRisk(endangered, batches),
      ),
      whatToDo:
        'Hang the cloth and open every vent before the morning warms up. Let air move. Do not water into the heat; what is due waits for the cool of the day after.',
      ...(buys?.['hot-spell'] !== undefined && { buys: buys['hot-spell'] }),
      caution: HEAT_CAUTION,
    },
    batchIds: endangered.map(({ batchId }) => batchId),
    ...(probability >= tell && { probability }),
    ...(begins !== undefined && begins > facts.at && { expectedAt: begins }),
    ...(hot.length > 0 && { lastDay: (hot.at(-1) as HeatDay).day }),
  };
}

function limitSentence({ batches, limits, ownHotDayC }: HouseFacts, { level, limitC, damageC }: Spell): string {
  if (level === 2) return `From ${degrees(damageC)} on plants that stand here are harmed in the sun.`;
  if (ownHotDayC !== undefined && limitC < (batches.some(isChangingPair) ? limits.hotDayLeafPairC : limits.hotDayC))
    return `A day is called hot here from ${degrees(limitC)} on, by this house's own record.`;
  if (batches.some(isChangingPair))
    return `A day is called hot here from ${degrees(limitC)} on, because plants are changing their leaf pair.`;
  return `A day is called hot here from ${degrees(limitC)} on.`;
}

/** The first hour of the day that comes to the limit, else local noon. */
function beginOf({ zone, outlook }: HouseFacts, { day }: HeatDay, limitC: number): number {
  const noon = instantOnDay(zone, day, '12:00');
  const hours = (outlook?.hours ?? []).filter(({ at }) => Math.abs(at - noon) < 12 * 3_600_000);
  return hours.find(({ airTempC }) => airTempC.p50 >= limitC)?.at ?? noon;
}
