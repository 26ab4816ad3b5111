import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { parse } from 'yaml';
import { ALERT_KINDS } from '../../src/domain/alerts.js';
import {
  ALERT_LIMIT_NAMES,
  ALERT_LIMITS,
  type AlertLimit,
  alertLimitProblems,
  alertLimitsOf,
  isAlertLimit,
} from '../../src/models/alert-limits.js';

const entries = ALERT_LIMIT_NAMES.map((name): [string, AlertLimit] => [name, ALERT_LIMITS[name]]);

it.each(entries)('%s has a default within its bounds, a customary range, a reason and a source', (_, limit) => {
  const [low, high] = limit.bounds;
  const [from, to] = limit.customary;
  expect(limit.default).toBeGreaterThanOrEqual(low);
  expect(limit.default).toBeLessThanOrEqual(high);
  expect(from).toBeGreaterThanOrEqual(low);
  expect(to).toBeLessThanOrEqual(high);
  expect(from).toBeLessThan(to);
  expect(limit.reason).toMatch(/\.$/);
  expect(limit.source.length).toBeGreaterThan(10);
  expect(limit.unit.length).toBeGreaterThan(0);
  if (limit.notAbove !== undefined) expect(isAlertLimit(limit.notAbove)).toBe(true);
});

it('every kind of alert has a limit', () => {
  expect(new Set(entries.map(([, { kind }]) => kind))).toEqual(new Set(ALERT_KINDS));
});

it('the usual values pass their own check, and none of them crosses another', () => {
  expect(alertLimitProblems(alertLimitsOf())).toEqual([]);
});

it('frost, wet nights and burning have the values of the default rulebook, so that list and alert agree', () => {
  const file = new URL('../../config/rulebook/default.yaml', import.meta.url);
  const { limits } = parse(readFileSync(file, 'utf8')) as { limits: { name: string; default: number }[] };
  const ruled = (name: string) => limits.find((limit) => limit.name === name)?.default;
  const usual = alertLimitsOf();
  expect(usual.frostBelowC).toBe(ruled('frost-heat'));
  expect(usual.frostMoistBelowC).toBe(ruled('frost-moist'));
  expect(usual.wetNightHours).toBe(ruled('wet-night-hours'));
  expect(usual.burnLeafC).toBe(ruled('burn-leaf'));
});

it('takes the own values of a house, and the usual ones where it has none', () => {
  const limits = alertLimitsOf({ frostBelowC: 3 });
  expect(limits.frostBelowC).toBe(3);
  expect(limits.hotDayC).toBe(35);
});

it('the hour of the list is a whole one, as it is said', () => {
  expect(alertLimitProblems({ listDoneByHour: 10.5 })).toMatchObject([
    { path: '/alertLimits/listDoneByHour', expected: 'a whole number, 5 to 23 h' },
  ]);
});

it('passes over own values that are not known or out of bounds: they must not switch an alert off', () => {
  expect(alertLimitsOf({ frostBelowC: -40, hotDayC: Number.NaN, oldName: 3 })).toEqual(alertLimitsOf());
});

it('says what is wrong with own values, and names the nearest limit', () => {
  expect(alertLimitProblems({ frostBellowC: 3, hotDayC: 80, hotDaysOfThree: 1.5, diskFreeMb: 'much' })).toEqual([
    {
      path: '/alertLimits/frostBellowC',
      expected: 'the name of a limit of the alerts',
      got: '"frostBellowC"',
      mend: 'Did you mean frostBelowC?',
    },
    { path: '/alertLimits/hotDayC', expected: 'a number, 24 to 50 °C', got: '80' },
    { path: '/alertLimits/hotDaysOfThree', expected: 'a whole number, 1 to 3 days', got: '1.5' },
    { path: '/alertLimits/diskFreeMb', expected: 'a whole number, 250 to 1000000 MB', got: '"much"' },
  ]);
});

it('refuses values that turn a pair round, also against the usual one', () => {
  expect(alertLimitProblems({ hotClearPct: 60 })).toEqual([
    {
      path: '/alertLimits/hotClearPct',
      expected: 'hotClearPct not above hotTellPct',
      got: '60 and 40 %',
      mend: 'Change both of them together.',
    },
  ]);
  expect(alertLimitProblems({ frostMoistBelowC: 1 })[0]?.path).toBe('/alertLimits/frostMoistBelowC');
  expect(alertLimitProblems({ hotClearPct: 60, hotTellPct: 70 })).toEqual([]);
});
