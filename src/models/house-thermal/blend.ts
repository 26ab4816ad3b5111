/**
 * Many forecasts of one figure put together: each weighs by how well it foretold the days before, on a robust score of its
 * own spread, and what is long ago fades. A prior keeps a few days' luck from deciding.
 * Source of the weighting: exponentially weighted forecasters, Cesa-Bianchi & Lugosi (2006), Prediction, Learning, and
 * Games, ch. 2; score: logarithm of a Student t density with 4 degrees of freedom, less of it where the house is new.
 */
import type { Estimate } from '../../science/statistics/kalman.js';
import { DEVIATION_OVER_MEAN } from '../../science/statistics/normal.js';

export interface Member {
  readonly name: string;
  /** Weight before anything was foretold; any positive scale. */
  readonly prior: number;
}

/** Mean and, where the member knows it, variance; undefined: it has no forecast. */
export type MemberForecast = { readonly mean: number; readonly variance?: number } | undefined;

export interface Blend {
  /** What the members say together; undefined when none has a forecast. */
  readonly combine: (forecasts: readonly MemberForecast[], lead: number) => Estimate | undefined;
  /** Tells what came of the forecasts made with that lead. Each day once per lead. */
  readonly learn: (forecasts: readonly MemberForecast[], lead: number, observed: number) => void;
  /** Share of each member in the forecasts of a lead, by name. */
  readonly weights: (lead: number) => readonly { readonly name: string; readonly weight: number }[];
}

const DEGREES = 4;
/** Below 1, since forecasts of one house err together and their scores say less than they seem to. */
const LEARNING_RATE = 0.6;
const HALF_LIFE_DAYS = 100;
const FADING = 0.5 ** (1 / HALF_LIFE_DAYS);
/** A single day moves no member further below the middle one than this. */
const WORST_DAY = 4;
/** Half of what counts is the member's score at that lead, half its score at all leads. */
const SHARED = 0.5;
const LEAST_DEVIATION = 0.05;
/** A member without a spread of its own is given that of its last errors, with so many errors of that size before. */
const ERRORS_KEPT = 30;
const ERRORS_BEFORE = 4;
const ERROR_BEFORE = 2;

export function createBlend(members: readonly Member[], leads: number): Blend {
  const total = members.reduce((sum, { prior }) => sum + prior, 0);
  const priors = members.map(({ prior }) => Math.log(prior / total));
  const scores = Array.from({ length: leads }, () => [...priors]);
  const errors = Array.from({ length: leads }, () => members.map((): number[] => []));

  const deviationOf = (forecast: NonNullable<MemberForecast>, member: number, lead: number): number => {
    if (forecast.variance !== undefined) return Math.max(LEAST_DEVIATION, Math.sqrt(forecast.variance));
    const last = errors[lead]?.[member] ?? [];
    const sum = last.reduce((before, error) => before + Math.abs(error), ERRORS_BEFORE * ERROR_BEFORE);
    return Math.max(LEAST_DEVIATION, (DEVIATION_OVER_MEAN * sum) / (last.length + ERRORS_BEFORE));
  };
  const scoreOf = (member: number, lead: number): number => {
    const everywhere = scores.reduce((sum, ofLead) => sum + (ofLead[member] as number), 0) / leads;
    return SHARED * everywhere + (1 - SHARED) * ((scores[lead] as number[])[member] as number);
  };
  const shares = (who: readonly number[], lead: number): number[] => {
    const logs = who.map((member) => scoreOf(member, lead));
    const highest = Math.max(...logs);
    const raw = logs.map((log) => Math.exp(log - highest));
    const sum = raw.reduce((before, value) => before + value, 0);
    return raw.map((value) => value / sum);
  };

  return {
    combine: (forecasts, lead) => {
      const who = forecasts.flatMap((forecast, member) => (forecast === undefined ? [] : [member]));
      if (who.length === 0) return undefined;
      const weights = shares(who, lead);
      let mean = 0;
      who.forEach((member, at) => {
        mean += (weights[at] as number) * (forecasts[member] as { mean: number }).mean;
      });
      let variance = 0;
      who.forEach((member, at) => {
        const forecast = forecasts[member] as NonNullable<MemberForecast>;
        const deviation = deviationOf(forecast, member, lead);
        variance += (weights[at] as number) * (deviation * deviation + (forecast.mean - mean) ** 2);
      });
      return { mean, variance };
    },

    learn: (forecasts, lead, observed) => {
      const gained = forecasts.map((forecast, member) => {
        if (forecast === undefined) return undefined;
        const deviation = deviationOf(forecast, member, lead);
        const z = (observed - forecast.mean) / deviation;
        const density = -((DEGREES + 1) / 2) * Math.log(1 + (z * z) / DEGREES) - Math.log(deviation);
        return LEARNING_RATE * density;
      });
      const there = gained.filter((value) => value !== undefined).sort((a, b) => a - b);
      if (there.length === 0) return;
      const middle = there[there.length >> 1] as number;
      const ofLead = scores[lead] as number[];
      forecasts.forEach((forecast, member) => {
        // Who said nothing is neither rewarded nor punished.
        const gain = Math.max(gained[member] ?? middle, middle - WORST_DAY);
        ofLead[member] =
          FADING * (ofLead[member] as number) + (1 - FADING) * (priors[member] as number) + gain - middle;
        if (forecast === undefined) return;
        const kept = errors[lead]?.[member] as number[];
        kept.push(observed - forecast.mean);
        if (kept.length > ERRORS_KEPT) kept.shift();
      });
    },

    weights: (lead) => {
      const all = shares(
        members.map((_, member) => member),
        lead,
      );
      return members.map(({ name }, member) => ({ name, weight: all[member] as number }));
    },
  };
}
