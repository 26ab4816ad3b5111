import { createHmac, timingSafeEqual } from 'node:crypto';
import ical, { ICalCalendarMethod, ICalEventTransparency } from 'ical-generator';
import type { Alert } from '../domain/alerts.js';
import type { Site } from '../domain/site.js';
import { taskHeadline } from '../domain/task-words.js';
import type { DueTask } from '../domain/tasks.js';
import { addDays, clockAt, instantOnDay, localDayOf, shortDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import { count } from '../domain/wording.js';

export interface CalendarInputs {
  readonly site: Pick<Site, 'id' | 'name' | 'zone' | 'roundAt'>;
  /** The newest list of today; undefined: not made yet. */
  readonly round: Round | undefined;
  /** Those people know of and that are not over. */
  readonly alerts: readonly Alert[];
  readonly at: number;
}

const DAYS_AHEAD = 14;
const MINUTE_MS = 60_000;

/**
 * The daily round, the tasks that are due and the alerts that are expected, as an iCalendar feed (RFC 5545). Rounds are
 * single events in UTC, each worked out on its own day: so they stand at the right hour over a change of the clocks
 * without rules of the time zone, which calendars read differently.
 */
export function calendarOf({ site, round, alerts, at }: CalendarInputs): string {
  const calendar = ical({
    name: `Leafturn: ${site.name}`,
    prodId: { company: 'Leafturn', product: 'Leafturn', language: 'EN' },
    method: ICalCalendarMethod.PUBLISH,
    ttl: 3600,
  });
  const today = localDayOf(site.zone, at);
  const stamp = new Date(round?.madeAt ?? instantOnDay(site.zone, today, '00:00'));
  const uid = (of: string): string => `${of}@${site.id}.leafturn.invalid`;
  // None of it makes anybody busy.
  const event = { stamp, transparency: ICalEventTransparency.TRANSPARENT };

  for (let ahead = 0; ahead < DAYS_AHEAD; ahead += 1) {
    const day = addDays(today, ahead);
    const start = instantOnDay(site.zone, day, site.roundAt);
    calendar.createEvent({
      ...event,
      id: uid(`round-${day}`),
      summary: `Round: ${site.name}`,
      description: round?.day === day ? roundWords(round) : `The list of the day is made at ${site.roundAt}.`,
      start: new Date(start),
      end: new Date(start + 30 * MINUTE_MS),
    });
  }
  for (const task of round?.day === today ? round.tasks.filter(({ done }) => !done) : []) {
    const first = task.dueSince !== undefined && task.dueSince < today ? task.dueSince : today;
    calendar.createEvent({
      ...event,
      id: uid(`task-${first}-${task.id}`),
      summary: `${taskHeadline(task)}${task.houseName ? `, ${task.houseName}` : ''}`,
      description: taskText(task, site.zone),
      allDay: true,
      ...wholeDay(today),
    });
  }
  for (const alert of alerts) {
    if (alert.expectedAt === undefined) continue;
    calendar.createEvent({
      ...event,
      stamp: new Date(alert.firedAt ?? alert.pendingSince),
      id: uid(`alert-${alert.id}`),
      summary: alert.text.title,
      description: [alert.text.reason, alert.text.whatToDo, alert.text.buys, alert.text.caution]
        .filter(Boolean)
        .join('\n'),
      start: new Date(alert.expectedAt),
      end: new Date(alert.expectedAt + 60 * MINUTE_MS),
    });
  }
  return `${calendar.toString()}\r\n`;
}

/** The library writes the date that it is in UTC. A whole day ends where the next one begins. */
const wholeDay = (day: string): { start: Date; end: Date } => ({
  start: new Date(`${day}T12:00:00Z`),
  end: new Date(`${addDays(day, 1)}T12:00:00Z`),
});

const roundWords = ({ counts, look }: Round): string =>
  [
    `${count(counts.full, 'full drink')}, ${count(counts.light, 'light drink')}, ${counts.none} left dry.`,
    ...(look.length > 0 ? [`${count(look.length, 'batch', 'batches')} to look at.`] : []),
  ].join(' ');

const taskText = ({ reason, text, caution, until, hours }: DueTask, zone: string): string =>
  [
    reason,
    text,
    hours ? `From ${clockAt(zone, hours.fromMs)} to ${clockAt(zone, hours.toMs)}.` : '',
    until ? `Until ${shortDay(until)}.` : '',
    caution ?? '',
  ]
    .filter((line) => line !== '')
    .join('\n');

/** What stands in the address of a feed in place of a token, because calendars send none. It opens this one feed alone. */
export const feedToken = (key: Uint8Array, siteId: string): string =>
  createHmac('sha256', key).update(`calendar of ${siteId}`).digest('base64url');

export function isFeedToken(key: Uint8Array, siteId: string, token: string): boolean {
  const [given, right] = [Buffer.from(token), Buffer.from(feedToken(key, siteId))];
  return given.length === right.length && timingSafeEqual(given, right);
}
