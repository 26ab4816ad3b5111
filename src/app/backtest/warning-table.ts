import type { Contingency } from '../../science/scores.js';

/** Warnings held against what came, counted up as a backtest goes on. */
export type WarningTable = { -readonly [K in keyof Contingency]: number };

export const emptyTable = (): WarningTable => ({ hits: 0, falseAlarms: 0, misses: 0, correctNegatives: 0 });

export function countWarned(table: WarningTable, warned: boolean, happened: boolean): void {
  if (warned) table[happened ? 'hits' : 'falseAlarms'] += 1;
  else table[happened ? 'misses' : 'correctNegatives'] += 1;
}
