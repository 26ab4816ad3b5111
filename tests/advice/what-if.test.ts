import { describe, expect, it } from 'vitest';
import { caseFailures, whatIf } from '../../src/advice/what-if.js';
import { LeafturnError, type Problem } from '../../src/domain/errors.js';
import { factsSchema } from '../../src/domain/facts.js';
import { pointerText } from '../../src/domain/problems.js';
import { context, rulebook } from '../rules/support.js';

const thirsty = {
  group: 'faucaria',
  on: { latitude: 51, date: '2027-05-05' },
  plant: { phase: 'growing', firmness: 'soft' },
  pot: { dryDays: 6 },
  house: { recent: { nightMin: 11, dayMax: 23, dli: 22 }, tonight: { min: 11, wetHours: 0 } },
};
const problemsOf = (body: unknown): readonly Problem[] => {
  try {
    whatIf(body, { ...context, pathForm: pointerText });
  } catch (error) {
    if (error instanceof LeafturnError) return error.problems;
    throw error;
  }
  return [];
};

describe('the answer to a what-if', () => {
  it('carries the verdict, the reason, the facts and the whole trace', () => {
    const answer = whatIf(thirsty, context);
    expect(answer).toMatchObject({
      amount: 'full',
      postponed: false,
      shade: 'none',
      light: 'steady',
      inspect: false,
      alerts: [],
      window: 'by-10',
      vetoes: [],
      decidedBy: { table: 'phase', row: 'growing' },
    });
    expect(answer.sentence).toBe(
      'A full drink, about 45 mL a pot, done by 10 o’clock sun time. The pot has been dry for 6 days.',
    );
    expect(factsSchema.safeParse(answer.facts).success).toBe(true);
    const rows = rulebook.file.tables.flatMap((table) => table.rows.map((row) => `${table.id}/${row.id}`));
    expect(new Set(answer.trace.map((row) => `${row.table}/${row.row}`)).size).toBeGreaterThanOrEqual(rows.length);
  });

  it('is the same when asked twice, and another when the house has a limit of its own', () => {
    expect(whatIf(thirsty, context)).toEqual(whatIf(thirsty, context));
    const own = whatIf(thirsty, { ...context, overrides: [{ name: 'drink-gap', group: 'faucaria', value: 9 }] });
    expect(own.amount).toBe('none');
    expect(own.sentence).toBe('Dry. The pot has been dry for 6 days; it should be at least 9 days.');
    expect(own.revision).not.toBe(whatIf(thirsty, context).revision);
  });

  it('says when the change is expected', () => {
    const answer = whatIf({ ...thirsty, pot: { dryDays: 1 } }, context);
    expect(answer.nearestChange).toEqual({
      amount: 'full',
      sentence: 'Becomes a full drink when the pot has been dry for 3 days, in about 2 days.',
      fact: 'dryDays',
      expectedOn: '2027-05-07',
    });
  });

  it('says until when a drink is put off', () => {
    const house = { ...thirsty.house, ahead: { dli: [5, 4, 5, 15] } };
    const answer = whatIf({ ...thirsty, house }, context);
    expect(answer).toMatchObject({ amount: 'none', postponed: true, postponedUntil: '2027-05-08' });
    expect(answer.vetoes).toEqual(['climate/dull-days-ahead']);
    expect(answer.sentence).toMatch(/^Not today\. Dull days are coming.*It would be a full drink\.$/);
  });

  it('splits a full drink where the group asks for it', () => {
    const answer = whatIf(
      { ...thirsty, group: 'lapidaria', plant: { phase: 'growing', oldPair: 'soft' }, pot: { dryDays: 12 } },
      context,
    );
    expect(answer).toMatchObject({ amount: 'full', mlPerPot: 7, doses: { count: 2, gapDays: 5 } });
  });

  it('pours by the pot: 1.5 mm over it for a light drink, refilled for a full one', () => {
    // Computed frusta: a 5 cm square pot has 23 cm², a 10 cm square one 94 cm²; 1.5 mm are 3.5 and 14.1 mL.
    const light = { ...thirsty, plant: { phase: 'growing', firmness: 'soft', repottedDaysAgo: 10 } };
    const ml = (pot: string): number => whatIf({ ...light, pot: { dryDays: 6, pot } }, context).mlPerPot;
    expect(ml('square-5cm-plastic')).toBe(3);
    expect(ml('square-7cm-plastic')).toBe(7);
    expect(ml('square-10cm-plastic')).toBe(15);
    const full = whatIf({ ...thirsty, pot: { dryDays: 6, pot: 'square-10cm-plastic' } }, context).mlPerPot;
    expect(full).toBeGreaterThanOrEqual(100);
    expect(full).toBeLessThanOrEqual(150);
  });
});

describe('what is left out', () => {
  it('is unknown, and null means the same', () => {
    const without = whatIf({ group: 'faucaria', on: thirsty.on }, context);
    expect(without.amount).toBe('none');
    const nulls = whatIf(
      { group: 'faucaria', on: thirsty.on, plant: null, pot: { dryDays: null }, house: { recent: { dli: null } } },
      context,
    );
    expect(nulls.sentence).toBe(without.sentence);
  });

  it.each(['tonight', 'recent'] as const)('never becomes water: %s', (part) => {
    const { [part]: _, ...house } = thirsty.house;
    expect(whatIf({ ...thirsty, house }, context)).toMatchObject({ amount: 'none', postponed: false });
  });

  it('is worked out where it can be: wet hours of a night too warm or too cold for them', () => {
    const house = { ...thirsty.house, tonight: { min: 5.5, max: 8 } };
    expect(whatIf({ ...thirsty, house }, context).facts.tonightWetHours).toMatchObject({
      value: 0,
      certainty: 'estimated',
    });
  });

  it('asks for a look when a leaf-pair change has no stage and it matters', () => {
    const body = {
      ...thirsty,
      group: 'lithops-summer-rain',
      on: { latitude: 51, date: '2027-04-08' },
      plant: { phase: 'leaf-replacement', newPair: 'slightly-soft' },
      pot: { dryDays: 30 },
    };
    expect(whatIf(body, context)).toMatchObject({ amount: 'none', inspect: true });
  });
});

describe('bad input', () => {
  it('gets every mistake at once, with pointer and the nearest word', () => {
    const problems = problemsOf({
      ...thirsty,
      plant: { phase: 'growin', firmness: 'soft', colour: 'green' },
      pot: { dryDays: -1 },
      house: { tonight: { min: '9' } },
    });
    expect(problems.map((problem) => problem.path).sort()).toEqual([
      '/house/tonight/min',
      '/plant/colour',
      '/plant/phase',
      '/pot/dryDays',
    ]);
    expect(problems.find((problem) => problem.path === '/plant/phase')?.mend).toBe('Did you mean growing?');
  });

  it.each([
    ['an unknown group', { ...thirsty, group: 'cactus' }, '/group'],
    ['a day that does not exist', { ...thirsty, on: { latitude: 51, date: '2027-02-30' } }, '/on/date'],
    ['a latitude off the earth', { ...thirsty, on: { latitude: 95, date: '2027-02-20' } }, '/on/latitude'],
    ['a stage outside leaf replacement', { ...thirsty, plant: { phase: 'growing', stage: 'papery' } }, '/plant/stage'],
    ['NaN', { ...thirsty, pot: { dryDays: Number.NaN } }, '/pot/dryDays'],
    ['no object at all', 'soft', ''],
  ])('%s', (_, body, path) => {
    const problems = problemsOf(body);
    expect(problems.map((problem) => problem.path)).toContain(path);
    for (const problem of problems) expect(problem.expected.length).toBeGreaterThan(3);
  });
});

describe('comparing an answer with what a case expects', () => {
  const answer = whatIf({ ...thirsty, plant: { ...thirsty.plant, signs: ['scorched'] } }, context);

  it('says what differs', () => {
    expect(
      caseFailures(
        { amount: 'none', postponed: true, shade: 'none', light: 'none', inspect: true, alert: 'frost' },
        answer,
      ),
    ).toEqual([
      'amount: expected none, got full',
      'postponed: expected true, got false',
      'light: expected steady, got ramp',
      'inspect: expected true, got false',
      'alert: expected frost, got none',
      'shade: expected none, got 30-50 %',
    ]);
  });

  it('accepts any band inside the one expected', () => {
    expect(caseFailures({ shade: { min: 20, max: 60 } }, answer)).toEqual([]);
    expect(caseFailures({ shade: { min: 35, max: 60 } }, answer)).toHaveLength(1);
    expect(caseFailures({ shade: { min: 20, max: 45 } }, answer)).toHaveLength(1);
  });
});
