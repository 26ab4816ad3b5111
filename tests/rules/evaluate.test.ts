import { describe, expect, it } from 'vitest';
import { FACT_NAMES } from '../../src/domain/facts.js';
import type { Met } from '../../src/domain/verdict.js';
import {
  changedSheet,
  compileRow,
  explainRow,
  rowMet,
  sheetOf,
  unknownFacts,
  valueIn,
} from '../../src/rules/evaluate.js';
import type { Condition, LimitValue } from '../../src/rules/schema.js';
import { facts } from './support.js';

const rowOf = (...when: Condition[]) =>
  compileRow('safety', { id: 'row', when, effect: { cap: 'none' }, because: 'because', source: 'practice' });
const met = (condition: Condition, value: number | string | boolean | null, limits: Record<string, LimitValue> = {}) =>
  rowMet(rowOf(condition), sheetOf(facts({ [condition.fact as string]: value })), limits);

describe('three-valued and', () => {
  // Kleene 1952, strong three-valued logic: no beats unknown beats yes.
  const values: Record<Met, boolean | null> = { yes: true, no: false, unknown: null };
  const table: [Met, Met, Met][] = [
    ['yes', 'yes', 'yes'],
    ['yes', 'no', 'no'],
    ['yes', 'unknown', 'unknown'],
    ['no', 'yes', 'no'],
    ['no', 'no', 'no'],
    ['no', 'unknown', 'no'],
    ['unknown', 'yes', 'unknown'],
    ['unknown', 'no', 'no'],
    ['unknown', 'unknown', 'unknown'],
  ];
  const row = rowOf({ fact: 'signRot', op: 'is', value: true }, { fact: 'signBurst', op: 'is', value: true });

  it.each(table)('%s and %s is %s', (a, b, both) => {
    const given = sheetOf(facts({ signRot: values[a], signBurst: values[b] }));
    expect(rowMet(row, given, {})).toBe(both);
    expect(explainRow(row, given, {}).met).toBe(both);
  });
});

describe('operators at their boundary', () => {
  it.each([
    ['below', 7.99, 'yes'],
    ['below', 8, 'no'],
    ['at-most', 8, 'yes'],
    ['at-most', 8.01, 'no'],
    ['at-least', 8, 'yes'],
    ['at-least', 7.99, 'no'],
    ['above', 8, 'no'],
    ['above', 8.01, 'yes'],
  ] as const)('tonight %s 8 °C at %s °C: %s', (op, value, expected) => {
    expect(met({ fact: 'tonightMinC', op, value: 8 }, value)).toBe(expected);
  });

  it.each([
    ['firm', 'no'],
    ['slightly-soft', 'no'],
    ['soft', 'yes'],
    ['very-soft', 'yes'],
  ] as const)('%s is at least soft: %s', (firmness, expected) => {
    expect(met({ fact: 'workingSoftness', op: 'at-least', value: 'soft' }, firmness)).toBe(expected);
  });

  it('compares words and lists of words', () => {
    expect(met({ fact: 'waterPhase', op: 'one-of', value: ['splitting', 'papery'] }, 'papery')).toBe('yes');
    expect(met({ fact: 'waterPhase', op: 'one-of', value: ['splitting', 'papery'] }, 'growing')).toBe('no');
    expect(met({ fact: 'waterPhase', op: 'none-of', value: ['splitting', 'papery'] }, 'growing')).toBe('yes');
    expect(met({ fact: 'waterPhase', op: 'is-not', value: 'growing' }, 'growing')).toBe('no');
  });

  it('knows seasons that run through the autumn equinox', () => {
    const limits = { season: [[330, 60]] as const };
    const inside: Condition = { fact: 'seasonAngleDeg', op: 'in-season', limit: 'season' };
    expect(met(inside, 350, limits)).toBe('yes');
    expect(met(inside, 30, limits)).toBe('yes');
    expect(met(inside, 61, limits)).toBe('no');
    expect(met({ ...inside, op: 'out-of-season' }, 200, limits)).toBe('yes');
    expect(met({ ...inside, op: 'out-of-season' }, 30, limits)).toBe('no');
  });

  it('knows a season of several windows: inside of one is inside', () => {
    const limits = { season: [[315, 75] as const, [150, 260] as const] };
    const inside: Condition = { fact: 'seasonAngleDeg', op: 'in-season', limit: 'season' };
    expect([330, 200, 100].map((angleDeg) => met(inside, angleDeg, limits))).toEqual(['yes', 'yes', 'no']);
  });

  it('a word that is no grade of firmness is neither more nor less than one', () => {
    for (const op of ['below', 'at-most', 'at-least', 'above'] as const)
      expect(met({ fact: 'workingSoftness', op, value: 'soft' }, 'mushy')).toBe('no');
  });

  it('grades are ranked by their order, not by the alphabet', () => {
    // firm < slightly-soft < soft < very-soft; by the letters slightly-soft would come before soft and firm last but one.
    expect(met({ fact: 'workingSoftness', op: 'below', value: 'firm' }, 'soft')).toBe('no');
    expect(met({ fact: 'workingSoftness', op: 'above', value: 'soft' }, 'very-soft')).toBe('yes');
    expect(met({ fact: 'workingSoftness', op: 'at-most', value: 'slightly-soft' }, 'firm')).toBe('yes');
  });

  it('a word without grades is compared as it is', () => {
    expect(met({ fact: 'waterPhase', op: 'is', value: 'growing' }, 'growing')).toBe('yes');
    expect(met({ fact: 'waterPhase', op: 'is', value: 'growing' }, 'waking')).toBe('no');
    expect(met({ fact: 'waterPhase', op: 'is-not', value: 'growing' }, 'waking')).toBe('yes');
    expect(met({ fact: 'waterPhase', op: 'none-of', value: ['growing', 'waking'] }, 'waking')).toBe('no');
  });

  it('holds for the first and for the last of the declared facts', () => {
    for (const name of [FACT_NAMES[0], FACT_NAMES.at(-1)] as string[]) {
      const condition: Condition = { fact: name, op: 'is', value: 'this' };
      expect(met(condition, 'this')).toBe('yes');
      expect(met(condition, 'that')).toBe('no');
    }
  });
});

describe('what is not known and what is not asked', () => {
  it('is unknown for a missing fact, a null and a NaN', () => {
    const condition: Condition = { fact: 'tonightMinC', op: 'below', value: 8 };
    expect(rowMet(rowOf(condition), sheetOf({}), {})).toBe('unknown');
    expect(met(condition, null)).toBe('unknown');
    expect(met(condition, Number.NaN)).toBe('unknown');
  });

  it('never bites where the limit is not asked, whatever is known', () => {
    const condition: Condition = { fact: 'tonightMinC', op: 'below', limit: 'least' };
    expect(met(condition, -10, { least: null })).toBe('no');
    expect(met(condition, null, { least: null })).toBe('no');
  });

  it('compares a choice made per house with a value', () => {
    const row = rowOf({ choice: 'firm-never', op: 'is', value: true });
    expect(rowMet(row, sheetOf({}), { 'firm-never': true })).toBe('yes');
    expect(rowMet(row, sheetOf({}), { 'firm-never': false })).toBe('no');
  });
});

describe('a sheet of facts', () => {
  it('gives values by name, null for what is unknown, no number, or not declared', () => {
    const sheet = sheetOf(facts({ tonightMinC: 9, tonightMaxC: Number.NaN, signRot: false, dryDays: 0 }));
    expect(
      ['tonightMinC', 'tonightMaxC', 'signRot', 'dryDays', 'depletion', 'sunspots'].map((one) => valueIn(sheet, one)),
    ).toEqual([9, null, false, 0, null, null]);
    // What stands on the sheet behind an undeclared name is of no account: the second fact of all is given here.
    expect(valueIn(sheetOf(facts({ [FACT_NAMES[1] as string]: 7 })), 'sunspots')).toBeNull();
  });

  it('is copied with changes, and stays as it was', () => {
    const sheet = sheetOf(facts({ dryDays: 3, depletion: 0.5 }));
    const changed = changedSheet(sheet, { dryDays: 9, depletion: null, signRot: true });
    expect(['dryDays', 'depletion', 'signRot'].map((one) => valueIn(changed, one))).toEqual([9, null, true]);
    expect(['dryDays', 'depletion', 'signRot'].map((one) => valueIn(sheet, one))).toEqual([3, 0.5, null]);
    expect(changed).toHaveLength(FACT_NAMES.length);
  });
});

describe('the trace of a row', () => {
  it('names the facts that keep it from being settled, and no others', () => {
    const row = rowOf(
      { fact: 'tonightMinC', op: 'below', value: 8 },
      { fact: 'tonightWetHours', op: 'at-least', value: 6 },
      { fact: 'dryDays', op: 'at-least', value: 1 },
    );
    expect(unknownFacts(explainRow(row, sheetOf(facts({ tonightMinC: 5 })), {}))).toEqual([
      'tonightWetHours',
      'dryDays',
    ]);
    expect(
      unknownFacts(explainRow(row, sheetOf(facts({ tonightMinC: 5, tonightWetHours: 7, dryDays: 2 })), {})),
    ).toEqual([]);
  });

  it('is one and the same for batches that have the same facts, condition by condition: thousands share it', () => {
    const row = rowOf(
      { fact: 'tonightMinC', op: 'below', limit: 'min-wet' },
      { fact: 'dryDays', op: 'at-least', value: 6 },
    );
    const limits = { 'min-wet': 5 };
    const first = explainRow(row, sheetOf(facts({ tonightMinC: 9, dryDays: 7 })), limits);
    expect(explainRow(row, sheetOf(facts({ tonightMinC: 9, dryDays: 7 })), limits)).toBe(first);
    // A drier pot in the same house: the half that is the same is shared, and what was said before stays true.
    const other = explainRow(row, sheetOf(facts({ tonightMinC: 9, dryDays: 2 })), limits);
    expect(other).not.toBe(first);
    expect(other.conditions[0]).toBe(first.conditions[0]);
    expect(other.conditions[1]).toMatchObject({ actual: 2, met: 'no' });
    expect(first.conditions[1]).toMatchObject({ actual: 7, met: 'yes' });
    // The same facts held against another limit are another matter.
    const stricter = explainRow(row, sheetOf(facts({ tonightMinC: 9, dryDays: 2 })), { 'min-wet': 10 });
    expect(stricter.conditions[0]).toMatchObject({ actual: 9, limit: 10, met: 'yes' });
    expect(stricter.met).toBe('no');
    expect(other.conditions[0]).toMatchObject({ limit: 5, met: 'no' });
  });

  it('shows a choice without a unit, with the limit it stands for', () => {
    const row = rowOf({ choice: 'firm-never', op: 'is', value: true });
    expect(explainRow(row, sheetOf({}), { 'firm-never': true })).toEqual({
      table: 'safety',
      row: 'row',
      met: 'yes',
      conditions: [{ fact: 'firm-never', op: 'is', limit: true, unit: '', actual: true, met: 'yes' }],
    });
    // A choice that was never made is not known.
    expect(explainRow(row, sheetOf({}), {}).met).toBe('unknown');
  });

  it('holds every condition with actual value, limit and unit, also after a no', () => {
    const row = rowOf(
      { fact: 'tonightMinC', op: 'below', limit: 'min-wet' },
      { fact: 'tonightWetHours', op: 'at-least', value: 6 },
    );
    expect(explainRow(row, sheetOf(facts({ tonightMinC: 9 })), { 'min-wet': 5 })).toEqual({
      table: 'safety',
      row: 'row',
      met: 'no',
      conditions: [
        { fact: 'tonightMinC', op: 'below', limit: 5, unit: '°C', actual: 9, met: 'no' },
        { fact: 'tonightWetHours', op: 'at-least', limit: 6, unit: 'h', actual: null, met: 'unknown' },
      ],
    });
  });
});
