import { SingleBar } from 'cli-progress';
import type { CommandIo } from './io.js';

export interface Progress {
  update(done: number, total: number): void;
  stop(): void;
}

const NONE: Progress = { update: () => {}, stop: () => {} };

/** A bar on standard error while a person watches; nothing in a pipe or a log. */
export function progressBar(io: CommandIo, label: string): Progress {
  if (!io.stderr.isTTY) return NONE;
  const bar = new SingleBar({
    format: `${label} {bar} {percentage} %  {value} of {total}  {duration_formatted}`,
    stream: io.stderr as NodeJS.WriteStream,
    hideCursor: true,
    clearOnComplete: true,
  });
  let running = false;
  return {
    update: (done, total) => {
      if (!running) {
        bar.start(total, done);
        running = true;
      } else {
        bar.setTotal(total);
        bar.update(done);
      }
    },
    stop: () => {
      if (running) bar.stop();
      running = false;
    },
  };
}

/** A running count, for work whose end is not known. */
export function progressCount(io: CommandIo, label: string): { update(done: number): void; stop(): void } {
  if (!io.stderr.isTTY) return { update: () => {}, stop: () => {} };
  const bar = new SingleBar({
    format: `${label} {value}  {duration_formatted}`,
    stream: io.stderr as NodeJS.WriteStream,
    hideCursor: true,
    clearOnComplete: true,
  });
  bar.start(0, 0);
  return { update: (done) => bar.update(done), stop: () => bar.stop() };
}
