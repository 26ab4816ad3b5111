import { once } from 'node:events';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { promisify } from 'node:util';
import { createDeflate, inflate } from 'node:zlib';
import type { BatchAdvice, LineAdvice, Round, Verdict } from '../domain/verdict.js';

/**
 * Rounds and facts of thousands of batches are tens of megabytes of text. They are written as lines of JSON, a few
 * hundred batches each, and compressed beside the main thread: while a round is put away, readings go on coming in.
 */
const BATCHES_PER_LINE = 200;
/** Quickest level: traces repeat themselves, so that it already leaves a tenth. */
const DEFLATE = { level: 1, memLevel: 9, chunkSize: 256 * 1024 } as const;
const NEW_LINE = 10;

const inflateAsync = promisify(inflate);

function* slices<T>(items: readonly T[]): Generator<readonly T[]> {
  for (let start = 0; start < items.length; start += BATCHES_PER_LINE)
    yield items.slice(start, start + BATCHES_PER_LINE);
}

async function packLines(lines: Iterable<unknown>): Promise<Buffer> {
  const stream = createDeflate(DEFLATE);
  const parts: Buffer[] = [];
  stream.on('data', (part: Buffer) => parts.push(part));
  const ended = once(stream, 'end');
  for (const line of lines) {
    if (!stream.write(`${JSON.stringify(line)}\n`)) await once(stream, 'drain');
    await nextTurn();
  }
  stream.end();
  await ended;
  return Buffer.concat(parts);
}

async function* unpackLines(packed: Uint8Array): AsyncGenerator<unknown> {
  const text = await inflateAsync(packed);
  for (let start = 0; start < text.length; ) {
    const end = text.indexOf(NEW_LINE, start);
    yield JSON.parse(text.toString('utf8', start, end));
    start = end + 1;
    await nextTurn();
  }
}

/** A number for each object; the same object always gets the same one, so that what is shared is written once. */
class Shelf<T extends object> {
  readonly items: T[] = [];
  readonly #numbers = new Map<T, number>();

  numberOf(item: T): number {
    const known = this.#numbers.get(item);
    if (known !== undefined) return known;
    this.#numbers.set(item, this.items.length);
    return this.items.push(item) - 1;
  }
}

type Head = { readonly round: Omit<Round, 'revision'>; readonly counts: readonly number[]; readonly verdicts: number };
/** A batch whose verdict is told by its number. */
type PackedBatch = Omit<BatchAdvice, 'verdict'> & { readonly verdict: number };

const withBatches = <R extends Omit<Round, 'revision'>>(
  round: R,
  batchesOf: (line: LineAdvice) => readonly BatchAdvice[],
): R => ({
  ...round,
  houses: round.houses.map((house) => ({
    ...house,
    lines: house.lines.map((line) => ({ ...line, batches: batchesOf(line) })),
  })),
});

function* roundLines(round: Omit<Round, 'revision'>): Generator<unknown> {
  const lines = round.houses.flatMap((house) => house.lines);
  const shelf = new Shelf<Verdict>();
  const batches = lines.flatMap((line) =>
    line.batches.map((batch): PackedBatch => ({ ...batch, verdict: shelf.numberOf(batch.verdict) })),
  );
  const counts = lines.map((line) => line.batches.length);
  yield { round: withBatches(round, () => []), counts, verdicts: shelf.items.length } satisfies Head;
  yield* slices(shelf.items);
  yield* slices(batches);
}

/**
 * The first line is the round without its batches, how many of them go to each watering line in turn, and how many
 * verdicts follow. Batches that stand alike share their verdict, and it is written once.
 */
export const packRound = (round: Omit<Round, 'revision'>): Promise<Buffer> => packLines(roundLines(round));

export async function unpackRound(packed: Uint8Array): Promise<Omit<Round, 'revision'>> {
  let head: Head | undefined;
  const verdicts: Verdict[] = [];
  const batches: BatchAdvice[] = [];
  for await (const line of unpackLines(packed)) {
    if (!head) head = line as Head;
    else if (verdicts.length < head.verdicts) verdicts.push(...(line as Verdict[]));
    else
      for (const batch of line as PackedBatch[])
        batches.push({ ...batch, verdict: verdicts[batch.verdict] as Verdict });
  }
  if (!head) throw new Error('A stored round is empty.');
  const counts = head.counts.values();
  let from = 0;
  // Lists of the first version had no tasks.
  const round = { ...head.round, tasks: head.round.tasks ?? [] };
  return withBatches(round, () => {
    const start = from;
    from += counts.next().value ?? 0;
    return batches.slice(start, from);
  });
}

/** The first line says how many sets of facts follow; then they come, then which batch has which. */
export function packFacts(facts: Readonly<Record<string, unknown>>): Promise<Buffer> {
  const shelf = new Shelf<object>();
  const numbered = Object.entries(facts).map(([batchId, own]) => [batchId, shelf.numberOf(own as object)]);
  return packLines(
    (function* () {
      yield { sets: shelf.items.length };
      yield* slices(shelf.items);
      yield* slices(numbered);
    })(),
  );
}

export async function unpackFacts(packed: Uint8Array): Promise<Record<string, unknown>> {
  let sets: number | undefined;
  const items: unknown[] = [];
  const facts: Record<string, unknown> = {};
  for await (const line of unpackLines(packed)) {
    if (sets === undefined) sets = (line as { sets: number }).sets;
    else if (items.length < sets) items.push(...(line as unknown[]));
    else for (const [batchId, number] of line as [string, number][]) facts[batchId] = items[number];
  }
  return facts;
}
