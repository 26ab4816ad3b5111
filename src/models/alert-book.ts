import type { AlertKind } from '../domain/alerts.js';
import type { AlertDetail, AlertSubject, Finding } from './alert-kinds/finding.js';
import {
  type AlertLook,
  type AlertMachine,
  type AlertTell,
  type AlertTimes,
  hasFired,
  stepAlert,
} from './alert-machine.js';

/*
 * All open alerts of a site, stepped together: one machine for each kind, house and subject.
 */

const MINUTE_MS = 60_000;

/** Looks are taken every few minutes; a gap of more than this says nothing (starting value). */
const LONGEST_GAP_MS = 20 * MINUTE_MS;
const times = (pendingMinutes: number, holdMinutes: number): AlertTimes => ({
  pendingMs: pendingMinutes * MINUTE_MS,
  holdMs: holdMinutes * MINUTE_MS,
  longestGapMs: LONGEST_GAP_MS,
});

/**
 * How long a condition must last before it is told, and how long it must be past before the alert is over. Starting values,
 * but for the hour of hot leaves, which is the time for which their heat limits were measured.
 */
export const ALERT_TIMES: Readonly<Record<AlertKind, AlertTimes>> = {
  // Forecasts are not waited for; but one forecast that says otherwise does not end a spell.
  'hot-spell': times(0, 180),
  frost: times(0, 180),
  'wet-night': times(0, 120),
  'burn-risk': times(60, 60),
  // Sensors of a house fall silent one after the other: a quarter of an hour shows whether the house has.
  'sensor-silent': times(15, 15),
  'sensor-stuck': times(0, 60),
  'sensor-implausible': times(0, 120),
  'cloth-not-as-advised': times(15, 30),
  'list-not-done': times(0, 0),
  'disk-low': times(5, 30),
};

export interface OpenAlert extends AlertSubject {
  readonly machine: AlertMachine;
  /** As last seen while the condition held. */
  readonly detail: AlertDetail;
}

export interface AlertChange {
  /** Undefined: it begins now. */
  readonly before: OpenAlert | undefined;
  /** Undefined: it was pending and never came to anything. */
  readonly after: OpenAlert | undefined;
  readonly tell: AlertTell;
  /** What it was about is no longer there. */
  readonly gone: boolean;
}

export const subjectKey = ({ kind, houseId, subject }: AlertSubject): string =>
  JSON.stringify([kind, houseId, subject]);

/**
 * Steps every open alert, and begins those that are found for the first time. An open alert nothing was found about is
 * frozen: what is not looked at is neither over nor worse.
 * @param open at most one for each subject
 */
export function stepAlerts(open: readonly OpenAlert[], findings: readonly Finding[], at: number): AlertChange[] {
  const before = new Map(open.map((alert) => [subjectKey(alert), alert]));
  const found = strictest(findings);
  const keys = new Set([...before.keys(), ...found.keys()]);
  return [...keys].flatMap((key): AlertChange[] => {
    const change = stepOne(before.get(key), found.get(key), at);
    return change.before === undefined && change.after === undefined ? [] : [change];
  });
}

function stepOne(before: OpenAlert | undefined, finding: Finding | undefined, at: number): AlertChange {
  if (finding?.known === 'gone') {
    if (before === undefined || !hasFired(before.machine)) return { before, after: undefined, tell: null, gone: true };
    const machine: AlertMachine = { ...before.machine, state: 'resolved', resolvedAt: at, seenAt: at, knew: true };
    return { before, after: { ...before, machine }, tell: null, gone: true };
  }
  const subject = before ?? finding;
  if (subject === undefined) throw new RangeError('There is neither an alert nor a finding to step.');
  const { machine, tell } = stepAlert(before?.machine, lookOf(finding, at), ALERT_TIMES[subject.kind]);
  const detail = finding?.known === true && finding.level !== 0 ? finding.detail : before?.detail;
  if (machine === undefined || detail === undefined) return { before, after: undefined, tell: null, gone: false };
  const { kind, houseId, subject: name } = subject;
  return { before, after: { kind, houseId, subject: name, machine, detail }, tell, gone: false };
}

function lookOf(finding: Finding | undefined, at: number): AlertLook {
  if (finding?.known !== true) return { at, known: false };
  if (finding.level === 0) return { at, known: true, level: 0, clear: finding.clear };
  return { at, known: true, level: finding.level, clear: false, ...(finding.atOnce && { atOnce: true }) };
}

/** Two findings about one subject: the worse one counts, and anything known goes before what is not. */
function strictest(findings: readonly Finding[]): Map<string, Finding> {
  const rank = (finding: Finding): number =>
    finding.known === true ? (finding.level === 0 ? (finding.clear ? 1 : 2) : 2 + finding.level) : 0;
  const found = new Map<string, Finding>();
  for (const finding of findings) {
    const key = subjectKey(finding);
    const known = found.get(key);
    if (known === undefined || rank(finding) > rank(known)) found.set(key, finding);
  }
  return found;
}
