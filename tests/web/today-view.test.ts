import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { foldCollection } from '../../src/domain/collection.js';
import type { JournalEntry, JournalEvent } from '../../src/domain/journal.js';
import type { Round } from '../../src/domain/verdict.js';
import { tickEvents } from '../../src/web/forms.js';
import { adviceOf, todayView } from '../../src/web/today-view.js';
import { DAY, journalOf, morning, NOW, site } from './fixtures/scenario.js';

const round = morning(14);
const before = journalOf(round);

/** The list after these entries, made one minute apart from half past seven on. */
function viewAfter(events: readonly JournalEvent[], list: Round = round) {
  const entries: JournalEntry[] = events.map((event, index) => ({
    id: before.length + 1 + index,
    siteId: list.siteId,
    happenedAt: NOW + index * 60_000,
    enteredAt: NOW + index * 60_000,
    by: 'Ada',
    event,
  }));
  return todayView(site, list, foldCollection([...before, ...entries]));
}

const watering = (batchIds: string[], more: object = {}): JournalEvent => ({
  kind: 'watering',
  batchIds,
  amount: 'full',
  answer: 'as-advised',
  day: DAY,
  ...more,
});
const LINE_1 = ['tray-1', 'tray-2', 'tray-3', 'tray-4', 'tray-5'];

describe('what is left to do', () => {
  it('is each line that runs and each batch by hand; waits, looks and dry batches are not', () => {
    const view = viewAfter([]);
    expect(view.left).toBe(9);
    expect(view.linesLeft).toBe(1);
    expect(view.done).toBe(0);
    expect(view.looksLeft).toBe(2);
    expect(view.houses.map((house) => house.left)).toEqual([5, 1, 3, 0, 0]);
  });

  it('shrinks by one when a line ran, whatever the number of batches on it', () => {
    const view = viewAfter([watering(LINE_1, { lineId: 'line-1' })]);
    expect([view.left, view.done, view.linesLeft]).toEqual([8, 1, 0]);
    expect(view.houses[0]?.lines[0]?.ran?.lineId).toBe('line-1');
  });

  it('keeps a line open while one batch on it has no answer', () => {
    const view = viewAfter(LINE_1.slice(1).map((id) => watering([id])));
    expect(view.linesLeft).toBe(1);
    expect(view.houses[0]?.lines[0]?.toRun.map((row) => row.advice.batchId)).toEqual(['tray-1']);
  });

  it('takes the last answer when there are two', () => {
    const view = viewAfter([watering(['tray-6']), watering(['tray-6'], { amount: 'none', answer: 'skipped' })]);
    const row = view.houses[0]?.lines[1]?.benches[0]?.rows[0];
    expect(row?.done?.answer).toBe('skipped');
  });

  it('does not count what was done for another morning, nor what was taken back', () => {
    const yesterday = watering(['tray-6'], { day: '2026-10-24' });
    expect(viewAfter([yesterday]).done).toBe(0);
    expect(viewAfter([watering(['tray-6']), { kind: 'undo', entryId: before.length + 1 }]).done).toBe(0);
  });

  it('counts a drink that names no morning by the local day it was given on', () => {
    const { day: _day, ...unasked } = watering(['tray-6'], { answer: 'unasked' }) as { day?: string } & JournalEvent;
    expect(viewAfter([unasked]).done).toBe(1);
  });

  it('shows a dry batch that got water among what was done, not under what stays dry', () => {
    const bench = viewAfter([watering(['tray-12'])]).houses[0]?.lines[1]?.benches[1];
    expect(bench?.rows.map((row) => row.advice.batchId)).toEqual(['tray-11', 'tray-12']);
    expect(bench?.dry.map((row) => row.advice.batchId)).toEqual(['tray-13']);
  });

  it('takes a look off the list once somebody has looked, before the list is made again', () => {
    const signs: JournalEvent = { kind: 'signs', batchIds: ['tray-9'], newPair: 'soft', signs: [], gone: [] };
    const view = viewAfter([signs]);
    expect(view.look.map((one) => one.looked)).toEqual([true, false]);
    expect(view.looksLeft).toBe(1);
    // A list made after the look has its own say.
    expect(viewAfter([signs], { ...round, journalId: before.length + 1 }).looksLeft).toBe(2);
  });

  it('never loses or doubles a batch, whatever is noted in whatever order', () => {
    const ids = [...adviceOf(round)].map(({ advice }) => advice.batchId);
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            batchId: fc.constantFrom(...ids),
            amount: fc.constantFrom('none' as const, 'light' as const, 'full' as const),
            answer: fc.constantFrom('as-advised' as const, 'another-amount' as const, 'skipped' as const),
          }),
          { maxLength: 40 },
        ),
        (notes) => {
          const events = notes.flatMap(({ batchId, amount, answer }) =>
            tickEvents({ day: DAY, tick: { answer, items: [{ batchId, amount }] } }),
          ) as JournalEvent[];
          const view = viewAfter(events);
          const shown = view.houses.flatMap((house) =>
            house.lines.flatMap((line) =>
              line.benches.flatMap((bench) => [...bench.rows, ...bench.dry].map((row) => row.advice.batchId)),
            ),
          );
          expect(shown.sort()).toEqual([...ids].sort());
          const answered = new Set(notes.map((note) => note.batchId));
          for (const house of view.houses)
            for (const line of house.lines)
              for (const bench of line.benches)
                for (const row of [...bench.rows, ...bench.dry])
                  expect(row.done !== undefined).toBe(answered.has(row.advice.batchId));
        },
      ),
      { numRuns: 200, seed: 25_10_26 },
    );
  });
});
