import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { DEMAND_FORGETTING, expectedUptake, learnDemand, startDemand } from '../../src/models/water-demand.js';
import { atmosphericPressureKPa } from '../../src/science/air.js';
import { glassReferenceEtMm } from '../../src/science/evaporation.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { dliFromSteadyPpfd, radiationSumFromDliMJm2 } from '../../src/science/light.js';
import { sharedData } from '../support/shared-data.js';

describe('water demand', () => {
  it('finds base and coefficient, and follows a crop that grows', () => {
    let demand = startDemand();
    for (let day = 0; day < 60; day += 1) {
      const referenceEtMm = 2 + (day % 5);
      const coefficient = day < 40 ? 0.4 : 0.6;
      demand = learnDemand(demand, { referenceEtMm, uptake: 0.5 + coefficient * referenceEtMm });
    }
    expect(expectedUptake(demand, 4)).toBeCloseTo(0.5 + 0.6 * 4, 1);
    expect(expectedUptake(startDemand(), 4)).toBe(0);
  });
  it('refuses NaN and negative uptake', () => {
    expect(() => learnDemand(startDemand(), { referenceEtMm: Number.NaN, uptake: 1 })).toThrow(PhysicsRangeError);
    expect(() => learnDemand(startDemand(), { referenceEtMm: 1, uptake: -1 })).toThrow(PhysicsRangeError);
  });
});

interface CropDay {
  readonly referenceEtMm: number;
  readonly dli: number;
  readonly uptake: number;
}

/** Days with a whole record of the house, and the mean uptake of the nine weighed units, L per plant. */
function readCrop(uptakePath: string, climatePath: string): CropDay[] {
  const read = (text: string | Buffer): Record<string, string>[] => parse(text, { columns: true });
  const uptakes = new Map<string, number[]>();
  for (const row of read(readFileSync(uptakePath)))
    if (row.uptake_l_per_plant)
      uptakes.set(row.date as string, [...(uptakes.get(row.date as string) ?? []), Number(row.uptake_l_per_plant)]);
  const quarters = new Map<string, Record<string, string>[]>();
  for (const row of read(gunzipSync(readFileSync(climatePath)))) {
    const day = (row.time_mst as string).slice(0, 10);
    quarters.set(day, [...(quarters.get(day) ?? []), row]);
  }
  const pressureKPa = atmosphericPressureKPa(713);
  return [...uptakes].sort().flatMap(([day, units]) => {
    const rows = (quarters.get(day) ?? []).filter((row) => row.ppf_in_umol && row.t_dry_in_c && row.vpd_in_kpa);
    if (rows.length < 90) return [];
    let referenceEtMm = 0;
    let dli = 0;
    for (const row of rows) {
      const quarterDli = dliFromSteadyPpfd(Math.max(0, Number(row.ppf_in_umol)), 0.25);
      dli += quarterDli;
      referenceEtMm += glassReferenceEtMm({
        airTempC: Number(row.t_dry_in_c),
        vpdKPa: Math.max(0, Number(row.vpd_in_kpa)),
        radiationMJm2: radiationSumFromDliMJm2(quarterDli),
        periodSeconds: 900,
        pressureKPa,
      });
    }
    return [{ referenceEtMm, dli, uptake: units.reduce((sum, unit) => sum + unit, 0) / units.length }];
  });
}

const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Each day is told from the days before it; the days before `from` only teach. */
function trackedError(
  days: readonly CropDay[],
  from: number,
  to: number,
  forgetting: number,
  x = (day: CropDay) => day.referenceEtMm,
) {
  let demand = startDemand();
  const errors: number[] = [];
  for (const [i, day] of days.entries()) {
    if (i >= from && i < to) errors.push(Math.abs(expectedUptake(demand, x(day)) - day.uptake));
    demand = learnDemand(demand, { referenceEtMm: x(day), uptake: day.uptake }, forgetting);
  }
  return meanOf(errors);
}

function fixedError(days: readonly CropDay[], taught: number, x: (day: CropDay) => number): number {
  const teach = days.slice(0, taught);
  const [mx, my] = [meanOf(teach.map(x)), meanOf(teach.map((day) => day.uptake))];
  const slope =
    teach.reduce((sum, day) => sum + (x(day) - mx) * (day.uptake - my), 0) /
    teach.reduce((sum, day) => sum + (x(day) - mx) ** 2, 0);
  return meanOf(days.slice(taught).map((day) => Math.abs(my + slope * (x(day) - mx) - day.uptake)));
}

const uptakePath = sharedData('pots/gh_tucson2003_tomato/lysimeter_daily.csv');
const climatePath = sharedData('pots/gh_tucson2003_tomato/environment_15min.csv.gz');
describe.runIf(uptakePath && climatePath)(
  'daily uptake of weighed tomato plants (Buck, Kubota & Jensen 2008, HortTechnology 18:460-466)',
  () => {
    // The body of a suite that is left out is read all the same.
    const days = uptakePath && climatePath ? readCrop(uptakePath, climatePath) : [];
    const taught = Math.floor(days.length * 0.7);

    it('is told better than by the light-sum regression (0.313 L mean absolute error), on the last 30 % of the days', () => {
      expect(days).toHaveLength(87);
      const error = trackedError(days, taught, days.length, DEMAND_FORGETTING);
      expect(error).toBeLessThan(0.285);
      // The same learner fed with the light sum instead of the evaporation does worse.
      expect(error).toBeLessThan(trackedError(days, taught, days.length, DEMAND_FORGETTING, (day) => day.dli / 10));
    });

    it('the forgetting was chosen on the first 70 %', () => {
      const candidates = [0.7, 0.8, 0.85, 0.9, 0.95, 0.99, 1];
      const best = candidates.toSorted(
        (a, b) => trackedError(days, 15, taught, a) - trackedError(days, 15, taught, b),
      )[0];
      expect(best).toBe(DEMAND_FORGETTING);
    });

    it('no line fitted once on the first 70 % comes near: the crop and its humidity sensor drift', () => {
      // Measured: 0.53 L by the light sum, 0.56 L by the evaporation. Learning on is what helps, not the formula alone.
      expect(fixedError(days, taught, (day) => day.dli)).toBeGreaterThan(0.45);
      expect(fixedError(days, taught, (day) => day.referenceEtMm)).toBeGreaterThan(0.45);
    });
  },
);
