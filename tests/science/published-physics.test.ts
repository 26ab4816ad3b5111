import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { sharedVerification } from '../support/shared-data.js';
import { airComputations } from './published/air.js';
import { type Computations, type Entry, expectPublished, readEntries } from './published/entries.js';
import { evaporationComputations } from './published/evaporation.js';
import { lightAndHeatComputations } from './published/light-and-heat.js';
import { sunComputations } from './published/sun.js';

const computations: Computations = {
  ...airComputations,
  ...sunComputations,
  ...evaporationComputations,
  ...lightAndHeatComputations,
};
const entries = readEntries<Entry>('published-physics');

describe('published figures', () => {
  const named = entries.map((entry) => ({ ...entry, entry, by: `${entry.source.authors} ${entry.source.year}` }));
  it.each(named)('$id: $by, $basis', ({ id, entry }) => {
    const compute = computations[id];
    if (compute === undefined) throw new Error(`no computation for ${id}`);
    expectPublished(entry, compute(entry.inputs));
  });

  it('no computation is left without its figures', () => {
    const known = new Set(entries.map((entry) => entry.id));
    expect(Object.keys(computations).filter((id) => !known.has(id))).toEqual([]);
  });
});

describe('every check value beside the project is checked here or left out with a reason', () => {
  it('covers the whole list, and copies its figures unchanged', () => {
    const path = sharedVerification('check-values.json');
    if (path === undefined) return;
    const list: Entry[] = JSON.parse(readFileSync(path, 'utf8'));
    const copies = ['published-physics', 'published-statistics', '../../domain/data/published-time'];
    const copied = new Map(copies.flatMap((name) => readEntries<Entry>(name)).map((entry) => [entry.id, entry]));
    const leftOut = [
      ...readEntries<{ id: string; reason: string }>('left-out-physics'),
      ...readEntries<{ id: string; reason: string }>('left-out-statistics'),
    ];
    expect(leftOut.filter((entry) => entry.reason.length < 20)).toEqual([]);
    const reasons = new Set(leftOut.map((entry) => entry.id));
    expect(list.map((entry) => entry.id).filter((id) => !copied.has(id) && !reasons.has(id))).toEqual([]);
    expect([...copied.keys()].filter((id) => reasons.has(id))).toEqual([]);
    for (const entry of list) {
      const copy = copied.get(entry.id);
      if (copy === undefined) continue;
      expect(copy.inputs, entry.id).toEqual(entry.inputs);
      expect(copy.expected, entry.id).toEqual(entry.expected);
      expect(copy.tolerance, entry.id).toEqual(entry.tolerance);
    }
  });
});
