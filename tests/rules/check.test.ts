import { describe, expect, it } from 'vitest';
import type { Catalogue, SpeciesGroup } from '../../src/domain/catalogue.js';
import { problemLine } from '../../src/domain/errors.js';
import { checkRules } from '../../src/rules/check.js';
import { parseRulebook } from '../../src/rules/rulebook.js';
import type { Condition, LimitDeclaration, Row, RulebookFile } from '../../src/rules/schema.js';
import { limitOf, rowOf, smallFile, using } from './small-file.js';

/** As much of a group as limits are taken from; it drinks in growth only. */
const group = (id: string, more: object = {}): SpeciesGroup =>
  ({
    id,
    name: `Name of ${id}`,
    climate: { minSafeWetC: 4 },
    light: { shadeWhen: [] },
    water: {
      phases: {
        growing: {
          options: [
            { amount: 'full', gapDays: 7 },
            { amount: 'light', gapDays: 14 },
          ],
          atMost: 'full',
          note: 'As it dries.',
        },
      },
    },
    ...more,
  }) as unknown as SpeciesGroup;

const findings = (file: RulebookFile, groups: SpeciesGroup[] = [group('stone'), group('shell')]): string[] => {
  const result = parseRulebook(file);
  if (!result.ok) throw new Error(result.problems.map(problemLine).join('\n'));
  return checkRules(result.rulebook, { speciesGroups: groups, general: {} } as unknown as Catalogue).map(problemLine);
};

const SHEATHED: Condition = { fact: 'sheathed', op: 'is', value: true };
const BARE: Condition = { fact: 'sheathed', op: 'is', value: false };
const LOOK = { inspect: true } as const;
const CELSIUS: Partial<LimitDeclaration> = { unit: '°C', bounds: [-20, 40] };

it('finds nothing in a small rulebook whose rows can all apply', () => {
  expect(findings(smallFile())).toEqual([]);
});

describe('a species group that the catalogue does not have', () => {
  it('is told where a limit has a value for it', () => {
    const set = [
      { group: 'stone', value: 1 },
      { phase: 'waking', value: 1 },
      { group: 'ston', value: 1 },
      { group: 'something-else', value: 1 },
    ];
    expect(findings(smallFile([limitOf('one', { set })], using('one')))).toEqual([
      'limits[9].set[2].group: expected a species group of the catalogue (limit one), got "ston". Did you mean stone?',
      'limits[9].set[3].group: expected a species group of the catalogue (limit one), got "something-else". Correct the name or take it out.',
    ]);
  });

  it('is told where a row goes by it, one or several', () => {
    const rows = [
      rowOf('one', LOOK, { fact: 'group', op: 'is', value: 'stone' }),
      rowOf('several', LOOK, SHEATHED, { fact: 'group', op: 'none-of', value: ['shell', 'shel', 'stone'] }),
      rowOf('house', LOOK, { fact: 'houseId', op: 'is', value: 'north' }),
    ];
    expect(findings(smallFile([], { pot: rows }))).toEqual([
      'tables[1].rows[1].when[1].value: expected a species group of the catalogue (row pot/several), got "shel". Did you mean shell?',
    ]);
  });
});

describe('a value of the catalogue outside the bounds of its limit', () => {
  it('is told once, with the first group and phase it holds in', () => {
    const limits = [
      limitOf('one'),
      limitOf('wet', { unit: '°C', bounds: [5, 15], default: 6, from: 'climate.minSafeWetC' }),
    ];
    const groups = [group('stone', { climate: { minSafeWetC: 5 } }), group('shell'), group('pebble')];
    expect(findings(smallFile(limits, using('one', 'wet')), groups)).toEqual([
      'limits[10]: expected 5 to 15 °C (limit wet, for Name of shell, growing), got 4. Mend the catalogue, or widen the bounds of the limit.',
    ]);
  });

  it('is told of a drink, with the drink', () => {
    expect(findings(smallFile([limitOf('gap', { from: 'drink.gapDays' })], using('gap')))).toEqual([
      'limits[9]: expected 0 to 10 days (limit gap, for Name of stone, growing, light drink), got 14. Mend the catalogue, or widen the bounds of the limit.',
    ]);
  });

  it('is in the words of a phase', () => {
    const limit = limitOf('one', { default: null, from: 'rest.days' });
    const resting = group('stone', { rest: { days: 11 }, water: { phases: {} } });
    const set = (['growing', 'flowering', 'seed-set'] as const).map((phase) => ({ phase, value: 1 }));
    expect(findings(smallFile([{ ...limit, set }], using('one')), [resting, group('shell')])).toEqual([
      'limits[9]: expected 0 to 10 days (limit one, for Name of stone, forming a new pair), got 11. Mend the catalogue, or widen the bounds of the limit.',
    ]);
  });
});

describe('a lower limit above its upper one', () => {
  it('is told once each, where it first comes about', () => {
    const limits = [
      limitOf('day', { ...CELSIUS, default: 3, set: [{ group: 'stone', value: 9 }] }),
      limitOf('night', { ...CELSIUS, default: 2, notAbove: 'day', from: 'climate.minSafeWetC' }),
      limitOf('wet', { ...CELSIUS, default: 4, notAbove: 'day' }),
      limitOf('cold', { ...CELSIUS, default: 1, notAbove: 'night' }),
    ];
    expect(findings(smallFile(limits, using('day', 'night', 'wet', 'cold')))).toEqual([
      'limits[10]: expected night not above day (for Name of shell, growing), got 4 °C and 3 °C. Mend the catalogue or the limits.',
      'limits[11]: expected wet not above day (for Name of shell, growing), got 4 °C and 3 °C. Mend the catalogue or the limits.',
    ]);
  });

  it('is told of a drink, with the drink', () => {
    const limits = [
      limitOf('gap', { bounds: [0, 20], from: 'drink.gapDays', notAbove: 'most' }),
      limitOf('most', { default: 10 }),
    ];
    expect(findings(smallFile(limits, using('gap', 'most')))).toEqual([
      'limits[9]: expected gap not above most (for Name of stone, growing, light drink), got 14 days and 10 days. Mend the catalogue or the limits.',
    ]);
  });
});

describe('a row that can never apply', () => {
  const season = (windows: [number, number][]) => windows as unknown as LimitDeclaration['default'];
  const LIMITS = [
    limitOf('days', { default: null, set: [{ phase: 'waking', value: 3 }] }),
    limitOf('never-asked', { default: null }),
    limitOf('body', {
      kind: 'word',
      words: ['working', 'new-pair', 'older-pair'],
      default: 'working',
      set: [{ group: 'shell', phase: 'papery', value: 'new-pair' }],
    }),
    limitOf('autumn', { kind: 'season', default: season([[330, 60]]) }),
    limitOf('spring', {
      kind: 'season',
      default: season([
        [150, 170],
        [200, 220],
      ]),
    }),
    limitOf('late', { kind: 'season', default: season([[205, 215]]) }),
    limitOf('gap', { default: null, bounds: [0, 20], from: 'drink.gapDays' }),
    limitOf('worth', { unit: '', default: 3 }),
    limitOf('hot', { unit: '°C', bounds: [0, 100], default: 80 }),
    limitOf('cold', { unit: '°C', bounds: [-100, 0], default: -50 }),
  ];
  const NAMES = LIMITS.map(({ name }) => name);
  const tried = (step: 'pot' | 'policy', ...when: Condition[]) =>
    findings(
      smallFile(LIMITS, { ...using(...NAMES), [step]: [rowOf('first', LOOK, SHEATHED), rowOf('new', LOOK, ...when)] }),
    );
  const never = (place: string, name: string) =>
    `${place}: expected conditions that can hold together (row ${name}), got a row that can never apply, in any group and phase. Look for limits that cross, a range turned round, or a choice no group makes.`;
  const night = (op: Condition['op'], value: number): Condition => ({ fact: 'tonightMinC', op, value });
  const phase = (op: Condition['op'], value: string | string[]): Condition => ({ fact: 'waterPhase', op, value });
  const firmness = (op: Condition['op'], value: string): Condition => ({ fact: 'firmness', op, value });
  const of = (op: Condition['op'], value: string | string[]): Condition => ({ fact: 'group', op, value });
  const angle = (op: Condition['op'], limit: string): Condition => ({ fact: 'seasonAngleDeg', op, limit });
  const dry = (op: Condition['op'], limit: string): Condition => ({ fact: 'dryDays', op, limit });
  const body = (op: Condition['op'], value: string): Condition => ({ choice: 'body', op, value });

  it.each<Condition[][]>([
    [[night('below', -39)]],
    // The ends of what a night can be: -40 and 70 °C.
    [[night('at-most', -40)]],
    [[night('at-least', 70)]],
    [[night('above', 69)]],
    [[night('at-most', 5), night('at-least', 5)]],
    [[night('above', 5), night('below', 6)]],
    // Sorted as numbers: 9, then 10.
    [[night('above', 9), night('below', 10)]],
    [[night('below', 10), night('above', 9)]],
    [[night('above', 5), night('below', 6), night('below', 20), night('above', -20)]],
    [[phase('is', 'waking')]],
    [[phase('is-not', 'waking'), phase('one-of', ['waking', 'growing'])]],
    [[SHEATHED, phase('is', 'waking'), night('below', 5)]],
    [[BARE]],
    // The first of all facts.
    [[{ fact: 'day', op: 'is', value: '2027-01-01' }]],
    [[firmness('at-least', 'very-soft')]],
    [[firmness('above', 'firm'), firmness('below', 'soft')]],
    [[of('is', 'stone')]],
    [[of('is-not', 'stone'), of('is-not', 'shell')]],
    [[of('one-of', ['stone', 'shell']), of('is-not', 'stone')]],
    [[{ fact: 'houseId', op: 'is', limit: 'body' }]],
    [[angle('in-season', 'autumn')]],
    [[angle('out-of-season', 'autumn')]],
    [[angle('in-season', 'spring'), angle('in-season', 'late')]],
    [[angle('in-season', 'spring'), angle('out-of-season', 'late')]],
    [[dry('at-least', 'days')]],
    [[body('is', 'working')]],
    [[body('is', 'new-pair')]],
    [[body('is', 'new-pair'), SHEATHED]],
    // The limit and the fact of one name are two things.
    [
      [
        { choice: 'worth', op: 'is', value: 3 },
        { fact: 'worth', op: 'above', value: 5 },
      ],
    ],
  ])('is not one with %j', (when) => {
    expect(tried('pot', ...when)).toEqual([]);
  });

  it.each<Condition[][]>([
    [[night('below', -40)]],
    [[night('above', 70)]],
    [[night('below', 5), night('at-least', 5)]],
    [[night('below', 3), night('above', 6)]],
    [[phase('is', 'waking'), phase('is', 'growing')]],
    [[phase('is', 'waking'), phase('is-not', 'waking')]],
    [[SHEATHED, BARE]],
    [
      [
        { fact: 'day', op: 'is', value: '2027-01-01' },
        { fact: 'day', op: 'is', value: '2027-01-02' },
      ],
    ],
    // Limits may be set further than a night can ever go.
    [[{ fact: 'tonightMinC', op: 'at-least', limit: 'hot' }]],
    [[{ fact: 'tonightMinC', op: 'at-most', limit: 'cold' }]],
    [[SHEATHED, night('below', 3), night('above', 6)]],
    [[night('below', 3), night('above', 6), SHEATHED]],
    [[firmness('above', 'very-soft')]],
    [[firmness('below', 'firm')]],
    [[of('is', 'stone'), of('is', 'shell')]],
    [[of('one-of', ['stone']), of('none-of', ['stone'])]],
    [[angle('in-season', 'autumn'), angle('out-of-season', 'autumn')]],
    [[angle('in-season', 'autumn'), angle('in-season', 'spring')]],
    [[dry('at-least', 'never-asked')]],
    // Asked of drinks only, which this table is not walked for.
    [[dry('at-least', 'gap')]],
    [[body('is', 'older-pair')]],
    [[body('is', 'older-pair'), SHEATHED]],
    // The one is so in the papery phase, the other while waking.
    [[body('is', 'new-pair'), dry('at-least', 'days')]],
  ])('is one with %j', (when) => {
    expect(tried('pot', ...when)).toEqual([never('tables[1].rows[1]', 'pot/new')]);
  });

  it('is told with its table and place, in a table asked drink by drink too', () => {
    expect(tried('policy', dry('below', 'gap'))).toEqual([]);
    expect(tried('policy', night('above', 70))).toEqual([never('tables[3].rows[1]', 'policy/new')]);
    // Nothing is drunk while waking, so what is asked in that phase only is never asked of a drink.
    expect(tried('policy', dry('below', 'days'))).toEqual([never('tables[3].rows[1]', 'policy/new')]);
  });
});

describe('a row that says the same twice', () => {
  const told = (...rows: Row[]) => findings(smallFile([], { pot: rows }));

  it('is told with the first of them', () => {
    const other = rowOf('other', LOOK, BARE);
    const again = { ...rowOf('again', LOOK, SHEATHED), because: 'Said in other words.' };
    expect(told(other, rowOf('first', LOOK, SHEATHED), again, rowOf('third', LOOK, SHEATHED))).toEqual([
      'tables[1].rows[2]: expected each row once, got pot/again, the same as first. Take one of them out.',
      'tables[1].rows[3]: expected each row once, got pot/third, the same as first. Take one of them out.',
    ]);
  });

  it('is not one with another condition or another effect', () => {
    expect(
      told(rowOf('one', LOOK, SHEATHED), rowOf('two', { cap: 'none' }, SHEATHED), rowOf('three', LOOK, SHEATHED, BARE)),
    ).toEqual([expect.stringContaining('pot/three')]);
  });
});

describe('a table of which exactly one row must apply', () => {
  const stall = (rows: Row[], limits: LimitDeclaration[] = []) =>
    findings(smallFile(limits, { stall: rows, ...using(...limits.map(({ name }) => name)) }));
  const one = 'tables[2]: expected exactly one row for every case (table stall), got';
  const GAP = 'Add a row for it, or widen one.';
  const OVERLAP = 'Narrow one of the rows.';
  const dry = (op: Condition['op'], value: number): Condition => ({ fact: 'dryDays', op, value });

  it('has no gap', () => {
    expect(stall([rowOf('only', LOOK, SHEATHED)])).toEqual([
      `${one} a gap, e.g. sheathed no (Name of stone, growing). ${GAP}`,
    ]);
  });

  it('has no overlap', () => {
    expect(stall([rowOf('short', LOOK, dry('at-most', 5)), rowOf('long', LOOK, dry('at-least', 5))])).toEqual([
      `${one} an overlap of short and long, e.g. dryDays 5 days (Name of stone, growing). ${OVERLAP}`,
    ]);
    expect(stall([rowOf('short', LOOK, dry('at-most', 5)), rowOf('long', LOOK, dry('above', 5))])).toEqual([]);
  });

  it('has a gap between two values told by one in the middle of them', () => {
    expect(stall([rowOf('short', LOOK, dry('at-most', 4)), rowOf('long', LOOK, dry('at-least', 8))])).toEqual([
      `${one} a gap, e.g. dryDays 6 days (Name of stone, growing). ${GAP}`,
    ]);
  });

  it('is told the first gap and each overlap by itself, with every fact of the case', () => {
    const rows = [
      rowOf('wet', LOOK, dry('below', 5), SHEATHED),
      rowOf('any', LOOK, dry('below', 9)),
      rowOf('dry', LOOK, dry('at-least', 5), dry('below', 7)),
    ];
    expect(stall(rows)).toEqual([
      `${one} an overlap of wet and any, e.g. dryDays 0 days, sheathed yes (Name of stone, growing). ${OVERLAP}`,
      `${one} an overlap of any and dry, e.g. dryDays 5 days, sheathed yes (Name of stone, growing). ${OVERLAP}`,
      `${one} a gap, e.g. dryDays 9 days, sheathed yes (Name of stone, growing). ${GAP}`,
    ]);
  });

  it('has its values in order, however its rows stand', () => {
    const rows = [
      rowOf('short', LOOK, dry('at-most', 4)),
      rowOf('long', LOOK, dry('at-least', 12)),
      rowOf('middle', LOOK, dry('at-least', 8), dry('below', 12)),
    ];
    expect(stall(rows)).toEqual([`${one} a gap, e.g. dryDays 6 days (Name of stone, growing). ${GAP}`]);
  });

  it('has no gap beside the words it knows', () => {
    const rows = [
      rowOf('north', LOOK, { fact: 'houseId', op: 'is', value: 'north' }),
      rowOf('south', LOOK, { fact: 'houseId', op: 'is', value: 'south' }),
    ];
    expect(stall(rows)).toEqual([`${one} a gap, e.g. houseId another (Name of stone, growing). ${GAP}`]);
    expect(
      stall([...rows, rowOf('else', LOOK, { fact: 'houseId', op: 'none-of', value: ['north', 'south'] })]),
    ).toEqual([]);
  });

  it('has no gap where a limit is not asked: what is tried is always known', () => {
    const limits = [
      limitOf('days', { default: null, set: [{ phase: 'waking', value: -1 }], bounds: [-1, 9] }),
      limitOf('house', {
        kind: 'word',
        words: ['east', 'west'],
        default: null,
        set: [{ phase: 'waking', value: 'east' }],
      }),
    ];
    const north: Condition = { fact: 'houseId', op: 'is', value: 'north' };
    const rows = [
      rowOf('all', LOOK, dry('at-least', 0)),
      rowOf('days', LOOK, { fact: 'dryDays', op: 'below', limit: 'days' }, north),
    ];
    expect(stall(rows, limits.slice(0, 1))).toEqual([expect.stringContaining('(row stall/days)')]);
    const houses = [
      rowOf('north', LOOK, north),
      rowOf(
        'east',
        LOOK,
        { fact: 'houseId', op: 'is', limit: 'house' },
        { ...north, op: 'is-not' },
        dry('above', 5000),
      ),
      rowOf('else', LOOK, { ...north, op: 'is-not' }),
    ];
    expect(stall(houses, limits.slice(1))).toEqual([expect.stringContaining('(row stall/east)')]);
  });

  it('is tried with the limits of every group and phase', () => {
    const limits = [
      limitOf('least', { default: 5 }),
      limitOf('most', { default: 5, set: [{ group: 'shell', phase: 'dormant-cold', value: 7 }] }),
    ];
    const rows = [
      rowOf('short', LOOK, { fact: 'dryDays', op: 'below', limit: 'least' }),
      rowOf('long', LOOK, { fact: 'dryDays', op: 'at-least', limit: 'most' }),
    ];
    expect(stall(rows, limits)).toEqual([
      `${one} a gap, e.g. dryDays 5 days (Name of shell, in its cold rest). ${GAP}`,
    ]);
  });

  it('is not too large to be tried', () => {
    const word = (fact: string, op: 'is' | 'is-not'): Condition => ({ fact, op, value: 'waking' });
    const both = (id: string, ...when: Condition[]) => rowOf(id, LOOK, ...when);
    // Nine phases each, eleven cuts with an end and ten middles; two ways for a flag.
    const cuts = Array.from({ length: 11 }, (_, index) => dry('above', index + 1));
    const rows = [
      both('one', word('waterPhase', 'is'), word('secondPhase', 'is'), word('nextPhase', 'is')),
      both('two', { fact: 'tonightMinC', op: 'above', value: 5 }, { fact: 'recentNightMinC', op: 'above', value: 5 }),
      both('three', ...cuts),
      both('four', SHEATHED),
    ];
    expect(stall(rows)).toEqual([
      // 9 × 9 × 9 phases, 3 × 3 nights, 23 values of the dry days and the sheath.
      `tables[2]: expected a table that can be tried out (stall), got ${9 * 9 * 9 * 3 * 3 * 23 * 2} combinations. Split the table or use fewer facts.`,
    ]);
  });

  it('is asked of no other table', () => {
    expect(
      findings(smallFile([], { pot: [rowOf('only', LOOK, SHEATHED), rowOf('more', LOOK, dry('below', 5))] })),
    ).toEqual([]);
  });
});
