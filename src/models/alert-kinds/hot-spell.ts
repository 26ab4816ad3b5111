import type { Band } from '../../domain/outlook.js';
import { civilNoon, shortDay } from '../../domain/time.js';
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
import { type HeatDay, heatDays, hotProbability, spellLimits, spellProbability } from './heat-days.js';
import { basisOf, type HouseFacts, outlookDays, todayOf } from './house-facts.js';

/*
 * Hot spell: a spell as `models/hot-spell` defines it is likely enough within three days; harm: a single day comes to
 * what a group that stands here is harmed by in the sun.
 */

export function hotSpell(facts: HouseFacts): Finding {
  const subject = { kind: 'hot-spell', houseId: facts.houseId, subject: '' } as const;
  const { limits, batches } = facts;
  const days = heatDays(facts);
  const told = batches.filter(({ verdictAlerts }) => verdictAlerts.includes('hot-spell'));
  const hasAhead = days.some(({ ahead, band }) => ahead && band !== undefined);
  const listKnows = facts.listFacts['aheadHotSpell']?.value != null;
  if (!hasAhead && !listKnows) return { ...subject, known: false };

  const [tell, clear] = [limits.hotTellPct / 100, limits.hotClearPct / 100];
  const spell = spellProbability(facts, days);
  const harm = Math.max(0, ...batches.map((batch) => harmProbability(batch, days)));
  const level = harm >= tell ? 2 : spell >= tell || told.length > 0 ? 1 : 0;
  // What today came to so far says nothing of the days ahead: only who looks ahead can say that it is over.
  const knowsAhead =
    outlookDays(facts).some(({ dayMaxC }) => dayMaxC !== undefined) ||
    facts.listFacts['aheadHotSpell']?.value === false;
  if (level === 0) return { ...subject, known: true, level, clear: knowsAhead && spell < clear && harm < clear };
  return {
    ...subject,
    known: true,
    level,
    // A forecast is not waited for.
    atOnce: true,
    detail: detailOf(facts, days, { level, tell, spell, harm, told }),
  };
}

/** How likely some day to come harms a batch in the sun. */
const harmProbability = ({ damageDayMaxC }: AlertBatch, days: readonly HeatDay[]): number =>
  Math.max(0, ...days.map(({ band, ahead }) => (band && ahead ? probabilityAbove(band, damageDayMaxC) : 0)));

interface Heat {
  readonly level: 1 | 2;
  /** Probability from which it is told. */
  readonly tell: number;
  readonly spell: number;
  readonly harm: number;
  /** Batches whose verdict carries the alert. */
  readonly told: readonly AlertBatch[];
}

function detailOf(facts: HouseFacts, days: readonly HeatDay[], heat: Heat): AlertDetail {
  const { batches, houseName, buys, at } = facts;
  const { level, tell, spell, harm, told } = heat;
  const probability = level === 2 ? harm : spell;
  const harmC = Math.min(...batches.map(({ damageDayMaxC }) => damageDayMaxC));
  const likely = ({ band, ahead, hotFromC }: HeatDay): boolean =>
    ahead && band !== undefined && probabilityAbove(band, level === 2 ? harmC : hotFromC) >= tell;
  const hot = days.filter((day) => day.ahead && day.band !== undefined && hotProbability(day) >= tell);
  const endangered =
    spell >= tell && level === 1
      ? batches
      : batches.filter((batch) => told.includes(batch) || harmProbability(batch, days) >= tell);
  const first = days.find(likely);
  const isNow = first === undefined || first.day === todayOf(facts);
  const begins = first && beginOf(facts, first, level === 2 ? harmC : first.hotFromC);
  return {
    text: {
      title: `${level === 2 ? 'Harmful heat' : 'Hot spell'} ${isNow ? 'in' : 'coming to'} ${houseName}`,
      reason: sentences(
        hot.length > 0
          ? `Expected: ${hot.map(({ day, band }) => `${shortDay(day)} up to ${degreesOf(band as Band)}`).join(', ')}.`
          : 'By the list of today a hot spell is on or coming.',
        probability >= tell ? `It is ${percent(probability)}.` : '',
        limitSentence(facts, first, level === 2 ? harmC : undefined),
        basisOf(facts),
        atRisk(endangered, batches),
      ),
      whatToDo:
        'Hang the cloth and open every vent before the morning warms up. Let air move. Do not water into the heat: what is due waits for cooler days.',
      ...(buys?.['hot-spell'] !== undefined && { buys: buys['hot-spell'] }),
      caution: HEAT_CAUTION,
    },
    batchIds: endangered.map(({ batchId }) => batchId),
    ...(probability >= tell && { probability }),
    ...(begins !== undefined && begins > at && { expectedAt: begins }),
    ...(hot.length > 0 && { lastDay: (hot.at(-1) as HeatDay).day }),
  };
}

/** Why this is hot here. */
function limitSentence(facts: HouseFacts, first: HeatDay | undefined, harmC: number | undefined): string {
  if (harmC !== undefined) return `From ${degrees(harmC)} on plants that stand here are harmed in the sun.`;
  const { hotDayC } = spellLimits(facts);
  if (first !== undefined && first.hotFromC < hotDayC)
    return `A day is called hot here from ${degrees(first.hotFromC)} on, by ${
      facts.record?.from === 'outside record'
        ? 'the outdoor record of the season and how much warmer this house is'
        : "this house's own record of the season"
    }.`;
  const because = facts.batches.some(isChangingPair) ? ', because plants are changing their leaf pair' : '';
  return `A day is called hot here from ${degrees(hotDayC)} on${because}.`;
}

/** The first hour of the day that comes to the limit, else local noon. */
function beginOf({ zone, outlook }: HouseFacts, { day }: HeatDay, limitC: number): number {
  const noon = civilNoon(zone, day);
  const hours = (outlook?.hours ?? []).filter(({ at }) => Math.abs(at - noon) < 12 * 3_600_000);
  return hours.find(({ airTempC }) => airTempC.p50 >= limitC)?.at ?? noon;
}
