import { describe, expect, it } from 'vitest';
import { gatherFacts } from '../../src/advice/facts.js';
import { type Given, givenSchema, inputsOf } from '../../src/advice/what-if.js';
import type { Fact, Verdict } from '../../src/domain/verdict.js';
import { limitsFor } from '../../src/rules/limits.js';
import { decide } from '../../src/rules/verdict.js';
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

/** Growing for sure, and whether it is soft nobody has felt. */
const unfelt = (dryDays: number) =>
  verdictOf({ phase: 'growing' }, dryDays, { workingSoftness: fact(null), phaseProbability: fact(0.95) });
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
    const pending = unfelt(THIRST_HALF_DAYS);
    if (pending.inspect) expect(pending.lookSaves).toBeCloseTo(0.5, 12);
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
