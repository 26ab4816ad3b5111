import type { BatchAdvice, Round, Trace } from '../../src/domain/verdict.js';
import { T0 } from './support.js';

const trace = (seed: number): Trace =>
  Array.from({ length: 20 }, (_, row) => ({
    table: `table-${row % 8}`,
    row: `row-${row}`,
    met: row % 7 === 0 ? 'yes' : 'no',
    conditions: Array.from({ length: 2 }, (__, condition) => ({
      fact: `fact${condition}`,
      op: '<',
      limit: condition * 3.5,
      unit: 'mm',
      actual: ((seed * 31 + row * 7 + condition) % 997) / 10,
      met: 'no' as const,
    })),
    because: 'A plant that replaces its leaf pair lives on the old pair.',
  }));

const advice = (index: number): BatchAdvice => ({
  batchId: `batch-${index}`,
  name: `Batch ${index}`,
  group: 'summer-rain',
  groupName: 'summer rain',
  benchId: 'bench-1',
  benchName: 'Bench 1',
  potCount: 10,
  phase: { phase: 'growing', probability: 0.8, from: 'calendar' },
  verdict: {
    amount: 'none',
    postponed: false,
    inspect: false,
    lightRamp: false,
    alerts: [],
    mlPerPot: 0,
    sentence: 'Leave dry: the new pair is still drinking from the old one.',
    decidedBy: { table: 'safety', row: 'replacing' },
    vetoes: [],
    trace: trace(index),
  },
  litres: 0,
});

export function sampleRound(batches: number, more: Partial<Round> = {}): Omit<Round, 'revision'> {
  const { revision: _, ...round }: Round = {
    siteId: 'hill',
    day: '2026-06-01',
    revision: 0,
    madeAt: T0,
    journalId: 0,
    rulebookRevision: 'r1',
    dayHours: 24,
    seasonAngleDeg: 250.5,
    houses: [
      {
        houseId: 'north-house',
        name: 'North house',
        climate: {
          nightMinC: 8.5,
          dayMaxC: 27.25,
          meanVpdKPa: null,
          dli: null,
          peakPpfdUmol: null,
          dewPointMarginMinC: null,
          sensorsHeard: 2,
          lastReadingAt: T0,
          sentence: 'A mild night.',
        },
        lines: [
          {
            lineId: null,
            name: 'By hand',
            action: 'leave',
            amount: 'none',
            litres: 0,
            sentence: 'Nobody wants water.',
            potsKeptDry: 0,
            batches: Array.from({ length: batches }, (_batch, index) => advice(index)),
          },
        ],
      },
    ],
    look: [],
    tasks: [],
    counts: { none: batches, light: 0, full: 0, postponed: 0, inspect: 0 },
    changes: [],
    ...more,
  };
  return round;
}

export const sampleFacts = (batches: number): Record<string, unknown> =>
  Object.fromEntries(
    Array.from({ length: batches }, (_, index) => [
      `batch-${index}`,
      Object.fromEntries(
        Array.from({ length: 30 }, (__, fact) => [
          `fact${fact}`,
          { value: (index * 13 + fact) % 101, certainty: 'estimated', spread: 0.5, from: 'calendar at this season' },
        ]),
      ),
    ]),
  );
