/**
 * A hidden state that moves by chance and is seen only through signs: forward filter and forward-backward smoother.
 * Every step is scaled to sum 1, so that a year of steps neither underflows nor drifts.
 * Source: Rabiner (1989), Proc. IEEE 77:257-286, sections III.A and V.A; Russell & Norvig (2010), ch. 15.2.
 */
import { PhysicsRangeError, requireInRange, requireNotNegative } from '../guards.js';

/** Row = state left, column = state entered; rows sum to 1. */
export type Transition = readonly (readonly number[])[];

/**
 * Probabilities scaled to sum 1.
 * @throws PhysicsRangeError when they sum to 0: the signs contradict every state
 */
export function normalise(weights: readonly number[]): { readonly belief: number[]; readonly scale: number } {
  let scale = 0;
  for (const weight of weights) scale += requireNotNegative('probability', weight, '');
  if (!(scale > 0)) throw new PhysicsRangeError('sum of probabilities', scale, '', { min: Number.MIN_VALUE, max: 1 });
  return { belief: weights.map((weight) => weight / scale), scale };
}

/**
 * The belief one step on, before anything is seen.
 * @throws PhysicsRangeError when the sizes differ or a row does not sum to 1
 */
export function predictBelief(belief: readonly number[], transition: Transition): number[] {
  requireInRange('number of states', belief.length, '', transition.length, transition.length);
  const next = new Array<number>(transition.length).fill(0);
  for (const [from, row] of transition.entries()) {
    requireInRange(
      `sum of row ${from}`,
      row.reduce((total, share) => total + share, 0),
      '',
      1 - 1e-9,
      1 + 1e-9,
    );
    for (const [to, share] of row.entries()) next[to] = (next[to] as number) + (belief[from] as number) * share;
  }
  return next;
}

/**
 * The belief after something is seen.
 * @param likelihood probability of what was seen in each state
 * @returns the belief and the probability that was given to what was seen
 */
export function updateBelief(
  predicted: readonly number[],
  likelihood: readonly number[],
): { readonly belief: number[]; readonly scale: number } {
  requireInRange('number of likelihoods', likelihood.length, '', predicted.length, predicted.length);
  return normalise(predicted.map((share, state) => share * (likelihood[state] as number)));
}

/**
 * Belief after each of a run of observations, and the log likelihood of the run.
 * @param first belief at the first observation, before it; with `stepBefore` it is the belief one step earlier
 */
export function forwardFilter(
  first: readonly number[],
  transition: Transition,
  likelihoods: readonly (readonly number[])[],
  stepBefore = true,
): { readonly beliefs: readonly number[][]; readonly scales: readonly number[]; readonly logLikelihood: number } {
  const beliefs: number[][] = [];
  const scales: number[] = [];
  let belief: readonly number[] = first;
  for (const [step, likelihood] of likelihoods.entries()) {
    const predicted = step > 0 || stepBefore ? predictBelief(belief, transition) : belief;
    const updated = updateBelief(predicted, likelihood);
    beliefs.push(updated.belief);
    scales.push(updated.scale);
    belief = updated.belief;
  }
  return { beliefs, scales, logLikelihood: scales.reduce((total, scale) => total + Math.log(scale), 0) };
}

/**
 * Belief at each step given the whole run, the step before the first observation included.
 * @param first belief one step before the first observation
 */
export function smoothBeliefs(
  first: readonly number[],
  transition: Transition,
  likelihoods: readonly (readonly number[])[],
): readonly number[][] {
  const { beliefs } = forwardFilter(first, transition, likelihoods);
  const forward = [first, ...beliefs];
  let backward: readonly number[] = first.map(() => 1);
  const smoothed: number[][] = new Array(forward.length);
  for (let step = forward.length - 1; step >= 0; step -= 1) {
    const later = backward;
    smoothed[step] = normalise(
      (forward[step] as readonly number[]).map((share, state) => share * (later[state] as number)),
    ).belief;
    const likelihood = likelihoods[step - 1];
    if (likelihood === undefined) continue;
    backward = normalise(
      transition.map((row) =>
        row.reduce((total, share, to) => total + share * (likelihood[to] as number) * (later[to] as number), 0),
      ),
    ).belief;
  }
  return smoothed;
}
