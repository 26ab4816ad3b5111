import { describe, expect, it } from 'vitest';
import { type AirParameters, airCoefficients } from '../../../src/models/house-thermal/air-model.js';
import { type AheadRun, ventEffects } from '../../../src/models/house-thermal/what-if.js';
import { GLASSHOUSE } from '../../support/thermal-house.js';

/** A day of one sun and one outside temperature, long enough for the air to settle; no heating, hardly any mass. */
const SUN_WM2 = 600;
const OUTSIDE_C = 20;
const HOUSE: AirParameters = {
  ...GLASSHOUSE,
  lossPerHour: 2,
  sunPerHourWm2: 0.05,
  massPerHour: 1e-6,
  heatToC: -20,
  ventFromC: 60,
  ventPerHour: 4,
  coolingShare: 0,
};
const runWith = (house: AirParameters, sunWm2 = SUN_WM2): AheadRun => ({
  days: [{ day: '2026-06-10', first: 0, end: 24 }],
  inputs: Array.from({ length: 24 }, () => ({ outsideTempC: OUTSIDE_C, outsideWetBulbC: OUTSIDE_C, sunWm2 })),
  // Warmer than outside from the first minute: vents let no warmer air in.
  start: { airC: OUTSIDE_C + 1, massC: OUTSIDE_C },
  coefficients: [airCoefficients(house), airCoefficients(house)],
});

describe('vents held open by day', () => {
  it('bring the air from one balance to the other: T = To + sun S / (loss + vents)', () => {
    const [effect] = ventEffects(runWith(HOUSE), null);
    const closedC = OUTSIDE_C + (HOUSE.sunPerHourWm2 * SUN_WM2) / HOUSE.lossPerHour;
    const openC = OUTSIDE_C + (HOUSE.sunPerHourWm2 * SUN_WM2) / (HOUSE.lossPerHour + HOUSE.ventPerHour);
    expect(effect?.day).toBe('2026-06-10');
    expect(effect?.maxChangeC.p50).toBeCloseTo(openC - closedC, 2);
  });

  it('buy nothing where the house opens them by itself', () => {
    expect(ventEffects(runWith({ ...HOUSE, ventFromC: 10 }), null)[0]?.maxChangeC.p50).toBeCloseTo(0, 6);
  });

  it('buy less under a cloth, by the sun that is left', () => {
    const cloth = { shadePct: 50, place: 'outside', colour: 'white' } as const;
    const [bare] = ventEffects(runWith(HOUSE), null);
    const [under] = ventEffects(runWith(HOUSE), cloth);
    expect(under?.maxChangeC.p50).toBeGreaterThan(bare?.maxChangeC.p50 as number);
    expect(under?.maxChangeC.p50).toBeLessThan(-0.5);
  });

  it('stay as they are in the dark', () => {
    const warm = { ...runWith(HOUSE, 0), start: { airC: 35, massC: 35 } };
    expect(ventEffects(warm, null)[0]?.maxChangeC.p50).toBe(0);
  });

  it('are not spoken of where the house has not shown that they cool it, or nothing is known', () => {
    expect(ventEffects(runWith({ ...HOUSE, ventPerHour: 0.2 }), null)).toEqual([]);
    expect(ventEffects({ ...runWith(HOUSE), coefficients: [] }, null)).toEqual([]);
  });

  it('are less sure in a house of which one morning is known', () => {
    const run = runWith(HOUSE);
    const [effect] = ventEffects({ ...run, coefficients: run.coefficients.slice(1) }, null);
    // May be half or one and a half of what it seems (starting value).
    expect(effect?.maxChangeC.p10).toBeLessThan(1.3 * (effect?.maxChangeC.p50 as number));
    expect(effect?.maxChangeC.p90).toBeGreaterThan(0.7 * (effect?.maxChangeC.p50 as number));
  });
});
