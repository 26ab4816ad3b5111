import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BenchPots, type LineLoad, lineConflicts, seasonNeeds } from '../../src/models/line-conflicts.js';
import { catalogue, group } from './catalogue.js';

const pots = (benchId: string, groupId: string, count: number): BenchPots => ({
  benchId,
  group: group(groupId),
  pots: count,
});
const line = (lineId: string, ...load: BenchPots[]): LineLoad => ({ lineId, load });

/** Needs as text, a letter for each half month from the autumn equinox on: D drinks, . rests, - either. */
const told = (groupId: string): string =>
  seasonNeeds(group(groupId))
    .map((need) => ({ drinks: 'D', rests: '.', either: '-' })[need])
    .join('');

describe('seasons of drinks', () => {
  // Seasons of plants.md in the project's catalogue: the cited calendars of each group (SANBI keys, society leaflets).
  it.each([
    ['lithops-summer-rain', '-----.........DDDDDDDDDD'],
    ['conophytum', 'DDDDDDDDDDDD..........DD'],
    ['monilaria-oophytum', 'DDDDDDDDDDDDDDD........D'],
    ['echeveria', 'DDDD.......DDDDDDDDDDDDD'],
  ])('%s', (id, season) => expect(told(id)).toBe(season));

  it('takes light drinks for the season of a group that never gets more', () => {
    expect(told('dinteranthus')).toContain('D');
    expect(told('dinteranthus')).toContain('.');
  });
});

describe('lasting conflicts of a line', () => {
  it('finds none among plants of one season', () => {
    expect(lineConflicts([line('left', pots('a', 'conophytum', 50), pots('b', 'cheiridopsis', 20))])).toEqual([]);
    expect(lineConflicts([line('left', pots('a', 'conophytum', 50)), line('empty')])).toEqual([]);
  });

  it('moves the fewer pots to a line where they agree', () => {
    const [conflict, ...others] = lineConflicts([
      line('left', pots('a', 'conophytum', 50), pots('b', 'lithops-summer-rain', 20), pots('c', 'cheiridopsis', 30)),
      line('right', pots('d', 'lithops-summer-rain', 90)),
    ]);
    expect(others).toEqual([]);
    expect(conflict?.move).toEqual({ benchIds: ['b'], toLineId: 'right', pots: 20 });
    expect(conflict?.between.map(({ id }) => id)).toEqual(
      expect.arrayContaining(['lithops-summer-rain', expect.stringMatching(/conophytum|cheiridopsis/)]),
    );
    // Conophytum drinks from early autumn to the spring equinox, stone plants of summer rain rest from midwinter on.
    expect(conflict?.months).toBeGreaterThan(6);
    expect(conflict?.months).toBeLessThan(10);
  });

  it('takes benches off the line where no other line suits', () => {
    const [conflict] = lineConflicts([
      line('left', pots('a', 'conophytum', 50), pots('b', 'echeveria', 20)),
      line('right', pots('d', 'monilaria-oophytum', 90)),
    ]);
    expect(conflict?.move).toEqual({ benchIds: ['b'], toLineId: null, pots: 20 });
  });

  it('moves several benches together when one is not enough', () => {
    const [conflict] = lineConflicts([
      line(
        'left',
        pots('a', 'conophytum', 25),
        pots('b', 'echeveria', 10),
        pots('c', 'lithops-summer-rain', 10),
        pots('d', 'lithops-summer-rain', 10),
      ),
    ]);
    expect(conflict?.move).toEqual({ benchIds: ['a'], toLineId: null, pots: 25 });
    const [other] = lineConflicts([
      line(
        'left',
        pots('a', 'conophytum', 50),
        pots('b', 'lithops-summer-rain', 10),
        pots('c', 'lithops-summer-rain', 10),
      ),
    ]);
    expect(other?.move).toEqual({ benchIds: ['b', 'c'], toLineId: null, pots: 20 });
  });

  it('names a bench that holds both sides, and promises nothing of moving it', () => {
    const [conflict] = lineConflicts([
      line('left', pots('a', 'conophytum', 50), pots('a', 'lithops-summer-rain', 5), pots('b', 'conophytum', 40)),
    ]);
    expect(conflict?.mixedBenchIds).toEqual(['a']);
    expect(conflict?.move).toBeUndefined();
  });

  it('whatever hangs where: a move that is promised ends the conflict of the line and makes none elsewhere', () => {
    const load = fc.array(
      fc.record({
        benchId: fc.constantFrom('a', 'b', 'c', 'd', 'e'),
        group: fc.constantFrom(...catalogue.speciesGroups),
        pots: fc.integer({ min: 1, max: 300 }),
      }),
      { maxLength: 6 },
    );
    const named = (lineId: string, own: BenchPots[]): LineLoad => ({
      lineId,
      load: own.map((one) => ({ ...one, benchId: `${lineId}-${one.benchId}` })),
    });
    fc.assert(
      fc.property(load, load, (left, right) => {
        const lines = [named('left', left), named('right', right)];
        const before = lineConflicts(lines);
        for (const { lineId, move } of before) {
          if (!move) continue;
          const moved = lines.flatMap((one) => one.load).filter(({ benchId }) => move.benchIds.includes(benchId));
          const after = lines.map((one) => ({
            lineId: one.lineId,
            load: [
              ...one.load.filter(({ benchId }) => !move.benchIds.includes(benchId)),
              ...(one.lineId === move.toLineId ? moved : []),
            ],
          }));
          const still = new Set(lineConflicts(after).map((conflict) => conflict.lineId));
          expect(still.has(lineId)).toBe(false);
          if (move.toLineId !== null) expect(still.has(move.toLineId)).toBe(false);
        }
      }),
      { numRuns: 300, seed: 20 },
    );
  });
});
