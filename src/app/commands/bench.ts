import { LeafturnError } from '../../domain/errors.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain, print } from './io.js';
import { progressBar } from './progress.js';

/** One figure beside its yardstick, both from the same run on the same machine. */
interface Outcome {
  readonly name: string;
  readonly ratio: number;
  readonly yardstick: string;
  readonly detail: string;
  readonly memory?: unknown;
}
type Bench = (options: BenchOptions, io: CommandIo) => Promise<readonly Outcome[]>;

export interface BenchOptions {
  readonly json?: boolean;
  /** Messages of the long run that watches memory. */
  readonly messages?: number;
}

/** Loaded only when asked for: a benchmark starts threads and brokers of its own. */
const BENCHES: Readonly<Record<string, Bench>> = {
  ingest: async ({ messages = 0 }, io) => {
    const { benchIngest } = await import('../bench/ingest.js');
    const bar = progressBar(io, 'Messages');
    const outcome = await benchIngest({ messages, onProgress: bar.update });
    bar.stop();
    if (!outcome) complain(io, 'ingest: left out, there is no mosquitto on this machine.');
    return outcome ? [outcome] : [];
  },
  storage: async () => [await (await import('../bench/storage.js')).benchCommit()],
  round: async () => [await (await import('../bench/round.js')).benchRound()],
  http: async () => (await import('../bench/http.js')).benchHttp(),
  rules: async () => [(await import('../bench/rules.js')).benchRules()],
  models: async () => [(await import('../bench/models.js')).benchModels()],
};
export const BENCH_NAMES = Object.keys(BENCHES);

/** `leafturn bench`: how fast the service is beside a yardstick. Ratios travel from machine to machine, seconds do not. */
export async function runBenches(names: readonly string[], options: BenchOptions, io: CommandIo): Promise<number> {
  const unknown = names.filter((name) => !BENCH_NAMES.includes(name));
  if (unknown.length > 0)
    throw new LeafturnError(
      'invalid-input',
      'There is no such benchmark.',
      unknown.map((name) => ({ path: 'NAME', expected: `one of ${BENCH_NAMES.join(', ')}`, got: name })),
    );
  const outcomes: Outcome[] = [];
  for (const name of names.length > 0 ? names : BENCH_NAMES) {
    for (const outcome of (await BENCHES[name]?.(options, io)) ?? []) {
      outcomes.push(outcome);
      if (options.json) continue;
      print(io, `${outcome.name}: ${outcome.ratio.toFixed(2)} of ${outcome.yardstick}`);
      print(io, `  ${outcome.detail}`);
      if (outcome.memory) print(io, `  memory: ${JSON.stringify(outcome.memory)}`);
    }
  }
  if (options.json) print(io, JSON.stringify(outcomes, null, 2));
  return EXIT.ok;
}
