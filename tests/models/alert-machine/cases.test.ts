import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import {
  type AlertLook,
  type AlertMachine,
  acknowledge,
  snooze,
  stepAlert,
  unsnooze,
} from '../../../src/models/alert-machine.js';

interface MachineCase {
  readonly id: string;
  readonly note: string;
  readonly times: { readonly pending: number; readonly hold: number };
  readonly every: number;
  readonly series: readonly string[];
  readonly expect: {
    readonly told: readonly string[];
    readonly state: string;
    readonly acknowledged?: string;
    readonly snoozed?: string | boolean;
  };
}

const MINUTE = 60_000;
const folder = new URL('cases/', import.meta.url);
const cases = readdirSync(folder).flatMap(
  (file) => parse(readFileSync(new URL(file, folder), 'utf8')) as MachineCase[],
);

function lookOf(word: string, at: number): AlertLook {
  if (word === 'unknown') return { at, known: false };
  const atOnce = word.endsWith(' at once');
  const [what] = word.split(' ');
  if (!['warn', 'danger', 'clear', 'band'].includes(what ?? '')) throw new Error(`not a look: ${word}`);
  const level = what === 'danger' ? 2 : what === 'warn' ? 1 : 0;
  return { at, known: true, level, clear: what === 'clear', ...(atOnce && { atOnce }) };
}

function run({ series, times, every }: MachineCase): { told: string[]; machine: AlertMachine | undefined } {
  const rule = { pendingMs: times.pending * MINUTE, holdMs: times.hold * MINUTE, longestGapMs: 20 * MINUTE };
  let machine: AlertMachine | undefined;
  let minute = 0;
  const told: string[] = [];
  for (const part of series) {
    const [verb = '', word = ''] = part.split(' ');
    if (verb === 'restart') machine = machine && (JSON.parse(JSON.stringify(machine)) as AlertMachine);
    else if (verb === 'gap') minute += Number(word);
    else if (verb === 'back') minute -= Number(word);
    else if (verb === 'ack') machine = machine && acknowledge(machine, minute * MINUTE, word);
    // A person acts between two looks: at the minute of the last one.
    else if (verb === 'snooze') machine = machine && snooze(machine, (minute - every + Number(word)) * MINUTE);
    else if (verb === 'unsnooze') machine = machine && unsnooze(machine);
    else {
      const times = Number(/ x(\d+)$/.exec(part)?.[1] ?? part.match(/x(\d+)$/)?.[1] ?? 1);
      for (let count = 0; count < times; count += 1) {
        const step = stepAlert(machine, lookOf(part.replace(/ ?x\d+$/, ''), minute * MINUTE), rule);
        machine = step.machine;
        if (step.tell !== null) told.push(`${minute} ${step.tell}`);
        minute += every;
      }
    }
  }
  return { told, machine };
}

describe('series of looks', () => {
  it.each(cases.map((one) => [`${one.id} ${one.note}`, one] as const))('%s', (_, one) => {
    const { told, machine } = run(one);
    expect(told).toEqual(one.expect.told);
    expect(machine?.state ?? 'none').toBe(one.expect.state);
    const { acknowledged, snoozed } = one.expect;
    if (acknowledged !== undefined) expect(machine?.acknowledged?.by ?? 'nobody').toBe(acknowledged);
    if (snoozed !== undefined) expect(machine?.snoozedUntil === undefined ? 'no' : 'yes').toBe(snoozed);
  });

  it('are many, and each has a name of its own', () => {
    expect(cases.length).toBeGreaterThanOrEqual(25);
    expect(new Set(cases.map(({ id }) => id)).size).toBe(cases.length);
  });
});
