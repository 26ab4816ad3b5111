import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type AirStretch, fitAir } from '../../../src/models/house-thermal/air-fit.js';
import { type AirInput, airCoefficients, airParameters, runAir } from '../../../src/models/house-thermal/air-model.js';
import { airPrior, UNKNOWN_HOUSE } from '../../../src/models/house-thermal/air-prior.js';
import { stateBefore } from '../../../src/models/house-thermal/air-run.js';
import { BERLIN, GLASSHOUSE, seeded, simulatedAir, simulatedWeather } from '../../support/thermal-house.js';

const run = (parameters: typeof GLASSHOUSE, input: AirInput, hours: number, airC: number, massC = airC): number[] => {
  const into = new Float64Array(hours);
  runAir(airCoefficients(parameters), Array(hours).fill(input), { airC, massC }, into);
  return [...into];
};
const still = { ...GLASSHOUSE, ventPerHour: 1e-9, heatPerHour: 1e-9, massPerHour: 1e-9 };

describe('the air of a house', () => {
  it('settles where loss and sun are equal', () => {
    // loss (T - To) = sun S: 0.8 (T - 10) = 0.03 x 400 gives T = 25.
    expect(run(still, { outsideTempC: 10, sunWm2: 400, outsideWetBulbC: 8 }, 60, 10).at(-1)).toBeCloseTo(25, 6);
  });

  it('is held by its heating within the band about the set temperature', () => {
    // -5 °C outside: loss 0.8 x (T + 5) is met by 20 x share x (T_set + 1 - T).
    const heated = { ...still, heatToC: 12, heatPerHour: 20 };
    const settled = run(heated, { outsideTempC: -5, sunWm2: 0, outsideWetBulbC: -6 }, 80, 3).at(-1) as number;
    expect(settled).toBeGreaterThan(11);
    expect(settled).toBeLessThan(13);
  });

  it('gets no cooler by vents than the air that comes in, and cooler than outside only by wet pads', () => {
    const open = { ...still, ventFromC: 20, ventPerHour: 500 };
    const desert = { outsideTempC: 38, sunWm2: 700, outsideWetBulbC: 18 };
    expect(run(open, desert, 40, 30).at(-1)).toBeGreaterThan(38);
    const cooled = run({ ...open, coolingShare: 0.7 }, desert, 40, 30).at(-1) as number;
    // 38 - 0.7 x 20 = 24 °C comes in.
    expect(cooled).toBeGreaterThan(24);
    expect(cooled).toBeLessThan(27);
  });

  it('stays a number and between what drives it, for any house and weather', () => {
    const amount = (min: number, max: number) => fc.double({ min, max, noNaN: true });
    fc.assert(
      fc.property(
        fc.record({
          lossPerHour: amount(0.01, 30),
          sunPerHourWm2: amount(0.0001, 0.3),
          massPerHour: amount(0.001, 30),
          massHours: amount(0.1, 400),
          heatToC: amount(-5, 30),
          heatPerHour: amount(0.01, 50),
          ventFromC: amount(5, 50),
          ventPerHour: amount(0.01, 100),
          coolingShare: amount(-1, 2),
        }),
        amount(-40, 50),
        amount(0, 1300),
        amount(-20, 50),
        (parameters, outsideTempC, sunWm2, airC) => {
          const hours = run(parameters, { outsideTempC, sunWm2, outsideWetBulbC: outsideTempC - 5 }, 30, airC);
          const highest = Math.max(
            airC,
            outsideTempC + (parameters.sunPerHourWm2 * sunWm2) / parameters.lossPerHour,
            parameters.heatToC + 1,
          );
          const lowest = Math.min(airC, outsideTempC) - 6;
          for (const value of hours) {
            expect(value).toBeGreaterThanOrEqual(lowest - 1e-6);
            expect(value).toBeLessThanOrEqual(highest + 1e-6);
          }
        },
      ),
      { numRuns: 300 },
    );
  });

  it('keeps its coefficients through the form they are fitted in', () => {
    const back = airParameters(airCoefficients(GLASSHOUSE));
    for (const [name, value] of Object.entries(GLASSHOUSE))
      expect(back[name as keyof typeof back]).toBeCloseTo(value, 12);
  });
});

describe('the fit of the air model', () => {
  const weather = simulatedWeather(BERLIN, Date.UTC(2026, 4, 1), 30 * 24, seeded(4));
  const insideC = simulatedAir(GLASSHOUSE, weather);
  const rows = insideC.map((insideTempC) => ({ insideTempC }));
  const stretches = (measured: readonly number[]): AirStretch[] =>
    Array.from({ length: 26 }, (_, day) => {
      const from = (day + 3) * 24 + 4;
      return {
        inputs: weather.slice(from, from + 18).map(({ airTempC, radiationWm2 }) => ({
          outsideTempC: airTempC,
          sunWm2: radiationWm2,
          outsideWetBulbC: airTempC - 3,
        })),
        insideTempC: measured.slice(from, from + 18),
        startAt: (massHours) => stateBefore(rows, from, massHours),
        ageDays: 26 - day,
      };
    });
  const prior = airPrior(UNKNOWN_HOUSE);

  it('finds the coefficients of a house that has them', () => {
    const { coefficients } = fitAir(prior, prior.mean, stretches(insideC), 40);
    const found = airParameters(coefficients);
    // The mass is told by the air of the days before and not measured, and priors draw a little.
    expect(found.lossPerHour).toBeGreaterThan(0.6);
    expect(found.lossPerHour).toBeLessThan(1);
    expect(found.sunPerHourWm2).toBeGreaterThan(0.024);
    expect(found.sunPerHourWm2).toBeLessThan(0.036);
    expect(found.ventFromC).toBeGreaterThan(24.5);
    expect(found.ventFromC).toBeLessThan(27.5);
  });

  it('is not led astray by an hour in ten that is wrong', () => {
    const wrong = insideC.map((value, hour) => (hour % 10 === 3 ? value + 15 : value));
    const found = airParameters(fitAir(prior, prior.mean, stretches(wrong), 40).coefficients);
    expect(found.lossPerHour).toBeGreaterThan(0.5);
    expect(found.lossPerHour).toBeLessThan(1.2);
    expect(found.sunPerHourWm2).toBeGreaterThan(0.02);
    expect(found.sunPerHourWm2).toBeLessThan(0.045);
  });

  it('never ends worse than it began', () => {
    const start = fitAir(prior, prior.mean, stretches(insideC), 0);
    expect(start.coefficients).toEqual(prior.mean);
    const costs = [1, 3, 10].map((steps) => fitAir(prior, prior.mean, stretches(insideC), steps).cost);
    expect(costs[0]).toBeLessThan(start.cost);
    expect(costs[1]).toBeLessThanOrEqual(costs[0] as number);
    expect(costs[2]).toBeLessThanOrEqual(costs[1] as number);
  });

  it('begins at the usual of the cover: less light, less sun; two layers, less loss; heated to what it is set', () => {
    const thin = airParameters(airPrior({ transmission: 0.7, doubleCover: false }).mean);
    const thick = airParameters(airPrior({ transmission: 0.5, doubleCover: true, heatToC: 8 }).mean);
    expect(thick.sunPerHourWm2 / thin.sunPerHourWm2).toBeCloseTo(5 / 7, 9);
    expect(thick.lossPerHour).toBeLessThan(thin.lossPerHour);
    expect(thick.heatToC).toBe(8);
  });
});
