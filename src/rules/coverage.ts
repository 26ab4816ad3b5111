import type { Trace } from '../domain/verdict.js';
import type { Rulebook } from './rulebook.js';

/** How often a row was met and not met over many traces. */
export interface RowCoverage {
  readonly table: string;
  readonly row: string;
  readonly met: number;
  readonly notMet: number;
  readonly unknown: number;
}

/** Counts every row of the rulebook over the traces; a row that never occurs counts as never met and never not met. */
export function rowCoverage(rulebook: Rulebook, traces: Iterable<Trace>): RowCoverage[] {
  const counts = new Map<string, { yes: number; no: number; unknown: number }>();
  for (const trace of traces)
    for (const { table, row, met } of trace) {
      const key = `${table}/${row}`;
      const count = counts.get(key) ?? { yes: 0, no: 0, unknown: 0 };
      count[met] += 1;
      counts.set(key, count);
    }
  return rulebook.file.tables.flatMap((table) =>
    table.rows.map((row) => {
      const count = counts.get(`${table.id}/${row.id}`);
      return {
        table: table.id,
        row: row.id,
        met: count?.yes ?? 0,
        notMet: count?.no ?? 0,
        unknown: count?.unknown ?? 0,
      };
    }),
  );
}

/** Rows that were not both met and not met. */
export const uncovered = (coverage: readonly RowCoverage[]): RowCoverage[] =>
  coverage.filter((row) => row.met === 0 || row.notMet === 0);

/** The report as text: one line a row, what is missing marked. */
export function coverageText(coverage: readonly RowCoverage[]): string {
  const lines = coverage.map(
    ({ table, row, met, notMet, unknown }) =>
      `${met > 0 && notMet > 0 ? '  ' : '! '}${`${table}/${row}`.padEnd(40)} met ${met}, not met ${notMet}, unknown ${unknown}`,
  );
  return [...lines, `${coverage.length - uncovered(coverage).length} of ${coverage.length} rows covered`, ''].join(
    '\n',
  );
}
