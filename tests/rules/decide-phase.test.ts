import { describe, expect, it } from 'vitest';
import { traced, weigh } from '../../src/rules/decide.js';
import { compileRow, sheetOf } from '../../src/rules/evaluate.js';
import type { Effect } from '../../src/rules/schema.js';
import {
  amounts,
  burst,
  decided,
  drink,
  FULL_DRINK,
  heat,
  NO_DRINK,
  rot,
  row,
  smallBook,
  smallLimits,
  soft,
} from './small-book.js';
import { facts } from './support.js';

/*
 * What a phase gives and how it is held up by heat and cold, on rulebooks of a row or two, and what is written down of it.
 */

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
