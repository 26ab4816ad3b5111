import { describe, expect, it } from 'vitest';
import type { Met } from '../../src/domain/verdict.js';
import { compileRow, explainRow, rowMet, sheetOf } from '../../src/rules/evaluate.js';
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

describe('the trace of a row', () => {
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
