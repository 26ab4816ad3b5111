import { describe, expect, it } from 'vitest';
import { acceleratedClock, realClock } from '../../src/app/clock.js';

const START = Date.UTC(2026, 4, 20, 9);

describe('a fast clock', () => {
  it('runs as many times faster as it is told to, from where it is told to start', () => {
    let elapsed = 5000;
    const clock = acceleratedClock(START, 1440, () => elapsed);
    expect(clock.now()).toBe(START);
    elapsed += 60_000;
    // A day a minute.
    expect(clock.now()).toBe(START + 86_400_000);
  });

  it('waits until its own time has come, not the real one', async () => {
    const clock = acceleratedClock(START, 36_000);
    await clock.waitUntil(START + 3_600_000);
    expect(clock.now()).toBeGreaterThanOrEqual(START + 3_600_000);
  });

  it.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])('does not run %s times', (speed) => {
    expect(() => acceleratedClock(START, speed)).toThrow(RangeError);
  });
});

describe('waiting', () => {
  it('for what has been is over at once', async () => {
    await expect(realClock().waitUntil(0)).resolves.toBeUndefined();
  });

  it('ends with the reason of the signal, before or while it waits', async () => {
    const clock = acceleratedClock(START, 1, () => 0);
    const stop = new AbortController();
    const waiting = clock.waitUntil(START + 1e12, stop.signal);
    stop.abort(new Error('closing'));
    await expect(waiting).rejects.toThrow('closing');
    await expect(clock.waitUntil(START + 1e12, stop.signal)).rejects.toThrow('closing');
  });
});
