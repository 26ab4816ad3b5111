import { describe, expect, it } from 'vitest';
import { checkRules } from '../../src/rules/check.js';
import { contentHash, fnv1a128, parseRulebook, type Rulebook } from '../../src/rules/rulebook.js';
import type { RulebookFile } from '../../src/rules/schema.js';
import { catalogue, rulebook } from './support.js';

/** A copy of the default rulebook with something changed in it. */
const changed = (change: (file: RulebookFile) => void): RulebookFile => {
  const file = structuredClone(rulebook.file);
  change(file);
  return file;
};
const setIn = (target: unknown, key: string, value: unknown): void => {
  Reflect.set(target as object, key, value);
};
/** The first condition of a row, where tests put their mistakes. */
const firstCondition = (file: RulebookFile, id: string, row: number): { fact?: string | undefined } => {
  const condition = table(file, id).rows[row]?.when[0];
  if (!condition) throw new Error(`no row ${row} in ${id}`);
  return condition;
};
const table = (file: RulebookFile, id: string) => {
  const found = file.tables.find((one) => one.id === id);
  if (!found) throw new Error(`no table ${id}`);
  return found;
};
const refusals = (change: (file: RulebookFile) => void): string[] => {
  const result = parseRulebook(changed(change));
  return result.ok ? [] : result.problems.map((one) => `${one.path}: ${one.expected}; ${one.got}; ${one.mend ?? ''}`);
};
const findings = (change: (file: RulebookFile) => void): string[] => {
  const result = parseRulebook(changed(change));
  if (!result.ok) throw new Error(result.problems.map((one) => `${one.path} ${one.expected} ${one.got}`).join('\n'));
  return checkRules(result.rulebook, catalogue).map((one) => `${one.path}: ${one.expected}; ${one.got}`);
};

describe('the default rulebook', () => {
  it('has no gaps, overlaps, dead rows or values out of bounds', () => {
    expect(checkRules(rulebook, catalogue)).toEqual([]);
  });

  it('has the same revision however its keys are ordered, and another for any change', () => {
    const turned = Object.fromEntries(Object.entries(rulebook.file).reverse());
    const again = parseRulebook(turned);
    expect(again.ok && again.rulebook.revision).toBe(rulebook.revision);
    const other = parseRulebook(structuredClone(rulebook.file));
    expect(other.ok && other.rulebook.revision).toBe(rulebook.revision);
    const moved = parseRulebook(
      changed((file) => {
        const limit = file.limits.find((one) => one.name === 'wet-night-hours');
        if (limit) limit.default = 5;
      }),
    );
    expect(moved.ok && moved.rulebook.revision).not.toBe(rulebook.revision);
  });

  it('hashes by FNV-1a of 128 bits', () => {
    // Source: test vectors of hash/fnv in the Go standard library, after draft-eastlake-fnv.
    expect(fnv1a128(new TextEncoder().encode(''))).toBe('6c62272e07bb014262b821756295c58d');
    expect(fnv1a128(new TextEncoder().encode('a'))).toBe('d228cb696f1a8caf78912b704e4a8964');
    expect(contentHash({ a: 1, b: 2 })).toBe(contentHash({ b: 2, a: 1 }));
    expect(contentHash([1, 2])).not.toBe(contentHash([2, 1]));
  });
});

describe('what is refused when a rulebook is read', () => {
  it('names the nearest fact for one that does not exist', () => {
    expect(
      refusals((file) => {
        firstCondition(file, 'pot', 0).fact = 'dryDay';
      }),
    ).toEqual([
      'tables[1].rows[0].when[0].fact: a fact a rule can see (row pot/still-moist); "dryDay"; Did you mean dryDays?',
    ]);
  });

  it.each([
    ['a word for a number', 'tonightMinC', 'below', '24'],
    ['a value the fact can never have', 'tonightWetHours', 'at-least', 40],
    ['a word that is not one of the fact', 'waterPhase', 'is', 'sleeping'],
    ['an order of words without order', 'waterPhase', 'below', 'growing'],
    ['a number compared by is', 'tonightMinC', 'is', 5],
    ['a list where one value is wanted', 'waterPhase', 'is', ['growing']],
  ])('%s', (_, fact, op, value) => {
    const problems = refusals((file) => {
      (table(file, 'pot').rows[0] as { when: unknown[] }).when = [{ fact, op, value }];
    });
    expect(problems.length).toBeGreaterThan(0);
    expect(problems[0]).toMatch(/^tables\[1\]\.rows\[0\]\.when\[0\]/);
  });

  it.each<[string, (file: RulebookFile) => void, RegExp]>([
    [
      'a limit in another unit than the fact',
      (file) => setIn(table(file, 'pot').rows[1]?.when[0], 'limit', 'min-wet'),
      /the unit of depletion: none .*min-wet in °C/,
    ],
    [
      'a limit that is not declared',
      (file) => setIn(table(file, 'pot').rows[1]?.when[0], 'limit', 'dry-at-depletio'),
      /the name of a limit .*Did you mean dry-at-depletion/,
    ],
    [
      'a source that is not listed',
      (file) => setIn(table(file, 'pot').rows[0], 'source', 'practise'),
      /a key of `sources`.*Did you mean practice/,
    ],
    [
      'a default outside its bounds',
      (file) => {
        const limit = file.limits.find((one) => one.name === 'wet-night-hours');
        if (limit) limit.default = 40;
      },
      /2 to 12 h .*40/,
    ],
    [
      'a limit without a label',
      (file) => setIn(file.limits[0], 'label', undefined),
      /^limits\[0\]\.label: string; nothing; Add it\./,
    ],
    [
      'a section that has no heading',
      (file) => setIn(file.limits[0], 'section', 'how-sur'),
      /^limits\[0\]\.section: a key of `sections`.*phase-sure\); "how-sur"; Did you mean how-sure/,
    ],
    [
      'an upper limit that is not declared',
      (file) => setIn(file.limits[1], 'notAbove', 'repot-light-day'),
      /^limits\[1\]\.notAbove: the name of a limit.*Did you mean repot-light-days/,
    ],
    [
      'an upper limit in another unit',
      (file) => setIn(file.limits[1], 'notAbove', 'min-wet'),
      /^limits\[1\]\.notAbove: two numbers with the same unit, days .*min-wet, a number with °C/,
    ],
    [
      'bounds turned round',
      (file) => {
        const limit = file.limits.find((one) => one.name === 'wet-night-hours');
        if (limit) limit.bounds = [12, 2];
      },
      /the lower end first/,
    ],
    [
      'a band turned round',
      (file) => {
        const limit = file.limits.find((one) => one.name === 'shade-burn');
        if (limit) limit.default = [60, 40];
      },
      /the lower end first .*\[60,40\].*Swap/,
    ],
    [
      'a name in braces that is neither fact nor limit',
      (file) => setIn(table(file, 'pot').rows[0], 'because', 'Still {wet}.'),
      /names of facts or limits in braces/,
    ],
    [
      'a limit nothing uses',
      (file) => void file.limits.push({ ...(file.limits[1] as (typeof file.limits)[number]), name: 'idle' }),
      /some row that uses the limit idle/,
    ],
    [
      'two rows of one name',
      (file) => setIn(table(file, 'pot').rows[1], 'id', 'still-moist'),
      /a name used once; still-moist/,
    ],
    [
      'a table left out',
      (file) =>
        setIn(
          file,
          'tables',
          file.tables.filter((one) => one.id !== 'climate'),
        ),
      /a table for the step climate/,
    ],
    [
      'another hit policy',
      (file) => setIn(table(file, 'stall') as { hit: string }, 'hit', 'collect'),
      /unique for the step stall/,
    ],
  ])('%s', (_, change, expected) => {
    expect(refusals(change).join('\n')).toMatch(expected);
  });

  it('lists everything at once', () => {
    expect(
      refusals((file) => {
        setIn(table(file, 'pot').rows[0], 'source', 'nobody');
        firstCondition(file, 'pot', 1).fact = 'depleted';
      }),
    ).toHaveLength(2);
  });

  it('refuses unknown keys and says which is meant', () => {
    const raw = structuredClone(rulebook.file) as unknown as { tables: { rows: Record<string, unknown>[] }[] };
    const row = raw.tables[0]?.rows[0] as Record<string, unknown>;
    row.sourc = row.source;
    delete row.source;
    const result = parseRulebook(raw);
    expect(result.ok ? [] : result.problems.map((one) => one.mend)).toContain('Did you mean source?');
  });
});

describe('what is found in a rulebook that reads well', () => {
  it('a gap in a table that must be complete', () => {
    const found = findings((file) => void table(file, 'stall').rows.pop());
    expect(found.join('\n')).toMatch(/tables\[2\]: exactly one row for every case \(table stall\); a gap, e\.g\./);
  });

  it('an overlap in a table that must be disjoint', () => {
    const found = findings((file) => {
      (table(file, 'stall').rows[1] as { when: unknown[] }).when.shift();
    });
    expect(found.join('\n')).toMatch(/an overlap of hot-days and hot-nights/);
  });

  it('a row that can never apply because its limits cross', () => {
    const found = findings((file) => {
      table(file, 'climate').rows[0]?.when.push({ fact: 'tonightWetHours', op: 'below', value: 3 });
    });
    expect(found).toEqual([
      expect.stringMatching(/tables\[6\]\.rows\[0\]: conditions that can hold together \(row climate\/wet-night\)/),
    ]);
  });

  it('a row that can never apply because no group makes its choice', () => {
    const found = findings((file) => {
      const limit = file.limits.find((one) => one.name === 'firm-never');
      if (limit) delete limit.from;
    });
    expect(found.join('\n')).toMatch(/row guard\/firm\)/);
  });

  it('the same row twice', () => {
    const found = findings((file) => {
      const rows = table(file, 'alerts').rows;
      rows.push({ ...(rows[0] as (typeof rows)[number]), id: 'again' });
    });
    expect(found.join('\n')).toMatch(/alerts\/again, the same as hot-spell/);
  });

  it('a value of the catalogue outside the bounds of its limit', () => {
    const found = findings((file) => {
      const limit = file.limits.find((one) => one.name === 'min-wet');
      if (limit) limit.bounds = [4.5, 15];
    });
    expect(found.join('\n')).toMatch(/4\.5 to 15 °C \(limit min-wet, for Conophytum/);
  });
});

/** Kept here so that the type of a whole rulebook is used once with a value. */
const whole: Rulebook = rulebook;
it('has a table for each step of the decision', () => {
  expect(Object.keys(whole.tables)).toHaveLength(10);
});
