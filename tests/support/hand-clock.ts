import type { Clock } from '../../src/app/clock.js';

/** A clock that stands until it is moved; whoever waits for a moment is woken when it comes. */
export function handClock(startMs: number): Clock & { moveTo(atMs: number): Promise<void> } {
  let now = startMs;
  let waiting: { atMs: number; wake: () => void }[] = [];
  const settle = () => new Promise<void>((resolve) => setImmediate(resolve));
  return {
    speed: 1,
    now: () => now,
    waitUntil: (atMs, signal) =>
      new Promise((resolve, reject) => {
        if (signal?.aborted) return reject(signal.reason);
        signal?.addEventListener('abort', () => reject(signal.reason), { once: true });
        if (atMs <= now) resolve();
        else waiting.push({ atMs, wake: resolve });
      }),
    async moveTo(atMs) {
      for (;;) {
        await settle();
        const due = waiting.filter((one) => one.atMs <= atMs).sort((a, b) => a.atMs - b.atMs)[0];
        if (!due) break;
        waiting = waiting.filter((one) => one !== due);
        now = Math.max(now, due.atMs);
        due.wake();
      }
      now = atMs;
      await settle();
    },
  };
}
