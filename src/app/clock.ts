/** The one place that knows what time it is. Everything below layer 12 is told. */
export interface Clock {
  /** UTC, ms. */
  now(): number;
  /** Resolves once the clock has reached `atMs`; rejects with the signal's reason when it is aborted. */
  waitUntil(atMs: number, signal?: AbortSignal): Promise<void>;
  /** Milliseconds of this clock that pass in one real millisecond. */
  readonly speed: number;
}

/** Timers hold at most 2^31 - 1 ms, and a laptop that slept must not wait out the rest: look again at least this often. */
const LONGEST_TIMER_MS = 30_000;

function clockFrom(now: () => number, speed: number): Clock {
  return {
    now,
    speed,
    waitUntil: (atMs, signal) =>
      new Promise((resolve, reject) => {
        let timer: ReturnType<typeof setTimeout> | undefined;
        const stop = (): void => {
          clearTimeout(timer);
          reject(signal?.reason ?? new Error('Waiting was stopped.'));
        };
        const look = (): void => {
          const leftMs = (atMs - now()) / speed;
          if (leftMs <= 0) {
            signal?.removeEventListener('abort', stop);
            resolve();
          } else timer = setTimeout(look, Math.min(Math.ceil(leftMs), LONGEST_TIMER_MS));
        };
        if (signal?.aborted) return stop();
        signal?.addEventListener('abort', stop, { once: true });
        look();
      }),
  };
}

export const realClock = (): Clock => clockFrom(() => Date.now(), 1);

/**
 * A clock that starts at `startMs` and runs `speed` times as fast as the real one; for the demo.
 * @param elapsedMs real time since any fixed moment, never going back; the machine's steady clock unless a test says otherwise
 */
export function acceleratedClock(
  startMs: number,
  speed: number,
  elapsedMs: () => number = () => performance.now(),
): Clock {
  if (!(speed > 0 && Number.isFinite(speed))) throw new RangeError(`speed must be above 0, but ${speed} came.`);
  const origin = elapsedMs();
  return clockFrom(() => Math.round(startMs + (elapsedMs() - origin) * speed), speed);
}
