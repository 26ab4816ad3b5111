import { compareNames } from '../domain/names.js';
import { amountRank } from '../domain/plants.js';
import type { BatchAdvice, HouseAdvice, LookItem } from '../domain/verdict.js';

/**
 * Benches to look at this morning. The most is saved where many pots, or precious ones, hang on one look, and where sick
 * plants were seen; at most `atMost` are asked for, and these are given in walking order.
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
        .map((batch) => ({ house, houseIndex, batch, saves: savedByLooking(batch, worthOf(batch)) })),
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
    .map(({ house, batch }) => ({
      batchId: batch.batchId,
      batchName: batch.name,
      houseId: house.houseId,
      benchId: batch.benchId,
      benchName: batch.benchName,
      lookFor: batch.verdict.lookFor ?? 'how the plants stand',
      why: batch.verdict.sentence,
    }));
}

/** Pots times worth, more where harm is already seen and where more water hangs on it (starting weights). */
function savedByLooking(batch: BatchAdvice, worth: number): number {
  const seen = batch.lastSeen?.signs.length ? 3 : 1;
  const stake = 1 + (batch.verdict.nearestChange ? amountRank(batch.verdict.nearestChange.amount) : 0);
  return batch.potCount * worth * seen * stake;
}
