import { describe, expect, it } from 'vitest';
import type { FactValue } from '../../src/domain/verdict.js';
import type { LimitDeclaration, LimitValue } from '../../src/rules/schema.js';
import {
  drinkInWords,
  fillIn,
  inWords,
  numberInWords,
  quantityInWords,
  roundedMl,
  settingInWords,
} from '../../src/rules/words.js';
import { facts } from './support.js';

describe('words for people', () => {
  it.each([
    ['slightly-soft', 'slightly soft'],
    ['very-soft', 'very soft'],
    ['seed-set', 'ripening seed'],
    ['dormant-warm', 'in its warm rest'],
    ['dormant-cold', 'in its cold rest'],
    ['forming', 'forming a new pair'],
    ['splitting', 'changing its leaf pair'],
    ['papery', 'shedding a papery old pair'],
    ['waking', 'waking'],
    ['growing', 'growing'],
    ['flowering', 'flowering'],
    // What has no words of its own loses its hyphens.
    ['soft', 'soft'],
    ['older-pair-gone', 'older pair gone'],
  ])('%s is "%s"', (word, words) => {
    expect(inWords(word)).toBe(words);
  });

  it('drinks', () => {
    expect([drinkInWords('none'), drinkInWords('light'), drinkInWords('full')]).toEqual([
      'no water',
      'a light drink',
      'a full drink',
    ]);
  });
});

describe('numbers', () => {
  it.each([
    // One decimal below ten, none from there on.
    [0, '0'],
    [0.04, '0'],
    [-0.04, '0'],
    [0.06, '0.1'],
    [3, '3'],
    [3.14, '3.1'],
    [9.94, '9.9'],
    [9.99, '10'],
    [10, '10'],
    [10.4, '10'],
    [10.5, '11'],
    [-3.14, '-3.1'],
    [-12.3, '-12'],
    [1234.5, '1235'],
  ])('%d is "%s"', (value, words) => {
    expect(numberInWords(value)).toBe(words);
  });

  it.each<[LimitValue | FactValue, string, string]>([
    [1, 'days', '1 day'],
    [1, 'months', '1 month'],
    [1, 'pots', '1 pot'],
    [1, 'h', '1 h'],
    [1.04, 'days', '1 day'],
    [1.4, 'days', '1.4 days'],
    [0, 'days', '0 days'],
    [21.6, '°C', '22 °C'],
    [0.35, '', '0.4'],
    [true, '', 'yes'],
    [false, 'days', 'no'],
    ['very-soft', 'days', 'very soft'],
    [null, 'days', 'not asked'],
    [[30, 50], '%', '30 to 50 %'],
    [[30, 50], '', '30 to 50'],
    [[[330, 60]], '', '330-60'],
    [
      [
        [330, 60],
        [150, 260],
      ],
      '°',
      '330-60 to 150-260 °',
    ],
  ])('%j %s is "%s"', (value, unit, words) => {
    expect(quantityInWords(value, unit)).toBe(words);
  });
});

describe('what a limit is set to, with nothing rounded away', () => {
  const told = (kind: LimitDeclaration['kind'], unit: string, value: LimitValue, dateOf?: (angle: number) => string) =>
    settingInWords({ kind, unit }, value, dateOf);

  it.each<[LimitDeclaration['kind'], string, LimitValue, string]>([
    ['number', 'days', 7.25, '7.25 days'],
    ['number', 'days', 1, '1 day'],
    ['number', '', 0.123, '0.123'],
    ['word', '', 'very-soft', 'very soft'],
    ['flag', '', true, 'yes'],
    ['number', 'days', null, 'not asked'],
    ['band', '%', [30, 50], '30 to 50 %'],
    ['band', '%', [40, 40], '40 %'],
    ['season', '', [[330, 60]], '330° to 60°'],
    [
      'season',
      '',
      [
        [330, 60],
        [90, 90],
      ],
      '330° to 60°, and 90°',
    ],
  ])('%s %s %j is "%s"', (kind, unit, value, words) => {
    expect(told(kind, unit, value)).toBe(words);
  });

  it('a season may be told in dates of the place; a band never is', () => {
    const dateOf = (angle: number) => `day ${angle}`;
    expect(told('season', '', [[330, 60]], dateOf)).toBe('day 330 to day 60');
    expect(told('band', '%', [30, 50], dateOf)).toBe('30 to 50 %');
  });
});

describe('filled in texts', () => {
  const declared = new Map([['dry-gap', { unit: 'days' } as LimitDeclaration]]);
  const fill = (text: string) =>
    fillIn(
      text,
      facts({ dryDays: 12.4, tonightMinC: 3.14, workingSoftness: 'very-soft', signRot: false, depletion: null }),
      { 'dry-gap': 1, choice: 'new-pair' },
      declared,
    );

  it.each([
    ['Dry for {dryDays}.', 'Dry for 12 days.'],
    ['Tonight {tonightMinC}, {workingSoftness}, {signRot}.', 'Tonight 3.1 °C, very soft, no.'],
    ['At least {dry-gap} of {choice}.', 'At least 1 day of new pair.'],
    // Known to be unknown, and never heard of.
    ['Gone: {depletion}.', 'Gone: an unknown value.'],
    ['Days: {daysToDry}.', 'Days: an unknown value.'],
    ['Limit: {other-limit}.', 'Limit: not asked.'],
    ['Nothing to fill in.', 'Nothing to fill in.'],
  ])('%s becomes %s', (text, filled) => {
    expect(fill(text)).toBe(filled);
  });
});

describe('millilitres as a person measures them', () => {
  it.each([
    // By 1 below 10, by 5 below 100, by 10 below 300, by 50 from there on.
    [0, 0],
    [-5, 0],
    [Number.NaN, 0],
    [0.2, 1],
    [6.6, 7],
    [9.4, 9],
    [9.9, 10],
    [10, 10],
    [11, 10],
    [13, 15],
    [97, 95],
    [99, 100],
    [100, 100],
    [104, 100],
    [106, 110],
    [294, 290],
    [299, 300],
    [300, 300],
    [320, 300],
    [330, 350],
  ])('%d mL become %d mL', (ml, rounded) => {
    expect(roundedMl(ml)).toBe(rounded);
  });
});
