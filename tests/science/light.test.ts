import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../src/science/guards.js';
import {
  dliFromCoveredStretches,
  dliFromPpfdIntegral,
  dliFromRadiationIntegral,
  dliFromSteadyPpfd,
  dliOfHalfSineDay,
  globalFromPpfdWm2,
  LIGHT_QUANTITIES,
  LUX_PER_UMOL,
  type LuxSource,
  luxFromPpfd,
  type ParSource,
  parFromPpfdWm2,
  peakOfHalfSineDayUmol,
  ppfdFromGlobalUmol,
  ppfdFromLuxUmol,
  ppfdFromParUmol,
  RADIATION_FROM,
  radiationSumFromDliMJm2,
  UMOL_PER_JOULE_PAR,
  umolPerJouleAtWavelength,
} from '../../src/science/light.js';

const amount = fc.double({ min: 0, max: 3000, noNaN: true });

describe('conversions', () => {
  it('each undoes its inverse, for every light source', () => {
    fc.assert(
      fc.property(
        amount,
        fc.constantFrom(...(Object.keys(LUX_PER_UMOL) as LuxSource[])),
        fc.constantFrom(...(Object.keys(UMOL_PER_JOULE_PAR) as ParSource[])),
        fc.double({ min: 1.5, max: 2.6, noNaN: true }),
        (value, luxSource, parSource, factor) => {
          expect(ppfdFromLuxUmol(luxFromPpfd(value, luxSource), luxSource)).toBeCloseTo(value, 9);
          expect(ppfdFromParUmol(parFromPpfdWm2(value, parSource), parSource)).toBeCloseTo(value, 9);
          expect(ppfdFromGlobalUmol(globalFromPpfdWm2(value, factor), factor)).toBeCloseTo(value, 9);
          expect(1e-6 * dliFromRadiationIntegral(1e6 * radiationSumFromDliMJm2(value))).toBeCloseTo(value * 1e-6, 9);
        },
      ),
    );
  });

  it('the mean quantum of sunlight lies where its wavelengths do', () => {
    // 4.57 µmol/J is the quantum yield of 547 nm, inside 400-700 nm, as it must be for a mean over that band.
    const wavelength = UMOL_PER_JOULE_PAR['sun-and-sky'] * 119.62657;
    expect(wavelength).toBeGreaterThan(400);
    expect(wavelength).toBeLessThan(700);
    for (const factor of Object.values(UMOL_PER_JOULE_PAR)) {
      expect(factor).toBeGreaterThan(umolPerJouleAtWavelength(400));
      expect(factor).toBeLessThan(umolPerJouleAtWavelength(700));
    }
  });
});

describe('radiation from what a light sensor tells', () => {
  it('is the same sun in W/m², in quanta and in lux; the best known comes first', () => {
    // 0.45 x 4.57 µmol/J (McCree 1972) and 54 lux per µmol (Thimijan & Heins 1983): 500 W/m² are 1028.25 µmol, 55525.5 lx.
    expect(RADIATION_FROM.radiationWm2(500)).toBe(500);
    expect(RADIATION_FROM.ppfdUmol(1028.25)).toBeCloseTo(500, 9);
    expect(RADIATION_FROM.illuminanceLux(55_525.5)).toBeCloseTo(500, 9);
    expect(LIGHT_QUANTITIES).toEqual(['radiationWm2', 'ppfdUmol', 'illuminanceLux']);
  });

  it('refuses what is below nought or no number', () => {
    for (const quantity of LIGHT_QUANTITIES)
      for (const value of [-1, Number.NaN]) expect(() => RADIATION_FROM[quantity](value)).toThrow(PhysicsRangeError);
  });
});

describe('daily light integral', () => {
  it('of a half-sine day equals its numerical integral and undoes the peak', () => {
    const [peak, hours] = [900, 13.3];
    let sum = 0;
    const step = 10;
    for (let second = step / 2; second < hours * 3600; second += step) {
      sum += peak * Math.sin((Math.PI * second) / (hours * 3600)) * step;
    }
    expect(dliOfHalfSineDay(peak, hours)).toBeCloseTo(dliFromPpfdIntegral(sum), 5);
    expect(peakOfHalfSineDayUmol(dliOfHalfSineDay(peak, hours), hours)).toBeCloseTo(peak, 9);
  });

  const hour = (ppfdMeanUmol: number | undefined, clearSkyWeight: number, coveredSeconds = 3600) => ({
    ppfdMeanUmol,
    coveredSeconds,
    lengthSeconds: 3600,
    clearSkyWeight,
  });

  it('of a fully covered day is the plain sum, gap or no gap at night', () => {
    const day = [hour(undefined, 0, 0), hour(200, 20), hour(400, 40), hour(300, 30), hour(0, 0)];
    const result = dliFromCoveredStretches(day);
    expect(result?.coveredShare).toBe(1);
    expect(result?.dliMolM2).toBeCloseTo((900 * 3600) / 1e6, 12);
  });

  it('makes up for a gap by the light the gap would have had', () => {
    // Under a clear sky PPFD is in proportion to the weight, so any gap must give the full day's sum back.
    const weights = [5, 20, 40, 50, 40, 20, 5];
    const full = weights.reduce((sum, weight) => sum + weight * 20 * 3600, 0) / 1e6;
    for (const missing of weights.keys()) {
      const day = weights.map((weight, index) =>
        index === missing ? hour(undefined, weight, 0) : hour(weight * 20, weight),
      );
      expect(dliFromCoveredStretches(day)?.dliMolM2).toBeCloseTo(full, 9);
    }
    const half = weights.map((weight) => hour(weight * 20, weight, 1800));
    expect(dliFromCoveredStretches(half)).toEqual({ dliMolM2: expect.closeTo(full, 9), coveredShare: 0.5 });
  });

  it('is unknown, not zero, when nothing was heard by day', () => {
    expect(dliFromCoveredStretches([hour(0, 0), hour(undefined, 40, 0)])).toBeUndefined();
    expect(dliFromCoveredStretches([])).toBeUndefined();
  });
});

describe('refusals', () => {
  it('NaN, negative light and impossible hours are refused with a named error', () => {
    for (const call of [
      () => ppfdFromGlobalUmol(Number.NaN),
      () => ppfdFromGlobalUmol(100, 4.57),
      () => ppfdFromLuxUmol(-1),
      () => dliFromSteadyPpfd(100, 26),
      () => dliFromRadiationIntegral(Number.NaN),
      () => dliOfHalfSineDay(100, 25),
      () => peakOfHalfSineDayUmol(10, 0),
      () =>
        dliFromCoveredStretches([{ ppfdMeanUmol: 1, coveredSeconds: 3700, lengthSeconds: 3600, clearSkyWeight: 1 }]),
      () =>
        dliFromCoveredStretches([
          { ppfdMeanUmol: Number.NaN, coveredSeconds: 3600, lengthSeconds: 3600, clearSkyWeight: 1 },
        ]),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
  });
});
