import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { dryingRate, observePotWeight, type PotWeightState } from '../../src/models/pot-weight.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { sharedData } from '../support/shared-data.js';

const MINUTE = 60_000;

/** Follows readings a minute apart. */
function follow(weights: readonly number[], from?: PotWeightState): PotWeightState {
  let state = from;
  const start = from ? from.at + MINUTE : 0;
  weights.forEach((weightG, i) => {
    state = observePotWeight(state, { at: start + i * MINUTE, weightG });
  });
  return state as PotWeightState;
}
const drying = (minutes: number, fromG: number, gPerHour: number): number[] =>
  Array.from({ length: minutes }, (_, i) => fromG - (gPerHour * i) / 60 + 0.2 * Math.sin(i * 2.4));

describe('drying rate of a pot', () => {
  it('is found within two hours of being put down', () => {
    const rate = dryingRate(follow(drying(120, 500, 3)));
    expect(rate?.gPerHour).toBeCloseTo(3, 0);
    expect(rate?.spread).toBeLessThan(1);
  });
  it('is not told while the balance is empty or just after the pot came back', () => {
    const lifted = follow([0.3, 0.2, 0.4], follow(drying(120, 500, 3)));
    expect(dryingRate(lifted)).toBeUndefined();
    expect(dryingRate(follow(drying(6, 480, 3), lifted))).toBeUndefined();
    expect(dryingRate(follow(drying(60, 480, 3), lifted))?.gPerHour).toBeCloseTo(3, 0);
  });
  it('goes on through a drink of 40 g, which is a jump and not a negative loss', () => {
    const before = follow(drying(180, 500, 3));
    const after = follow(drying(40, 531, 3), before);
    expect(after.trend?.level).toBeCloseTo(529, 0);
    expect(dryingRate(after)?.gPerHour).toBeCloseTo(3, 0);
  });
  it('passes over one odd reading, and one that comes late', () => {
    const before = follow(drying(180, 500, 3));
    const leaned = follow([before.trend ? before.trend.level + 60 : 0], before);
    expect(leaned.trend?.level).toBeCloseTo(before.trend?.level as number, 0);
    expect(observePotWeight(before, { at: before.at - MINUTE, weightG: 480 })).toBe(before);
  });
  it('starts anew after a gap of hours', () => {
    const before = follow(drying(180, 500, 3));
    const after = observePotWeight(before, { at: before.at + 5 * 3_600_000, weightG: 470 });
    expect(after.trend?.level).toBe(470);
    expect(dryingRate(after)).toBeUndefined();
  });
  it('refuses NaN', () => {
    expect(() => observePotWeight(undefined, { at: 0, weightG: Number.NaN })).toThrow(PhysicsRangeError);
  });
});

interface Row {
  readonly at: number;
  readonly weightG: number;
}

function readBalances(path: string): Map<string, Row[]> {
  const balances = new Map<string, Row[]>();
  for (const line of gunzipSync(readFileSync(path)).toString().trim().split('\n').slice(1)) {
    const [balance = '', time = '', , weight] = line.split(',');
    const row = { at: Date.parse(`${time.replace(' ', 'T')}Z`), weightG: Number(weight) };
    const rows = balances.get(balance);
    if (rows) rows.push(row);
    else balances.set(balance, [row]);
  }
  return balances;
}

/** Cleaned by rule as a person would by hand: stretches of a pot at rest, trimmed at both ends, at least two hours long. */
function restingStretches(rows: readonly Row[]): Row[][] {
  const stretches: Row[][] = [];
  let current: Row[] = [];
  for (const row of rows) {
    const last = current.at(-1);
    const goesOn =
      last && row.weightG > 500 && Math.abs(row.weightG - last.weightG) < 1.5 && row.at - last.at < 180_000;
    if (!goesOn) {
      stretches.push(current);
      current = [];
    }
    if (row.weightG > 500) current.push(row);
  }
  stretches.push(current);
  return stretches
    .map((stretch) => stretch.slice(15, -15))
    .filter((stretch) => stretch.length > 0 && (stretch.at(-1) as Row).at - (stretch[0] as Row).at > 2 * 3_600_000);
}

/** Ordinary least squares over the first and last half hour: loss between their means. */
function slopeOf(stretch: readonly Row[]): { grams: number; hours: number } {
  const mean = (rows: readonly Row[]) => ({
    at: rows.reduce((sum, row) => sum + row.at, 0) / rows.length,
    weightG: rows.reduce((sum, row) => sum + row.weightG, 0) / rows.length,
  });
  const [first, last] = [mean(stretch.slice(0, 30)), mean(stretch.slice(-30))];
  return { grams: first.weightG - last.weightG, hours: (last.at - first.at) / 3_600_000 };
}

const weights = sharedData('pots/pots_wheat_weight/pot_weight_1min.csv.gz');
describe.runIf(weights)('raw pot weights of a growth chamber (Tamang & Sadok 2018, Environ. Exp. Bot. 148)', () => {
  // The body of a suite that is left out is read all the same.
  const balances = weights === undefined ? new Map<string, Row[]>() : readBalances(weights);

  it('finds the drying rate of every balance within 5 % of the cleaned slope, through lifting, watering and swapping', () => {
    const found = [...balances].map(([balance, rows]) => {
      const stretches = restingStretches(rows);
      const clean = stretches.map(slopeOf);
      const cleanRate =
        clean.reduce((sum, part) => sum + part.grams, 0) / clean.reduce((sum, part) => sum + part.hours, 0);
      const resting = new Set(stretches.flatMap((stretch) => stretch.slice(15, -15).map((row) => row.at)));
      let state: PotWeightState | undefined;
      const rates: number[] = [];
      for (const row of rows) {
        state = observePotWeight(state, row);
        const rate = dryingRate(state);
        if (rate && resting.has(row.at)) rates.push(rate.gPerHour);
      }
      const rate = rates.reduce((sum, value) => sum + value, 0) / rates.length;
      return { balance, cleanRate, rate, told: rates.length / resting.size };
    });
    expect(found).toHaveLength(34);
    for (const { balance, cleanRate, rate, told } of found) {
      expect(cleanRate, `balance ${balance}`).toBeGreaterThan(1);
      expect(Math.abs(rate / cleanRate - 1), `balance ${balance}: ${rate} for ${cleanRate} g/h`).toBeLessThan(0.05);
      expect(told, `balance ${balance}: share of the resting time with a rate`).toBeGreaterThan(0.95);
    }
  });

  it('a plain slope over the raw record is wrong by more than half on most balances: the handling has to be seen', () => {
    const wrong = [...balances.values()].filter((rows) => {
      const clean = restingStretches(rows).map(slopeOf);
      const cleanRate =
        clean.reduce((sum, part) => sum + part.grams, 0) / clean.reduce((sum, part) => sum + part.hours, 0);
      const [first, last] = [rows.find((row) => row.weightG > 500) as Row, rows.at(-1) as Row];
      const plain = ((first.weightG - last.weightG) / (last.at - first.at)) * 3_600_000;
      return Math.abs(plain / cleanRate - 1) > 0.5;
    });
    expect(wrong.length).toBeGreaterThan(17);
  });
});
