import fc from 'fast-check';
import { expect, it } from 'vitest';
import {
  type AlertLevel,
  type AlertLook,
  type AlertMachine,
  type AlertTell,
  type AlertTimes,
  acknowledge,
  hasFired,
  snooze,
  stepAlert,
} from '../../../src/models/alert-machine.js';
import { type Told, toldOver } from './oracle.js';

const MINUTE = 60_000;
const RUNS = { numRuns: 2000 };

/** Looks a few minutes to a few hours apart, some of which know nothing. */
const seriesArbitrary: fc.Arbitrary<AlertLook[]> = fc
  .array(
    fc.record({
      stepMin: fc.oneof(
        fc.integer({ min: 1, max: 15 }),
        fc.integer({ min: 1, max: 15 }),
        fc.integer({ min: 16, max: 300 }),
      ),
      is: fc.constantFrom('unknown', 'clear', 'clear', 'clear', 'band', 'warn', 'warn', 'warn', 'danger'),
      atOnce: fc.integer({ min: 0, max: 9 }),
    }),
    { maxLength: 60 },
  )
  .map((steps) => {
    let at = 0;
    return steps.map(({ stepMin, is, atOnce }): AlertLook => {
      at += stepMin * MINUTE;
      if (is === 'unknown') return { at, known: false };
      const level: AlertLevel = is === 'danger' ? 2 : is === 'warn' ? 1 : 0;
      return { at, known: true, level, clear: is === 'clear', ...(atOnce === 0 && level > 0 && { atOnce: true }) };
    });
  });
const timesArbitrary: fc.Arbitrary<AlertTimes> = fc.record({
  pendingMs: fc.integer({ min: 0, max: 60 }).map((minutes) => minutes * MINUTE),
  holdMs: fc.integer({ min: 0, max: 60 }).map((minutes) => minutes * MINUTE),
  longestGapMs: fc.constant(20 * MINUTE),
});

interface Walk {
  readonly told: readonly Told[];
  readonly states: readonly (AlertMachine | undefined)[];
}
type Between = (machine: AlertMachine | undefined, index: number) => AlertMachine | undefined;

function walk(series: readonly AlertLook[], times: AlertTimes, between: Between = (machine) => machine): Walk {
  let machine: AlertMachine | undefined;
  const told: Told[] = [];
  const states: (AlertMachine | undefined)[] = [];
  series.forEach((look, index) => {
    const step = stepAlert(between(machine, index), look, times);
    machine = step.machine;
    if (step.tell !== null) told.push({ at: look.at, tell: step.tell });
    states.push(machine);
  });
  return { told, states };
}

it('tells what walking back over the whole series tells: it never fires early, never late, and never forgets', () => {
  fc.assert(
    fc.property(seriesArbitrary, timesArbitrary, (series, times) => {
      expect(walk(series, times).told).toEqual(toldOver(series, times));
    }),
    RUNS,
  );
});

it('gives the same history when the service is started anew at any point', () => {
  fc.assert(
    fc.property(seriesArbitrary, timesArbitrary, fc.func(fc.boolean()), (series, times, restartsBefore) => {
      const restarted = walk(series, times, (machine, index) =>
        machine !== undefined && restartsBefore(index) ? JSON.parse(JSON.stringify(machine)) : machine,
      );
      expect(restarted).toEqual(walk(series, times));
    }),
    RUNS,
  );
});

it('changes nothing but the time of the look while nothing is known: no firing, no clearing', () => {
  fc.assert(
    fc.property(seriesArbitrary, timesArbitrary, fc.integer({ min: 1, max: 40 }), (series, times, unknowns) => {
      const before = walk(series, times).states.at(-1);
      const from = series.at(-1)?.at ?? 0;
      let machine = before;
      const tells: AlertTell[] = [];
      for (let step = 1; step <= unknowns; step += 1) {
        const next = stepAlert(machine, { at: from + step * 10 * MINUTE, known: false }, times);
        machine = next.machine;
        tells.push(next.tell);
      }
      expect(tells.every((tell) => tell === null)).toBe(true);
      if (before === undefined || before.state === 'resolved') expect(machine).toBeUndefined();
      else expect({ ...machine, seenAt: before.seenAt, knew: before.knew }).toEqual(before);
    }),
    RUNS,
  );
});

it('brings the end no nearer, however long the silence between two looks was', () => {
  fc.assert(
    fc.property(fc.integer({ min: 21, max: 100_000 }), fc.integer({ min: 1, max: 60 }), (gapMin, holdMin) => {
      const times = { pendingMs: 0, holdMs: holdMin * MINUTE, longestGapMs: 20 * MINUTE };
      const clear = (at: number): AlertLook => ({ at, known: true, level: 0, clear: true });
      const looks = [
        { at: 0, known: true, level: 1, clear: false } as const,
        clear(MINUTE),
        clear((1 + gapMin) * MINUTE),
      ];
      expect(walk(looks, times).states.at(-1)).toMatchObject({ state: 'held', countedMs: 0 });
    }),
    RUNS,
  );
});

it('tells each alert once: new first, then at most one worse, then over, and nothing more', () => {
  fc.assert(
    fc.property(seriesArbitrary, timesArbitrary, (series, times) => {
      const letters = walk(series, times)
        .told.map(({ tell }) => tell.charAt(0))
        .join('');
      expect(letters).toMatch(/^(nw?o)*(nw?)?$/);
    }),
    RUNS,
  );
});

it('is never quiet about what got worse, acknowledged or put off as it may be', () => {
  fc.assert(
    fc.property(
      seriesArbitrary,
      timesArbitrary,
      fc.func(fc.constantFrom('ack', 'snooze', '-')),
      (series, times, does) => {
        const { told, states } = walk(series, times, (machine, index) => {
          if (machine === undefined) return machine;
          const at = series[index]?.at ?? 0;
          const what = does(index);
          if (what === 'ack') return acknowledge(machine, at, 'Ada');
          return what === 'snooze' ? snooze(machine, at + 30 * MINUTE) : machine;
        });
        states.forEach((machine, index) => {
          const look = series[index] as AlertLook;
          if (machine === undefined || !hasFired(machine) || !look.known) return;
          expect(machine.toldLevel).toBeGreaterThanOrEqual(machine.level);
          // Whoever acknowledged it did so at a level that was told.
          if (told.some(({ at, tell }) => at === look.at && tell === 'worse'))
            expect(machine.acknowledged).toBeUndefined();
        });
      },
    ),
    RUNS,
  );
});

it('passes over a look that is not newer than the last one', () => {
  fc.assert(
    fc.property(seriesArbitrary, timesArbitrary, fc.integer({ min: 0, max: 1000 }), (series, times, backMin) => {
      const machine = walk(series, times).states.at(-1);
      if (machine === undefined || machine.state === 'resolved') return;
      const at = machine.seenAt - backMin * MINUTE;
      for (const look of [
        { at, known: false },
        { at, known: true, level: 2, clear: false },
        { at, known: true, level: 0, clear: true },
      ] as const)
        expect(stepAlert(machine, look, times)).toEqual({ machine, tell: null });
    }),
    RUNS,
  );
});
