import type { AlertState } from '../domain/alerts.js';

/**
 * The one state machine of all alerts: pending → firing → held → resolved. It is told, look by look, how a condition
 * stands, and says what people are to be told. Its state is plain data that goes through JSON, so a restart at any point
 * gives the same history.
 *
 * - Time counts only between two looks that both knew and said the same: a gap or a silent sensor brings nothing nearer,
 *   neither the firing nor the end.
 * - A separate clear limit: between the two limits an open alert stays as it is.
 * - One message when it fires, one when it gets worse than was told, one when it is over.
 */

/** 0: below the limit. 1: the limit is reached. 2: harm is near. */
export type AlertLevel = 0 | 1 | 2;

export type AlertLook =
  /** Nothing can be told: freezes the alert where it is. */
  | { readonly at: number; readonly known: false }
  | {
      readonly at: number;
      readonly known: true;
      readonly level: AlertLevel;
      /** Below the clear limit too; only with level 0. */
      readonly clear: boolean;
      /** It must not be waited for: a forecast, or harm that is near. */
      readonly atOnce?: boolean;
    };

export interface AlertTimes {
  /** The condition must have held for so long before the alert fires. */
  readonly pendingMs: number;
  /** It must have been clear for so long before the alert is over. */
  readonly holdMs: number;
  /** Two looks further apart say nothing of the time between them. */
  readonly longestGapMs: number;
}

/** Plain data; an open alert of one kind, house and subject. */
export interface AlertMachine {
  readonly state: AlertState;
  /** As last known. */
  readonly level: AlertLevel;
  /** The worst people were told of; 0: nothing yet. */
  readonly toldLevel: AlertLevel;
  readonly pendingSince: number;
  readonly firedAt?: number;
  readonly resolvedAt?: number;
  /** Time that counts so far: towards firing while pending, towards the end while held. */
  readonly countedMs: number;
  /** Newest look, and whether it knew. */
  readonly seenAt: number;
  readonly knew: boolean;
  readonly acknowledged?: { readonly at: number; readonly by: string };
  readonly snoozedUntil?: number;
}

/** What people are to be told now. */
export type AlertTell = 'new' | 'worse' | 'over' | null;

export interface AlertStep {
  /** Undefined: there is no alert; a condition that never lasted leaves nothing behind. */
  readonly machine: AlertMachine | undefined;
  readonly tell: AlertTell;
}

/**
 * One look more. Looks that are not newer than the last one are passed over: a clock that goes back changes nothing.
 * @param before undefined, or resolved: no alert is open
 */
export function stepAlert(before: AlertMachine | undefined, look: AlertLook, times: AlertTimes): AlertStep {
  if (before === undefined || before.state === 'resolved') return begin(look, times);
  if (!(look.at > before.seenAt)) return { machine: before, tell: null };
  const seen = { ...before, seenAt: look.at, knew: look.known };
  if (!look.known) return { machine: seen, tell: null };
  const passedMs = before.knew && look.at - before.seenAt <= times.longestGapMs ? look.at - before.seenAt : 0;
  if (before.state === 'pending') {
    if (look.level === 0) return { machine: undefined, tell: null };
    return fireWhenDue({ ...seen, level: look.level, countedMs: before.countedMs + passedMs }, look, times);
  }
  if (look.level === 0 && look.clear) {
    const countedMs = before.state === 'held' ? before.countedMs + passedMs : 0;
    const held: AlertMachine = { ...seen, state: 'held', level: 0, countedMs };
    if (countedMs < times.holdMs) return { machine: held, tell: null };
    return { machine: { ...held, state: 'resolved', resolvedAt: look.at }, tell: 'over' };
  }
  return goOn({ ...seen, state: 'firing', level: look.level, countedMs: 0 });
}

function begin(look: AlertLook, times: AlertTimes): AlertStep {
  if (!look.known || look.level === 0) return { machine: undefined, tell: null };
  const { at, level } = look;
  return fireWhenDue(
    { state: 'pending', level, toldLevel: 0, pendingSince: at, countedMs: 0, seenAt: at, knew: true },
    look,
    times,
  );
}

function fireWhenDue(pending: AlertMachine, look: Extract<AlertLook, { known: true }>, times: AlertTimes): AlertStep {
  if (look.atOnce !== true && pending.countedMs < times.pendingMs) return { machine: pending, tell: null };
  const { level } = pending;
  return {
    machine: { ...pending, state: 'firing', countedMs: 0, firedAt: look.at, toldLevel: level },
    tell: 'new',
  };
}

/** An alert that has fired goes on: told again only when it got worse, or when somebody asked to be reminded. */
function goOn(firing: AlertMachine): AlertStep {
  const { acknowledged, snoozedUntil, ...rest } = firing;
  if (firing.level > firing.toldLevel)
    // Who acknowledged or put off the lesser danger has not seen this one.
    return { machine: { ...rest, toldLevel: firing.level }, tell: 'worse' };
  if (snoozedUntil === undefined || firing.seenAt < snoozedUntil || firing.level === 0)
    return { machine: firing, tell: null };
  return acknowledged === undefined
    ? { machine: rest, tell: 'new' }
    : { machine: { ...rest, acknowledged }, tell: null };
}

/** Whether people know of the alert and it is not over. */
export const hasFired = ({ state }: Pick<AlertMachine, 'state'>): boolean => state === 'firing' || state === 'held';

/** Somebody saw it and takes care of it. Only what has fired can be acknowledged; the first who does is kept. */
export function acknowledge(machine: AlertMachine, at: number, by: string): AlertMachine {
  if (!hasFired(machine) || machine.acknowledged !== undefined) return machine;
  return { ...machine, acknowledged: { at, by } };
}

/** Not to be told again until then, unless it gets worse; then, if it is still so, it is told anew. */
export function snooze(machine: AlertMachine, until: number): AlertMachine {
  return hasFired(machine) ? { ...machine, snoozedUntil: until } : machine;
}

export function unsnooze({ snoozedUntil: _, ...machine }: AlertMachine): AlertMachine {
  return machine;
}
