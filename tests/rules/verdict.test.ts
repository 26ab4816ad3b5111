import { describe, expect, it } from 'vitest';
import type { LimitValues } from '../../src/rules/evaluate.js';
import type { PhaseLimits } from '../../src/rules/limits.js';
import type { Condition, Effect, Row } from '../../src/rules/schema.js';
import { decide } from '../../src/rules/verdict.js';
import { burst, cold, drink, growing, heat, rot, row, said, smallBook, smallLimits, soft } from './small-book.js';
import { facts } from './support.js';

/*
 * What is said of a batch beside the amount: how much, when, why, which cloth, which alerts. On rulebooks of a row or two.
 */

describe('how much', () => {
  const POT = { potMlPerMm: 4.5, potAvailableMm: 20, depletion: 0.9 };
  const values = { 'light-drink-mm': 1.5, 'full-drink-share': 1 };
  const poured = (known: object = {}, changed: LimitValues = {}, more: Partial<PhaseLimits> = {}) => {
    const { mlPerPot, doses } = said({}, { ...POT, ...known }, growing({ ...values, ...changed }, more));
    return doses ? [mlPerPot, doses] : mlPerPot;
  };

  it('a full drink gives back what is gone: share x gone x available x pot, rounded as a person would', () => {
    // 0.9 x 20 mm x 4.5 mL/mm = 81 mL.
    expect(poured()).toBe(80);
    expect(poured({}, { 'full-drink-share': 0.5 })).toBe(40);
    expect(poured({ depletion: 0.4 })).toBe(35);
  });

  it('no more than a pot can miss, also where it is drier than dry or nobody knows how dry', () => {
    expect(poured({ depletion: 1.3 })).toBe(90);
    expect(poured({ depletion: null })).toBe(90);
  });

  it('never less than a light drink', () => {
    // 1.5 mm x 4.5 mL/mm = 6.75 mL.
    expect(poured({ depletion: 0.01 })).toBe(7);
  });

  it('a light drink is so many millimetres over the pot', () => {
    expect(poured({}, {}, { drinks: [drink('light')] })).toBe(7);
    expect(poured({}, { 'light-drink-mm': 4 }, { drinks: [drink('light')] })).toBe(20);
    // A light drink is not divided.
    expect(poured({}, { 'split-doses': 3 }, { drinks: [drink('light')] })).toBe(7);
  });

  it('a greedy group gets a full drink as several light ones, days apart', () => {
    expect(poured({}, { 'split-doses': 3, 'split-dose-gap-days': 5 })).toEqual([7, { count: 3, gapDays: 5 }]);
    expect(poured({}, { 'split-doses': 1, 'split-dose-gap-days': 5 })).toBe(80);
  });

  it('nothing where nothing is given, and nothing made up where the pot is not known', () => {
    expect(poured({}, {}, { drinks: [] })).toBe(0);
    expect(poured({ potMlPerMm: null })).toBe(0);
    expect(poured({ potAvailableMm: null })).toBe(7);
  });
});

describe('when', () => {
  const window = (...rows: Row[]) =>
    said({ climate: rows }, { aheadHotSpell: true, tonightMinC: 2, signRot: false }).window;

  it('by ten o’clock sun time unless a row that holds says otherwise; the evening goes before the early morning', () => {
    expect(window()).toBe('by-10');
    expect(window(row('early', { cap: 'light', window: 'by-09' }, heat))).toBe('by-09');
    expect(
      window(row('early', { cap: 'light', window: 'by-09' }, heat), row('late', { window: 'evening' }, cold)),
    ).toBe('evening');
    expect(window(row('plain', { cap: 'light' }, heat), row('early', { window: 'by-09' }, cold))).toBe('by-09');
    expect(window(row('not', { window: 'by-09' }, rot))).toBe('by-10');
    // Not known to be hot: the usual hour.
    expect(said({ climate: [row('early', { cap: 'light', window: 'by-09' }, heat)] }).window).toBe('by-10');
  });

  it('is not said of a pot that stays dry', () => {
    expect(said({ safety: [row('rot', { cap: 'none', window: 'by-09' }, rot)] }, { signRot: true })).not.toHaveProperty(
      'window',
    );
  });

  it('is told with the drink', () => {
    const told = (effect: Effect) =>
      said({ climate: [row('hot', { cap: 'light', ...effect }, heat)] }, { aheadHotSpell: true }).sentence;
    expect(told({})).toContain(', done by 10 o’clock sun time. ');
    expect(told({ window: 'by-09' })).toContain(', done by 9 o’clock sun time. ');
    expect(told({ window: 'evening' })).toContain(', in the evening. ');
  });
});

describe('a drink put off', () => {
  const wait = { climate: [row('cold', { cap: 'none', postpone: true }, cold)] };

  it('says until when, where fair weather is in sight', () => {
    const put = said(wait, { tonightMinC: 2, daysToFairWeather: 3 });
    expect(put).toMatchObject({
      amount: 'none',
      postponed: true,
      postponedUntil: '2026-05-23',
      vetoes: ['climate/cold'],
    });
    expect(put.sentence).toBe('Not today. Because of cold. It would be a full drink.');
    expect(put.decidedBy).toEqual({ table: 'climate', row: 'cold' });
    expect(said(wait, { tonightMinC: 2 })).not.toHaveProperty('postponedUntil');
    expect(said(wait, { tonightMinC: 2, daysToFairWeather: 3, day: null })).not.toHaveProperty('postponedUntil');
    expect(said(wait, { tonightMinC: 9, daysToFairWeather: 3 })).not.toHaveProperty('postponedUntil');
  });

  it('names the row that waits, not another that holds it down', () => {
    const both = { climate: [row('dry', { cap: 'none' }, heat), ...wait.climate] };
    expect(said(both, { tonightMinC: 2, aheadHotSpell: true }).decidedBy).toEqual({ table: 'climate', row: 'cold' });
  });
});

describe('the row that settled it', () => {
  const none = (id: string, ...when: Condition[]) => row(id, { cap: 'none' }, ...when);

  it('is one that surely holds before one that is merely open, and the plant before the weather', () => {
    const tables = { safety: [none('burst', burst)], guard: [none('rot', rot)], climate: [none('cold', cold)] };
    const by = (known: object) =>
      said(tables, { signBurst: false, signRot: false, tonightMinC: 9, ...known }).decidedBy;
    expect(by({ signBurst: null, signRot: true })).toEqual({ table: 'guard', row: 'rot' });
    expect(by({ signBurst: true, signRot: true })).toEqual({ table: 'safety', row: 'burst' });
    expect(by({ signRot: null, tonightMinC: null })).toEqual({ table: 'guard', row: 'rot' });
    expect(by({ tonightMinC: null })).toEqual({ table: 'climate', row: 'cold' });
    // A row that leaves a light drink settles no dryness.
    const mild = { guard: [row('a', { cap: 'light' }, rot), none('b', burst)] };
    expect(said(mild, { signRot: true, signBurst: true }).decidedBy).toEqual({ table: 'guard', row: 'b' });
  });

  it('is the phase where the phase gives nothing, however much else is not known', () => {
    const resting = smallLimits({ growing: { drinks: [], note: 'Rests; no water.' } });
    const verdict = said({ guard: [none('rot', rot)] }, {}, resting);
    expect(verdict.decidedBy).toEqual({ table: 'phase', row: 'growing' });
    expect(verdict.sentence).toBe('Dry. Rests; no water.');
    const dry = smallLimits({ growing: { drinks: [], note: 'Kept dry all winter.' } });
    expect(said({}, {}, dry).sentence).toBe('Kept dry all winter.');
    expect(said({}, { waterPhase: null }, dry).decidedBy).toEqual({ table: 'phase', row: 'unknown' });
  });

  it('is what raised the drink, where one was raised', () => {
    const tables = { rescue: [row('sunken', { raise: 'light' }, soft)] };
    const resting = smallLimits({ growing: { drinks: [], atMost: 'light', note: 'Rests.' } });
    const verdict = said(tables, { workingSoftness: 'soft', potMlPerMm: 4.5 }, resting);
    expect(verdict.decidedBy).toEqual({ table: 'rescue', row: 'sunken' });
    expect(verdict.sentence).toBe('A light drink, about 0 mL a pot, done by 10 o’clock sun time. Because of sunken.');
  });

  it('counts as a veto where it is of safety or weather and holds', () => {
    const tables = { safety: [none('rot', rot)], guard: [none('burst', burst)], climate: [none('cold', cold)] };
    expect(said(tables, { signRot: true, signBurst: true, tonightMinC: 1 }).vetoes).toEqual([
      'safety/rot',
      'climate/cold',
    ]);
    expect(said(tables, { signRot: true, signBurst: true }).vetoes).toEqual(['safety/rot']);
  });
});

describe('the sentence', () => {
  it('of a drink says why: how soft, how long dry', () => {
    const sentence = (known: object, values: LimitValues = { 'drink-softness': 'soft' }) =>
      said(
        {},
        { potMlPerMm: 5, potAvailableMm: 20, depletion: 1, ...known },
        growing({ 'full-drink-share': 1, ...values }),
      ).sentence;
    const head = 'A full drink, about 100 mL a pot, done by 10 o’clock sun time.';
    expect(sentence({ workingSoftness: 'soft', dryDays: 20 })).toBe(
      `${head} The body is soft and the pot has been dry for 20 days.`,
    );
    expect(sentence({ workingSoftness: 'very-soft' })).toBe(`${head} The body is very soft.`);
    expect(sentence({ dryDays: 1 })).toBe(`${head} The pot has been dry for 1 day.`);
    expect(sentence({})).toBe(head);
    // Softness that the drink does not ask for is no reason.
    expect(sentence({ workingSoftness: 'soft' }, {})).toBe(head);
    expect(sentence({ newPairSoftness: 'soft' }, { 'drink-softness': 'soft', 'drink-body': 'new-pair' })).toBe(
      `${head} The new pair is soft.`,
    );
    expect(sentence({ olderPairSoftness: 'soft' }, { 'drink-softness': 'soft', 'drink-body': 'older-pair' })).toBe(
      `${head} The older pair is soft.`,
    );
    expect(
      sentence(
        { workingSoftness: 'soft', newPairSoftness: 'firm' },
        { 'drink-softness': 'soft', 'drink-body': 'working' },
      ),
    ).toBe(`${head} The body is soft.`);
  });

  it('of a drink held down names the row that held it, not one that leaves a full one', () => {
    const tables = { guard: [row('open', { cap: 'full' }, rot), row('less', { cap: 'light' }, burst)] };
    expect(said(tables, { signRot: true, signBurst: true }).sentence).toContain('sun time. Because of less.');
    expect(said(tables, { signRot: true, signBurst: false, dryDays: 3 }).sentence).toContain(
      'sun time. The pot has been dry for 3 days.',
    );
    // Not held down for sure: no reason to give.
    expect(said({ guard: [row('less', { cap: 'light' }, cold)] }, { dryDays: 3 }).sentence).toContain(
      'sun time. The pot has been dry',
    );
  });

  it('of a divided drink says which dose this is', () => {
    const limits = growing({ 'light-drink-mm': 2, 'split-doses': 3, 'split-dose-gap-days': 5 });
    expect(said({}, { potMlPerMm: 5 }, limits).sentence).toBe(
      'A full drink, now the first of 3 light ones 5 days apart, about 10 mL a pot each, done by 10 o’clock sun time.',
    );
  });

  it('of a dry pot gives the reason, filled in with the facts and the limits', () => {
    const reason = {
      ...row('cool', { cap: 'none' }, { fact: 'tonightMinC', op: 'below', limit: 'least' }),
      because: 'Tonight {tonightMinC}, below {least}.',
    };
    expect(said({ guard: [reason] }, { tonightMinC: 3 }, growing({ least: 5 })).sentence).toBe(
      'Dry. Tonight 3 °C, below 5.',
    );
    const { trace } = said({ guard: [reason] }, { tonightMinC: 3 }, growing({ least: 5 }));
    expect(trace.find(({ row: one }) => one === 'cool')?.because).toBe('Tonight 3 °C, below 5.');
  });

  it('of a drink of several fills in the limit of that drink', () => {
    const gap = {
      ...row('gap', { cap: 'none' }, { fact: 'dryDays', op: 'below', limit: 'gap' }),
      because: 'Dry {dryDays} of {gap}.',
    };
    const limits = smallLimits({
      growing: {
        values: { gap: 1 },
        drinks: [drink('full', { gap: 20 }), drink('light', { gap: 10 })],
        atMost: 'full',
      },
    });
    const verdict = said({ policy: [gap] }, { dryDays: 4 }, limits);
    expect(verdict.sentence).toBe('Dry. Dry 4 days of 10.');
    expect(verdict.trace.filter(({ row: one }) => one === 'gap').map(({ of, because }) => [of, because])).toEqual([
      ['growing, light drink (2 of 2)', 'Dry 4 days of 10.'],
      ['growing, full drink (1 of 2)', 'Dry 4 days of 20.'],
    ]);
  });

  it('says what is not known, where nobody can look it up', () => {
    const verdict = said({ guard: [row('cold', { cap: 'none' }, cold)] });
    expect(verdict.sentence).toBe('Dry. Not known: lowest temperature tonight.');
    expect(verdict.inspect).toBe(false);
  });

  it('asks for a look, where a look could bring a drink', () => {
    const asks = { policy: [row('soft', { cap: 'none' }, { fact: 'workingSoftness', op: 'below', limit: 'asked' })] };
    const verdict = said(asks, { dryDays: 40 }, growing({ asked: 'soft', 'harm-of-wrong-dry': 1 }));
    expect(verdict).toMatchObject({ amount: 'none', inspect: true, lookFor: 'whether the body is soft' });
    expect(verdict.sentence).toBe('Dry until someone has looked: whether the body is soft.');
  });

  it('says so where a group has no such phase', () => {
    const sentence = said({}, { waterPhase: 'papery' }).sentence;
    expect(sentence).toMatch(/^Dry/);
    expect(said({}, { waterPhase: 'papery' }).lookFor).toMatch(/phase/);
  });
});

describe('two likely phases', () => {
  const limits = smallLimits({
    growing: { drinks: [drink('full')], atMost: 'full', note: 'It drinks.' },
    splitting: { drinks: [], note: 'Changing its leaf pair; no water.' },
  });
  const torn = (probability: number | null, second: string | null) =>
    said({}, { phaseProbability: probability, secondPhase: second, secondPhaseProbability: 0.3 }, limits);

  it('give the stricter answer until someone has looked', () => {
    expect(torn(0.7, 'splitting')).toMatchObject({
      amount: 'none',
      inspect: true,
      sentence: 'Dry until someone has looked: whether it is growing or changing its leaf pair.',
      decidedBy: { table: 'phase', row: 'splitting' },
    });
    expect(torn(0.7, 'growing')).toMatchObject({ amount: 'full', inspect: false });
  });

  it('count from where the first is not sure: at the limit it is', () => {
    expect(torn(0.8, 'splitting').amount).toBe('full');
    expect(torn(0.79, 'splitting').amount).toBe('none');
    expect(torn(null, 'splitting').amount).toBe('none');
  });

  it('without a second one known leave it open which it is', () => {
    expect(torn(0.5, null)).toMatchObject({ amount: 'none', inspect: true });
  });

  it('are both in the trace, the second with what hangs on the phase alone', () => {
    const tables = { safety: [row('rot', { cap: 'none' }, rot)], guard: [row('burst', { cap: 'none' }, burst)] };
    const given = facts({
      waterPhase: 'growing',
      phaseProbability: 0.7,
      secondPhase: 'splitting',
      signRot: false,
      signBurst: false,
    });
    const { trace } = decide(smallBook(tables), given, limits, { withoutNearest: true });
    expect(trace.map(({ table, row: one }) => `${table}/${one}`)).toEqual([
      'safety/rot',
      'phase/growing',
      'guard/burst',
      'phase/splitting',
      'guard/burst',
    ]);
  });
});

it('what would change it is looked for unless it is not asked for', () => {
  const tables = { guard: [row('wet', { cap: 'none' }, { fact: 'dryDays', op: 'below', value: 5 })] };
  const limits = growing({ 'drink-gap': 5, 'drink-body': 'working' });
  const given = facts({ waterPhase: 'growing', phaseProbability: 1, dryDays: 3, day: '2026-05-20' });
  const { nearestChange } = decide(smallBook(tables), given, limits);
  expect(nearestChange).toEqual({
    amount: 'full',
    sentence: 'Becomes a full drink when the pot has been dry for 5 days, in about 2 days.',
    fact: 'dryDays',
    expectedOn: '2026-05-22',
  });
  expect(decide(smallBook(tables), given, limits, { withoutNearest: true })).not.toHaveProperty('nearestChange');
});
