import { describe, expect, it } from 'vitest';
import type { FactValue } from '../../src/domain/verdict.js';
import { capOf, greater, lesser } from '../../src/rules/decide.js';
import type { Condition, Effect, Step } from '../../src/rules/schema.js';
import {
  amounts,
  burst,
  cold,
  decided,
  drink,
  dry,
  FULL_DRINK,
  heat,
  LIGHT_DRINK,
  NO_DRINK,
  rot,
  row,
  smallLimits,
  soft,
} from './small-book.js';

/*
 * The order of a decision and what an unknown does in it, on rulebooks of a row or two. The reasons are those of the
 * owner's rules: unknown never means water, safety and weather have the last word, a look may only lead to what the
 * rules would then give.
 */

describe('amounts', () => {
  it('none is less than light, light less than full', () => {
    expect([lesser('none', 'light'), lesser('full', 'light'), lesser('full', 'full')]).toEqual([
      'none',
      'light',
      'full',
    ]);
    expect([greater('none', 'light'), greater('full', 'light'), greater('none', 'none')]).toEqual([
      'light',
      'full',
      'none',
    ]);
  });
});

describe('what caps a drink', () => {
  const caps = (step: Step) => ({
    [step]: [row('a', { cap: 'light' }, rot), row('b', { cap: 'none' }, burst), row('c', { cap: 'light' }, rot)],
  });

  it.each(['safety', 'pot', 'guard', 'climate'] as const)('%s: the strictest that holds', (step) => {
    expect(decided(caps(step), { signRot: false, signBurst: false }).amount).toBe('full');
    expect(decided(caps(step), { signRot: true, signBurst: false }).amount).toBe('light');
    expect(decided(caps(step), { signRot: true, signBurst: true }).amount).toBe('none');
  });

  it.each(['safety', 'pot', 'guard', 'climate'] as const)(
    '%s: unknown counts as the stricter answer, a look may lift it',
    (step) => {
      expect(amounts(decided(caps(step), { signBurst: false })).slice(0, 2)).toEqual(['light', 'full']);
      expect(amounts(decided(caps(step), { signRot: true })).slice(0, 2)).toEqual(['none', 'light']);
    },
  );

  it('what nobody can see stays the stricter answer after a look too', () => {
    const tables = { guard: [row('a', { cap: 'light' }, cold)] };
    expect(amounts(decided(tables, {}))).toEqual(['light', 'light', 'light']);
    // One of two unknowns can be seen: if it turns out not to hold, the row is gone.
    const both = { guard: [row('a', { cap: 'light' }, cold, rot)] };
    expect(amounts(decided(both, {}))).toEqual(['light', 'full', 'light']);
    expect(amounts(decided(both, { signRot: false }))).toEqual(['full', 'full', 'full']);
  });

  it('a cap may be a limit of the house; one that is not set caps nothing', () => {
    const tables = { climate: [row('a', { cap: { limit: 'most' } }, heat)] };
    const with_ = (most: FactValue | null) =>
      smallLimits({ growing: { drinks: [drink('full')], atMost: 'full', values: { most } } });
    expect(decided(tables, { aheadHotSpell: true }, with_('light')).amount).toBe('light');
    expect(decided(tables, { aheadHotSpell: true }, with_('none')).amount).toBe('none');
    expect(decided(tables, { aheadHotSpell: true }, with_(null)).amount).toBe('full');
    expect(capOf({ cap: 'light' }, {})).toBe('light');
    expect(capOf({ raise: 'light' }, { most: 'none' })).toBeUndefined();
    expect(capOf({ cap: { limit: 'most' } }, { most: 'a drop' })).toBeUndefined();
  });

  it('is kept with what it left, whether it held or is open', () => {
    const { bites } = decided(caps('guard'), { signRot: true });
    expect(bites.map(({ trace, met, cap }) => [trace.table, trace.row, met, cap])).toEqual([
      ['guard', 'a', 'yes', 'light'],
      ['guard', 'b', 'unknown', 'none'],
      ['guard', 'c', 'yes', 'light'],
    ]);
  });
});

describe('what raises a drink', () => {
  const rescue = { rescue: [row('sunken', { raise: 'full' }, soft)] };

  it('counts only where it surely applies; a look may bring it', () => {
    expect(amounts(decided(rescue, { workingSoftness: 'soft' }, LIGHT_DRINK))).toEqual(['full', 'full', 'full']);
    expect(amounts(decided(rescue, { workingSoftness: 'firm' }, LIGHT_DRINK))).toEqual(['light', 'light', 'light']);
    expect(amounts(decided(rescue, {}, LIGHT_DRINK))).toEqual(['light', 'full', 'light']);
  });

  it('a look does not bring what hangs on the weather too', () => {
    const tables = { rescue: [row('sunken', { raise: 'full' }, soft, cold)] };
    expect(amounts(decided(tables, {}, LIGHT_DRINK))).toEqual(['light', 'light', 'light']);
    expect(amounts(decided(tables, { tonightMinC: 3 }, LIGHT_DRINK))).toEqual(['light', 'full', 'light']);
  });

  it('goes no further than the phase allows', () => {
    expect(amounts(decided(rescue, { workingSoftness: 'soft' }, NO_DRINK))).toEqual(['light', 'light', 'light']);
    const strict = smallLimits({ growing: { drinks: [], atMost: 'none' } });
    expect(amounts(decided(rescue, { workingSoftness: 'soft' }, strict))).toEqual(['none', 'none', 'none']);
  });

  it('is asked after what the phase gives, by the amount it gives', () => {
    const policyIs = (value: string): Condition => ({ fact: 'policyAmount', op: 'is', value });
    const tables = {
      rescue: [
        row('from-none', { raise: 'light' }, policyIs('none')),
        row('from-light', { raise: 'full' }, policyIs('light')),
      ],
    };
    expect(decided(tables, {}, LIGHT_DRINK).amount).toBe('full');
    expect(decided(tables, {}, NO_DRINK).amount).toBe('light');
  });

  it('is named where it gave more than there was, and only there', () => {
    expect(decided(rescue, { workingSoftness: 'soft' }, LIGHT_DRINK).raisedBy?.trace.row).toBe('sunken');
    expect(decided(rescue, { workingSoftness: 'soft' }, FULL_DRINK)).not.toHaveProperty('raisedBy');
    // Named by the one that gave most, not by a later one that gave no more.
    const two = { rescue: [row('first', { raise: 'full' }, soft), row('second', { raise: 'light' }, soft)] };
    expect(
      decided(two, { workingSoftness: 'soft' }, smallLimits({ growing: { atMost: 'full' } })).raisedBy?.trace.row,
    ).toBe('first');
    // A drink that is not given was not raised.
    const held = { ...rescue, safety: [row('rot', { cap: 'none' }, rot)] };
    expect(decided(held, { workingSoftness: 'soft', signRot: true }, LIGHT_DRINK)).not.toHaveProperty('raisedBy');
  });

  it('of seedlings goes to a light drink, whatever the row says, and before that of the phase', () => {
    const tables = { ...rescue, seedlings: [row('young', { raise: 'full' }, dry)] };
    expect(decided(tables, { dryDays: 2 }, smallLimits()).amount).toBe('light');
    const both = decided(tables, { dryDays: 2, workingSoftness: 'soft' }, NO_DRINK);
    expect([both.amount, both.raisedBy?.trace.row]).toEqual(['light', 'sunken']);
    const young = decided(tables, { dryDays: 2, workingSoftness: 'firm' }, NO_DRINK);
    expect([young.amount, young.raisedBy?.trace.row]).toEqual(['light', 'young']);
  });
});

describe('the order of the steps', () => {
  const young = { seedlings: [row('young', { raise: 'light' }, dry)] };

  it('a guard and a moist pot hold back the plant, not the seedling', () => {
    for (const step of ['guard', 'pot'] as const) {
      const held = { [step]: [row('held', { cap: 'none' }, rot)] };
      expect(decided(held, { signRot: true }).amount).toBe('none');
      expect(decided({ ...held, ...young }, { signRot: true, dryDays: 2 }).amount).toBe('light');
      // A rescue is held back as well.
      const rescue = { rescue: [row('sunken', { raise: 'full' }, soft)] };
      expect(decided({ ...held, ...rescue }, { signRot: true, workingSoftness: 'soft' }, LIGHT_DRINK).amount).toBe(
        'none',
      );
    }
  });

  it('safety and weather hold back the seedling too', () => {
    for (const step of ['safety', 'climate'] as const)
      expect(
        decided({ [step]: [row('held', { cap: 'none' }, rot)], ...young }, { signRot: true, dryDays: 2 }).amount,
      ).toBe('none');
  });

  it('the weather puts off, all else refuses', () => {
    const wait: Effect = { cap: 'none', postpone: true };
    const tables = { climate: [row('cold', wait, cold)], safety: [row('rot', { cap: 'none' }, rot)] };
    const fine = { signRot: false, tonightMinC: 9 };
    expect(decided(tables, fine).postponed).toBe(false);
    const put = decided(tables, { ...fine, tonightMinC: 2 });
    expect([put.amount, put.withoutWeather, put.postponed]).toEqual(['none', 'full', true]);
    // Whatever else holds it down a little.
    const guarded = decided(
      { ...tables, guard: [row('wet', { cap: 'light' }, burst)] },
      { ...fine, tonightMinC: 2, signBurst: true },
    );
    expect([guarded.amount, guarded.withoutWeather, guarded.postponed]).toEqual(['none', 'light', true]);
    // Nothing to put off: it would not have been watered anyway.
    const refused = decided(tables, { signRot: true, tonightMinC: 2 });
    expect([refused.amount, refused.withoutWeather, refused.postponed]).toEqual(['none', 'none', false]);
    // Not known to be cold: held back, but no reason to name a day.
    const open = decided(tables, { signRot: false });
    expect([open.amount, open.withoutWeather, open.postponed]).toEqual(['none', 'full', false]);
    // A cap that does not wait is no postponement, nor one that leaves a light drink.
    expect(decided({ climate: [row('cold', { cap: 'none' }, cold)] }, { tonightMinC: 2 }).postponed).toBe(false);
    const less = decided({ climate: [row('cold', { cap: 'light', postpone: true }, cold)] }, { tonightMinC: 2 });
    expect([less.amount, less.postponed]).toEqual(['light', false]);
    const byOther = {
      climate: [row('cold', { cap: 'light', postpone: true }, cold), row('heat', { cap: 'none' }, heat)],
    };
    expect(decided(byOther, { tonightMinC: 2, aheadHotSpell: true }).postponed).toBe(false);
  });

  it('a look is asked for by a row that holds, of any step', () => {
    const tables = { guard: [row('odd', { inspect: true }, rot)] };
    expect([
      decided(tables, { signRot: true }).inspect,
      decided(tables, {}).inspect,
      decided(tables, { signRot: false }).inspect,
    ]).toEqual([true, false, false]);
    expect(decided(tables, { signRot: true }).amount).toBe('full');
    expect(decided({ guard: [row('held', { cap: 'light' }, rot)] }, { signRot: true }).inspect).toBe(false);
  });
});
