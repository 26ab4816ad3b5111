import { FACTS } from '../domain/facts.js';
import { amountRank } from '../domain/plants.js';
import type { TraceRow } from '../domain/verdict.js';
import { canBeSeen, type Outcome, weigh } from './decide.js';
import { changedSheet, type FactSheet, type LimitValues, unknownFacts, valueIn } from './evaluate.js';
import type { Limits } from './limits.js';
import type { Rulebook } from './rulebook.js';
import { inWords } from './words.js';

/** What to look for, and what the look is expected to save per pot: 1 is one pot that went without a drink it needed. */
export interface Look {
  readonly lookFor: string;
  readonly saves: number;
}

export interface Outcomes {
  /** The one that is advised. */
  readonly outcome: Outcome;
  /** The two likely phases give different amounts. */
  readonly split: boolean;
  readonly first: Outcome;
  readonly second: Outcome | undefined;
}

/** Where nothing tells how likely the one or the other is. */
const EVEN_ODDS = 0.5;

/** What tells the phase. */
const PHASE_LOOK = FACTS.waterPhase?.look as string;

/**
 * The look that would settle a decision. Until then the stricter answer is advised, so what a look saves is the harm of
 * that answer times how likely it is the wrong one; where trouble was seen, the harm of water to a plant in trouble.
 */
export function lookOf(
  rulebook: Rulebook,
  sheet: FactSheet,
  limits: Limits,
  values: LimitValues,
  outcomes: Outcomes,
): Look | undefined {
  const { outcome, split, first, second } = outcomes;
  const harmOfDry = numberIn(values, 'harm-of-wrong-dry');
  const asked = outcome.bites.find((bite) => bite.met === 'yes' && bite.row.row.effect.inspect === true);
  if (asked)
    return {
      lookFor: lookAt(asked.trace) ?? 'the plant and its roots',
      saves: EVEN_ODDS * numberIn(values, 'harm-of-wrong-drink'),
    };
  if (split && first.phase && second?.phase)
    return {
      lookFor: `whether it is ${inWords(first.phase)} or ${inWords(second.phase)}`,
      saves: harmOfDry * oddsOfTheOther(sheet, outcome === first),
    };
  const hasPolicy = outcome.policyPhase !== null && limits.phases[outcome.policyPhase].note !== undefined;
  if (!hasPolicy) return { lookFor: PHASE_LOOK, saves: harmOfDry * EVEN_ODDS };
  if (amountRank(outcome.byLook) <= amountRank(outcome.amount)) return undefined;
  const supposed = asALookMightFind(sheet);
  if (amountRank(weigh(rulebook, supposed, limits, true).amount) <= amountRank(outcome.amount)) return undefined;
  const open = outcome.bites.find((bite) => unknownFacts(bite.trace).some(canBeSeen));
  const lookFor = open && lookAt(open.trace);
  return lookFor === undefined ? undefined : { lookFor, saves: harmOfDry * oddsOfThirst(sheet, values) };
}

/** A number the decision itself needs: a rulebook without it is refused. */
const numberIn = (values: LimitValues, name: string): number => values[name] as number;

/** How likely the phase is that would be watered more. */
function oddsOfTheOther(sheet: FactSheet, firstIsAdvised: boolean): number {
  const first = valueIn(sheet, 'phaseProbability');
  if (typeof first !== 'number') return EVEN_ODDS;
  if (!firstIsAdvised) return first;
  const second = valueIn(sheet, 'secondPhaseProbability');
  return typeof second === 'number' ? second : 1 - first;
}

/** The longer the pot is dry, the likelier the plant is soft: half of them after so many days. */
function oddsOfThirst(sheet: FactSheet, values: LimitValues): number {
  const dryDays = valueIn(sheet, 'dryDays');
  if (typeof dryDays !== 'number') return EVEN_ODDS;
  return dryDays <= 0 ? 0 : dryDays / (dryDays + numberIn(values, 'thirst-half-days'));
}

/** In a pot this long dry a plant may be badly sunken, not just soft (starting value). */
const LONG_DRY_DAYS = 30;

/** What would call for water, where it is not known: a soft body over a pot long dry. */
function asALookMightFind(sheet: FactSheet): FactSheet {
  const dryDays = valueIn(sheet, 'dryDays');
  const softness = typeof dryDays === 'number' && dryDays < LONG_DRY_DAYS ? 'soft' : 'very-soft';
  const thirsty = {
    workingSoftness: softness,
    newPairSoftness: softness,
    olderPairSoftness: softness,
    thirst: softness,
    dryDays: LONG_DRY_DAYS,
    depletion: 1,
  };
  return changedSheet(
    sheet,
    Object.fromEntries(Object.entries(thirsty).filter(([name]) => valueIn(sheet, name) === null)),
  );
}

function lookAt(trace: TraceRow): string | undefined {
  const unknown = unknownFacts(trace).find(canBeSeen);
  const name = unknown ?? trace.conditions.find((condition) => canBeSeen(condition.fact))?.fact;
  return name === undefined ? undefined : FACTS[name]?.look;
}
