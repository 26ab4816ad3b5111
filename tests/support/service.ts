import { type ChildProcess, fork } from 'node:child_process';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { childBuild } from './child-build.js';
import type { VictimOrder, VictimWord } from './ingest-victim.js';

/** A service process that a test may kill. */
export interface Victim {
  /** Resolves when it has said so; rejects when it ends without. */
  has(word: VictimWord): Promise<void>;
  /** SIGKILL, and wait until it is gone. */
  kill(): Promise<void>;
}

export function startVictim(order: VictimOrder): Victim {
  const child: ChildProcess = fork(join(childBuild(), 'tests/support/ingest-victim.js'), [], {
    execArgv: [],
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  });
  const said = new Set<string>();
  const waiting = new Map<string, () => void>();
  child.on('message', (word: string) => {
    said.add(word);
    waiting.get(word)?.();
  });
  const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  child.send(order);
  const kill = async (): Promise<void> => {
    child.kill('SIGKILL');
    await gone;
  };
  onTestFinished(kill);
  return {
    has: (word) =>
      said.has(word)
        ? Promise.resolve()
        : Promise.race([
            new Promise<void>((resolve) => waiting.set(word, resolve)),
            gone.then(() => {
              throw new Error(`the service ended before it was ${word}`);
            }),
          ]),
    kill,
  };
}
