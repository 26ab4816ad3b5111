/** Does work one after another for each key, in the order it was asked for. A failure is told to who asked, and the next goes on. */
export function createTurns(): <T>(key: string, work: () => Promise<T>) => Promise<T> {
  const last = new Map<string, Promise<unknown>>();
  return (key, work) => {
    const turn = (last.get(key) ?? Promise.resolve()).then(work);
    last.set(
      key,
      turn.catch(() => undefined),
    );
    return turn;
  };
}
