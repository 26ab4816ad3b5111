import { describe, expect, it } from 'vitest';
import { gatherFacts } from '../../src/advice/facts.js';
import { type Given, givenSchema, inputsOf } from '../../src/advice/what-if.js';
import type { Fact, FactValue, Verdict } from '../../src/domain/verdict.js';
import { limitsFor } from '../../src/rules/limits.js';
import type { Row, Step } from '../../src/rules/schema.js';
import { decide } from '../../src/rules/verdict.js';
import { burst, cold, drink, growing, heat, LIGHT_DRINK, NO_DRINK, rot, row, said, smallLimits } from './small-book.js';
import { catalogue, fact, groupOf, rulebook } from './support.js';

const mild = { nightMin: 12, dayMax: 22, dli: 18, peakPpfd: 900 };
const ahead = { dayMax: [22, 22, 22], nightMin: [12, 12, 12], dli: [18, 18, 18], peakPpfd: [900, 900, 900] };

/** An Echeveria in its season, pot dry for ten days; what is not said is not known. */
function verdictOf(plant: Given['plant'], dryDays = 10, changed: Readonly<Record<string, Fact>> = {}): Verdict {
  const given = givenSchema.parse({
    group: 'echeveria',
    on: { latitude: 51, date: '2026-05-20' },
    plant,
    pot: { dryDays },
    house: { recent: mild, tonight: { min: 12, max: 20, wetHours: 0 }, ahead },
  });
  const facts = { ...gatherFacts(inputsOf(given, catalogue)), ...changed };
  return decide(rulebook, facts, limitsFor(rulebook, groupOf('echeveria'), catalogue.general));
}

const THIRST_HALF_DAYS = 21;

describe('what a look is expected to save', () => {
  it('nothing where no look is asked for', () => {
    const sure = verdictOf({ phase: 'growing', firmness: 'soft' });
    expect(sure.inspect).toBe(false);
    expect(sure).not.toHaveProperty('lookSaves');
    expect(sure).not.toHaveProperty('lookFor');
  });

  it('where trouble was seen: even odds of the harm that water does, by the limits', () => {
    // Rot: even odds; a wrong drink counts three times a missed one (starting values of the rulebook).
    const rot = verdictOf({ phase: 'growing', firmness: 'soft', signs: ['rot'] });
    expect(rot).toMatchObject({ inspect: true, lookSaves: 0.5 * 3 });
    // While the pair changes it counts ten times.
    const group = groupOf('lithops-summer-rain');
    expect(limitsFor(rulebook, group, catalogue.general).phases.splitting.values['harm-of-wrong-drink']).toBe(10);
  });

  it('where two phases are likely and give different amounts: the share of the one that would be watered', () => {
    const torn = (first: number, second: number, phases: readonly [string, string]) =>
      verdictOf({ firmness: 'soft' }, 10, {
        waterPhase: fact(phases[0]),
        phaseProbability: fact(first),
        secondPhase: fact(phases[1]),
        secondPhaseProbability: fact(second),
      });
    const restFirst = torn(0.6, 0.3, ['dormant-cold', 'growing']);
    const growingFirst = torn(0.6, 0.3, ['growing', 'dormant-cold']);
    // The stricter of the two is advised, so the look saves as often as the other one is true.
    expect(restFirst.lookSaves).toBeCloseTo(0.3, 12);
    expect(growingFirst.lookSaves).toBeCloseTo(0.6, 12);
    expect(restFirst.lookFor).toMatch(/^whether it is /);
    expect(growingFirst.amount).toBe(restFirst.amount);
  });

  it('where softness was not felt: more the longer the pot is dry, half of the harm after the days of the limit', () => {
    const stone = (dryDays: number) => {
      const given = givenSchema.parse({
        group: 'lithops-summer-rain',
        on: { latitude: 51, date: '2026-05-20' },
        plant: { phase: 'growing' },
        pot: { dryDays },
        house: { recent: mild, tonight: { min: 12, max: 20, wetHours: 0 }, ahead },
      });
      const facts = { ...gatherFacts(inputsOf(given, catalogue)), phaseProbability: fact(0.95) };
      return decide(rulebook, facts, limitsFor(rulebook, groupOf('lithops-summer-rain'), catalogue.general));
    };
    expect(stone(THIRST_HALF_DAYS)).toMatchObject({ inspect: true });
    expect(stone(THIRST_HALF_DAYS).lookSaves).toBeCloseTo(0.5, 12);
    expect(stone(63).lookSaves).toBeCloseTo(0.75, 12);
  });

  it('where the phase is one the group has no policy for: even odds', () => {
    const unknown = verdictOf({ firmness: 'soft' }, 10, { waterPhase: fact(null), secondPhase: fact(null) });
    expect(unknown).toMatchObject({ inspect: true, lookSaves: 0.5 });
  });
});

/*
 * On rulebooks of a row or two: what a look is for, and what it saves. A plant kept dry for nothing counts two here, a
 * wrong drink seven, and after 20 dry days half of the plants are soft.
 */

const HARM = { 'harm-of-wrong-dry': 2, 'harm-of-wrong-drink': 7, 'thirst-half-days': 20 };
const THE_PHASE = 'which phase it is in (buds, a gaping fissure, a new pair, a sheath)';

type Tables = Partial<Record<Step, readonly Row[]>>;
type Known = Readonly<Record<string, FactValue | null>>;

/** The look at a growing plant: what for and what it saves, or undefined. */
function look(tables: Tables, known: Known = {}, limits = growing(HARM)) {
  const { inspect, lookFor, lookSaves } = said(tables, known, limits);
  expect(inspect).toBe(lookFor !== undefined);
  return lookFor === undefined ? undefined : [lookFor, lookSaves];
}

const none = (id: string, ...when: Row['when']): Row => row(id, { cap: 'none' }, ...when);
const below = (name: string, value: string | number) => none(name, { fact: name, op: 'below', value });
const isFirm = below('workingSoftness', 'soft');
const asks = (...when: Row['when']): Row => row('asks', { cap: 'none', inspect: true }, ...when);

describe('a look at trouble that was seen', () => {
  it('is for what was seen, and saves half of the harm of a wrong drink', () => {
    expect(look({ safety: [asks(rot)] }, { signRot: true })).toEqual([
      'rot seen: glassy or brown, wet, collapsing from the base',
      3.5,
    ]);
    expect(look({ safety: [asks(cold, burst)] }, { tonightMinC: 2, signBurst: true })).toEqual([
      'a clean split through the skin',
      3.5,
    ]);
  });

  it('is for the plant and its roots, where nothing a look can tell is named', () => {
    expect(look({ safety: [asks(cold)] }, { tonightMinC: 2 })).toEqual(['the plant and its roots', 3.5]);
  });

  it('is asked by the row that asks and holds, by no other', () => {
    const tables = { safety: [none('burst', burst), row('asks', { inspect: true }, rot)] };
    expect(look(tables, { signBurst: true, signRot: true })?.[0]).toMatch(/^rot seen/);
    expect(look(tables, { signBurst: true, signRot: false })).toBeUndefined();
    expect(look(tables, { signBurst: true, signRot: null })).toBeUndefined();
  });

  it('comes before the question of the phase', () => {
    const known = { signRot: true, phaseProbability: 0.5, secondPhase: 'splitting' };
    expect(look({ safety: [row('asks', { inspect: true }, rot)] }, known)?.[0]).toMatch(/^rot seen/);
  });
});

describe('a look at the phase', () => {
  const values = HARM;
  const limits = smallLimits(
    {
      growing: { values, drinks: [drink('full')], atMost: 'full', note: 'It drinks.' },
      'dormant-cold': { values, note: 'It rests.' },
    },
    HARM,
  );
  const torn = (first: string | null, second: string | null, odds: readonly [number | null, number | null]) =>
    look(
      {},
      { waterPhase: first, secondPhase: second, phaseProbability: odds[0], secondPhaseProbability: odds[1] },
      limits,
    );
  const growingOrRest = 'whether it is growing or in its cold rest';
  const restOrGrowing = 'whether it is in its cold rest or growing';

  it.each([
    // Dry is advised, and wrong as often as the plant is growing.
    ['growing', 'dormant-cold', [0.6, 0.3], growingOrRest, 1.2],
    ['dormant-cold', 'growing', [0.6, 0.3], restOrGrowing, 0.6],
    // Where only one of the two is said, the other is taken to be the rest.
    ['dormant-cold', 'growing', [0.7, null], restOrGrowing, 0.6],
    // Where nothing is said of the first, even odds.
    ['growing', 'dormant-cold', [null, 0.3], growingOrRest, 1],
    ['dormant-cold', 'growing', [null, 0.3], restOrGrowing, 1],
  ] as const)('%s or %s, %j', (first, second, odds, lookFor, saves) => {
    const found = torn(first, second, odds);
    expect(found?.[0]).toBe(lookFor);
    expect(found?.[1]).toBeCloseTo(saves, 12);
  });

  it('is not asked for where both give the same', () => {
    expect(torn('growing', 'growing', [0.5, 0.4])).toBeUndefined();
    expect(torn('dormant-cold', 'dormant-cold', [0.5, 0.4])).toBeUndefined();
  });

  it('is for any sign of the phase, at even odds, where one of the two is not known', () => {
    expect(torn('growing', null, [0.5, null])).toEqual([THE_PHASE, 1]);
    expect(torn(null, 'growing', [0.5, 0.4])).toEqual([THE_PHASE, 1]);
    expect(torn(null, null, [null, null])).toEqual([THE_PHASE, 1]);
  });

  it('is asked for where the group has no rule for the phase, however sure it is', () => {
    expect(torn('papery', null, [1, null])).toEqual([THE_PHASE, 1]);
  });
});

describe('a look at thirst', () => {
  it('saves more the longer the pot is dry: half of the harm after the days of the limit', () => {
    const guard = [isFirm];
    const saved = (dryDays: number | null) => look({ guard }, { dryDays });
    expect(saved(0)).toEqual(['whether the body is soft', 0]);
    expect(saved(5)?.[1]).toBeCloseTo(2 * (5 / 25), 12);
    expect(saved(20)?.[1]).toBeCloseTo(1, 12);
    expect(saved(60)?.[1]).toBeCloseTo(1.5, 12);
    // Nobody knows how long: even odds.
    expect(saved(null)?.[1]).toBe(1);
    // A limit of no days: soft as soon as the pot is dry, and not before.
    const atOnce = (dryDays: number) => look({ guard }, { dryDays }, growing({ ...HARM, 'thirst-half-days': 0 }))?.[1];
    expect([atOnce(0), atOnce(1)]).toEqual([0, 2]);
  });

  it('is for the fact that is not known', () => {
    for (const [name, words] of [
      ['workingSoftness', 'whether the body is soft'],
      ['newPairSoftness', 'whether the new pair is soft'],
      ['olderPairSoftness', 'whether the older pair is soft'],
      ['thirst', 'whether the plant is soft or sunken'],
    ] as const)
      expect(look({ guard: [below(name, 'soft')] }, { dryDays: 20 })).toEqual([words, 1]);
    expect(look({ guard: [below('dryDays', 30)] })).toEqual(['whether the pot is dry (lift one)', 1]);
    expect(look({ guard: [below('depletion', 1)] })).toEqual(['whether the pot is dry (lift one)', 1]);
  });

  it('supposes a soft body, and a very soft one from thirty dry days on or where nobody knows how many', () => {
    const guard = [none('not-sunken', { fact: 'workingSoftness', op: 'is-not', value: 'very-soft' })];
    const asked = (dryDays: number | null) => look({ guard }, { dryDays }) !== undefined;
    expect([asked(0), asked(29.9), asked(30), asked(31), asked(null)]).toEqual([false, false, true, true, true]);
  });

  it('supposes a pot dry for thirty days and drunk empty, no more', () => {
    expect(look({ guard: [below('dryDays', 31)] })).toBeUndefined();
    expect(look({ guard: [below('depletion', 1.1)] })).toBeUndefined();
  });

  it('leaves what is known: a firm body is not supposed soft', () => {
    const firmWithRot = none('rot', rot, { fact: 'workingSoftness', op: 'below', value: 'soft' });
    expect(look({ guard: [firmWithRot] }, { workingSoftness: 'firm' })).toBeUndefined();
    expect(look({ guard: [firmWithRot] }, { workingSoftness: null })?.[0]).toMatch(/^rot seen/);
  });

  it('is not asked for where no thirst would bring a drink', () => {
    // Whether there is rot is no question of thirst, nor can a look at the plant lift a cold night.
    expect(look({ guard: [none('rot', rot)] })).toBeUndefined();
    expect(look({ guard: [isFirm], climate: [none('cold', cold)] })).toBeUndefined();
    expect(look({ guard: [isFirm] }, { workingSoftness: 'soft' })).toBeUndefined();
    expect(look({ guard: [isFirm] }, { workingSoftness: 'firm' })).toBeUndefined();
  });

  it('is for the row a look can settle, past what holds and what no look can tell', () => {
    const light = { cap: 'light' } as const;
    expect(look({ guard: [row('cold', light, cold), isFirm] }, { dryDays: 20 })?.[0]).toBe('whether the body is soft');
    expect(look({ guard: [row('burst', light, burst), isFirm] }, { dryDays: 20, signBurst: true })?.[0]).toBe(
      'whether the body is soft',
    );
    // In a row of several conditions, for the one that is open and can be seen.
    const several = none('several', { fact: 'dryDays', op: 'at-least', value: 1 }, heat, ...isFirm.when);
    expect(look({ guard: [several] }, { dryDays: 20 })?.[0]).toBe('whether the body is soft');
  });

  it('is for a plant at rest that may need rescue; one that gets a light drink can wait for it', () => {
    const tables = { rescue: [row('sunken', { raise: 'full' }, { fact: 'thirst', op: 'is', value: 'very-soft' })] };
    // After 40 dry days it may well be badly sunken; the phase alone would say nothing of it.
    expect(look(tables, { dryDays: 40 }, NO_DRINK)?.[0]).toBe('whether the plant is soft or sunken');
    expect(look(tables, { dryDays: 40, thirst: 'soft' }, NO_DRINK)).toBeUndefined();
    // After ten days nobody supposes it.
    expect(look(tables, { dryDays: 10 }, NO_DRINK)).toBeUndefined();
    expect(look(tables, { dryDays: 40 }, LIGHT_DRINK)).toBeUndefined();
    // A rest so strict that no rescue counts is not looked into.
    expect(
      look(tables, { dryDays: 40 }, smallLimits({ growing: { drinks: [], atMost: 'none', note: 'Rests.' } })),
    ).toBeUndefined();
  });
});
