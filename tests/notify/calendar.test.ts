import ICAL from 'ical.js';
import { describe, expect, it } from 'vitest';
import type { DueTask } from '../../src/domain/tasks.js';
import type { Round } from '../../src/domain/verdict.js';
import { calendarOf, feedToken, isFeedToken } from '../../src/notify/calendar.js';
import { roundOf } from '../http/support.js';
import { alert, HOME } from './support.js';

const SITE = { ...HOME, roundAt: '05:00' };
/** Noon in Berlin, a week before its clocks go forward. */
const AT = Date.UTC(2026, 2, 25, 11);
const task = (more: Partial<DueTask> = {}): DueTask => ({
  id: 'repot-north-1',
  kind: 'repot',
  houseId: 'north',
  houseName: 'North house',
  groupNames: ['Summer-rain Lithops'],
  batches: 4,
  pots: 40,
  benches: [],
  reason: 'They stand in the same mix for four years; it is full of roots, and packed.',
  text: 'Repot; keep dry for a week.',
  source: 'common practice, no published source',
  ...more,
});
const round = (tasks: readonly DueTask[] = []): Round => ({
  ...roundOf('home', '2026-03-25', AT - 3_600_000, 1, []),
  revision: 2,
  tasks,
});
/** Read by a library that knows nothing of the one that wrote it. */
const read = (text: string) => {
  const calendar = new ICAL.Component(ICAL.parse(text));
  return { calendar, events: calendar.getAllSubcomponents('vevent').map((part) => new ICAL.Event(part)) };
};
const startOf = ({ startDate }: ICAL.Event) => startDate.toJSDate().toISOString();

describe('the feed', () => {
  it('has the round of each day at its hour by the wall clock, over the change of the clocks', () => {
    const { calendar, events } = read(calendarOf({ site: SITE, round: round(), alerts: [], at: AT }));
    expect(calendar.getFirstPropertyValue('version')).toBe('2.0');
    expect(calendar.getFirstPropertyValue('prodid')).toBe('-//Leafturn//Leafturn//EN');
    expect(events).toHaveLength(14);
    // Berlin: 05:00 is 04:00 UTC until 28 March 2026 and 03:00 UTC from the 29th on (tz database).
    expect(events.slice(2, 6).map(startOf)).toEqual([
      '2026-03-27T04:00:00.000Z',
      '2026-03-28T04:00:00.000Z',
      '2026-03-29T03:00:00.000Z',
      '2026-03-30T03:00:00.000Z',
    ]);
    expect(events[0]?.summary).toBe('Round: Home');
    expect(new Set(events.map(({ uid }) => uid)).size).toBe(14);
    for (const { component } of events) expect(component.getFirstPropertyValue('transp')).toBe('TRANSPARENT');
  });

  it('has the tasks of today as whole days, but not those that are done', () => {
    const done = task({ id: 'feed-north-1', kind: 'feed', done: { entryIds: [1], at: AT, by: 'Ada' } });
    const { events } = read(calendarOf({ site: SITE, round: round([task(), done]), alerts: [], at: AT }));
    const tasks = events.filter(({ startDate }) => startDate.isDate);
    expect(tasks).toHaveLength(1);
    expect(tasks[0]?.summary).toBe('Repot 4 batches, North house');
    // DTEND is the day after the last (RFC 5545 section 3.6.1).
    expect([tasks[0]?.startDate.toString(), tasks[0]?.endDate.toString()]).toEqual(['2026-03-25', '2026-03-26']);
    // Commas, semicolons and line ends come through.
    expect(tasks[0]?.description).toBe(`${task().reason}\n${task().text}`);
  });

  it('keeps the id of a task as long as it is due since the same day', () => {
    const since = task({ dueSince: '2026-03-20' });
    const uids = [AT, AT + 86_400_000].map((at, index) => {
      const today = { ...round([since]), day: index === 0 ? '2026-03-25' : '2026-03-26' };
      const { events } = read(calendarOf({ site: SITE, round: today, alerts: [], at }));
      return events.find(({ startDate }) => startDate.isDate)?.uid;
    });
    expect(uids).toEqual(Array(2).fill('task-2026-03-20-repot-north-1@home.leafturn.invalid'));
  });

  it('has what is expected, but not what has no time', () => {
    const expectedAt = AT + 30 * 3_600_000;
    const alerts = [alert(1, { expectedAt }), alert(3)];
    const { events } = read(calendarOf({ site: SITE, round: undefined, alerts, at: AT }));
    const found = events.filter(({ uid }) => uid.startsWith('alert'));
    expect(found.map(({ uid }) => uid)).toEqual(['alert-1@home.leafturn.invalid']);
    expect(found[0] && startOf(found[0])).toBe(new Date(expectedAt).toISOString());
  });

  it('keeps to the form: lines of at most 75 octets that end with CR LF, and the same text for the same things', () => {
    const inputs = { site: SITE, round: round([task({ reason: '°'.repeat(300) })]), alerts: [], at: AT };
    const text = calendarOf(inputs);
    for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
    expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
    expect(calendarOf({ ...inputs, at: AT + 1000 })).toBe(text);
  });
});

it('the token opens the feed of its site and no other, and another key makes another', () => {
  const key = Buffer.alloc(32, 1);
  const token = feedToken(key, 'home');
  expect(isFeedToken(key, 'home', token)).toBe(true);
  expect(isFeedToken(key, 'away', token)).toBe(false);
  expect(isFeedToken(Buffer.alloc(32, 2), 'home', token)).toBe(false);
  expect(isFeedToken(key, 'home', token.slice(1))).toBe(false);
});
