import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../src/science/guards.js';
import {
  brierDecomposition,
  brierScore,
  contingencyScores,
  crpsEnsemble,
  crpsNormal,
  errorScores,
  logScore,
  pinballLoss,
  reliabilityBins,
} from '../../src/science/scores.js';
import { normalQuantile } from '../../src/science/statistics/normal.js';

describe('a zero denominator is undefined, not 0', () => {
  it('no event came: detection is undefined, the false alarm ratio is not', () => {
    const scores = contingencyScores({ hits: 0, falseAlarms: 3, misses: 0, correctNegatives: 10 });
    expect(scores).toMatchObject({ pod: undefined, bias: undefined, pss: undefined, sedi: undefined, far: 1, csi: 0 });
  });
  it('nothing was counted: every score is undefined', () => {
    const scores = contingencyScores({ hits: 0, falseAlarms: 0, misses: 0, correctNegatives: 0 });
    expect(Object.values(scores).every((score) => score === undefined)).toBe(true);
  });
  it('every event was missed: detection is 0', () => {
    expect(contingencyScores({ hits: 0, falseAlarms: 0, misses: 4, correctNegatives: 9 })).toMatchObject({
      pod: 0,
      far: undefined,
      oddsRatio: undefined,
    });
  });
  it('no pairs, one member, a perfect reference', () => {
    expect(brierScore([])).toBeUndefined();
    expect(brierDecomposition([])).toBeUndefined();
    expect(brierDecomposition([{ probability: 1, count: 4, events: 4 }])?.skill).toBeUndefined();
    expect(logScore([])).toBeUndefined();
    expect(crpsEnsemble([], 1)).toBeUndefined();
    expect(crpsEnsemble([3], 1, true)).toBeUndefined();
    expect(crpsEnsemble([3], 1)).toBe(2);
    expect(errorScores([], [])).toBeUndefined();
    expect(errorScores([1], [1], [1])?.skill).toBeUndefined();
  });
});

describe('guards', () => {
  it('refuse NaN, negative counts, impossible probabilities and lists of unequal length', () => {
    expect(() => contingencyScores({ hits: Number.NaN, falseAlarms: 0, misses: 0, correctNegatives: 0 })).toThrow(
      PhysicsRangeError,
    );
    expect(() => contingencyScores({ hits: -1, falseAlarms: 0, misses: 0, correctNegatives: 0 })).toThrow(/hits/);
    expect(() => brierScore([{ probability: 1.2, happened: true }])).toThrow(PhysicsRangeError);
    expect(() => brierDecomposition([{ probability: 0.2, count: 1, events: 2 }])).toThrow(/events/);
    expect(() => crpsNormal(0, 0, 1)).toThrow(/standardDeviation/);
    expect(() => errorScores([1, 2], [1])).toThrow(/number of forecasts/);
    expect(() => pinballLoss(1, Number.NaN, 0.5)).toThrow(/observed/);
  });
});

describe('properties', () => {
  const counts = fc.record({
    hits: fc.nat(500),
    falseAlarms: fc.nat(500),
    misses: fc.nat(500),
    correctNegatives: fc.nat(5000),
  });
  it('shares stay between 0 and 1 and skill at or below 1', () => {
    fc.assert(
      fc.property(counts, (table) => {
        const { pod, far, pofd, csi, hss, pss, ets } = contingencyScores(table);
        for (const share of [pod, far, pofd, csi]) if (share !== undefined) expect(share >= 0 && share <= 1).toBe(true);
        for (const skill of [hss, pss, ets]) if (skill !== undefined) expect(skill).toBeLessThanOrEqual(1 + 1e-12);
      }),
    );
  });
  it('the parts of the Brier score add up to it when each forecast value has its own bin (Murphy 1973)', () => {
    const pairs = fc.array(
      fc.record({ probability: fc.constantFrom(0, 0.1, 0.3, 0.5, 0.8, 1), happened: fc.boolean() }),
      { minLength: 1, maxLength: 60 },
    );
    fc.assert(
      fc.property(pairs, (list) => {
        const bins = [...new Set(list.map((pair) => pair.probability))].map((probability) => {
          const inside = list.filter((pair) => pair.probability === probability);
          return { probability, count: inside.length, events: inside.filter((pair) => pair.happened).length };
        });
        expect(brierDecomposition(bins)?.brier).toBeCloseTo(brierScore(list) as number, 10);
      }),
    );
  });
  it('an ensemble of normal quantiles scores like the normal forecast it stands for', () => {
    // Midpoint quantiles of 400 members: the difference shrinks with the square of their number.
    const members = Array.from({ length: 400 }, (_, i) => normalQuantile((i + 0.5) / 400, 20, 2));
    for (const observed of [15, 19, 20, 23.5, 28])
      expect(crpsEnsemble(members, observed)).toBeCloseTo(crpsNormal(20, 2, observed), 2);
  });
  it('pinball loss of the middle quantile is half the absolute error', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -50, max: 50, noNaN: true }),
        fc.double({ min: -50, max: 50, noNaN: true }),
        (q, y) => {
          expect(pinballLoss(q, y, 0.5)).toBeCloseTo(Math.abs(q - y) / 2, 10);
        },
      ),
    );
  });
});

describe('reliability bins', () => {
  it('hold every pair once, 1 in the last bin, and speak with the mean of their probabilities', () => {
    const pairs = [0, 0.04, 0.1, 0.55, 0.95, 1].map((probability, i) => ({ probability, happened: i % 2 === 1 }));
    const bins = reliabilityBins(pairs);
    expect(bins.map(({ count }) => count)).toEqual([2, 1, 0, 0, 0, 1, 0, 0, 0, 2]);
    expect(bins.map(({ events }) => events)).toEqual([1, 0, 0, 0, 0, 1, 0, 0, 0, 1]);
    expect(bins[0]?.probability).toBeCloseTo(0.02, 12);
    expect(bins[2]?.probability).toBe(0.25);
    expect(bins[9]?.probability).toBeCloseTo(0.975, 12);
    expect(() => reliabilityBins([{ probability: 1.01, happened: true }])).toThrow(PhysicsRangeError);
  });
});
