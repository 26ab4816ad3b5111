import { describe, expect, it } from 'vitest';
import { problemLine } from '../../src/domain/errors.js';
import { checkRules } from '../../src/rules/check.js';
import { contentHash, fnv1a128, parseRulebook, type Rulebook } from '../../src/rules/rulebook.js';
import type { RulebookFile } from '../../src/rules/schema.js';
import { limitOf, rowOf, smallFile, using } from './small-file.js';

const read = (raw: unknown): Rulebook => {
  const result = parseRulebook(raw);
  if (!result.ok) throw new Error(result.problems.map(problemLine).join('\n'));
  return result.rulebook;
};
const refusals = (raw: unknown): string[] => {
  const result = parseRulebook(raw);
  return result.ok ? [] : result.problems.map(problemLine);
};

describe('the default rulebook', () => {
  it('has no gaps, overlaps, dead rows or values of the catalogue out of bounds', async () => {
    // Read here, so that a rulebook that does not read is told as this test failing.
    const { catalogue, rulebook } = await import('./support.js');
    expect(checkRules(rulebook, catalogue)).toEqual([]);
  });
});

describe('a rulebook that reads well', () => {
  const file = smallFile([limitOf('one'), limitOf('two', { default: 3 })], using('one', 'two'));
  it('has its limits by name and its sources', () => {
    const book = read(file);
    expect(book.name).toBe('small');
    expect(book.sources).toEqual(file.sources);
    expect(book.limits.get('two')).toEqual(limitOf('two', { default: 3 }));
    expect([...book.limits.keys()]).toEqual(file.limits.map(({ name }) => name));
    expect(book.file).toEqual(file);
  });

  it('has a table for each step, its rows ready to be held against facts', () => {
    const book = read(file);
    expect(Object.keys(book.tables)).toEqual([
      'safety',
      'pot',
      'stall',
      'policy',
      'rescue',
      'guard',
      'climate',
      'seedlings',
      'light',
      'alerts',
    ]);
    expect(book.tables.stall).toMatchObject({ id: 'stall', hit: 'unique', about: 'About stall.' });
    expect(book.tables.safety).toMatchObject({ id: 'safety', hit: 'collect', about: 'About safety.' });
    expect(book.tables.safety.rows).toHaveLength(1);
    expect(book.tables.safety.rows[0]).toMatchObject({
      table: 'safety',
      row: using('one', 'two').safety[0],
      conditions: [{ fact: 'sheathed', op: 'is', value: true }],
    });
  });
});

describe('the revision of a rulebook', () => {
  it('is the same however its keys are ordered and whatever is left at its default, and another for any change', () => {
    const file = smallFile();
    const { revision } = read(file);
    expect(revision).toMatch(/^[0-9a-f]{16}$/);
    expect(revision).toBe(contentHash(file));
    expect(read(Object.fromEntries(Object.entries(file).reverse())).revision).toBe(revision);
    const short = { ...file, limits: file.limits.map(({ whole: _, set: __, ...limit }) => limit) };
    expect(read(short).revision).toBe(revision);
    const other = {
      ...file,
      limits: file.limits.map((limit, index) => (index === 3 ? { ...limit, default: 6 } : limit)),
    };
    expect(read(other).revision).not.toBe(revision);
  });

  it.each<[unknown, string]>([
    [{ b: 2, a: 1 }, '{"a":1,"b":2}'],
    [{ a: 1, b: 2, c: 3 }, '{"a":1,"b":2,"c":3}'],
    [{ c: 3, b: 2, a: 1 }, '{"a":1,"b":2,"c":3}'],
    [{ b: [2, 1], a: { d: null, c: 'x"y' } }, '{"a":{"c":"x\\"y","d":null},"b":[2,1]}'],
    // A key without a value is no key.
    [{ a: undefined, b: true }, '{"b":true}'],
    [[undefined, 1], '[null,1]'],
    ['°C', '"°C"'],
    [null, 'null'],
  ])('of %j is the start of the hash of %s', (content, text) => {
    expect(contentHash(content)).toBe(fnv1a128(new TextEncoder().encode(text)).slice(0, 16));
  });

  it.each([
    // Source: test vectors of hash/fnv in the Go standard library, after draft-eastlake-fnv.
    ['', '6c62272e07bb014262b821756295c58d'],
    ['a', 'd228cb696f1a8caf78912b704e4a8964'],
    ['ab', '08809544bbab1be95aa0733055b69a62'],
    ['abc', 'a68d622cec8b5822836dbc7977af7f3b'],
  ])('hashes "%s" by FNV-1a of 128 bits', (text, hash) => {
    expect(fnv1a128(new TextEncoder().encode(text))).toBe(hash);
  });
});

describe('a rulebook is refused', () => {
  const without = (file: RulebookFile, ...steps: string[]) => ({
    ...file,
    tables: file.tables.filter(({ id }) => !steps.includes(id)),
  });

  it('where a step has no table', () => {
    expect(refusals(without(smallFile(), 'climate', 'safety'))).toEqual([
      'tables: expected a table for the step safety, got nothing. Add the table.',
      'tables: expected a table for the step climate, got nothing. Add the table.',
    ]);
  });

  it('where a table hits otherwise than its step needs', () => {
    const file = smallFile();
    const turned = file.tables.map((table) =>
      table.id === 'stall' || table.id === 'pot'
        ? { ...table, hit: table.hit === 'unique' ? ('collect' as const) : ('unique' as const) }
        : table,
    );
    expect(refusals({ ...file, tables: turned })).toEqual([
      'tables[1].hit: expected collect for the step pot, got unique.',
      'tables[2].hit: expected unique for the step stall, got collect.',
    ]);
  });

  it('with everything that is wrong at once: tables, and words in them', () => {
    const file = smallFile([], { pot: [rowOf('new', { inspect: true }, { fact: 'sheathd', op: 'is', value: true })] });
    expect(refusals(without(file, 'light'))).toEqual([
      'tables: expected a table for the step light, got nothing. Add the table.',
      'tables[1].rows[0].when[0].fact: expected a fact a rule can see (row pot/new), got "sheathd". Did you mean sheathed?',
    ]);
  });

  it('where its form is not that of a rulebook, each unknown key with the one that is meant', () => {
    const { source, ...unsourced } = limitOf('one');
    const file = smallFile();
    expect(refusals({ ...file, format: 2, limits: [...file.limits, { ...unsourced, sourc: source }] })).toEqual([
      'format: expected one of 1, got 2.',
      'limits[9].source: expected string, got nothing. Add it.',
      expect.stringMatching(
        /^limits\[9\]\.sourc: expected one of name, .*, got the unknown key sourc\. Did you mean source\?$/,
      ),
    ]);
    expect(refusals('nothing of the kind')).toEqual(['(top): expected object, got "nothing of the kind".']);
  });
});
