import { expect, it } from 'vitest';
import { composeRound } from '../../src/advice/compose.js';
import type { Verdict } from '../../src/domain/verdict.js';
import { limitsFor } from '../../src/rules/limits.js';
import { CATALOGUE, RULEBOOK } from '../support/nursery.js';
import { advised } from './advice-custom.js';
import { houseDays } from './glasshouse.js';
import { MIXED_PLANTING, MixedHouse } from './mixed-house.js';
import { LONDON } from './places.js';

/** The lists of the simulated years are made of parts of the service; here they are held against its morning round. */
it('says what the morning round of the service says, all through a year', () => {
  const all = houseDays(LONDON, 7, '2026-04-22', 425);
  const days = all.slice(60);
  const differing: string[] = [];
  const lookDiffers: string[] = [];
  let compared = 0;
  let lists = 0;
  const custom = advised(LONDON, 7, all.slice(0, 60), days, {
    looksAtMost: 6,
    onList(parts, list, atMs) {
      lists += 1;
      if (lists % 8 !== 1) return;
      const { round } = composeRound({
        ...parts,
        atMs,
        catalogue: CATALOGUE,
        rulebook: RULEBOOK,
        limitsFor: (_, group) => limitsFor(RULEBOOK, group, CATALOGUE.general),
      });
      for (const { batchId, verdict } of round.houses.flatMap(({ lines }) => lines.flatMap(({ batches }) => batches))) {
        const ours = list.verdicts.get(batchId) as Verdict;
        compared += 1;
        for (const part of ['amount', 'mlPerPot', 'inspect', 'postponed'] as const)
          if (ours[part] !== verdict[part])
            differing.push(`${parts.day} ${batchId} ${part}: ${ours[part]}, ${verdict[part]}`);
      }
      const names = (look: typeof round.look) => look.map(({ batchId }) => batchId).sort();
      if (String(names(round.look)) !== String(names(list.look))) lookDiffers.push(parts.day);
    },
  });
  new MixedHouse(
    MIXED_PLANTING.filter((_, index) => index % 3 === 0),
    7,
    days[0]?.seasonAngleDeg ?? 0,
  ).year(days, custom, [0, 4]);
  expect(compared).toBeGreaterThan(200);
  expect(differing).toEqual([]);
  expect(lookDiffers).toEqual([]);
}, 60_000);
