import type { Band } from '../../domain/outlook.js';
import { addDays, civilNoon, instantOnDay, type LocalDay, shortDay } from '../../domain/time.js';
import {
  type AlertBatch,
  type AlertDetail,
  atRisk,
  degrees,
  degreesOf,
  type Finding,
  HEATER_CAUTION,
  percent,
  probabilityBelow,
  sentences,
} from './finding.js';
import { basisOf, type HouseFacts, hourOf, listNumber, outlookDays, todayOf } from './house-facts.js';

/*
 * Frost: a night of the next three falls below the limit of a batch: the higher one while its pot is moist, and never lower
 * than what the group stands dry. Near glass or under thin film a leaf gets colder than the air on a clear night, so it is
 * told so much sooner. Harm is near when the leaf comes to freezing over a moist pot, or the air to what the group stands dry.
 */

/** Nights before this hour of the morning are still going on (common practice, no published source). */
const NIGHT_IS_OVER_HOUR = 9;
/** Above the limit by so much, measured cold is past, °C (starting value). */
const CLEAR_BY_C = 1;

interface ColdNight {
  /** The day it ends on. */
  readonly day: LocalDay;
  readonly band: Band;
  /** How far exposed leaves get below the air, °C: nought under cloud. */
  readonly dropC: number;
}

/** Day on which the night that is going on, or that comes next, ends. */
const nextNight = (facts: HouseFacts): LocalDay =>
  addDays(todayOf(facts), hourOf(facts.zone, facts.at) >= NIGHT_IS_OVER_HOUR ? 1 : 0);

const dropOn = ({ cloudyNights, clearNightLeafDropC }: HouseFacts, day: LocalDay): number =>
  cloudyNights?.includes(day) ? 0 : clearNightLeafDropC;

function nights(facts: HouseFacts): ColdNight[] {
  const expected = outlookDays(facts).flatMap(({ day, nightMinC }): ColdNight[] =>
    nightMinC && day >= nextNight(facts) ? [{ day, band: nightMinC, dropC: dropOn(facts, day) }] : [],
  );
  if (expected.length > 0) return expected;
  // Without an outlook the list tells what it expects of tonight.
  const tonight = listNumber(facts, 'tonightMinC');
  const day = addDays(todayOf(facts), 1);
  return tonight === undefined
    ? []
    : [{ day, band: { p10: tonight, p50: tonight, p90: tonight }, dropC: dropOn(facts, day) }];
}

const isMoist = ({ moist }: AlertBatch): boolean => moist !== false;

export function frost(facts: HouseFacts): Finding {
  const subject = { kind: 'frost', houseId: facts.houseId, subject: '' } as const;
  const { limits, batches, now } = facts;
  const coming = nights(facts);
  if (coming.length === 0 && now.airTempC === undefined) return { ...subject, known: false };

  // All limits go by how far leaves get below the air in the night in question.
  const warnBelowC =
    (batch: AlertBatch) =>
    (dropC: number): number =>
      Math.max(isMoist(batch) ? limits.frostMoistBelowC : limits.frostBelowC, batch.minSafeDryC + dropC);
  const harmBelowC =
    (batch: AlertBatch) =>
    (dropC: number): number =>
      isMoist(batch) ? Math.max(dropC, batch.minSafeDryC) : batch.minSafeDryC;
  const houseHarmC: LimitC = (dropC) => Math.max(...batches.map((batch) => harmBelowC(batch)(dropC)));
  const houseWarnC: LimitC = (dropC) =>
    Math.max(limits.frostBelowC, houseHarmC(dropC), ...batches.map((batch) => warnBelowC(batch)(dropC)));
  const likely = (limitC: LimitC): number => Math.max(0, ...coming.map((night) => probabilityOf(night, limitC)));
  const dropNowC = dropOn(facts, nextNight(facts));
  const isNow = (limitC: LimitC, roomC = 0): boolean =>
    now.airTempC !== undefined && now.airTempC < limitC(dropNowC) + roomC;

  const [tell, clear] = [limits.frostTellPct / 100, limits.frostClearPct / 100];
  const told = batches.filter(({ verdictAlerts }) => verdictAlerts.includes('frost'));
  const warn = likely(houseWarnC);
  const harm = likely(houseHarmC);
  const level = harm >= tell || isNow(houseHarmC) ? 2 : warn >= tell || isNow(houseWarnC) || told.length > 0 ? 1 : 0;
  // Mild air now is no end of a frost: only who looks ahead can say that it is past.
  if (level === 0)
    return {
      ...subject,
      known: true,
      level,
      clear: coming.length > 0 && warn < clear && !isNow(houseWarnC, CLEAR_BY_C),
    };
  const endangered = batches.filter(
    (batch) => told.includes(batch) || likely(warnBelowC(batch)) >= tell || isNow(warnBelowC(batch)),
  );
  const limitC = level === 2 ? houseHarmC : houseWarnC;
  return {
    ...subject,
    known: true,
    level,
    atOnce: true,
    detail: detailOf(facts, coming, {
      level,
      limitC,
      tell,
      probability: level === 2 ? harm : warn,
      dropNowC,
      endangered,
    }),
  };
}

/** A limit of the air, °C, by how far leaves get below it. */
type LimitC = (dropC: number) => number;

function probabilityOf({ band, dropC }: ColdNight, limitC: LimitC): number {
  const limit = limitC(dropC);
  return limit > Number.NEGATIVE_INFINITY ? probabilityBelow(band, limit) : 0;
}

interface Cold {
  readonly level: 1 | 2;
  /** Limit that is passed. */
  readonly limitC: LimitC;
  readonly tell: number;
  readonly probability: number;
  readonly dropNowC: number;
  readonly endangered: readonly AlertBatch[];
}

function detailOf(facts: HouseFacts, coming: readonly ColdNight[], cold: Cold): AlertDetail {
  const { at, now, buys, batches } = facts;
  const { level, limitC, probability, endangered } = cold;
  const isNow = now.airTempC !== undefined && now.airTempC < limitC(cold.dropNowC);
  const likely = coming.filter((night) => probabilityOf(night, limitC) >= cold.tell);
  const first = likely[0];
  const dropC = isNow || first === undefined ? cold.dropNowC : first.dropC;
  const coldC = limitC(dropC);
  const begins = isNow || first === undefined ? undefined : beginOf(facts, first.day, coldC);
  const moist = endangered.filter(isMoist).length;
  return {
    text: {
      title: `${level === 2 ? 'Harmful cold' : 'Frost'} ${isNow ? 'in' : 'coming to'} ${facts.houseName}`,
      reason: sentences(
        isNow ? `It is ${degrees(now.airTempC as number)} now.` : '',
        ...likely.map(({ day, band }) => `The night to ${shortDay(day)} is expected down to ${degreesOf(band)}.`),
        !first && !isNow ? 'By the list of today a frost night is coming.' : '',
        first && !isNow ? `Below ${degrees(coldC)}: ${percent(probability)}.` : '',
        level === 2 ? `Below ${degrees(coldC)} plants that stand here are harmed.` : '',
        dropC > 0 ? `Leaves near the cover get about ${degrees(dropC)} colder than the air on a clear night.` : '',
        moist > 0
          ? `${moist === endangered.length ? 'Their pots are' : `${moist} of them stand in pots that are`} moist or not known to be dry: these freeze first.`
          : '',
        basisOf(facts),
        atRisk(endangered, batches),
      ),
      whatToDo: isNow
        ? 'Heat now. Shut the vents. Cover what stands near the glass with fleece or paper. Do not water until it is mild again.'
        : 'Make the heater ready and try it by daylight. Shut the vents before dusk. Cover or move what stands near the glass. Do not water before the night.',
      ...(buys?.frost !== undefined && { buys: buys.frost }),
      caution: HEATER_CAUTION,
    },
    batchIds: endangered.map(({ batchId }) => batchId),
    ...(!isNow && first && { probability }),
    ...(begins !== undefined && begins > at && { expectedAt: begins }),
    lastDay: likely.at(-1)?.day ?? nextNight(facts),
  };
}

/** The first hour of the night that comes to the limit, else three in the morning. */
function beginOf({ zone, outlook, at }: HouseFacts, day: LocalDay, limitC: number): number {
  const noon = civilNoon(zone, day);
  const noonBefore = civilNoon(zone, addDays(day, -1));
  const hours = (outlook?.hours ?? []).filter((hour) => hour.at >= Math.max(at, noonBefore) && hour.at < noon);
  return hours.find(({ airTempC }) => airTempC.p50 < limitC)?.at ?? instantOnDay(zone, day, '03:00');
}
