import { instantOnDay, type LocalDay } from '../../domain/time.js';
import { MOULD_TEMP_C } from '../house-climate.js';
import { atRisk, type Finding, MAINS_CAUTION, sentences } from './finding.js';
import { basisOf, type HouseFacts, hourOf, listNumber, outlookDays, todayOf } from './house-facts.js';

/*
 * Wet night: hours with the dew point close, at temperatures at which grey mould infects. Only the coming night counts:
 * what can be done for it is done this afternoon.
 */

/** Before this hour the night that is going on is another than the one today's figures speak of (common practice). */
const MORNING_HOUR = 5;
/** By this hour the last air should have been given (common practice, no published source). */
const DUSK = '18:00';

/** Wet hours of the night that comes, or that is going on, and the day it begins on. */
function comingNight(facts: HouseFacts): { readonly day: LocalDay; readonly hours: number } | undefined {
  const today = todayOf(facts);
  const outlook = outlookDays(facts).find(({ lead }) => lead === 0);
  if (outlook?.wetHours !== undefined) return { day: outlook.day, hours: outlook.wetHours };
  const listed = listNumber(facts, 'tonightWetHours');
  return listed === undefined ? undefined : { day: today, hours: listed };
}

export function wetNight(facts: HouseFacts): Finding {
  const subject = { kind: 'wet-night', houseId: facts.houseId, subject: '' } as const;
  const { limits, batches, houseName, buys } = facts;
  if (hourOf(facts.zone, facts.at) < MORNING_HOUR) return { ...subject, known: false };
  const night = comingNight(facts);
  const told = batches.filter(({ verdictAlerts }) => verdictAlerts.includes('wet-night'));
  if (night === undefined && told.length === 0) return { ...subject, known: false };
  const hours = night?.hours ?? 0;
  const isWet = hours >= limits.wetNightHours;
  if (!isWet && told.length === 0)
    return { ...subject, known: true, level: 0, clear: hours < limits.wetNightClearHours };
  const endangered = isWet ? batches : told;
  const dusk = instantOnDay(facts.zone, night?.day ?? todayOf(facts), DUSK);
  return {
    ...subject,
    known: true,
    level: 1,
    atOnce: true,
    detail: {
      text: {
        title: `Wet night coming to ${houseName}`,
        reason: sentences(
          isWet
            ? `About ${Math.round(hours)} hours tonight with the dew point close and ${MOULD_TEMP_C.join(' to ')} °C: from ${limits.wetNightHours} hours on grey mould takes hold.`
            : 'By the list of today a wet night is coming: grey mould takes hold.',
          basisOf(facts),
          atRisk(endangered, batches),
        ),
        whatToDo:
          'Give air once more before dusk, then keep the air moving all night. A little heat with the vents a hand open dries the house. Do not water today, and take out dead leaves and flowers.',
        ...(buys?.['wet-night'] !== undefined && { buys: buys['wet-night'] }),
        caution: MAINS_CAUTION,
      },
      batchIds: endangered.map(({ batchId }) => batchId),
      ...(dusk > facts.at && { expectedAt: dusk }),
      lastDay: night?.day ?? todayOf(facts),
    },
  };
}
