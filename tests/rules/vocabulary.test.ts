import { describe, expect, it } from 'vitest';
import { problemLine } from '../../src/domain/errors.js';
import type { Condition, Effect, LimitDeclaration, LimitValue } from '../../src/rules/schema.js';
import { valueProblems } from '../../src/rules/vocabulary.js';
import { limitOf, rowOf, smallFile, using, wrongIn } from './small-file.js';

/** What is wrong with one limit; the small file has nine already, so it is `limits[9]`. */
const ofLimit = (more: Partial<LimitDeclaration>, others: readonly LimitDeclaration[] = []): string[] =>
  wrongIn(smallFile([limitOf('one', more), ...others], using('one', ...others.map(({ name }) => name))));

it('finds nothing wrong with a file that speaks only of what exists', () => {
  expect(wrongIn(smallFile())).toEqual([]);
});

describe('names', () => {
  it('are used once: of limits, of their labels, of tables and of the rows of one table', () => {
    const file = smallFile([
      limitOf('one'),
      limitOf('two', { label: 'Label of one' }),
      limitOf('one', { label: 'Else' }),
    ]);
    const [safety] = file.tables;
    if (!safety) throw new Error('no table');
    safety.rows = [...using('one', 'two').safety, ...using('one').safety];
    file.tables.push({ ...safety, rows: using('one').safety });
    expect(wrongIn(file)).toEqual([
      'limits[11]: expected a name used once, got one. Rename one of them, or put them together.',
      'limits[10]: expected a name used once, got Label of one. Rename one of them, or put them together.',
      'tables[10]: expected a name used once, got safety. Rename one of them, or put them together.',
      'tables[0].rows[1]: expected a name used once, got uses. Rename one of them, or put them together.',
    ]);
  });

  it('may be the same in different tables', () => {
    // Every table of the small file has a row `sheathed`; a trace tells them apart by table.
    expect(new Set(smallFile().tables.flatMap(({ rows }) => rows.map(({ id }) => id))).size).toBe(2);
    expect(wrongIn(smallFile())).toEqual([]);
  });
});

describe('limits the decision itself needs', () => {
  const changed = (name: string, more: Partial<LimitDeclaration>): string[] => {
    const file = smallFile();
    return wrongIn({ ...file, limits: file.limits.map((one) => (one.name === name ? { ...one, ...more } : one)) });
  };
  const MEND = 'Have it as in the default rulebook.';

  it.each([
    ['phase-sure', 'number with no unit'],
    ['harm-of-wrong-drink', 'number with no unit'],
    ['harm-of-wrong-dry', 'number with no unit'],
    ['thirst-half-days', 'number with days'],
    ['stall-applies', 'flag with no unit'],
    ['light-drink-mm', 'number with mm'],
    ['full-drink-share', 'number with no unit'],
    ['split-doses', 'number with no unit'],
    ['split-dose-gap-days', 'number with days'],
  ])('%s must be there as a %s, and no row need use it', (name, form) => {
    const file = smallFile();
    const at = file.limits.findIndex((limit) => limit.name === name);
    expect(wrongIn({ ...file, limits: file.limits.filter((_, index) => index !== at) })).toEqual([
      `limits: expected the limit ${name}, which the decision itself needs, got nothing. ${MEND}`,
    ]);
    expect(changed(name, { unit: 'L' })).toEqual([
      expect.stringContaining(`limits[${at}]: expected ${name} as a ${form} and a value: the decision itself needs it`),
    ]);
  });

  it('are of no other kind or unit and always asked: a drink of 5 cm is no drink of 5 mm', () => {
    const expected = 'limits[5]: expected light-drink-mm as a number with mm and a value: the decision itself needs it';
    expect(changed('light-drink-mm', { unit: 'cm' })).toEqual([`${expected}, got a number with cm, 5. ${MEND}`]);
    expect(changed('light-drink-mm', { default: null })).toEqual([`${expected}, got a number with mm, null. ${MEND}`]);
    expect(changed('light-drink-mm', { set: [{ phase: 'waking', value: null }] })).toEqual([
      `${expected}, got a number with mm, 5 and null. ${MEND}`,
    ]);
    expect(changed('light-drink-mm', { set: [{ phase: 'waking', value: 2 }] })).toEqual([]);
    expect(changed('light-drink-mm', { kind: 'flag', default: true })).toEqual([
      `${expected}, got a flag with mm, true. ${MEND}`,
    ]);
    expect(changed('full-drink-share', { unit: '', kind: 'flag', default: true })).toEqual([
      `limits[6]: expected full-drink-share as a number with no unit and a value: the decision itself needs it, got a flag with no unit, true. ${MEND}`,
    ]);
  });
});

describe('a limit that nothing uses', () => {
  const only = (when: Condition, effect: Effect = { inspect: true }, because = 'Because.') =>
    wrongIn(
      smallFile(
        [
          limitOf('days', { notAbove: 'other' }),
          limitOf('other'),
          limitOf('amount', { kind: 'word', words: ['none', 'full'], default: 'none' }),
          limitOf('cloth', { kind: 'band', default: [1, 2] }),
        ],
        { pot: [{ ...rowOf('new', effect, when), because }] },
      ),
    );
  const unused = (index: number, name: string) =>
    `limits[${index}]: expected some row that uses the limit ${name}, got nothing that uses it. Take it out, or use it.`;
  const DAYS = unused(9, 'days');
  const OTHER = unused(10, 'other');
  const AMOUNT = unused(11, 'amount');
  const CLOTH = unused(12, 'cloth');
  const SHEATHED: Condition = { fact: 'sheathed', op: 'is', value: true };

  it.each<[string, Condition, Effect, string, string[]]>([
    // To stand above another limit is no use by itself: no row asks for it.
    [
      'is told, also where another must not be above it',
      SHEATHED,
      { inspect: true },
      'Because.',
      [DAYS, OTHER, AMOUNT, CLOTH],
    ],
    [
      'is not one a fact is compared with',
      { fact: 'dryDays', op: 'below', limit: 'days' },
      { inspect: true },
      'Because.',
      [OTHER, AMOUNT, CLOTH],
    ],
    [
      'is not a choice',
      { choice: 'amount', op: 'is', value: 'full' },
      { inspect: true },
      'Because.',
      [DAYS, OTHER, CLOTH],
    ],
    ['is not a cap', SHEATHED, { cap: { limit: 'amount' } }, 'Because.', [DAYS, OTHER, CLOTH]],
    ['is not a band of cloth', SHEATHED, { shade: { limit: 'cloth' } }, 'Because.', [DAYS, OTHER, AMOUNT]],
    [
      'is not one a sentence tells',
      SHEATHED,
      { inspect: true },
      'Dry {dryDays}, not {days} or {other}.',
      [AMOUNT, CLOTH],
    ],
  ])('%s', (_, when, effect, because, expected) => {
    expect(only(when, effect, because)).toEqual(expected);
  });
});

describe('a limit', () => {
  const PHASES = 'growing, flowering, seed-set, forming, splitting, papery, dormant-warm, dormant-cold, waking';
  it.each<[string, Partial<LimitDeclaration>, string[]]>([
    [
      'has a source of the list',
      { source: 'practise' },
      [
        'limits[9].source: expected a key of `sources` (practice, starting) (limit one), got "practise". Did you mean practice?',
      ],
    ],
    [
      'has no source that only a programmer knows',
      { source: 'constructor' },
      [
        'limits[9].source: expected a key of `sources` (practice, starting) (limit one), got "constructor". Add the publication, or say `practice`.',
      ],
    ],
    [
      'stands under a heading of the list',
      { section: 'som' },
      ['limits[9].section: expected a key of `sections` (all, some) (limit one), got "som". Did you mean some?'],
    ],
    [
      'stands under a heading at all',
      { section: 'weather' },
      [
        'limits[9].section: expected a key of `sections` (all, some) (limit one), got "weather". Add a heading for it under `sections`.',
      ],
    ],
    [
      'is not held below one that is not there',
      { notAbove: 'split-dose' },
      ['limits[9].notAbove: expected the name of a limit (limit one), got "split-dose". Did you mean split-doses?'],
    ],
    [
      'is not held below something far from any name',
      { notAbove: 'temperature-of-the-leaf' },
      [
        'limits[9].notAbove: expected the name of a limit (limit one), got "temperature-of-the-leaf". Declare it under `limits`.',
      ],
    ],
    [
      'is a number with bounds',
      { bounds: undefined },
      ['limits[9].bounds: expected lowest and highest value that may be set (limit one), got nothing.'],
    ],
    ['needs no bounds where it is not asked', { bounds: undefined, default: null }, []],
    [
      'has its bounds the right way round',
      { bounds: [10, 0], default: null },
      ['limits[9].bounds: expected the lower end first (limit one), got [10,0]. Swap the two.'],
    ],
    ['may have one value only', { bounds: [5, 5] }, []],
    [
      'has its customary range the right way round',
      { customary: [8, 4] },
      ['limits[9].customary: expected the lower end first (limit one), got [8,4]. Swap the two.'],
    ],
    ['may have a customary range of one value', { customary: [5, 5] }, []],
    [
      'that is a word has its words',
      { kind: 'word', default: 'none' },
      [
        'limits[9].words: expected the words that may be chosen (limit one), got nothing.',
        'limits[9].default: expected one of  (limit one), got "none".',
      ],
    ],
    ['that is a flag needs neither bounds nor words', { kind: 'flag', default: true, bounds: undefined }, []],
    [
      'has a default inside its bounds',
      { default: 11 },
      ['limits[9].default: expected 0 to 10 days (limit one), got 11.'],
    ],
    [
      'has values inside its bounds for groups and phases',
      {
        set: [
          { group: 'stone', value: 1 },
          { phase: 'growing', value: 12 },
        ],
      },
      ['limits[9].set[1].value: expected 0 to 10 days (limit one), got 12.'],
    ],
    [
      'says whom a value is for',
      { set: [{ value: 1 }] },
      ['limits[9].set[0]: expected a group or a phase it holds for (limit one), got neither.'],
    ],
    // A value for a phase that does not exist would never hold.
    [
      'knows the phases its values are for',
      {
        set: [
          { phase: 'waking', value: 1 },
          { phase: 'walking', value: 1 },
          { group: 'stone', phase: 'leaf-pair-change', value: 1 },
        ],
      },
      [
        `limits[9].set[1].phase: expected one of ${PHASES} (limit one), got "walking". Did you mean waking?`,
        `limits[9].set[2].phase: expected one of ${PHASES} (limit one), got "leaf-pair-change". Name one of them.`,
      ],
    ],
    [
      'has a source of the list for a value of its own',
      {
        set: [
          { group: 'stone', value: 1, source: 'starting' },
          { group: 'shell', value: 1, source: 'startin' },
        ],
      },
      [
        'limits[9].set[1].source: expected a key of `sources` (practice, starting) (limit one), got "startin". Did you mean starting?',
      ],
    ],
  ])('%s', (_, more, expected) => {
    expect(ofLimit(more)).toEqual(expected);
  });

  it.each<[Partial<LimitDeclaration>, Partial<LimitDeclaration>, string[]]>([
    [{}, {}, []],
    [{ unit: '' }, { unit: '' }, []],
    [{}, { unit: '°C' }, ['two numbers with the same unit, days (limit one), got two, a number with °C.']],
    [{ unit: '' }, {}, ['two numbers with the same unit, none (limit one), got two, a number with days.']],
    [{}, { unit: '' }, ['two numbers with the same unit, days (limit one), got two, a number with no unit.']],
    [
      {},
      { kind: 'flag', default: true },
      ['two numbers with the same unit, days (limit one), got two, a flag with days.'],
    ],
    [
      { kind: 'flag', default: true },
      {},
      ['two numbers with the same unit, days (limit one), got two, a number with days.'],
    ],
  ])('of %j is held below one of %j only as a number with the same unit', (more, other, expected) => {
    expect(ofLimit({ ...more, notAbove: 'two' }, [limitOf('two', other)])).toEqual(
      expected.map((line) => `limits[9].notAbove: expected ${line}`),
    );
  });
});

describe('a value', () => {
  const lines = (more: Partial<LimitDeclaration>, value: unknown) =>
    valueProblems('at', limitOf('one', more), value as LimitValue).map(problemLine);
  const BAND: Partial<LimitDeclaration> = { kind: 'band', unit: '%', bounds: [10, 90] };
  const WORD: Partial<LimitDeclaration> = { kind: 'word', words: ['firm', 'soft'] };
  const SEASONS = 'a list of season windows such as [[330, 60]], in degrees from 0 to 360';

  it.each<[string, Partial<LimitDeclaration>, unknown]>([
    ['the lowest of a number', {}, 0],
    ['the highest of a number', {}, 10],
    ['any number without bounds', { bounds: undefined }, -1e9],
    ['any large number without bounds', { bounds: undefined }, 1e9],
    ['a part of a number', {}, 2.5],
    ['a whole number', { whole: true }, 2],
    ['one of the words', WORD, 'soft'],
    ['yes', { kind: 'flag' }, true],
    ['no', { kind: 'flag' }, false],
    ['a band from end to end', BAND, [10, 90]],
    ['a band of one value', BAND, [40, 40]],
    ['one window', { kind: 'season' }, [[330, 60]]],
    [
      'windows from end to end of the year',
      { kind: 'season' },
      [
        [0, 360],
        [20, 30],
      ],
    ],
    ...(['number', 'word', 'flag', 'band', 'season'] as const).map(
      (kind): [string, Partial<LimitDeclaration>, unknown] => [`not asked, of a ${kind}`, { kind }, null],
    ),
  ])('may be %s', (_, more, value) => {
    expect(lines(more, value)).toEqual([]);
  });

  it.each<[Partial<LimitDeclaration>, unknown, string]>([
    [{}, '5', 'a number, days, got "5"'],
    [{ unit: '' }, true, 'a number, no unit, got true'],
    // A number field that was left empty comes as no number.
    [{}, Number.NaN, 'a number, days, got null'],
    [{}, -0.1, '0 to 10 days, got -0.1'],
    [{}, 10.1, '0 to 10 days, got 10.1'],
    [{ unit: '' }, 11, '0 to 10, got 11'],
    [{ whole: true }, 2.5, 'a whole number, 0 to 10 days, got 2.5'],
    [{ whole: true, unit: '' }, 2.5, 'a whole number, 0 to 10, got 2.5'],
    [WORD, 'sunken', 'one of firm, soft, got "sunken"'],
    [WORD, ['soft'], 'one of firm, soft, got ["soft"]'],
    [{ kind: 'flag' }, 'yes', 'yes or no (true or false), got "yes"'],
    [BAND, 40, 'a band [low, high], got 40'],
    [BAND, [40], 'a band [low, high], got [40]'],
    [BAND, [20, 40, 60], 'a band [low, high], got [20,40,60]'],
    [BAND, ['20', 40], 'a band [low, high], got ["20",40]'],
    [BAND, [20, '40'], 'a band [low, high], got [20,"40"]'],
    [BAND, 'on', 'a band [low, high], got "on"'],
    [BAND, [9, 40], '10 to 90 %, got [9,40]'],
    [BAND, [40, 91], '10 to 90 %, got [40,91]'],
    [{ ...BAND, unit: '' }, [40, 91], '10 to 90, got [40,91]'],
    [{ kind: 'season' }, [], `${SEASONS}, got []`],
    [{ kind: 'season' }, 'winter', `${SEASONS}, got "winter"`],
    [{ kind: 'season' }, [330, 60], `${SEASONS}, got [330,60]`],
    [{ kind: 'season' }, [[330, 60], [10]], `${SEASONS}, got [[330,60],[10]]`],
    [{ kind: 'season' }, [[330, 60, 90]], `${SEASONS}, got [[330,60,90]]`],
    [{ kind: 'season' }, [[330, 361]], `${SEASONS}, got [[330,361]]`],
    [{ kind: 'season' }, [[-1, 60]], `${SEASONS}, got [[-1,60]]`],
    [{ kind: 'season' }, [['330', 60]], `${SEASONS}, got [["330",60]]`],
    // Two letters, as long as a window.
    [{ kind: 'season' }, ['ab'], `${SEASONS}, got ["ab"]`],
  ])('of %j may not be %j', (more, value, expected) => {
    expect(lines(more, value)).toEqual([`at: expected ${expected}.`]);
  });

  it('that is a band turned round is told once, also outside the bounds', () => {
    expect(lines(BAND, [95, 5])).toEqual(['at: expected the lower end first, got [95,5]. Swap the two.']);
  });
});
