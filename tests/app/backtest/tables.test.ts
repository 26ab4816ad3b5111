import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, expect, it } from 'vitest';
import { figure, numberOf, readCsv, textTable } from '../../../src/app/backtest/tables.js';
import { LeafturnError } from '../../../src/domain/errors.js';

const folder = mkdtempSync(join(tmpdir(), 'leafturn-tables-'));
afterAll(() => rmSync(folder, { recursive: true }));
const file = (name: string, content: string | Buffer): string => {
  writeFileSync(join(folder, name), content);
  return join(folder, name);
};

it('reads rows by the names of their columns, packed or not', () => {
  expect(readCsv(file('a.csv', 'x,y\n1,2\n'), ['x', 'y'])).toEqual([{ x: '1', y: '2' }]);
  expect(readCsv(file('a.csv.gz', gzipSync('x,y\n1,2\n')), ['x'])).toEqual([{ x: '1', y: '2' }]);
});

it('says which columns are missing and what came instead', () => {
  const path = file('b.csv', 'date,low\n2021-01-01,3\n');
  expect(() => readCsv(path, ['date', 'high'])).toThrow(
    expect.objectContaining({
      problems: [{ path: 'high', expected: 'a column of that name', got: 'columns date, low' }],
    }),
  );
  expect(() => readCsv(file('c.csv', 'date\n'), ['date'])).toThrow(LeafturnError);
});

it('a file that is not there, not packed, or no table is told by its name', () => {
  expect(() => readCsv(join(folder, 'none.csv'), [])).toThrow(/none\.csv could not be read as CSV/);
  expect(() => readCsv(file('d.csv.gz', 'plain text'), [])).toThrow(/d\.csv\.gz could not be read as CSV/);
  expect(() => readCsv(file('e.csv', 'a,b\n1\n'), [])).toThrow(/e\.csv could not be read as CSV/);
});

it('an empty cell is no number, and no number is no zero', () => {
  expect([numberOf('1.5'), numberOf('-3'), numberOf(''), numberOf(' '), numberOf('NA'), numberOf(undefined)]).toEqual([
    1.5,
    -3,
    undefined,
    undefined,
    undefined,
    undefined,
  ]);
});

it('tables line up; a figure that is not there is a dash', () => {
  expect(
    textTable([
      ['lead', 'CSI'],
      ['12 h', figure(0.5)],
      ['2 h', figure(undefined)],
      ['x', figure(Number.NaN)],
    ]),
  ).toEqual(['lead   CSI', '12 h  0.50', '2 h      -', 'x        -']);
});
