/** What the work comes to, or the reason of the signal when that comes first. */
export async function unlessAborted<T>(work: Promise<T>, signal: AbortSignal): Promise<T> {
  // It is told of by what comes first; the rest of it must not end the service.
  work.catch(() => {});
  let stop = (): void => {};
  const stopped = new Promise<never>((_resolve, reject) => {
    stop = () => reject(signal.reason);
  });
  if (signal.aborted) stop();
  signal.addEventListener('abort', stop, { once: true });
  return Promise.race([work, stopped]).finally(() => signal.removeEventListener('abort', stop));
}

/** The same, and a TimeoutError when it takes longer: a server that sends a byte now and then never runs into the time-outs of the single steps. */
export const within = <T>(work: Promise<T>, ms: number, signal: AbortSignal): Promise<T> =>
  unlessAborted(work, AbortSignal.any([signal, AbortSignal.timeout(ms)]));
