import { describe, expect, it } from 'vitest';
import { type LimitView, limitsView, settingsChanges } from '../../src/advice/limits-view.js';
import { catalogueEntry } from '../../src/domain/catalogue.js';
import type { HouseSettings, SetLimit } from '../../src/domain/house-settings.js';
import { settingInWords } from '../../src/rules/words.js';
import { CATALOGUE, RULEBOOK } from '../support/nursery.js';

const settings = (revision: number, limits: readonly SetLimit[], more: Partial<HouseSettings> = {}): HouseSettings => ({
  siteId: 'home',
  houseId: 'north',
  revision,
  at: revision * 1000,
  by: revision % 2 === 0 ? 'Ben' : 'Ada',
  why: `reason ${revision}`,
  limits,
  alertLimits: {},
  tasksOff: [],
  ...more,
});
type Asked = Parameters<typeof limitsView>[4];
const viewed = (limits: readonly SetLimit[] = [], asked: Asked = {}, history?: readonly HouseSettings[]) => {
  const now = history?.[0] ?? settings(1, limits);
  return limitsView(RULEBOOK, CATALOGUE, now, history ?? [now], asked);
};
const limitOf = (name: string, ...of: Parameters<typeof viewed>): LimitView => {
  const found = viewed(...of)
    .sections.flatMap(({ limits }) => limits)
    .find(({ limit }) => limit.name === name);
  if (!found) throw new Error(`no limit ${name}`);
  return found;
};
const group = (id: string) => catalogueEntry('species group', CATALOGUE.speciesGroups, id);

describe('the limits of a house', () => {
  it('are all there, once, under a heading, with label, reason and source', () => {
    const { sections, rulebookRevision, leftOut } = viewed();
    const all = sections.flatMap(({ limits }) => limits);
    expect(all.map(({ limit }) => limit.name).sort()).toEqual([...RULEBOOK.limits.keys()].sort());
    expect(sections.every(({ limits, heading }) => limits.length > 0 && heading !== '')).toBe(true);
    expect(new Set(all.map(({ limit }) => limit.label)).size).toBe(all.length);
    expect(all.every(({ source }) => source.length > 10)).toBe(true);
    expect([rulebookRevision, leftOut]).toEqual([RULEBOOK.revision, []]);
  });

  it('say what is usual for the plants asked about, and what holds', () => {
    expect(limitOf('wet-night-hours')).toMatchObject({ usual: [6], now: [6], differs: false, own: [] });
    const own = [{ name: 'min-wet', group: 'conophytum', value: 9 }];
    const usual = group('conophytum').climate.minSafeWetC;
    expect(limitOf('min-wet', own, { groups: ['conophytum'] })).toMatchObject({
      usual: [usual],
      now: [9],
      differs: true,
      own: [{ name: 'min-wet', group: 'conophytum', value: 9, revision: 1, by: 'Ada', why: 'reason 1', at: 1000 }],
    });
    expect(limitOf('min-wet', own, { groups: ['echeveria'] })).toMatchObject({ differs: false });
    const all = CATALOGUE.speciesGroups.map(({ climate }) => climate.minSafeWetC);
    const known = [...new Set(all)].sort((a, b) => a - b);
    expect(limitOf('min-wet', own)).toMatchObject({ usual: known, now: [...known, 9] });
  });

  it('tell phases and drinks apart', () => {
    expect(limitOf('rescue', [], { groups: ['conophytum'], phase: 'growing' }).usual).toEqual([false]);
    expect(limitOf('rescue', [], { groups: ['conophytum'], phase: 'dormant-warm' }).usual).toEqual([true]);
    const gaps = group('conophytum').water.phases['dormant-cold']?.options.map(({ gapDays }) => gapDays) ?? [];
    const view = limitOf('drink-gap', [], { groups: ['conophytum'], phase: 'dormant-cold' });
    expect(view).toMatchObject({ perDrink: true, usual: [...new Set(gaps)].sort((a, b) => a - b) });
    expect(limitOf('drink-softness').usual.at(-1)).toBeNull();
  });

  it('stand as equal to the usual where the own value is the usual one', () => {
    expect(limitOf('wet-night-hours', [{ name: 'wet-night-hours', value: 6 }])).toMatchObject({
      differs: false,
      own: [{ value: 6 }],
    });
  });

  it('name the revision that put a value in force, also after going back', () => {
    const [nine, ten] = [[{ name: 'drink-gap', value: 9 }], [{ name: 'drink-gap', value: 10 }]];
    const history = [settings(5, nine), settings(4, nine), settings(3, ten), settings(2, nine), settings(1, [])];
    expect(limitOf('drink-gap', [], {}, history).own).toMatchObject([{ revision: 4, by: 'Ben', why: 'reason 4' }]);
  });

  it('have those of the alerts beside them', () => {
    const history = [1, 2].map((revision) => settings(3 - revision, [], { alertLimits: { frostBelowC: 3 } }));
    const { alerts } = viewed([], {}, history);
    expect(alerts.find(({ name }) => name === 'frostBelowC')).toMatchObject({
      limit: { label: 'Night minimum below which heat goes on', default: 2 },
      now: 3,
      differs: true,
      own: { value: 3, revision: 1, by: 'Ada' },
    });
    expect(alerts.filter(({ differs, own }) => differs || own)).toHaveLength(1);
  });

  it('leave apart what the present rulebook does not know or take', () => {
    const view = viewed([
      { name: 'drink-gap', value: 500 },
      { name: 'gone', value: 1 },
      { name: 'dull-days', value: 3 },
    ]);
    expect(view.leftOut.map(({ name }) => name)).toEqual(['drink-gap', 'gone']);
    const gap = view.sections.flatMap(({ limits }) => limits).find(({ limit }) => limit.name === 'drink-gap');
    expect(gap).toMatchObject({ differs: false, own: [] });
  });
});

it('a revision is told in words against the one before', () => {
  const before = settings(
    1,
    [
      { name: 'drink-gap', value: 9 },
      { name: 'shade-burn', value: [40, 60] },
    ],
    {
      alertLimits: { frostBelowC: 2 },
      tasksOff: ['feeding'],
    },
  );
  const after = settings(
    2,
    [
      { name: 'drink-gap', group: 'conophytum', phase: 'growing', drink: 'light', value: 1 },
      { name: 'shade-burn', value: [50, 50] },
      { name: 'gone', value: 7 },
    ],
    { alertLimits: { frostBelowC: 3 }, tasksOff: ['sowing'] },
  );
  expect(settingsChanges(RULEBOOK, CATALOGUE, before, after)).toEqual([
    `Dry days before a drink (${group('conophytum').name}, growing, light drink): 1 day instead of the usual.`,
    'Dry days before a drink: the usual instead of 9 days.',
    'gone: 7 instead of the usual.',
    'Cloth when leaves come near burning: 50 % instead of 40 to 60 %.',
    'Night minimum below which heat goes on: 3 °C instead of 2 °C.',
    'Task sowing: no longer shown.',
    'Task feeding: shown again.',
  ]);
  expect(settingsChanges(RULEBOOK, CATALOGUE, after, after)).toEqual([]);
});

it.each([
  ['number', '°C', 12.25, '12.25 °C'],
  ['number', 'days', 1, '1 day'],
  ['flag', '', true, 'yes'],
  ['word', '', 'very-soft', 'very soft'],
  ['number', '°C', null, 'not asked'],
  ['band', '%', [30, 50], '30 to 50 %'],
  [
    'season',
    '',
    [
      [330, 60],
      [90, 120],
    ],
    '330° to 60°, and 90° to 120°',
  ],
] as const)('a %s in %s set to %j reads %s', (kind, unit, value, words) => {
  expect(settingInWords({ kind, unit }, value)).toBe(words);
});
