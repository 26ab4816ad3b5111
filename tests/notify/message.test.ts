import { describe, expect, it } from 'vitest';
import { ALERT_EVENTS, ALERT_KINDS, DANGEROUS_ALERTS } from '../../src/domain/alerts.js';
import type { Message } from '../../src/domain/messages.js';
import { messageOf, summaryOf, testMessage } from '../../src/notify/message.js';
import { alert, event, HOME, NOW } from './support.js';

const MINUTE = 60_000;
const told = (...args: Parameters<typeof event>): Message => {
  const message = messageOf(event(...args), HOME, `msg_${args[0]}`);
  if (!message) throw new Error(`${args[1]} is not told`);
  return message;
};

describe('the message of an alert', () => {
  it('says what, why, from when, what to do, what it would buy, and what to take care of', () => {
    const spell = alert(1, {
      kind: 'hot-spell',
      text: {
        title: 'Hot spell coming to North house',
        reason: 'Expected: 26 February up to 38 °C.',
        whatToDo: 'Hang the cloth.',
        buys: 'about 4 °C less at noon, 2 to 6',
        caution: 'Do not work in the heat alone.',
      },
      expectedAt: Date.UTC(2026, 1, 26, 11),
    });
    expect(told(1, 'new', spell)).toEqual({
      id: 'msg_1',
      siteId: 'home',
      kind: 'alert-new',
      title: 'Home: Hot spell coming to North house',
      text: [
        'Expected: 26 February up to 38 °C.',
        'Expected from 12:00 on 26 February.',
        'What to do: Hang the cloth.',
        'What it would buy: about 4 °C less at noon, 2 to 6',
        'Take care: Do not work in the heat alone.',
      ].join('\n\n'),
      dangerous: true,
      at: NOW,
      alert: spell,
    });
  });

  it('says that it is worse, and when it was over', () => {
    expect(told(1, 'worse', alert(1)).title).toBe('Home: Worse: Wet night in house 1');
    expect(told(1, 'over', alert(1, { resolvedAt: NOW }))).toMatchObject({
      title: 'Home: Over: Wet night in house 1',
      text: 'It was over at 08:00 on 25 February.',
    });
  });

  it('is dangerous for the kinds told in quiet hours, but not that one of them is over', () => {
    for (const kind of ALERT_KINDS) {
      expect(told(1, 'new', alert(1, { kind })).dangerous).toBe(DANGEROUS_ALERTS.includes(kind));
      expect(told(1, 'worse', alert(1, { kind })).dangerous).toBe(DANGEROUS_ALERTS.includes(kind));
      expect(told(1, 'over', alert(1, { kind })).dangerous).toBe(false);
    }
  });

  it('is made of what is for people alone', () => {
    expect(ALERT_EVENTS.filter((what) => messageOf(event(1, what, alert(1)), HOME, 'a'))).toEqual([
      'new',
      'worse',
      'over',
    ]);
  });
});

describe('a summary', () => {
  it('tells each alert once, as it is now, those that are over last', () => {
    const over = alert(1, { resolvedAt: NOW + 30 * MINUTE });
    const summary = summaryOf(
      [told(1, 'new', alert(1)), told(2, 'new', alert(2), NOW + 10 * MINUTE), told(3, 'over', over, NOW + 30 * MINUTE)],
      HOME,
      NOW + 60 * MINUTE,
      'msg_sum',
    );
    expect(summary).toMatchObject({ id: 'msg_sum', kind: 'summary', title: 'Home: 1 alert, 1 alert is over' });
    expect(summary.text).toBe(
      [
        '08:10 Wet night in house 2. The air stays wet until morning. Let air move.',
        '08:30 Over: Wet night in house 1. It was over at 08:30 on 25 February.',
      ].join('\n\n'),
    );
    expect(summary.parts?.map(({ id }) => id)).toEqual(['msg_1', 'msg_2', 'msg_3']);
  });

  it('of a summary and more has everything in it once, and is dangerous when a part of it is', () => {
    const first = summaryOf([told(1, 'new', alert(1)), told(2, 'new', alert(2))], HOME, NOW, 'a');
    const second = summaryOf([first, told(3, 'new', alert(3, { kind: 'frost' }))], HOME, NOW, 'b');
    expect(second.parts?.map(({ id }) => id)).toEqual(['msg_1', 'msg_2', 'msg_3']);
    expect([first.dangerous, second.dangerous]).toEqual([false, true]);
    expect(second.title).toBe('Home: 3 alerts');
  });

  it('stays short: twenty are told, the rest are counted', () => {
    const many = Array.from({ length: 45 }, (_, index) => told(index, 'new', alert(index)));
    const { title, text } = summaryOf(many, HOME, NOW, 'a');
    expect(title).toBe('Home: 45 alerts');
    expect(text.split('\n\n')).toHaveLength(21);
    expect(text).toMatch(/And 25 more: see the page of the alerts\.$/);
  });
});

it('a test says that it is one, who asked for it, and that there is nothing to do', () => {
  expect(testMessage(HOME, 'phone', 'Ada', NOW, 'msg_t')).toMatchObject({
    kind: 'test',
    dangerous: false,
    text: 'This is a test of the channel phone, asked for by Ada at 08:00 on 25 February. Nothing has happened and there is nothing to do.',
  });
});
