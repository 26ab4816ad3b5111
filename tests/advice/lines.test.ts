import { describe, expect, it } from 'vitest';
import * as lines from '../../src/advice/lines.js';
import type { BenchState } from '../../src/domain/collection.js';
import type { Amount } from '../../src/domain/plants.js';
import type { WateringLine } from '../../src/domain/site.js';
import type { BatchAdvice } from '../../src/domain/verdict.js';
import { group } from '../models/catalogue.js';

const { formatLitres } = lines;
const adviseLines = (piped: readonly WateringLine[], benches: readonly BenchState[], advice: readonly BatchAdvice[]) =>
  lines.adviseLines(piped, benches, advice, (one) => group(one.group));

const bench = (benchId: string, lineId: string | null): BenchState => ({
  benchId,
  houseId: 'h',
  name: `Bench ${benchId}`,
  lineId,
  exposure: 'open',
});

const batch = (name: string, benchId: string, amount: Amount, mlPerPot: number, potCount = 10): BatchAdvice => ({
  batchId: name.toLowerCase(),
  name,
  group: 'conophytum',
  groupName: 'Conophytum',
  benchId,
  benchName: `Bench ${benchId}`,
  potCount,
  phase: { phase: 'growing', probability: 1, from: 'entered' },
  verdict: {
    amount,
    postponed: false,
    inspect: false,
    lightRamp: false,
    alerts: [],
    mlPerPot,
    sentence: '',
    decidedBy: { table: 't', row: 'r' },
    vetoes: [],
    trace: [],
  },
  litres: (mlPerPot * potCount) / 1000,
});

const line = { id: 'l1', name: 'East pipe', flowLPerMinute: 2 };

describe('a watering line waters all or nothing', () => {
  it('stays closed when nothing on it wants water', () => {
    const [advice] = adviseLines([line], [bench('1', 'l1')], [batch('A', '1', 'none', 0)]);
    expect(advice).toMatchObject({ action: 'leave', amount: 'none', litres: 0 });
  });

  it('runs when all want the same, told in litres and minutes of the known flow', () => {
    // 2 batches × 10 pots × 40 mL = 0.8 L, at 2 L/min 0.4 min = 24 s, told in quarter minutes: half a minute.
    const [advice] = adviseLines(
      [line],
      [bench('1', 'l1')],
      [batch('A', '1', 'full', 40), batch('B', '1', 'full', 40)],
    );
    expect(advice).toMatchObject({ action: 'run', amount: 'full', litres: 0.8, minutes: 0.5 });
    expect(advice?.sentence).toBe('Run it: a full drink, 800 mL in all, about 30 seconds.');
  });

  it('never runs over a batch that must stay dry, and says how many pots it would wet', () => {
    const [advice] = adviseLines(
      [line],
      [bench('1', 'l1'), bench('2', 'l1')],
      [batch('A', '1', 'full', 40), batch('B', '2', 'none', 0, 37)],
    );
    expect(advice).toMatchObject({ action: 'by-hand', potsKeptDry: 37, litres: 0.4 });
    expect(advice?.sentence).toContain('37 pots that must stay dry (B)');
  });

  it('gives everyone what the most modest asks for and names who gets more by hand', () => {
    const [advice] = adviseLines(
      [line],
      [bench('1', 'l1')],
      [batch('A', '1', 'light', 7), batch('B', '1', 'full', 40)],
    );
    expect(advice).toMatchObject({ action: 'run', amount: 'light', litres: 0.14 });
    expect(advice?.sentence).toContain('give more by hand to B');
  });

  it('puts benches on no line, or on a line that is gone, with those watered by hand', () => {
    const advice = adviseLines(
      [line],
      [bench('1', null), bench('2', 'removed')],
      [batch('A', '1', 'light', 7), batch('B', '2', 'none', 0)],
    );
    expect(advice).toHaveLength(1);
    expect(advice[0]).toMatchObject({ lineId: null, action: 'by-hand', litres: 0.07 });
  });
});

it.each([
  [0.0705, '71 mL'],
  [1.25, '1.3 L'],
  [12.4, '12 L'],
])('%f litres read as %s', (litres, text) => expect(formatLitres(litres)).toBe(text));

describe('plants of opposite seasons on one line', () => {
  const echeveria = { ...batch('E', '2', 'none', 0, 25), group: 'echeveria', groupName: 'Echeveria' };
  const west = { id: 'l2', name: 'West pipe' };

  it('are named with the months and the bench move that would end it, whatever the day', () => {
    const [advice] = adviseLines(
      [line, west],
      [bench('1', 'l1'), bench('2', 'l1')],
      [batch('A', '1', 'none', 0, 60), echeveria],
    );
    // By their calendars 7 half months in one direction and 10 in the other, see tests/models/line-conflicts.test.ts.
    expect(advice?.lasting).toBe(
      'For about 9 months of the year some plants here are in their season while others must stay dry, such as Echeveria beside Conophytum. Moving Bench 2 (25 pots) to West pipe would end it.',
    );
  });

  it('on one bench are to be sorted there', () => {
    const [advice] = adviseLines(
      [line],
      [bench('1', 'l1')],
      [batch('A', '1', 'none', 0), { ...echeveria, benchId: '1' }],
    );
    expect(advice?.lasting).toMatch(/Both stand together on Bench 1: sort the plants there by season first\.$/);
  });

  it('are not spoken of where all drink in one season', () => {
    const [advice] = adviseLines([line], [bench('1', 'l1')], [batch('A', '1', 'none', 0), batch('B', '1', 'full', 9)]);
    expect(advice).not.toHaveProperty('lasting');
  });
});
