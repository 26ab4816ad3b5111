import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { parse } from 'csv-parse/sync';
import { LeafturnError } from '../../domain/errors.js';

/** Rows of a CSV file with a header, gzipped or not; every field as text. */
export function readCsv(path: string, wanted: readonly string[]): Record<string, string>[] {
  let rows: Record<string, string>[];
  try {
    const bytes = readFileSync(path);
    rows = parse(path.endsWith('.gz') ? gunzipSync(bytes) : bytes, { columns: true, skip_empty_lines: true });
  } catch (error) {
    throw new LeafturnError('file-failed', `${path} could not be read as CSV: ${(error as Error).message}`);
  }
  const missing = wanted.filter((column) => rows.length === 0 || !(column in (rows[0] as object)));
  if (missing.length > 0)
    throw new LeafturnError(
      'invalid-input',
      `${path} is not what was expected.`,
      missing.map((column) => ({
        path: column,
        expected: 'a column of that name',
        got: rows.length === 0 ? 'no rows' : `columns ${Object.keys(rows[0] as object).join(', ')}`,
      })),
    );
  return rows;
}

/** Undefined for an empty field or one that is no number. */
export function numberOf(text: string | undefined): number | undefined {
  if (text === undefined || text.trim() === '') return undefined;
  const value = Number(text);
  return Number.isFinite(value) ? value : undefined;
}

/** A table as lines of text: the first column to the left, figures to the right. */
export function textTable(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => (row[column] ?? '').length)));
  return rows.map((row) =>
    row
      .map((cell, i) => (i === 0 ? cell.padEnd(widths[i] ?? 0) : cell.padStart(widths[i] ?? 0)))
      .join('  ')
      .trimEnd(),
  );
}

/** A figure with so many places, or a dash where there is none. */
export const figure = (value: number | undefined, places = 2): string =>
  value === undefined || Number.isNaN(value) ? '-' : value.toFixed(places);
