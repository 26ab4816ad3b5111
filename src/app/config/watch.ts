import type { Problem } from '../../domain/errors.js';

export interface WatchHandlers<T> {
  /** A file without mistakes was read. */
  readonly onConfig: (config: T) => void | Promise<void>;
  /** The file has mistakes: the last good one stays in force. */
  readonly onProblems: (problems: readonly Problem[]) => void;
}

/**
 * Reads the site file again at every SIGHUP.
 * @param load reads it or throws
 * @param problemsFrom what was wrong, from the error of `load`
 * @returns stops watching
 */
export function watchReload<T>(
  load: () => T,
  problemsFrom: (error: unknown) => readonly Problem[],
  handlers: WatchHandlers<T>,
  signals: NodeJS.EventEmitter = process,
): () => void {
  // Two signals in quick succession must not be taken up in the wrong order.
  let queue = Promise.resolve();
  const reload = async (): Promise<void> => {
    try {
      await handlers.onConfig(load());
    } catch (error) {
      handlers.onProblems(problemsFrom(error));
    }
  };
  const onSignal = (): void => {
    queue = queue.then(reload);
  };
  signals.on('SIGHUP', onSignal);
  return () => {
    signals.off('SIGHUP', onSignal);
  };
}
