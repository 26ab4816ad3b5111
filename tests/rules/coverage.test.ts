import { describe, expect, it } from 'vitest';
import type { Met, Trace } from '../../src/domain/verdict.js';
import { coverageText, type RowCoverage, rowCoverage, uncovered } from '../../src/rules/coverage.js';
import { parseRulebook, type Rulebook } from '../../src/rules/rulebook.js';
import { smallFile } from './small-file.js';

function book(): Rulebook {
  const result = parseRulebook(smallFile());
  if (!result.ok) throw new Error('the small file does not read');
  return result.rulebook;
}
const trace = (...rows: [string, string, Met][]): Trace =>
  rows.map(([table, row, met]) => ({ table, row, met, conditions: [] }));
const counted = (row: string, met: number, notMet: number, unknown = 0): RowCoverage => ({
  table: 'pot',
  row,
  met,
  notMet,
  unknown,
});

describe('how often rows are met', () => {
  it('is counted over all traces, each row of a table by itself', () => {
    const coverage = rowCoverage(book(), [
      trace(['safety', 'sheathed', 'yes'], ['safety', 'bare', 'no'], ['pot', 'sheathed', 'unknown']),
      trace(['safety', 'sheathed', 'no'], ['safety', 'bare', 'no'], ['pot', 'sheathed', 'unknown']),
      trace(['safety', 'sheathed', 'yes']),
    ]);
    // Two rows in each of the ten tables, in the order of the file.
    expect(coverage).toHaveLength(20);
    expect(coverage.slice(0, 4)).toEqual([
      { table: 'safety', row: 'sheathed', met: 2, notMet: 1, unknown: 0 },
      { table: 'safety', row: 'bare', met: 0, notMet: 2, unknown: 0 },
      { table: 'pot', row: 'sheathed', met: 0, notMet: 0, unknown: 2 },
      { table: 'pot', row: 'bare', met: 0, notMet: 0, unknown: 0 },
    ]);
  });

  it('leaves uncovered what was not both met and not met: unknown is neither', () => {
    const both = counted('both', 1, 1);
    const always = counted('always', 3, 0);
    const never = counted('never', 0, 3);
    const open = counted('open', 0, 0, 3);
    expect(uncovered([both, always, never, open])).toEqual([always, never, open]);
  });

  it('is told one line a row, what is missing marked, with the sum', () => {
    expect(coverageText([counted('both', 1, 2, 4), counted('always', 3, 0), counted('never', 0, 3)])).toBe(
      [
        `  pot/both${' '.repeat(32)} met 1, not met 2, unknown 4`,
        `! pot/always${' '.repeat(30)} met 3, not met 0, unknown 0`,
        `! pot/never${' '.repeat(31)} met 0, not met 3, unknown 0`,
        '1 of 3 rows covered',
        '',
      ].join('\n'),
    );
  });
});
