import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ALERT_KINDS, type AlertKind } from '../../src/domain/alerts.js';
import { ALERT_TIMES, type AlertChange, type OpenAlert, stepAlerts, subjectKey } from '../../src/models/alert-book.js';
import type { Finding } from '../../src/models/alert-kinds/finding.js';

const MINUTE = 60_000;
const detail = (title: string) => ({ batchIds: [], text: { title, reason: '', whatToDo: '' } });
const bad = (kind: AlertKind, houseId: string | null = 'north', level: 1 | 2 = 1): Finding => ({
  kind,
  houseId,
  subject: '',
  known: true,
  level,
  atOnce: true,
  detail: detail(`${kind} ${level}`),
});
const fine = (kind: AlertKind, houseId: string | null = 'north'): Finding => ({
  kind,
  houseId,
  subject: '',
  known: true,
  level: 0,
  clear: true,
});

const openAfter = (changes: readonly AlertChange[]): OpenAlert[] =>
  changes.flatMap(({ after }) => (after && after.machine.state !== 'resolved' ? [after] : []));

describe('alerts of a site', () => {
  it('each stand for themselves', () => {
    const first = stepAlerts([], [bad('frost'), bad('frost', 'south'), fine('hot-spell'), bad('disk-low', null)], 0);
    expect(first.map(({ after, tell }) => [after?.kind, after?.houseId, tell])).toEqual([
      ['frost', 'north', 'new'],
      ['frost', 'south', 'new'],
      ['disk-low', null, 'new'],
    ]);
    const next = stepAlerts(openAfter(first), [bad('frost'), fine('frost', 'south')], 5 * MINUTE);
    expect(next.map(({ after }) => after?.machine.state)).toEqual(['firing', 'held', 'firing']);
    expect(next.every(({ tell }) => tell === null)).toBe(true);
  });

  it('are frozen while nothing is found about them', () => {
    let open = openAfter(stepAlerts([], [bad('frost')], 0));
    for (let hour = 1; hour <= 48; hour += 1) open = openAfter(stepAlerts(open, [], hour * 60 * MINUTE));
    expect(open).toMatchObject([{ kind: 'frost', machine: { state: 'firing', firedAt: 0 } }]);
  });

  it('keep what was said while the condition held, also when it is over', () => {
    const open = openAfter(stepAlerts([], [bad('list-not-done')], 0));
    const [over] = stepAlerts(open, [fine('list-not-done')], 5 * MINUTE);
    expect(over).toMatchObject({
      tell: 'over',
      after: { machine: { state: 'resolved' }, detail: { text: { title: 'list-not-done 1' } } },
    });
  });

  it('say what is said now once it got worse', () => {
    const open = openAfter(stepAlerts([], [bad('frost')], 0));
    const [worse] = stepAlerts(open, [bad('frost', 'north', 2)], 5 * MINUTE);
    expect(worse).toMatchObject({ tell: 'worse', after: { detail: { text: { title: 'frost 2' } } } });
  });

  it('end without a word when what they were about is gone', () => {
    const open = openAfter(stepAlerts([], [bad('sensor-stuck')], 0));
    const [ended] = stepAlerts(open, [{ kind: 'sensor-stuck', houseId: 'north', subject: '', known: 'gone' }], MINUTE);
    expect(ended).toMatchObject({
      tell: null,
      gone: true,
      after: { machine: { state: 'resolved', resolvedAt: MINUTE } },
    });
    expect(stepAlerts([], [{ kind: 'sensor-stuck', houseId: 'north', subject: '', known: 'gone' }], MINUTE)).toEqual(
      [],
    );
  });

  it('go by the worse of two findings, and by what is known', () => {
    const unknown: Finding = { kind: 'frost', houseId: 'north', subject: '', known: false };
    for (const findings of [
      [bad('frost', 'north', 2), fine('frost'), unknown],
      [unknown, fine('frost'), bad('frost', 'north', 2), bad('frost')],
    ])
      expect(stepAlerts([], findings, 0)).toMatchObject([{ after: { machine: { level: 2 } } }]);
  });
});

it('hot leaves must last an hour; a forecast must not be waited for', () => {
  expect(ALERT_TIMES['burn-risk'].pendingMs).toBe(60 * MINUTE);
  expect(ALERT_TIMES.frost.pendingMs).toBe(0);
});

const findingArbitrary: fc.Arbitrary<Finding> = fc
  .record({
    kind: fc.constantFrom(...ALERT_KINDS),
    houseId: fc.constantFrom(null, 'north', 'south'),
    subject: fc.constantFrom('', 't1'),
    is: fc.constantFrom('unknown', 'gone', 'clear', 'band', 'warn', 'danger'),
    atOnce: fc.boolean(),
  })
  .map(({ kind, houseId, subject, is, atOnce }): Finding => {
    const about = { kind, houseId, subject };
    if (is === 'unknown') return { ...about, known: false };
    if (is === 'gone') return { ...about, known: 'gone' };
    if (is === 'clear' || is === 'band') return { ...about, known: true, level: 0, clear: is === 'clear' };
    return { ...about, known: true, level: is === 'danger' ? 2 : 1, atOnce, detail: detail(is) };
  });

it('never has two open alerts of a kind for one house and subject, and goes on the same after any restart', () => {
  const roundArbitrary = fc.record({
    stepMin: fc.integer({ min: 1, max: 90 }),
    findings: fc.array(findingArbitrary, { maxLength: 8 }),
    restart: fc.boolean(),
  });
  fc.assert(
    fc.property(fc.array(roundArbitrary, { maxLength: 15 }), (rounds) => {
      let at = 0;
      let open: OpenAlert[] = [];
      let restarted: OpenAlert[] = [];
      for (const { stepMin, findings, restart } of rounds) {
        at += stepMin * MINUTE;
        const changes = stepAlerts(open, findings, at);
        const again = stepAlerts(restart ? JSON.parse(JSON.stringify(restarted)) : restarted, findings, at);
        expect(JSON.stringify(again)).toBe(JSON.stringify(changes));
        open = openAfter(changes);
        restarted = openAfter(again);
        const keys = open.map(subjectKey);
        expect(new Set(keys).size).toBe(keys.length);
        // Nothing that had fired is lost: it is open still, or it ended with a word or with what it was about.
        for (const { before, after, gone } of changes)
          if (before && before.machine.state !== 'pending' && !gone) expect(after).toBeDefined();
      }
    }),
    { numRuns: 1000 },
  );
});
