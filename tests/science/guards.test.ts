import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  PhysicsRangeError,
  requireDayExtremes,
  requireFinite,
  requireInRange,
  requireInstant,
  requireNotNegative,
  requirePositive,
} from '../../src/science/guards.js';
import { energyToWaterMm, fahrenheitToCelsius, toDegrees, toRadians, wrapDegrees } from '../../src/science/units.js';

describe('guards', () => {
  it('let every number inside through unchanged, and nothing else', () => {
    fc.assert(
      fc.property(fc.double(), fc.double({ min: -100, max: 100, noNaN: true }), (value, edge) => {
        const [min, max] = [edge, edge + 10];
        if (value >= min && value <= max) expect(requireInRange('x', value, 'm', min, max)).toBe(value);
        else expect(() => requireInRange('x', value, 'm', min, max)).toThrow(PhysicsRangeError);
      }),
    );
  });

  it('NaN and the infinities pass none of them', () => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      for (const guard of [requireFinite, requireNotNegative, requirePositive]) {
        expect(() => guard('x', value, 'm')).toThrow(PhysicsRangeError);
      }
      expect(() => requireInstant('at', value)).toThrow(PhysicsRangeError);
    }
    expect(() => requirePositive('x', 0, 'm')).toThrow(/x must be a number above 0 m, but 0 came/);
    expect(() => requireNotNegative('x', -1, 'm')).toThrow(/x must be a number of at least 0 m, but -1 came/);
    expect(() => requireFinite('x', Number.NaN, 'm')).toThrow(/x must be a finite number in m, but NaN came/);
  });

  it('blame the extreme that is wrong', () => {
    expect(() => requireDayExtremes(Number.NaN, 20)).toThrow(/airTempMinC/);
    expect(() => requireDayExtremes(20, 10)).toThrow(/airTempMaxC must be a number from 20 to 100 °C, but 10 came/);
  });

  it('the error is a RangeError with its parts', () => {
    const error = new PhysicsRangeError('vpdKPa', -1, 'kPa', { min: 0, max: 10 });
    expect(error).toBeInstanceOf(RangeError);
    expect(error.name).toBe('PhysicsRangeError');
    expect(error).toMatchObject({ quantity: 'vpdKPa', value: -1, unit: 'kPa', bounds: { min: 0, max: 10 } });
  });
});

describe('units', () => {
  it('wrap an angle into one turn', () => {
    fc.assert(
      fc.property(fc.double({ min: -1e6, max: 1e6, noNaN: true }), (angleDeg) => {
        const wrapped = wrapDegrees(angleDeg);
        expect(wrapped).toBeGreaterThanOrEqual(0);
        expect(wrapped).toBeLessThan(360);
        expect(Math.sin(toRadians(wrapped))).toBeCloseTo(Math.sin(toRadians(angleDeg)), 6);
      }),
    );
    expect(wrapDegrees(-1e-20)).toBe(0);
    expect(wrapDegrees(720)).toBe(0);
  });

  it('undo one another', () => {
    expect(toDegrees(toRadians(123.4))).toBeCloseTo(123.4, 12);
    expect(fahrenheitToCelsius(212)).toBe(100);
    // FAO-56 Eq. 20 rounds 1 / 2.45 to 0.408.
    expect(energyToWaterMm(1)).toBeCloseTo(0.408, 3);
  });
});
