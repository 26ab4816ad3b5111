import { describe, expect, it } from 'vitest';
import type { Condition, Effect, LimitDeclaration } from '../../src/rules/schema.js';
import { limitOf, rowOf, smallFile, using, wrongIn } from './small-file.js';

const SEASON = [[330, 60]] as unknown as LimitDeclaration['default'];
/** A limit of each kind, for conditions to be compared with. */
const LIMITS = [
  limitOf('days'),
  limitOf('degrees', { unit: '°C', bounds: [-20, 50] }),
  limitOf('share', { unit: '', bounds: [0, 2], default: 1 }),
  limitOf('angle', { unit: '°', bounds: [0, 360] }),
  limitOf('amount', { kind: 'word', words: ['none', 'light', 'full'], default: 'light' }),
  limitOf('softness', { kind: 'word', words: ['firm', 'soft'], default: 'soft' }),
  limitOf('body', { kind: 'word', words: ['working', 'new-pair'], default: 'working' }),
  limitOf('flag', { kind: 'flag', default: true }),
  limitOf('cloth', { kind: 'band', unit: '%', bounds: [0, 90], default: [30, 50] }),
  limitOf('season', { kind: 'season', unit: '', default: SEASON }),
];
const NAMES = LIMITS.map(({ name }) => name);
/** The row under test is the second of the first table. */
const ofRow = (when: Condition[], effect: Effect = { inspect: true }, because = 'Because.', source = 'practice') =>
  wrongIn(
    smallFile(LIMITS, {
      safety: [...using(...NAMES).safety, { id: 'new', when, effect, because, source }],
    }),
  );

describe('a row', () => {
  const SHEATHED: Condition[] = [{ fact: 'sheathed', op: 'is', value: true }];

  it('has a source of the list', () => {
    expect(ofRow(SHEATHED, { inspect: true }, 'Because.', 'practic')).toEqual([
      'tables[0].rows[1].source: expected a key of `sources` (practice, starting) (row safety/new), got "practic". Did you mean practice?',
    ]);
  });

  it('is told with its own place among the tables', () => {
    const file = smallFile([], {
      pot: [
        rowOf('first', { inspect: true }, ...SHEATHED),
        rowOf('wrong', { inspect: true }, ...SHEATHED, { fact: 'fir', op: 'is', value: true }),
      ],
    });
    expect(wrongIn(file)).toEqual([
      expect.stringMatching(
        /^tables\[1\]\.rows\[1\]\.when\[1\]\.fact: expected a fact a rule can see \(row pot\/wrong\), got "fir"/,
      ),
    ]);
  });

  it.each<[string, string[]]>([
    ['Tonight {tonightMinC}, limit {degrees}.', []],
    ['Dry {dryDay} and {day5}.', ['{dryDay}. Did you mean dryDays?', '{day5}. Did you mean day?']],
    ['Limit {degree}.', ['{degree}. Did you mean degrees?']],
    ['Wet {the-whole-weather-of-the-week}.', ['{the-whole-weather-of-the-week}. Correct the name.']],
    // Every object of the language has one; it is no fact all the same.
    ['Odd {constructor}.', ['{constructor}. Correct the name.']],
  ])('tells in "%s" only facts and limits', (because, expected) => {
    expect(ofRow(SHEATHED, { inspect: true }, because)).toEqual(
      expected.map(
        (line) =>
          `tables[0].rows[1].because: expected names of facts or limits in braces (row safety/new), got ${line}`,
      ),
    );
  });

  it.each<[Effect, string[]]>([
    [{ cap: 'none', shade: 'hold-to-step' }, []],
    [{ cap: { limit: 'amount' }, shade: { limit: 'cloth' } }, []],
    [
      { cap: { limit: 'amounts' }, shade: { limit: 'clot' } },
      [
        'cap.limit: expected the name of a limit (row safety/new), got "amounts". Did you mean amount?',
        'shade.limit: expected the name of a limit (row safety/new), got "clot". Did you mean cloth?',
      ],
    ],
    [
      { cap: { limit: 'temperature-of-the-leaf' } },
      [
        'cap.limit: expected the name of a limit (row safety/new), got "temperature-of-the-leaf". Declare it under `limits`.',
      ],
    ],
    // Such a cap would cap nothing: the plant would be watered where the row means to hold it back.
    [
      { cap: { limit: 'days' } },
      ['cap.limit: expected a limit with words of none, light, full (row safety/new), got days, a number.'],
    ],
    [
      { cap: { limit: 'softness' } },
      [
        'cap.limit: expected a limit with words of none, light, full (row safety/new), got softness, a word of firm, soft.',
      ],
    ],
    // Such a cloth would never be hung.
    [
      { shade: { limit: 'degrees' } },
      ['shade.limit: expected a limit that is a band (row safety/new), got degrees, a number.'],
    ],
  ])('has the effect %j only with limits that can say it', (effect, expected) => {
    expect(ofRow(SHEATHED, effect)).toEqual(expected.map((line) => `tables[0].rows[1].effect.${line}`));
  });

  it('caps by no number, whatever words the number has beside it', () => {
    const odd = limitOf('odd', { words: ['none', 'full'] });
    const file = smallFile([odd], { pot: [rowOf('new', { cap: { limit: 'odd' } }, ...SHEATHED)] });
    expect(wrongIn(file)).toEqual([
      'tables[1].rows[0].effect.cap.limit: expected a limit with words of none, light, full (row pot/new), got odd, a number of none, full.',
    ]);
  });
});

describe('a comparison', () => {
  it.each<Condition>([
    { fact: 'dryDays', op: 'below', limit: 'days' },
    { fact: 'depletion', op: 'at-most', limit: 'share' },
    { fact: 'tonightMinC', op: 'at-least', limit: 'degrees' },
    { fact: 'tonightMinC', op: 'above', value: 5 },
    { fact: 'tonightMinC', op: 'above', value: -40 },
    { fact: 'tonightMinC', op: 'above', value: 70 },
    { fact: 'firmness', op: 'is', value: 'soft' },
    { fact: 'firmness', op: 'is-not', limit: 'softness' },
    { fact: 'firmness', op: 'one-of', value: ['firm', 'soft'] },
    { fact: 'firmness', op: 'none-of', value: ['firm'] },
    { fact: 'firmness', op: 'below', limit: 'softness' },
    { fact: 'firmness', op: 'at-most', value: 'soft' },
    { fact: 'firmness', op: 'at-least', value: 'soft' },
    { fact: 'firmness', op: 'above', value: 'soft' },
    { fact: 'lastWateringAmount', op: 'is', limit: 'amount' },
    { fact: 'waterPhase', op: 'is', value: 'growing' },
    { fact: 'waterPhase', op: 'is-not', value: 'growing' },
    { fact: 'waterPhase', op: 'one-of', value: ['growing', 'waking'] },
    { fact: 'waterPhase', op: 'none-of', value: ['growing'] },
    { fact: 'group', op: 'is', value: 'anything' },
    { fact: 'group', op: 'is', limit: 'body' },
    { fact: 'sheathed', op: 'is', value: false },
    { fact: 'sheathed', op: 'is-not', limit: 'flag' },
    { fact: 'seasonAngleDeg', op: 'in-season', limit: 'season' },
    { fact: 'seasonAngleDeg', op: 'out-of-season', limit: 'season' },
    { fact: 'seasonAngleDeg', op: 'below', limit: 'angle' },
    { choice: 'body', op: 'is', value: 'new-pair' },
    { choice: 'flag', op: 'is-not', value: true },
    { choice: 'days', op: 'is', value: 3 },
  ])('may be %j', (condition) => {
    expect(ofRow([condition])).toEqual([]);
  });

  const CHOICE = 'a choice compared by `is` or `is-not` with a value';
  const ALL_ORDERED = 'below, at-most, at-least, above';
  it.each<[Condition, string[]]>([
    [{ fact: 'dryDay', op: 'below', value: 5 }, ['fact: a fact a rule can see, got "dryDay". Did you mean dryDays?']],
    [
      { fact: 'temperature-of-the-leaf-tip', op: 'below', value: 5 },
      ['fact: a fact a rule can see, got "temperature-of-the-leaf-tip". See the list of what a rule can see.'],
    ],
    [
      { fact: 'constructor', op: 'is', value: 'a' },
      ['fact: a fact a rule can see, got "constructor". See the list of what a rule can see.'],
    ],
    [{ fact: 'dryDays', op: 'below', limit: 'day' }, ['limit: the name of a limit, got "day". Did you mean days?']],
    [
      { fact: 'dryDays', op: 'below', limit: 'temperature-of-the-leaf' },
      ['limit: the name of a limit, got "temperature-of-the-leaf". Declare it under `limits`.'],
    ],
    [{ choice: 'bod', op: 'is', value: 'working' }, ['choice: the name of a limit, got "bod". Did you mean body?']],
    [{ choice: 'body', op: 'is', value: 'worker' }, ['value: one of working, new-pair, got "worker".']],
    [{ choice: 'days', op: 'is', value: 11 }, ['value: 0 to 10 days, got 11.']],
    [{ choice: 'days', op: 'below', value: 3 }, [`: ${CHOICE}, got {"choice":"days","op":"below","value":3}.`]],
    [
      { choice: 'body', op: 'is', value: ['working'] },
      [`: ${CHOICE}, got {"choice":"body","op":"is","value":["working"]}.`],
    ],
    [{ choice: 'body', op: 'is', limit: 'body' }, [`: ${CHOICE}, got {"choice":"body","op":"is","limit":"body"}.`]],

    [{ fact: 'dryDays', op: 'is', value: 5 }, [`op: one of ${ALL_ORDERED} for dryDays, got "is".`]],
    [
      { fact: 'dryDays', op: 'in-season', limit: 'season' },
      [`op: one of ${ALL_ORDERED} for dryDays, got "in-season".`],
    ],
    [{ fact: 'sheathed', op: 'below', value: true }, ['op: one of is, is-not for sheathed, got "below".']],
    [
      { fact: 'waterPhase', op: 'above', value: 'growing' },
      ['op: one of is, is-not, one-of, none-of for waterPhase, got "above".'],
    ],
    [
      { fact: 'firmness', op: 'in-season', limit: 'season' },
      [`op: one of is, is-not, one-of, none-of, ${ALL_ORDERED} for firmness, got "in-season".`],
    ],
    [
      { fact: 'seasonAngleDeg', op: 'is', value: 5 },
      [`op: one of ${ALL_ORDERED}, in-season, out-of-season for seasonAngleDeg, got "is".`],
    ],

    [
      { fact: 'dryDays', op: 'below', limit: 'softness' },
      ['limit: a limit for dryDays that is a number, got softness, a word of firm, soft.'],
    ],
    [
      { fact: 'dryDays', op: 'below', limit: 'season' },
      ['limit: a limit for dryDays that is a number, got season, a season.'],
    ],
    [
      { fact: 'seasonAngleDeg', op: 'in-season', limit: 'angle' },
      ['limit: a limit for seasonAngleDeg that is a season, got angle, a number.'],
    ],
    [
      { fact: 'sheathed', op: 'is', limit: 'body' },
      ['limit: a limit for sheathed that is a flag, got body, a word of working, new-pair.'],
    ],
    [{ fact: 'group', op: 'is', limit: 'flag' }, ['limit: a limit for group that is a word, got flag, a flag.']],
    [
      { fact: 'lastWateringAmount', op: 'is', limit: 'softness' },
      [
        'limit: a limit for lastWateringAmount that is a word of none, light, full, got softness, a word of firm, soft.',
      ],
    ],
    [
      { fact: 'lastWateringAmount', op: 'one-of', limit: 'amount' },
      ['limit: a list in `value`, got the limit amount.'],
    ],
    [
      { fact: 'tonightMinC', op: 'below', limit: 'days' },
      ['limit: the unit of tonightMinC: °C, got days in days. Give the limit the unit of the fact.'],
    ],
    [
      { fact: 'depletion', op: 'below', limit: 'days' },
      ['limit: the unit of depletion: none, got days in days. Give the limit the unit of the fact.'],
    ],
    [
      { fact: 'dryDays', op: 'below', limit: 'share' },
      ['limit: the unit of dryDays: days, got share in no unit. Give the limit the unit of the fact.'],
    ],

    [{ fact: 'waterPhase', op: 'one-of', value: 'growing' }, ['value: a list, got "growing".']],
    [{ fact: 'waterPhase', op: 'is', value: ['growing'] }, ['value: one value, got ["growing"].']],
    [{ fact: 'sheathed', op: 'is', value: 'yes' }, ['value: true or false, got "yes".']],
    [{ fact: 'dryDays', op: 'below', value: '5' }, ['value: a number, days, got "5".']],
    [{ fact: 'depletion', op: 'below', value: true }, ['value: a number, no unit, got true.']],
    [{ fact: 'tonightMinC', op: 'below', value: -40.5 }, ['value: what tonightMinC can be: -40 to 70 °C, got -40.5.']],
    [{ fact: 'tonightMinC', op: 'below', value: 70.5 }, ['value: what tonightMinC can be: -40 to 70 °C, got 70.5.']],
    [{ fact: 'depletion', op: 'below', value: 3 }, ['value: what depletion can be: 0 to 2, got 3.']],
    [{ fact: 'group', op: 'is', value: 5 }, ['value: a word, got 5.']],
    [
      { fact: 'sheathed', op: 'one-of', value: ['yes'] },
      ['op: one of is, is-not for sheathed, got "one-of".', 'value: true or false, got ["yes"].'],
    ],
    [
      { fact: 'firmness', op: 'one-of', value: ['softy', 'firm', 'glassy-and-wet'] },
      [
        'value: one of firm, slightly-soft, soft, very-soft, got "softy". Did you mean soft?',
        'value: one of firm, slightly-soft, soft, very-soft, got "glassy-and-wet".',
      ],
    ],
    // An angle is in no season by itself: it is windows that make one.
    [{ fact: 'seasonAngleDeg', op: 'in-season', value: 40 }, ['value: a `limit` with season windows, got 40.']],
    [
      { fact: 'seasonAngleDeg', op: 'out-of-season', value: ['40'] },
      ['value: a `limit` with season windows, got ["40"].'],
    ],
  ])('may not be %j', (condition, expected) => {
    expect(
      ofRow([{ fact: 'sheathed', op: 'is', value: true }, condition]).map((line) =>
        line.replace(' (row safety/new)', ''),
      ),
    ).toEqual(
      expected.map((line) => {
        const [, at, rest] = /^(\w*): (.*)$/.exec(line) as unknown as [string, string, string];
        return `tables[0].rows[1].when[1]${at && `.${at}`}: expected ${rest}`;
      }),
    );
  });
});

describe('a limit with words of its own', () => {
  const compared = (words: string[] | undefined): string[] =>
    wrongIn(
      smallFile([limitOf('odd', { kind: 'word', words, default: null })], {
        pot: [rowOf('new', { inspect: true }, { fact: 'firmness', op: 'below', limit: 'odd' })],
      }),
    ).filter((line) => line.startsWith('tables'));
  const AT =
    'tables[1].rows[0].when[0].limit: expected a limit for firmness that is a word of firm, slightly-soft, soft, very-soft';

  it('is not compared with a fact that has not all of them: against a strange one the row would never apply', () => {
    expect(compared(['firm', 'soft'])).toEqual([]);
    expect(compared(['firm', 'crisp'])).toEqual([`${AT} (row pot/new), got odd, a word of firm, crisp.`]);
  });

  it('is not compared at all while its words are missing', () => {
    expect(compared(undefined)).toEqual([`${AT} (row pot/new), got odd, a word.`]);
  });
});
