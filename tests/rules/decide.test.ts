import { describe, expect, it } from 'vitest';
import type { FactValue } from '../../src/domain/verdict.js';
import { capOf, greater, lesser, type Outcome, traced, weigh } from '../../src/rules/decide.js';
import { compileRow, sheetOf } from '../../src/rules/evaluate.js';
import type { Limits } from '../../src/rules/limits.js';
import type { Condition, Effect, Row, Step } from '../../src/rules/schema.js';
import { drink, row, smallBook, smallLimits } from './small-book.js';
import { facts } from './support.js';

/*
 * The order of a decision and what an unknown does in it, on rulebooks of a row or two. The reasons are those of the
 * owner's rules: unknown never means water, safety and weather have the last word, a look may only lead to what the
 * rules would then give.
 */

/** Somebody can see it. */
const rot: Condition = { fact: 'signRot', op: 'is', value: true };
const burst: Condition = { fact: 'signBurst', op: 'is', value: true };
const soft: Condition = { fact: 'workingSoftness', op: 'at-least', value: 'soft' };
const dry: Condition = { fact: 'dryDays', op: 'at-least', value: 1 };
/** No look tells it. */
const cold: Condition = { fact: 'tonightMinC', op: 'below', value: 5 };
const heat: Condition = { fact: 'aheadHotSpell', op: 'is', value: true };

const FULL_DRINK = smallLimits({ growing: { drinks: [drink('full')], atMost: 'full', note: 'It drinks.' } });
const LIGHT_DRINK = smallLimits({ growing: { drinks: [drink('light')], atMost: 'full', note: 'It sips.' } });
const NO_DRINK = smallLimits({ growing: { drinks: [], atMost: 'light', note: 'It rests.' } });

function decided(
  tables: Partial<Record<Step, readonly Row[]>>,
  known: Readonly<Record<string, FactValue | null>>,
  limits: Limits = FULL_DRINK,
): Outcome {
  return weigh(smallBook(tables), sheetOf(facts({ waterPhase: 'growing', ...known })), limits);
}
const amounts = ({ amount, byLook, withoutWeather }: Outcome) => [amount, byLook, withoutWeather];

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

describe('what the phase gives', () => {
  const against = { policy: [row('gap', { cap: 'none' }, { fact: 'dryDays', op: 'below', limit: 'gap' })] };
  const two = smallLimits({
    growing: {
      drinks: [drink('full', { gap: 20 }), drink('light', { gap: 10 })],
      atMost: 'full',
      note: 'It drinks when dry.',
    },
  });

  it('is the first drink that nothing stands against', () => {
    expect(decided(against, { dryDays: 25 }, two)).toMatchObject({ amount: 'full', drink: { amount: 'full' } });
    expect(decided(against, { dryDays: 15 }, two)).toMatchObject({ amount: 'light', drink: { amount: 'light' } });
    const none = decided(against, { dryDays: 5 }, two);
    expect(none.amount).toBe('none');
    expect(none).not.toHaveProperty('drink');
  });

  it('of two, the earlier counts even where the later would give more', () => {
    const turned = smallLimits({
      growing: { drinks: [drink('light', { gap: 10 }), drink('full', { gap: 20 })], atMost: 'full' },
    });
    expect(decided(against, { dryDays: 25 }, turned)).toMatchObject({ amount: 'light', drink: { amount: 'light' } });
  });

  it('passes over a drink that is refused for sure, and says nothing of one that comes after the one given', () => {
    const turned = smallLimits({
      growing: { drinks: [drink('light', { gap: 20 }), drink('full', { gap: 10 })], atMost: 'full' },
    });
    expect(amounts(decided(against, { dryDays: 15 }, turned))).toEqual(['full', 'full', 'full']);
    const narrowing = smallLimits({
      growing: { drinks: [drink('full', { gap: 10 }), drink('light', { gap: 20 })], atMost: 'full' },
    });
    const given = decided(against, { dryDays: 15 }, narrowing);
    expect([given.amount, given.bites]).toEqual(['full', []]);
  });

  it('is the lesser of what it may be while it is not settled, and what a look may find', () => {
    // Whether the pot is dry can be felt.
    expect(amounts(decided(against, {}, two))).toEqual(['none', 'full', 'none']);
    // The full drink is open, the light one is free: light for sure.
    const softForFull = {
      policy: [row('soft', { cap: 'none' }, { fact: 'workingSoftness', op: 'below', limit: 'asked' })],
    };
    const limits = smallLimits({
      growing: { drinks: [drink('full', { asked: 'soft' }), drink('light', {})], atMost: 'full' },
    });
    expect(amounts(decided(softForFull, {}, limits))).toEqual(['light', 'full', 'light']);
    // The same hanging on the weather, which no look tells.
    const coldForFull = {
      policy: [row('cold', { cap: 'none' }, { fact: 'tonightMinC', op: 'below', limit: 'least' })],
    };
    const weather = smallLimits({
      growing: { drinks: [drink('full', { least: 5 }), drink('light', {})], atMost: 'full' },
    });
    expect(amounts(decided(coldForFull, {}, weather))).toEqual(['light', 'light', 'light']);
    // One that can be seen and one that cannot stand against it together: a look alone does not free it.
    const both = { policy: [...softForFull.policy, ...coldForFull.policy] };
    const mixed = smallLimits({ growing: { drinks: [drink('full', { asked: 'soft', least: 5 })], atMost: 'full' } });
    expect(amounts(decided(both, {}, mixed))).toEqual(['none', 'none', 'none']);
    expect(amounts(decided(both, { tonightMinC: 9 }, mixed))).toEqual(['none', 'full', 'none']);
  });

  it('says what is missing by the least demanding drink, where nothing is given', () => {
    const { bites, drinkValues } = decided(against, { dryDays: 5 }, two);
    expect(bites.map(({ trace, values, cap, met }) => [trace.of, values, cap, met])).toEqual([
      ['growing, light drink (2 of 2)', { gap: 10 }, 'none', 'yes'],
    ]);
    expect([...drinkValues].map(([trace, values]) => [trace.of, values])).toEqual([
      ['growing, light drink (2 of 2)', { gap: 10 }],
      ['growing, full drink (1 of 2)', { gap: 20 }],
    ]);
    expect(decided(against, { dryDays: 15 }, two).bites).toEqual([]);
  });

  it('tells the drink of a phase that has but one without a number', () => {
    const one = smallLimits({ growing: { drinks: [drink('light', { gap: 10 })], atMost: 'full' } });
    expect(decided(against, { dryDays: 5 }, one).bites.map(({ trace }) => trace.of)).toEqual(['growing, light drink']);
  });

  it('is nothing while the phase is not known, though a look may tell it', () => {
    const unknown = decided(against, { waterPhase: null, dryDays: 25 }, two);
    expect(unknown).toMatchObject({
      amount: 'none',
      byLook: 'full',
      phase: null,
      policyPhase: null,
      phaseIsDry: false,
    });
    // The values of the house hold then.
    const base = smallLimits({}, { most: 'light' });
    const caps = { climate: [row('a', { cap: { limit: 'most' } }, heat)] };
    expect(decided(caps, { waterPhase: null, aheadHotSpell: true }, base).bites.map(({ cap }) => cap)).toEqual([
      'light',
    ]);
  });

  it('a phase that gives nothing, whatever a look finds, is told as dry', () => {
    expect(decided({}, {}, NO_DRINK).phaseIsDry).toBe(true);
    expect(decided({}, {}, FULL_DRINK).phaseIsDry).toBe(false);
    const rescue = { rescue: [row('sunken', { raise: 'light' }, soft)] };
    expect(decided(rescue, {}, NO_DRINK).phaseIsDry).toBe(false);
    expect(decided(rescue, { workingSoftness: 'firm' }, NO_DRINK).phaseIsDry).toBe(true);
  });
});

describe('growth that heat or cold has stopped', () => {
  const stall = {
    stall: [
      row('hot', { policy: 'dormant-warm' }, heat),
      row('mild', { policy: 'as-entered' }, { fact: 'aheadHotSpell', op: 'is', value: false }),
    ],
  };
  const stopped = (rest: Parameters<typeof smallLimits>[0], base = { 'stall-applies': true }) =>
    smallLimits(
      { growing: { drinks: [drink('full')], atMost: 'full', values: base, note: 'It drinks.' }, ...rest },
      base,
    );

  it('goes by the rest, where that is stricter, with the reason first', () => {
    const outcome = decided(
      stall,
      { aheadHotSpell: true },
      stopped({ 'dormant-warm': { drinks: [drink('light')], note: 'A sip.' } }),
    );
    expect(outcome).toMatchObject({
      amount: 'light',
      phase: 'growing',
      policyPhase: 'dormant-warm',
      drink: { amount: 'light' },
    });
    expect(outcome.bites.map(({ trace, cap, met }) => [trace.table, trace.row, cap, met])).toEqual([
      ['stall', 'hot', 'light', 'yes'],
    ]);
    const none = decided(
      { ...stall, policy: [row('gap', { cap: 'none' }, { fact: 'dryDays', op: 'below', limit: 'gap' })] },
      { aheadHotSpell: true, dryDays: 3 },
      stopped({ 'dormant-warm': { drinks: [drink('light', { gap: 30 })] } }),
    );
    expect(none.bites.map(({ trace }) => trace.row)).toEqual(['hot', 'gap']);
    expect(none).not.toHaveProperty('drink');
  });

  it('goes by its phase where the rest is no stricter, and gives no such reason', () => {
    const outcome = decided(stall, { aheadHotSpell: true }, stopped({ 'dormant-warm': { drinks: [drink('full')] } }));
    expect(outcome).toMatchObject({ amount: 'full', policyPhase: 'growing' });
    expect(outcome.bites).toEqual([]);
  });

  it('goes by its phase in fair weather, and where the group knows no stall', () => {
    const rest = { 'dormant-warm': { drinks: [] } };
    expect(decided(stall, { aheadHotSpell: false }, stopped(rest))).toMatchObject({
      amount: 'full',
      policyPhase: 'growing',
    });
    for (const base of [{ 'stall-applies': false }, {}])
      expect(
        decided(stall, { aheadHotSpell: true }, stopped(rest, base as { 'stall-applies': boolean })),
      ).toMatchObject({
        amount: 'full',
        policyPhase: 'growing',
      });
  });

  it('that is not known counts as stopped, and no look frees it', () => {
    const outcome = decided(stall, {}, stopped({ 'dormant-warm': { drinks: [] } }));
    expect(amounts(outcome)).toEqual(['none', 'none', 'none']);
    expect(outcome.bites.map(({ trace, met }) => [trace.row, met])).toEqual([['hot', 'unknown']]);
  });

  it('tries each rest once, the one it is in not at all', () => {
    const twice = {
      stall: [
        row('hot', { policy: 'dormant-warm' }, heat),
        row('hot-too', { policy: 'dormant-warm' }, heat),
        row('here', { policy: 'dormant-cold' }, heat),
      ],
    };
    const limits = stopped({
      'dormant-warm': { drinks: [drink('light')] },
      'dormant-cold': { drinks: [drink('full')], values: { 'stall-applies': true } },
    });
    const phases = decided(twice, { aheadHotSpell: true }, limits)
      .trace.filter(({ table }) => table === 'phase')
      .map(({ row: one }) => one);
    expect(phases).toEqual(['growing', 'dormant-warm', 'dormant-cold']);
    const resting = weigh(
      smallBook(twice),
      sheetOf(facts({ waterPhase: 'dormant-cold', aheadHotSpell: true })),
      limits,
    );
    expect(resting.trace.filter(({ table }) => table === 'phase').map(({ row: one }) => one)).toEqual([
      'dormant-cold',
      'dormant-warm',
    ]);
  });

  it('a plant is rescued by the rules of the rest it is in', () => {
    const tables = {
      ...stall,
      rescue: [row('sunken', { raise: 'full' }, { choice: 'rescue', op: 'is', value: true }, soft)],
    };
    const sunken = { aheadHotSpell: true, workingSoftness: 'very-soft' };
    const rest = (rescue: boolean) => ({
      'dormant-warm': { drinks: [], atMost: 'light' as const, values: { rescue } },
    });
    expect(decided(tables, sunken, stopped(rest(true))).amount).toBe('light');
    expect(decided(tables, sunken, stopped(rest(false))).amount).toBe('none');
  });
});

describe('the trace', () => {
  const tables = {
    safety: [row('rot', { cap: 'none' }, rot), row('burst', { cap: 'light' }, burst)],
    policy: [row('gap', { cap: 'none' }, { fact: 'dryDays', op: 'below', limit: 'gap' })],
    rescue: [row('sunken', { raise: 'light' }, soft)],
  };
  const limits = smallLimits({ growing: { drinks: [drink('light', { gap: 10 })], atMost: 'full', note: 'It sips.' } });
  const sheet = sheetOf(facts({ waterPhase: 'growing', signRot: false, signBurst: true, dryDays: 20 }));

  it('holds every row in the order of the decision, with what it did and why where it held', () => {
    const { trace } = weigh(smallBook(tables), sheet, limits);
    expect(
      trace.map(({ table, row: one, met, effect, because, source, of }) => [
        table,
        one,
        met,
        effect,
        because,
        source,
        of,
      ]),
    ).toEqual([
      ['safety', 'rot', 'no', undefined, undefined, undefined, undefined],
      ['safety', 'burst', 'yes', 'at most light', 'Because of burst.', 'practice', undefined],
      ['policy', 'gap', 'no', undefined, undefined, undefined, 'growing, light drink'],
      ['phase', 'growing', 'yes', 'light drink', 'It sips.', 'species catalogue', undefined],
      ['rescue', 'sunken', 'unknown', undefined, undefined, undefined, undefined],
    ]);
    expect(trace[3]?.conditions).toEqual([]);
    const silent = weigh(
      smallBook(tables),
      sheetOf(facts({ waterPhase: 'growing', dryDays: 2 })),
      smallLimits({ growing: { drinks: [drink('light', { gap: 10 })] } }),
    );
    expect(silent.trace.find(({ table }) => table === 'phase')).toEqual({
      table: 'phase',
      row: 'growing',
      met: 'yes',
      conditions: [],
      effect: 'no water',
      source: 'species catalogue',
    });
  });

  it('leaves out rows that are not met when it is to be quiet, and decides the same', () => {
    const loud = weigh(smallBook(tables), sheet, limits);
    const quiet = weigh(smallBook(tables), sheet, limits, true);
    expect(quiet.trace.map(({ row: one }) => one)).toEqual(['burst', 'growing', 'sunken']);
    expect(amounts(quiet)).toEqual(amounts(loud));
  });

  it.each<[Effect, string]>([
    [{ cap: 'none' }, 'no water'],
    [{ cap: 'light' }, 'at most light'],
    [{ cap: { limit: 'most' } }, 'at most light'],
    [{ cap: 'none', postpone: true }, 'no water, wait for the weather'],
    [{ raise: 'light', inspect: true }, 'at least light, look'],
    [{ policy: 'dormant-warm' }, 'policy dormant-warm'],
    [{ lightRamp: true, shade: 'hold-to-step' }, 'light in steps, shade'],
    [{ alert: 'frost' }, 'alert frost'],
  ])('tells the effect %j as "%s"', (effect, words) => {
    const { effect: told } = traced(compileRow('guard', row('one', effect, rot)), {
      sheet: sheetOf(facts({ signRot: true })),
      values: { most: 'light' },
    });
    expect(told).toBe(words);
  });
});
