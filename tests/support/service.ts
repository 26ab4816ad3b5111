import { type ChildProcess, fork } from 'node:child_process';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { childBuild } from './child-build.js';
import type { VictimOrder, VictimWord } from './ingest-victim.js';

/** A service process that a test may kill. */
export interface Victim {
  /** Resolves when it listens; rejects when it ends before. */
  ready(): Promise<void>;
  /** Resolves when it has committed so many messages. */
  committed(messages: number): Promise<void>;
  /** SIGKILL, and wait until it is gone. */
  kill(): Promise<void>;
}

export function startVictim(order: VictimOrder): Victim {
  const child: ChildProcess = fork(join(childBuild(), 'tests/support/ingest-victim.js'), [], {
    execArgv: [],
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  });
  let isReady = false;
  let committed = 0;
  let look: () => void = () => {};
  child.on('message', (word: VictimWord) => {
    if (word === 'ready') isReady = true;
    else committed = word.committed;
    look();
  });
  const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  child.send(order);
  const kill = async (): Promise<void> => {
    child.kill('SIGKILL');
    await gone;
  };
  onTestFinished(kill);
  const when = (what: string, holds: () => boolean): Promise<void> =>
    Promise.race([
      new Promise<void>((resolve) => {
        look = () => {
          if (holds()) resolve();
        };
        look();
      }),
      gone.then(() => {
        throw new Error(`the service ended before it ${what}`);
      }),
    ]);
  return {
    ready: () => when('listened', () => isReady),
    committed: (messages) => when(`had committed ${messages} messages`, () => committed >= messages),
    kill,
  };
}
