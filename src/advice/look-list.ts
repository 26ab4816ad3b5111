import { compareNames } from '../domain/names.js';
import type { BatchAdvice, HouseAdvice, LookItem } from '../domain/verdict.js';

/**
 * Benches to look at this morning: those where a look is expected to save the most, which is how likely the advice is the
 * wrong one times the harm of it, times the pots and what they are worth. At most `atMost` are asked for, in walking order.
 */
export function lookList(
  houses: readonly HouseAdvice[],
  worthOf: (batch: BatchAdvice) => number,
  atMost: number,
): LookItem[] {
  const asked = houses.flatMap((house, houseIndex) =>
    house.lines.flatMap((line) =>
      line.batches
        .filter(({ verdict }) => verdict.inspect)
        .map((batch) => ({
          house,
          houseIndex,
          batch,
          saves: (batch.verdict.lookSaves ?? 0) * batch.potCount * worthOf(batch),
        })),
    ),
  );
  asked.sort((a, b) => b.saves - a.saves || compareNames(a.batch.batchId, b.batch.batchId));
  return asked
    .slice(0, atMost)
    .sort(
      (a, b) =>
        a.houseIndex - b.houseIndex ||
        compareNames(a.batch.benchName, b.batch.benchName) ||
        compareNames(a.batch.name, b.batch.name),
    )
    .map(({ house, batch, saves }) => ({
      batchId: batch.batchId,
      batchName: batch.name,
      houseId: house.houseId,
      benchId: batch.benchId,
      benchName: batch.benchName,
      lookFor: batch.verdict.lookFor ?? 'how the plants stand',
      why: batch.verdict.sentence,
      saves: Math.round(saves * 100) / 100,
    }));
}
