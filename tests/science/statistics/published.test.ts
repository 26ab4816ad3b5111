import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  brierDecomposition,
  brierScore,
  contingencyScores,
  crpsEnsemble,
  crpsNormal,
  errorScores,
  pinballLoss,
} from '../../../src/science/scores.js';
import { forwardFilter, predictBelief, smoothBeliefs } from '../../../src/science/statistics/hidden-markov.js';
import { predictLevel, updateLevel } from '../../../src/science/statistics/kalman.js';
import { startLeastSquares, updateLeastSquares } from '../../../src/science/statistics/least-squares.js';

// biome-ignore lint/suspicious/noExplicitAny: each entry has inputs of its own form
type Inputs = any;
interface Entry {
  readonly id: string;
  readonly source: { readonly authors: string; readonly year: number | string };
  readonly inputs: Inputs;
  readonly expected: Readonly<Record<string, number | readonly number[]>>;
  readonly tolerance: Readonly<Record<string, number>>;
}
const entries: Entry[] = JSON.parse(
  readFileSync(new URL('../data/published-statistics.json', import.meta.url), 'utf8'),
);

type Result = Record<string, number | readonly (number | undefined)[] | undefined>;

const umbrella = (inputs: Inputs) => {
  const likelihoods = inputs.umbrella.map((seen: boolean) =>
    [inputs.pUmbrellaGivenRain, inputs.pUmbrellaGivenDry].map((p: number) => (seen ? p : 1 - p)),
  );
  const { beliefs, logLikelihood } = forwardFilter(inputs.prior, inputs.transition, likelihoods);
  const rain = (list: readonly (readonly number[])[]) => list.map((belief) => belief[0] as number);
  const smoothed = rain(smoothBeliefs(inputs.prior, inputs.transition, likelihoods));
  return {
    filtered_rain: rain(beliefs),
    smoothed_rain_day1: smoothed[1],
    smoothed_rain_day0to5: smoothed,
    predict_rain_day3: predictBelief(beliefs.at(-1) as number[], inputs.transition)[0],
    logLikelihood,
  };
};

const leastSquares = (inputs: Inputs, rows: number[][]) => {
  let state = startLeastSquares(
    (rows[0] as number[]).map(() => 0),
    inputs.P0,
  );
  return rows.map((row, i) => {
    state = updateLeastSquares(state, row, inputs.y[i], inputs.lambda);
    return state.coefficients;
  });
};

const compute: Record<string, (inputs: Inputs) => Result> = {
  'finley-1884-scores': (inputs) => ({ ...contingencyScores(inputs) }),
  'finley-odds-ratio': (inputs) => ({ ...contingencyScores(inputs) }),
  'contingency-9-2-1-6': (inputs) => ({ ...contingencyScores(inputs) }),
  'brier-score-10-pairs': (inputs) => ({
    brier: brierScore(
      inputs.forecastProbability.map((probability: number, i: number) => ({
        probability,
        happened: inputs.outcome[i] === 1,
      })),
    ),
  }),
  'brier-murphy-decomposition': ({ bins }) => {
    const parts = brierDecomposition(
      bins.map((bin: { p: number; n: number; events: number }) => ({
        probability: bin.p,
        count: bin.n,
        events: bin.events,
      })),
    );
    return {
      reliability: parts?.reliability,
      resolution: parts?.resolution,
      uncertainty: parts?.uncertainty,
      brier: parts?.brier,
      brierSkill: parts?.skill,
    };
  },
  'crps-gaussian-closed-form': (inputs) => ({
    crps: inputs.mu.map((mean: number, i: number) => crpsNormal(mean, inputs.sigma[i], inputs.obs[i])),
  }),
  'crps-ensemble-ecdf-and-fair': (inputs) => ({
    crpsEcdf: inputs.members.map((members: number[], i: number) => crpsEnsemble(members, inputs.obs[i])),
    crpsFair: inputs.members.map((members: number[], i: number) => crpsEnsemble(members, inputs.obs[i], true)),
  }),
  'pinball-loss': (inputs) => ({
    loss: inputs.obs.map((observed: number, i: number) =>
      pinballLoss(inputs.quantileForecast[i], observed, inputs.alpha[i]),
    ),
  }),
  'mae-rmse-bias-skill': (inputs) => {
    const scores = errorScores(inputs.forecast_C, inputs.observed_C, inputs.reference_C);
    return {
      bias_C: scores?.bias,
      mae_C: scores?.meanAbsolute,
      rmse_C: scores?.rootMeanSquare,
      mseSkill: scores?.skill,
    };
  },
  'kalman-local-level-nile': (inputs) => {
    let level = { mean: inputs.a1, variance: inputs.P1 };
    const steps = inputs.y.map((y: number) => {
      const updated = updateLevel(level, y, inputs.sigmaEps2);
      level = predictLevel(updated, inputs.sigmaEta2);
      return updated;
    });
    return {
      innovation: steps.map((step: { innovation: number }) => step.innovation),
      innovationVariance: steps.map((step: { innovationVariance: number }) => step.innovationVariance),
      filteredState: steps.map((step: { mean: number }) => step.mean),
      filteredVariance: steps.map((step: { variance: number }) => step.variance),
    };
  },
  'kalman-scalar-3-steps': (inputs) => {
    let level = { mean: inputs.x0_C, variance: inputs.P0 };
    const steps = inputs.y_C.map((y: number) => {
      const updated = updateLevel(level, y, inputs.R);
      level = predictLevel(updated, inputs.Q);
      return updated;
    });
    return {
      gain: steps.map((step: { gain: number }) => step.gain),
      filtered_C: steps.map((step: { mean: number }) => step.mean),
      variance: steps.map((step: { variance: number }) => step.variance),
    };
  },
  'rls-equals-ols': (inputs) => ({
    thetaFinal: leastSquares(
      inputs,
      inputs.x.map((x: number) => [1, x]),
    ).at(-1),
  }),
  'rls-forgetting-0.9-mean': (inputs) => {
    const theta = leastSquares(
      inputs,
      inputs.y.map(() => [1]),
    ).map((coefficients) => coefficients[0] as number);
    return { theta, exponentiallyWeightedMean: theta.at(-1) };
  },
  'hmm-umbrella-filter-smooth': umbrella,
  'hmm-umbrella-5step-smoothing': umbrella,
  'hmm-ice-cream-forward': (inputs) => {
    const likelihoods = inputs.observations.map((n: number) => [
      inputs.emission_hot_1_2_3[n - 1],
      inputs.emission_cold_1_2_3[n - 1],
    ]);
    const { beliefs, scales, logLikelihood } = forwardFilter(
      inputs.pi_hot_cold,
      inputs.transition_hot_cold,
      likelihoods,
      false,
    );
    // The book does not scale: its alpha is ours times the product of the scales so far.
    let product = 1;
    const products = scales.map((scale) => {
      product *= scale;
      return product;
    });
    const alpha = (state: number) => beliefs.map((belief, i) => (belief[state] as number) * (products[i] as number));
    return { alpha_hot: alpha(0), alpha_cold: alpha(1), likelihood: Math.exp(logLikelihood) };
  },
};

describe('published values of scores and filters', () => {
  it.each(entries.map((entry) => [entry.id, entry] as const))('%s', (id, entry) => {
    const result = (compute[id] as (inputs: Inputs) => Result)(entry.inputs);
    for (const [key, value] of Object.entries(entry.expected)) {
      const tolerance = entry.tolerance[key] ?? entry.tolerance.abs_all ?? Number.NaN;
      const expected = [value].flat() as number[];
      const got = [result[key]].flat() as number[];
      expect(got, key).toHaveLength(expected.length);
      for (const [i, number] of expected.entries())
        expect(Math.abs((got[i] as number) - number), `${key}[${i}] ${got[i]} for ${number}`).toBeLessThanOrEqual(
          tolerance,
        );
    }
  });
});
