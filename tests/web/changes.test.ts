import { describe, expect, it } from 'vitest';
import type { Round } from '../../src/domain/verdict.js';
import { changesBetween, readMark, revisionRead } from '../../src/web/changes.js';
import { DAY, morning } from './fixtures/scenario.js';

const round = morning(14);
const mapBatches = (list: Round, change: (id: string) => boolean): Round => ({
  ...list,
  houses: list.houses.map((house) => ({
    ...house,
    lines: house.lines.map((line) => ({ ...line, batches: line.batches.filter((one) => !change(one.batchId)) })),
  })),
});

describe('what changed between two lists', () => {
  it('is nothing when they say the same, whatever their numbers', () => {
    expect(changesBetween(round, { ...round, revision: 9 })).toEqual([]);
  });

  it('names batches that came and went', () => {
    const without = mapBatches(round, (id) => id === 'tray-6');
    expect(changesBetween(without, round)).toMatchObject([
      { batchId: 'tray-6', was: 'Not on the list', now: 'Full drink, 35 mL a pot' },
    ]);
    expect(changesBetween(round, without)).toMatchObject([{ batchId: 'tray-6', now: 'No longer on the list' }]);
  });
});

describe('the mark of what was read', () => {
  it('is read back', () => {
    expect(revisionRead(readMark(round), round)).toBe(2);
  });
  it.each([undefined, '', 'x', `${DAY}.3`, '2026-10-24.1', `${DAY}.-1`, `${DAY}.1e9`])(
    'counts as nothing read: %s',
    (mark) => {
      expect(revisionRead(mark, round)).toBeUndefined();
    },
  );
});
