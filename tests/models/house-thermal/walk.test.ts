import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { airPrior, UNKNOWN_HOUSE } from '../../../src/models/house-thermal/air-prior.js';
import { prepareRecord } from '../../../src/models/house-thermal/house-record.js';
import type { ThermalPlace, ThermalSample } from '../../../src/models/house-thermal/record.js';
import { type DayForecast, walk } from '../../../src/models/house-thermal/walk.js';
import { GLASSHOUSE, simulatedHouse } from '../../support/thermal-house.js';

const forecasts = (samples: readonly ThermalSample[], place: ThermalPlace) => {
  const { hours, days } = prepareRecord(samples, place);
  const walked = walk(hours, days, { place, prior: airPrior(UNKNOWN_HOUSE), issuedAt: '06:00' });
  return { days, ...walked, all: walked.mornings.flatMap((morning) => morning.forecasts) };
};
const meanError = (
  all: readonly DayForecast[],
  days: ReturnType<typeof forecasts>['days'],
  lead: number,
  from = 20,
) => {
  const errors = all.flatMap(({ dayIndex, lead: own, maxC }) => {
    const truth = days[dayIndex]?.maxC ?? null;
    return own === lead && dayIndex >= from && truth !== null ? [Math.abs(maxC.p50 - truth)] : [];
  });
  return errors.reduce((sum, error) => sum + error, 0) / errors.length;
};

describe('forecasts along a record', () => {
  const house = simulatedHouse(7, 60);
  const told = forecasts(house.samples, house.place);

  it('learn a house with a law to within what its sensor hides', () => {
    // Noise of 0.3 °C on 72 samples lifts the highest of a day by about half a degree that varies by 0.3.
    expect(meanError(told.all, told.days, 0)).toBeLessThan(0.6);
    expect(meanError(told.all, told.days, 2)).toBeLessThan(0.7);
  });

  it('are far better than the day before again', () => {
    const maxima = told.days.map(({ maxC }) => maxC as number);
    const errors = maxima.slice(20).map((max, at) => Math.abs(max - (maxima[at + 19] as number)));
    const again = errors.reduce((sum, error) => sum + error, 0) / errors.length;
    expect(meanError(told.all, told.days, 0)).toBeLessThan(0.3 * again);
  });

  it('hold four days in five in their band', () => {
    const held = told.all.filter(({ dayIndex, maxC }) => {
      const truth = told.days[dayIndex]?.maxC ?? Number.NaN;
      return dayIndex >= 20 && truth >= maxC.p10 && truth <= maxC.p90;
    }).length;
    const all = told.all.filter(({ dayIndex }) => dayIndex >= 20 && told.days[dayIndex]?.maxC != null).length;
    expect(held / all).toBeGreaterThan(0.68);
    expect(held / all).toBeLessThan(0.92);
  });

  it('are never out of order and never not a number', () => {
    for (const { maxC } of told.all) {
      expect(maxC.p10).toBeLessThanOrEqual(maxC.p50);
      expect(maxC.p50).toBeLessThanOrEqual(maxC.p90);
      expect(Number.isFinite(maxC.p90 - maxC.p10)).toBe(true);
    }
  });

  it('do not look ahead: inside of the day and later, and outside after the predicted day, change nothing', () => {
    const morning = 25;
    const day = told.days[morning]?.day as string;
    const issuedMs = Date.parse(`${day}T04:00Z`);
    const changed = house.samples.map((sample) => ({
      ...sample,
      ...(sample.at >= issuedMs && { insideTempC: 60, insideRelHumidityPct: 1 }),
      ...(sample.at >= Date.parse(`${told.days[morning + 3]?.day}T00:00Z`) && {
        outsideTempC: -30,
        outsideRadiationWm2: 0.5,
      }),
    }));
    const again = forecasts(changed, house.place);
    const until = (all: readonly DayForecast[]) =>
      all.filter(({ dayIndex, lead }) => dayIndex - lead <= morning && lead <= 2 && dayIndex <= morning + 2);
    expect(until(again.all)).toEqual(until(told.all));
    expect(again.all.at(-1)).not.toEqual(told.all.at(-1));
  });

  it('go by the clock of the place: the same house on the other side of the world is told the same', () => {
    // Twelve hours of zone and 180° of longitude later the same sun shines on the same local day.
    const shift = 12 * 3_600_000;
    const [here, there] = ([0, 180] as const).map((longitude) => {
      const place = { zone: longitude === 0 ? 'UTC' : 'Etc/GMT+12', latitude: 45, longitude, elevationM: 0 };
      const { samples } = simulatedHouse(3, 30, GLASSHOUSE, { ...place, longitude: 0 });
      const moved = samples.map((sample) => ({ ...sample, at: sample.at + (longitude === 0 ? 0 : shift) }));
      return forecasts(moved, place);
    });
    expect(there?.all.length).toBe(here?.all.length);
    there?.all.forEach(({ day, maxC }, at) => {
      expect(day).toBe(here?.all[at]?.day);
      // The sun of half a day later is a little higher or lower.
      expect(maxC.p50).toBeCloseTo(here?.all[at]?.maxC.p50 as number, 0);
    });
  });

  it('notice that the house was changed, and follow', () => {
    const before = simulatedHouse(11, 40);
    const white = simulatedHouse(12, 40, { ...GLASSHOUSE, sunPerHourWm2: 0.012 }, before.place, Date.UTC(2026, 5, 10));
    const { changes, all, days } = forecasts([...before.samples, ...white.samples], before.place);
    const found = changes.map((index) => days[index]?.day as string);
    expect(found.some((day) => day >= '2026-06-08' && day <= '2026-06-20')).toBe(true);
    expect(meanError(all, days, 0, 60)).toBeLessThan(0.9);
  });
});

describe('records with faults', () => {
  const fault = fc.constantFrom('gap', 'stuck', 'sentinel', 'zeros', 'no-radiation', 'no-humidity', 'no-outside');
  it('still give forecasts that are numbers, whatever is broken in them', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1000 }),
        fc.array(fault, { maxLength: 4 }),
        fc.nat(17),
        (seed, faults, day) => {
          const house = simulatedHouse(seed, 22);
          const from = (house.samples[0] as ThermalSample).at + day * 86_400_000;
          let samples: ThermalSample[] = [...house.samples];
          for (const one of faults) samples = broken(samples, one, from);
          const { all, days } = forecasts(samples, house.place);
          for (const { maxC } of all)
            for (const value of [maxC.p10, maxC.p50, maxC.p90]) {
              expect(Number.isFinite(value)).toBe(true);
              expect(value).toBeGreaterThan(-40);
              expect(value).toBeLessThan(90);
            }
          if (days.filter(({ maxC }) => maxC !== null).length > 3) expect(all.length).toBeGreaterThan(10);
        },
      ),
      { numRuns: 12, seed: 4 },
    );
  });
});

function broken(samples: readonly ThermalSample[], fault: string, fromMs: number): ThermalSample[] {
  const within = (at: number, hours: number) => at >= fromMs && at < fromMs + hours * 3_600_000;
  switch (fault) {
    case 'gap':
      return samples.filter(({ at }) => !within(at, 50));
    case 'stuck':
      return samples.map((one) => (within(one.at, 60) ? { ...one, insideTempC: 21.5, outsideTempC: 11 } : one));
    case 'sentinel':
      return samples.map((one) =>
        within(one.at, 6) ? { ...one, insideTempC: -214748000, outsideRadiationWm2: -214748000 } : one,
      );
    case 'zeros':
      return samples.map((one) =>
        within(one.at, 9)
          ? {
              at: one.at,
              insideTempC: 0,
              insideRelHumidityPct: 0,
              outsideTempC: 0,
              outsideRelHumidityPct: 0,
              outsideRadiationWm2: 0,
            }
          : one,
      );
    case 'no-radiation':
      return samples.map((one) => ({ ...one, outsideRadiationWm2: null }));
    case 'no-humidity':
      return samples.map((one) => ({ ...one, insideRelHumidityPct: null, outsideRelHumidityPct: null }));
    default:
      return samples.map((one) => ({
        ...one,
        outsideTempC: null,
        outsideRelHumidityPct: null,
        outsideRadiationWm2: null,
      }));
  }
}
