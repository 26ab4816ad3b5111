import { once } from 'node:events';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { promisify } from 'node:util';
import { createDeflate, inflate } from 'node:zlib';
import type { BatchAdvice, LineAdvice, Round } from '../domain/verdict.js';

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
  const batches = round.houses.flatMap((house) => house.lines.flatMap((line) => line.batches));
  const counts = round.houses.flatMap((house) => house.lines.map((line) => line.batches.length));
  yield { round: withBatches(round, () => []), counts };
  yield* slices(batches);
}

/** The first line is the round without its batches, and how many of them go to each watering line in turn. */
export const packRound = (round: Omit<Round, 'revision'>): Promise<Buffer> => packLines(roundLines(round));

export async function unpackRound(packed: Uint8Array): Promise<Omit<Round, 'revision'>> {
  let head: { round: Omit<Round, 'revision'>; counts: number[] } | undefined;
  const batches: BatchAdvice[] = [];
  for await (const line of unpackLines(packed)) {
    if (head) batches.push(...(line as BatchAdvice[]));
    else head = line as typeof head;
  }
  if (!head) throw new Error('A stored round is empty.');
  const counts = head.counts.values();
  let from = 0;
  return withBatches(head.round, () => {
    const start = from;
    from += counts.next().value ?? 0;
    return batches.slice(start, from);
  });
}

export const packFacts = (facts: Readonly<Record<string, unknown>>): Promise<Buffer> =>
  packLines(slices(Object.entries(facts)));

export async function unpackFacts(packed: Uint8Array): Promise<Record<string, unknown>> {
  const entries: [string, unknown][] = [];
  for await (const line of unpackLines(packed)) entries.push(...(line as [string, unknown][]));
  return Object.fromEntries(entries);
}
