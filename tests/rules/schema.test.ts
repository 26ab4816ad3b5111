import { describe, expect, it } from 'vitest';
import { problemLine } from '../../src/domain/errors.js';
import { schemaProblems } from '../../src/domain/problems.js';
import {
  ALERT_KINDS,
  conditionSchema,
  effectSchema,
  LIMIT_KINDS,
  limitSchema,
  OPERATORS,
  rowSchema,
  rulebookFileSchema,
  STEPS,
  tableSchema,
  WINDOWS,
} from '../../src/rules/schema.js';
import { limitOf, rowOf, smallFile } from './small-file.js';

type Schema = Parameters<typeof schemaProblems>[0];
const problems = (schema: Schema, value: unknown): string[] => {
  const parsed = schema.safeParse(value);
  return parsed.success ? [] : schemaProblems(schema, value, parsed.error).map(problemLine);
};
const letters = (count: number): string => 'a'.repeat(count);
const times = <T>(count: number, value: T): T[] => Array.from({ length: count }, () => value);
const UNKNOWN_KEY = /got the unknown key extra\./;

describe('words of a rulebook', () => {
  it.each<[string, readonly string[], string[]]>([
    [
      'comparisons',
      OPERATORS,
      ['is', 'is-not', 'one-of', 'none-of', 'below', 'at-most', 'at-least', 'above', 'in-season', 'out-of-season'],
    ],
    ['alerts a row can raise', ALERT_KINDS, ['hot-spell', 'frost', 'wet-night', 'burn-risk']],
    ['times of day for a drink', WINDOWS, ['by-10', 'by-09', 'evening']],
    ['kinds of limit', LIMIT_KINDS, ['number', 'word', 'flag', 'band', 'season']],
    // The order is that of the decision: safety before all, alerts last.
    [
      'steps',
      STEPS,
      ['safety', 'pot', 'stall', 'policy', 'rescue', 'guard', 'climate', 'seedlings', 'light', 'alerts'],
    ],
  ])('are these: %s', (_, words, expected) => {
    expect(words).toEqual(expected);
  });
});

describe('a condition', () => {
  it.each<unknown>([
    { fact: 'dryDays', op: 'below', value: 5 },
    { fact: 'sheathed', op: 'is', value: false },
    { fact: 'waterPhase', op: 'is', value: 'growing' },
    { fact: 'waterPhase', op: 'one-of', value: ['growing'] },
    { fact: 'dryDays', op: 'below', limit: 'drink-gap' },
    { choice: 'drink-body', op: 'is', value: 'working' },
    { choice: 'drink-body', op: 'is', limit: 'other' },
  ])('may be %j', (condition) => {
    expect(problems(conditionSchema, condition)).toEqual([]);
    expect(conditionSchema.parse(condition)).toEqual(condition);
  });

  const OP = OPERATORS.join(', ');
  it.each<[unknown, unknown[]]>([
    [{ op: 'is', value: 5 }, ['(top): expected either `fact` or `choice`, got {"op":"is","value":5}.']],
    [
      { fact: 'day', choice: 'one', op: 'is', value: 5 },
      ['(top): expected either `fact` or `choice`, got {"fact":"day","choice":"one","op":"is","value":5}.'],
    ],
    [{ fact: 'day', op: 'is' }, ['(top): expected either `value` or `limit`, got {"fact":"day","op":"is"}.']],
    [
      { fact: 'day', op: 'is', value: 5, limit: 'one' },
      ['(top): expected either `value` or `limit`, got {"fact":"day","op":"is","value":5,"limit":"one"}.'],
    ],
    [{ fact: 'day', op: 'under', value: 5 }, [`op: expected one of ${OP}, got "under".`]],
    [{ fact: '', op: 'is', value: 5 }, ['fact: expected at least 1 character, got "".']],
    [{ choice: 'Drink', op: 'is', value: 5 }, [expect.stringMatching(/^choice: .* got "Drink"/)]],
    [{ fact: 'day', op: 'is', limit: 'Drink' }, [expect.stringMatching(/^limit: .* got "Drink"/)]],
    [{ fact: 'day', op: 'is', value: '' }, ['value: expected at least 1 character, got "".']],
    [{ fact: 'day', op: 'one-of', value: [] }, ['value: expected at least 1 entry, got [].']],
    [{ fact: 'day', op: 'one-of', value: [''] }, ['value[0]: expected at least 1 character, got "".']],
    [{ fact: 'day', op: 'one-of', value: [5] }, ['value[0]: expected string, got 5.']],
    [{ fact: 'day', op: 'is', value: null }, [expect.stringMatching(/^value: .* got null/)]],
    [{ fact: 'day', op: 'is', value: 5, extra: 1 }, [expect.stringMatching(UNKNOWN_KEY)]],
  ])('may not be %j', (condition, expected) => {
    expect(problems(conditionSchema, condition)).toEqual(expected);
  });
});

describe('an effect', () => {
  it.each<unknown>([
    ...['none', 'light', 'full'].flatMap((amount) => [{ cap: amount }, { raise: amount }]),
    { cap: { limit: 'hot-spell-cap' } },
    ...['as-entered', 'dormant-warm', 'dormant-cold'].map((policy) => ({ policy })),
    { postpone: true },
    { inspect: true },
    { lightRamp: true },
    ...ALERT_KINDS.map((alert) => ({ alert })),
    { shade: { limit: 'shade-burn' } },
    { shade: 'hold-to-step' },
    { shade: 'hold-to-liking' },
    ...WINDOWS.map((window) => ({ window })),
    { cap: 'none', postpone: true, window: 'by-09' },
  ])('may be %j', (effect) => {
    expect(problems(effectSchema, effect)).toEqual([]);
    expect(effectSchema.parse(effect)).toEqual(effect);
  });

  it.each<[unknown, unknown]>([
    [{}, '(top): expected at least one effect, got {}.'],
    [{ cap: 'much' }, expect.stringMatching(/^cap: .* got "much"/)],
    [{ cap: { limit: 'One' } }, expect.stringMatching(/^cap\.limit: .* got "One"/)],
    [{ cap: { limit: 'one', extra: 1 } }, expect.stringMatching(UNKNOWN_KEY)],
    // What a row raises to is never a limit: the weather has the last word.
    [{ raise: { limit: 'one' } }, 'raise: expected one of none, light, full, got {"limit":"one"}.'],
    [{ policy: 'growing' }, 'policy: expected one of as-entered, dormant-warm, dormant-cold, got "growing".'],
    // Left out is the only no.
    [{ postpone: false }, 'postpone: expected one of true, got false.'],
    [{ inspect: false }, 'inspect: expected one of true, got false.'],
    [{ lightRamp: false }, 'lightRamp: expected one of true, got false.'],
    [{ alert: 'disk-low' }, 'alert: expected one of hot-spell, frost, wet-night, burn-risk, got "disk-low".'],
    [{ shade: 'hold' }, expect.stringMatching(/^shade: .* got "hold"/)],
    [{ shade: { limit: 'one', extra: 1 } }, expect.stringMatching(UNKNOWN_KEY)],
    [{ window: 'noon' }, 'window: expected one of by-10, by-09, evening, got "noon".'],
    [{ inspect: true, extra: 1 }, expect.stringMatching(UNKNOWN_KEY)],
  ])('may not be %j', (effect, expected) => {
    expect(problems(effectSchema, effect)).toEqual([expected]);
  });
});

describe('a row', () => {
  const SHEATHED = { fact: 'sheathed', op: 'is', value: true } as const;
  const plain = rowOf('one', { inspect: true }, SHEATHED);

  it.each<object>([
    {},
    { when: times(12, SHEATHED) },
    { because: letters(5) },
    { because: letters(300) },
    { source: 'a' },
  ])('may have %j', (more) => {
    expect(problems(rowSchema, { ...plain, ...more })).toEqual([]);
  });

  it('has its sentence without the blanks round it', () => {
    expect(rowSchema.parse({ ...plain, because: '  Because.\n' })).toEqual({ ...plain, because: 'Because.' });
  });

  it.each<[object, unknown]>([
    [{ id: 'One' }, expect.stringMatching(/^id: .* got "One"/)],
    [{ when: [] }, 'when: expected at least 1 entry, got [].'],
    [{ when: times(13, SHEATHED) }, expect.stringMatching(/^when: expected at most 12 entries/)],
    [{ because: '  abcd  ' }, 'because: expected at least 5 characters, got "  abcd  ".'],
    [{ because: letters(301) }, expect.stringMatching(/^because: expected at most 300 characters/)],
    [{ source: '' }, 'source: expected at least 1 character, got "".'],
    [{ extra: 1 }, expect.stringMatching(UNKNOWN_KEY)],
  ])('may not have %j', (more, expected) => {
    expect(problems(rowSchema, { ...plain, ...more })).toEqual([expected]);
  });
});

describe('a table', () => {
  const one = rowOf('one', { inspect: true }, { fact: 'sheathed', op: 'is', value: true });
  const plain = { id: 'pot', hit: 'collect', about: 'About it.', rows: [one] };

  it.each<object>([
    {},
    { hit: 'unique' },
    ...STEPS.map((id) => ({ id })),
    { about: letters(5) },
    { about: letters(300) },
    { rows: times(100, one) },
  ])('may have %#', (more) => {
    expect(problems(tableSchema, { ...plain, ...more })).toEqual([]);
  });

  it('has its text without the blanks round it', () => {
    expect(tableSchema.parse({ ...plain, about: ' About it. ' }).about).toBe('About it.');
  });

  it.each<[object, unknown]>([
    [{ id: 'pots' }, `id: expected one of ${STEPS.join(', ')}, got "pots". Did you mean pot?`],
    [{ hit: 'first' }, 'hit: expected one of unique, collect, got "first".'],
    [{ about: ' abcd ' }, 'about: expected at least 5 characters, got " abcd ".'],
    [{ about: letters(301) }, expect.stringMatching(/^about: expected at most 300 characters/)],
    [{ rows: [] }, 'rows: expected at least 1 entry, got [].'],
    [{ rows: times(101, one) }, expect.stringMatching(/^rows: expected at most 100 entries/)],
    [{ extra: 1 }, expect.stringMatching(UNKNOWN_KEY)],
  ])('may not have %#', (more, expected) => {
    expect(problems(tableSchema, { ...plain, ...more })).toEqual([expected]);
  });
});

describe('a limit', () => {
  const plain = limitOf('one');
  const VALUES: unknown[] = [
    5,
    -0.5,
    true,
    false,
    'soft',
    [30, 50],
    [[330, 60]],
    [
      [0, 360],
      [10, 20],
    ],
    null,
  ];

  it.each<object>([
    {},
    ...LIMIT_KINDS.map((kind) => ({ kind })),
    ...VALUES.flatMap((value) => [{ default: value }, { set: [{ group: 'stone', value }] }]),
    { label: letters(3) },
    { label: letters(80) },
    { unit: letters(30) },
    { whole: true },
    { bounds: undefined },
    { words: ['firm', 'soft'] },
    { customary: [3, 5] },
    { notAbove: 'two' },
    { from: 'climate.minSafeWetC' },
    { reason: letters(5) },
    { reason: letters(300) },
    { source: 'a' },
    { set: [{ group: 'stone', phase: 'growing', value: 1, source: 'a' }, { value: 1 }] },
  ])('may have %j', (more) => {
    const limit = { ...plain, ...more };
    expect(problems(limitSchema, limit)).toEqual([]);
    expect(limitSchema.parse(limit)).toEqual(limit);
  });

  it('has no unit, parts of numbers and no values of groups unless it says so, and no blanks round its texts', () => {
    const { unit: _, whole: __, set: ___, ...short } = plain;
    expect(limitSchema.parse({ ...short, label: ' Label of one ', reason: ' Reason of one. ' })).toEqual({
      ...plain,
      unit: '',
      whole: false,
      set: [],
    });
  });

  it.each<[object, unknown]>([
    [{ name: 'One' }, expect.stringMatching(/^name: .* got "One"/)],
    [{ label: ' ab ' }, 'label: expected at least 3 characters, got " ab ".'],
    [{ label: letters(81) }, expect.stringMatching(/^label: expected at most 80 characters/)],
    [{ section: 'All limits' }, expect.stringMatching(/^section: .* got "All limits"/)],
    [{ kind: 'text' }, `kind: expected one of ${LIMIT_KINDS.join(', ')}, got "text".`],
    [{ unit: letters(31) }, expect.stringMatching(/^unit: expected at most 30 characters/)],
    [{ whole: 'yes' }, 'whole: expected boolean, got "yes".'],
    [{ bounds: [0] }, expect.stringMatching(/^bounds/)],
    [{ bounds: ['0', 1] }, 'bounds[0]: expected number, got "0".'],
    [{ words: ['one'] }, 'words: expected at least 2 entries, got ["one"].'],
    [{ words: ['one', ''] }, 'words[1]: expected at least 1 character, got "".'],
    [{ customary: [1, 2, 3] }, expect.stringMatching(/^customary/)],
    [{ customary: [1, '2'] }, 'customary[1]: expected number, got "2".'],
    [{ notAbove: 'Two' }, expect.stringMatching(/^notAbove: .* got "Two"/)],
    [{ from: 5 }, 'from: expected string, got 5.'],
    [{ reason: ' abcd ' }, 'reason: expected at least 5 characters, got " abcd ".'],
    [{ reason: letters(301) }, expect.stringMatching(/^reason: expected at most 300 characters/)],
    [{ source: '' }, 'source: expected at least 1 character, got "".'],
    [{ default: undefined }, expect.stringMatching(/^default: .* got nothing/)],
    [{ default: '' }, expect.stringMatching(/^default: .* got ""/)],
    [{ set: [{ group: 'Stone', value: 1 }] }, expect.stringMatching(/^set\[0\]\.group: .* got "Stone"/)],
    [{ set: [{ phase: 'Rest', value: 1 }] }, expect.stringMatching(/^set\[0\]\.phase: .* got "Rest"/)],
    [{ set: [{ group: 'stone' }] }, expect.stringMatching(/^set\[0\]\.value: .* got nothing/)],
    [{ set: [{ group: 'stone', value: 1, source: '' }] }, 'set[0].source: expected at least 1 character, got "".'],
    [{ set: [{ group: 'stone', value: 1, extra: 1 }] }, expect.stringMatching(UNKNOWN_KEY)],
    [{ extra: 1 }, expect.stringMatching(UNKNOWN_KEY)],
  ])('may not have %j', (more, expected) => {
    expect(problems(limitSchema, { ...plain, ...more })).toEqual([expected]);
  });

  it.each(
    [[], [[]], [[0, 361]], [[-1, 60]], [[0, -1]], [[361, 0]], [[330, 60, 90]], [1, 2, 3]].map((value) => [value]),
  )('has no default such as %j: seasons are pairs of degrees from 0 to 360', (value) => {
    expect(limitSchema.safeParse({ ...plain, default: value }).success).toBe(false);
  });
});

describe('a rulebook file', () => {
  const plain = smallFile();

  it.each<object>([
    {},
    { name: 'a' },
    { name: letters(120) },
    { sources: { a: letters(5), b: letters(500) } },
    { sections: { a: letters(3), b: letters(80) } },
    { limits: plain.limits.slice(0, 1), tables: plain.tables.slice(0, 1) },
  ])('may have %#', (more) => {
    expect(problems(rulebookFileSchema, { ...plain, ...more })).toEqual([]);
  });

  it('has its texts without the blanks round them', () => {
    const blanks = { name: ' small ', sources: { a: ' A source ' }, sections: { a: ' All ' } };
    expect(rulebookFileSchema.parse({ ...plain, ...blanks })).toMatchObject({
      name: 'small',
      sources: { a: 'A source' },
      sections: { a: 'All' },
    });
  });

  it.each<[object, unknown]>([
    [{ format: 2 }, 'format: expected one of 1, got 2.'],
    [{ name: '  ' }, 'name: expected at least 1 character, got "  ".'],
    [{ name: letters(121) }, expect.stringMatching(/^name: expected at most 120 characters/)],
    [{ sources: { practice: ' abcd ' } }, 'sources.practice: expected at least 5 characters, got " abcd ".'],
    [{ sources: { practice: letters(501) } }, expect.stringMatching(/^sources\.practice: expected at most 500 char/)],
    [{ sources: { Practice: letters(9) } }, expect.stringMatching(/^sources\.Practice/)],
    [{ sections: { all: ' ab ' } }, 'sections.all: expected at least 3 characters, got " ab ".'],
    [{ sections: { all: letters(81) } }, expect.stringMatching(/^sections\.all: expected at most 80 characters/)],
    [{ sections: { All: letters(9) } }, expect.stringMatching(/^sections\.All/)],
    [{ limits: [] }, 'limits: expected at least 1 entry, got [].'],
    [{ tables: [] }, 'tables: expected at least 1 entry, got [].'],
    [{ extra: 1 }, expect.stringMatching(UNKNOWN_KEY)],
  ])('may not have %#', (more, expected) => {
    expect(problems(rulebookFileSchema, { ...plain, ...more })).toEqual([expected]);
  });
});
