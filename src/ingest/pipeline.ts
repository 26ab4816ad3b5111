import { setImmediate as nextTurn } from 'node:timers/promises';
import { LeafturnError } from '../domain/errors.js';
import type { CheckedReading, CommitResult, ReadingStore, Refusal } from '../storage/repositories.js';
import { excerptOf } from './decode.js';
import type { IncomingMessage, Intake, Taken } from './intake.js';

/**
 * Collects messages, commits them in batches, and only then has them acknowledged, in the order they came. What cannot
 * be committed is neither acknowledged nor forgotten: the batch waits and is tried again, and when too much waits the
 * sources are told to stop reading, so that the broker keeps the rest.
 */
export interface MessageSource<Ticket> {
  /** Everything that came with these tickets is on disk. */
  acknowledge(tickets: readonly Ticket[]): void;
}

export interface CommittedBatch extends CommitResult {
  readonly messages: number;
  readonly tookMs: number;
  readonly readings: readonly CheckedReading[];
  readonly refusals: readonly Refusal[];
}
export interface PipelineStatus {
  /** waiting: the database refuses for now; stopped: it must be seen to by a person. */
  readonly state: 'running' | 'waiting' | 'stopped' | 'closed';
  readonly since: number;
  readonly trouble: string | null;
  readonly pendingMessages: number;
  readonly pendingBytes: number;
  readonly messages: number;
  readonly stored: number;
  readonly duplicates: number;
  readonly refused: number;
  readonly commits: number;
  readonly lastCommitAt: number | null;
}
export interface PipelineOptions {
  readonly intake: Intake;
  readonly store: Pick<ReadingStore, 'commit'>;
  /** UTC ms. */
  readonly now: () => number;
  readonly maxBatch?: number;
  readonly flushAfterMs?: number;
  /** More than this waiting, and the sources are told to stop reading. */
  readonly maxPendingMessages?: number;
  readonly maxPendingBytes?: number;
  /** First pause after a failed commit; it doubles up to `longestPauseMs`. */
  readonly firstPauseMs?: number;
  readonly longestPauseMs?: number;
  readonly onCommitted?: (batch: CommittedBatch) => void;
  readonly onState?: (status: PipelineStatus) => void;
}

interface Pending {
  readonly message: IncomingMessage;
  readonly source: MessageSource<unknown>;
  readonly ticket: unknown;
}

const MAX_BATCH_BYTES = 4 * 1024 * 1024;
const MESSAGE_OVERHEAD_BYTES = 200;

export class Pipeline {
  readonly #options: PipelineOptions;
  readonly #maxBatch: number;
  readonly #flushAfterMs: number;
  readonly #maxPending: number;
  readonly #maxPendingBytes: number;
  #queue: Pending[] = [];
  #head = 0;
  #bytes = 0;
  #refusals: Refusal[] = [];
  #timer: NodeJS.Timeout | undefined;
  #working: Promise<void> | undefined;
  #due = false;
  #drained: (() => void)[] = [];
  #wake: (() => void) | undefined;
  #closing = false;
  #state: PipelineStatus['state'] = 'running';
  #since: number;
  #trouble: string | null = null;
  #counts = { messages: 0, stored: 0, duplicates: 0, refused: 0, commits: 0 };
  #lastCommitAt: number | null = null;

  constructor(options: PipelineOptions) {
    this.#options = options;
    this.#maxBatch = options.maxBatch ?? 1000;
    this.#flushAfterMs = options.flushAfterMs ?? 5;
    this.#maxPending = options.maxPendingMessages ?? 10_000;
    this.#maxPendingBytes = options.maxPendingBytes ?? 64 * 1024 * 1024;
    this.#since = options.now();
  }

  /**
   * Takes a message in any case. False: too much is waiting, and the source should not read on before `whenDrained`.
   */
  offer<Ticket>(source: MessageSource<Ticket>, message: IncomingMessage, ticket: Ticket): boolean {
    this.#queue.push({ message, source: source as MessageSource<unknown>, ticket });
    this.#bytes += message.payload.length + MESSAGE_OVERHEAD_BYTES;
    this.#schedule();
    return !this.#isFull();
  }

  /** Records something that never became a message, such as a packet too large to be read. */
  offerRefusal(refusal: Refusal): void {
    // Its maker may be hostile, and nothing waits for it: it is worth no memory beyond a bound.
    if (this.#refusals.length < this.#maxBatch) this.#refusals.push(refusal);
    this.#schedule();
  }

  /** Calls back once there is room again; at once when there is. */
  whenDrained(callback: () => void): void {
    if (this.#isFull()) this.#drained.push(callback);
    else callback();
  }

  status(): PipelineStatus {
    return {
      state: this.#state,
      since: this.#since,
      trouble: this.#trouble,
      pendingMessages: this.#length,
      pendingBytes: this.#bytes,
      ...this.#counts,
      lastCommitAt: this.#lastCommitAt,
    };
  }

  /** Tries again at once, after a person has seen to the database. */
  resume(): void {
    if (this.#state === 'waiting' || this.#state === 'stopped') this.#wake?.();
  }

  /** Resolves when everything offered so far has been committed. */
  async idle(): Promise<void> {
    while (this.#length > 0 || this.#refusals.length > 0 || this.#working) {
      this.#due = true;
      this.#work();
      await this.#working;
    }
  }

  /** Commits what waits, once; what then cannot be committed stays unacknowledged and with the broker. */
  async close(): Promise<void> {
    this.#closing = true;
    clearTimeout(this.#timer);
    this.#wake?.();
    await this.#working;
    if (this.#state === 'running') await this.idle();
    this.#enter('closed', null);
  }

  get #length(): number {
    return this.#queue.length - this.#head;
  }

  #isFull(): boolean {
    return this.#length >= this.#maxPending || this.#bytes >= this.#maxPendingBytes;
  }

  #schedule(): void {
    if (this.#working || this.#closing) return;
    if (this.#length >= this.#maxBatch) {
      this.#due = true;
      this.#work();
    } else
      this.#timer ??= setTimeout(() => {
        this.#timer = undefined;
        this.#due = true;
        this.#work();
      }, this.#flushAfterMs);
  }

  #work(): void {
    if (this.#working) return;
    clearTimeout(this.#timer);
    this.#timer = undefined;
    this.#working = this.#run().finally(() => {
      this.#working = undefined;
      if (!this.#closing && (this.#length > 0 || this.#refusals.length > 0)) this.#schedule();
    });
  }

  async #run(): Promise<void> {
    while (this.#due || this.#length >= this.#maxBatch) {
      this.#due = false;
      const batch = this.#next();
      const refusals = this.#refusals;
      this.#refusals = [];
      if (batch.length === 0 && refusals.length === 0) return;
      if (!(await this.#commitUntilDone(batch, refusals))) {
        // Closing while the database refuses: nothing of this is acknowledged.
        return;
      }
      this.#acknowledge(batch);
      if (this.#drained.length > 0 && !this.#isFull()) for (const callback of this.#drained.splice(0)) callback();
      // Sockets are read between two batches, whatever the load.
      await nextTurn();
    }
  }

  #next(): Pending[] {
    let count = 0;
    let bytes = 0;
    while (count < this.#maxBatch && this.#head + count < this.#queue.length && bytes < MAX_BATCH_BYTES) {
      bytes += (this.#queue[this.#head + count] as Pending).message.payload.length;
      count++;
    }
    const batch = this.#queue.slice(this.#head, this.#head + count);
    this.#head += count;
    this.#bytes -= bytes + count * MESSAGE_OVERHEAD_BYTES;
    if (this.#head > 4096 || this.#head === this.#queue.length) {
      this.#queue = this.#queue.slice(this.#head);
      this.#head = 0;
    }
    return batch;
  }

  #read(batch: readonly Pending[], refusals: readonly Refusal[]): Taken {
    const taken: Taken = { readings: [], refusals: [...refusals] };
    for (const { message } of batch) this.#options.intake.take(message, taken);
    return taken;
  }

  /** True once the batch is on disk; false when the pipeline closes before that. */
  async #commitUntilDone(batch: readonly Pending[], refusals: readonly Refusal[]): Promise<boolean> {
    const taken = this.#read(batch, refusals);
    let pauseMs = this.#options.firstPauseMs ?? 100;
    for (;;) {
      try {
        await this.#commit(taken, batch.length);
        if (this.#state !== 'running') this.#enter('running', null);
        return true;
      } catch (error) {
        if (!isDatabaseTrouble(error) && batch.length > 0) return await this.#commitOneByOne(batch, refusals);
        const waits =
          error instanceof LeafturnError && (error.code === 'database-full' || error.code === 'database-busy');
        const reason = error instanceof Error ? error.message : String(error);
        this.#enter(waits ? 'waiting' : 'stopped', reason);
        if (this.#closing) return false;
        await this.#pause(waits ? pauseMs : undefined);
        if (this.#closing) return false;
        pauseMs = Math.min(pauseMs * 2, this.#options.longestPauseMs ?? 30_000);
      }
    }
  }

  /**
   * The database is well but refuses this batch: something in it cannot be stored. Each message is tried alone, and
   * the one that cannot be stored becomes a refusal, so that it does not hold up all the others for ever.
   */
  async #commitOneByOne(batch: readonly Pending[], refusals: readonly Refusal[]): Promise<boolean> {
    let first = refusals;
    for (const pending of batch) {
      try {
        await this.#commit(this.#read([pending], first), 1);
        first = [];
      } catch (error) {
        if (isDatabaseTrouble(error)) {
          if (!(await this.#commitUntilDone([pending], first))) return false;
        } else if (!(await this.#commitUntilDone([], [...first, notStorable(pending.message, error)]))) return false;
        first = [];
      }
    }
    return true;
  }

  async #commit(taken: Taken, messages: number): Promise<void> {
    const started = performance.now();
    const result = await this.#options.store.commit({ ...taken, messages });
    this.#counts.messages += messages;
    this.#counts.stored += result.stored;
    this.#counts.duplicates += result.duplicates;
    this.#counts.refused += result.refused;
    this.#counts.commits++;
    this.#lastCommitAt = this.#options.now();
    this.#options.onCommitted?.({
      ...result,
      ...taken,
      messages,
      tookMs: performance.now() - started,
    });
  }

  #acknowledge(batch: readonly Pending[]): void {
    for (let index = 0; index < batch.length; ) {
      const { source } = batch[index] as Pending;
      const tickets: unknown[] = [];
      while (index < batch.length && batch[index]?.source === source) tickets.push(batch[index++]?.ticket);
      source.acknowledge(tickets);
    }
  }

  #enter(state: PipelineStatus['state'], trouble: string | null): void {
    if (this.#state !== state) this.#since = this.#options.now();
    else if (this.#trouble === trouble) return;
    this.#state = state;
    this.#trouble = trouble;
    this.#options.onState?.(this.status());
  }

  /** Waits; without a length, until `resume` or `close`. */
  async #pause(ms: number | undefined): Promise<void> {
    await new Promise<void>((resolve) => {
      const timer = ms === undefined ? undefined : setTimeout(resolve, ms);
      this.#wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
    this.#wake = undefined;
  }
}

/** The database itself, not what it was given. */
const isDatabaseTrouble = (error: unknown): boolean =>
  error instanceof LeafturnError && error.code.startsWith('database-');

const notStorable = (message: IncomingMessage, error: unknown): Refusal => ({
  at: message.receivedAt,
  topic: message.topic,
  siteId: null,
  sensorId: null,
  quantity: null,
  reason: 'not-storable',
  sentence: `The message was read but could not be stored: ${error instanceof Error ? error.message : String(error)}.`,
  excerpt: excerptOf(message.payload),
});
