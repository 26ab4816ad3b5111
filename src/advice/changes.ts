import type { Amount } from '../domain/plants.js';
import type { BatchAdvice, Round } from '../domain/verdict.js';

/** More than this many sentences are not read. */
const TOLD_AT_MOST = 12;

const WORDS: Record<Amount, string> = { none: 'leave dry', light: 'a light drink', full: 'a full drink' };

/** What a reader of the revision before should know, in words; empty for the first list of a day. */
export function changesBetween(before: Round | undefined, after: Pick<Round, 'houses' | 'rulebookRevision'>): string[] {
  if (!before) return [];
  const sentences: string[] = [];
  if (before.rulebookRevision !== after.rulebookRevision) sentences.push('The rules were changed.');
  const settings = new Map(before.houses.map((house) => [house.houseId, house.settingsRevision]));
  for (const house of after.houses)
    if (settings.has(house.houseId) && settings.get(house.houseId) !== house.settingsRevision)
      sentences.push(`The limits of ${house.name} were changed.`);
  const old = new Map(batchesOf(before).map((batch) => [batch.batchId, batch]));
  const seen = new Set<string>();
  for (const batch of batchesOf(after)) {
    seen.add(batch.batchId);
    const was = old.get(batch.batchId);
    const sentence = was ? changeOf(was, batch) : `${place(batch)} is new on the list: ${advice(batch)}.`;
    if (sentence) sentences.push(sentence);
  }
  for (const batch of old.values())
    if (!seen.has(batch.batchId)) sentences.push(`${place(batch)} is no longer on the list.`);
  return sentences.length <= TOLD_AT_MOST
    ? sentences
    : [...sentences.slice(0, TOLD_AT_MOST), `And ${sentences.length - TOLD_AT_MOST} more changes.`];
}

const batchesOf = (round: Pick<Round, 'houses'>): readonly BatchAdvice[] =>
  round.houses.flatMap((house) => house.lines.flatMap((line) => line.batches));

const place = (batch: BatchAdvice): string => `${batch.name} (${batch.benchName})`;

const advice = (batch: BatchAdvice): string =>
  batch.verdict.inspect && batch.verdict.amount === 'none' ? 'look first' : WORDS[batch.verdict.amount];

function changeOf(was: BatchAdvice, is: BatchAdvice): string | undefined {
  const before = advice(was);
  const now = advice(is);
  return before === now ? undefined : `${place(is)}: now ${now}, before ${before}.`;
}

/** Whether a reader of the one list would do anything else by the other. */
export const sameAdvice = (
  before: Pick<Round, 'houses' | 'rulebookRevision' | 'tasks'>,
  after: typeof before,
): boolean => before.rulebookRevision === after.rulebookRevision && essence(before) === essence(after);

const essence = (round: Pick<Round, 'houses' | 'tasks'>): string =>
  JSON.stringify([
    round.tasks.map(({ id, batches, until, done }) => [id, batches, until, done?.entryIds]),
    round.houses.map((house) => [
      house.settingsRevision,
      house.shade?.sentence,
      house.lines.map((line) => [
        line.lineId,
        line.action,
        line.litres,
        line.batches.map(({ batchId, benchId, potCount, verdict, done }) => [
          batchId,
          benchId,
          potCount,
          verdict.amount,
          verdict.mlPerPot,
          verdict.inspect,
          verdict.postponed,
          verdict.shade,
          verdict.lightRamp,
          verdict.alerts,
          done?.entryId,
        ]),
      ]),
    ]),
  ]);
