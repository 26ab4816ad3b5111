import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../src/domain/verdict.js';
import {
  actualWords,
  ago,
  dayLengthWords,
  drinkHints,
  factValueWords,
  headline,
  limitWords,
  litres,
  millilitres,
  rowKind,
} from '../../src/web/words.js';

const verdict = (over: Partial<Verdict>): Verdict => ({
  amount: 'none',
  postponed: false,
  inspect: false,
  lightRamp: false,
  alerts: [],
  mlPerPot: 0,
  sentence: '',
  decidedBy: { table: 'policy', row: 'rest' },
  vetoes: [],
  trace: [],
  ...over,
});

describe('the verdict in words', () => {
  const cases: [string, string, Partial<Verdict>][] = [
    ['Full drink, 35 mL a pot', 'full', { amount: 'full', mlPerPot: 35 }],
    ['Light drink, 7.5 mL a pot', 'light', { amount: 'light', mlPerPot: 7.5 }],
    ['Light drink', 'light', { amount: 'light' }],
    ['Leave dry', 'dry', {}],
    ['Wait, not today', 'wait', { postponed: true }],
    ['Wait until Tue 27 Oct', 'wait', { postponed: true, postponedUntil: '2026-10-27' }],
    ['Look first', 'look', { inspect: true }],
    // Looking comes before everything, also before waiting and before a drink.
    ['Look first', 'look', { inspect: true, postponed: true }],
    ['Look first, then light drink, 12 mL a pot', 'look', { inspect: true, amount: 'light', mlPerPot: 12 }],
  ];
  it.each(cases)('%s', (words, kind, over) => {
    expect(headline(verdict(over))).toBe(words);
    expect(rowKind(verdict(over))).toBe(kind);
  });

  it('says when and in how many doses, but only of a drink', () => {
    const how = { window: 'by-09', doses: { count: 2, gapDays: 5 } } as const;
    expect(drinkHints(verdict({ amount: 'light', ...how }))).toEqual([
      'Water before 9 o’clock sun time',
      'One of 2 doses, 5 days apart',
    ]);
    expect(drinkHints(verdict(how))).toEqual([]);
  });
});

describe('figures', () => {
  it('are as exact as a person measures', () => {
    expect([millilitres(7.54), millilitres(34.6), litres(0.84), litres(98.4)]).toEqual([
      '7.5 mL',
      '35 mL',
      '0.8 L',
      '98 L',
    ]);
  });

  it('have their unit, and what is not known is said to be', () => {
    expect(factValueWords(12, 'days')).toBe('12 days');
    expect(factValueWords(null, '°C')).toBe('not known');
    expect(factValueWords(true, '')).toBe('yes');
    expect(factValueWords('slightly-soft', '')).toBe('slightly soft');
    expect(factValueWords(0, 'h')).toBe('0 h');
  });

  it('get one digit more where they would look like their limit', () => {
    expect(actualWords(5.98, 6, '°C')).toBe('5.98 °C');
    expect(actualWords(6, 6, '°C')).toBe('6 °C');
    expect(actualWords(5.82, 6, '°C')).toBe('5.8 °C');
    expect(actualWords(0.8491, 0.85, '')).toBe('0.849');
    expect(actualWords(null, 6, '°C')).toBe('not known');
    expect(actualWords('soft', ['soft'], '')).toBe('soft');
  });

  it('of light are said without exponents', () => {
    expect(factValueWords(12, 'mol m⁻² d⁻¹')).toBe('12 mol/m² a day');
  });

  it('of a limit say the comparison in words', () => {
    expect(limitWords('at-least', 7, 'days')).toBe('at least 7 days');
    expect(limitWords('is', 'papery', '')).toBe('papery');
    expect(limitWords('is-not', true, '')).toBe('not yes');
    expect(limitWords('one-of', ['soft', 'very-soft'], '')).toBe('one of soft, very soft');
    expect(limitWords('one-of', ['soft'], '')).toBe('soft');
    expect(limitWords('below', null, '°C')).toBe('below');
  });
});

describe('ages and days', () => {
  const now = Date.parse('2026-10-25T06:30:00Z');
  it.each([
    [0, 'just now'],
    [59_999, 'just now'],
    [60_000, '1 minute ago'],
    [89 * 60_000, '89 minutes ago'],
    [90 * 60_000, '2 hours ago'],
    [35 * 3_600_000, '35 hours ago'],
    [36 * 3_600_000, '2 days ago'],
  ])('%i ms is %s', (age, words) => {
    expect(ago(now - age, now)).toBe(words);
  });

  it('a day is told only when it is not 24 hours long', () => {
    expect(dayLengthWords(24)).toBeUndefined();
    expect(dayLengthWords(23)).toBe('The clocks go forward today. This day has 23 hours.');
    // Lord Howe Island moves its clocks by half an hour (IANA zone Australia/Lord_Howe).
    expect(dayLengthWords(24.5)).toBe('The clocks go back today. This day has 24.5 hours.');
  });
});
