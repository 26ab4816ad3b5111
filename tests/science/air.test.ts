import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  atmosphericPressureKPa,
  clampSensorRelHumidityPct,
  dailySaturationVapourPressureKPa,
  dailyVpdKPa,
  dewPointC,
  dewPointFromVapourPressureC,
  dewPointMarginC,
  enthalpyKJPerKg,
  humidityRatio,
  humidityRatioFromWetBulb,
  relHumidityPctFromVapourPressure,
  saturationSlopeKPaPerC,
  saturationVapourPressureKPa,
  vapourPressureFromHumidityRatioKPa,
  vapourPressureKPa,
  vpdKPa,
  wetBulbC,
} from '../../src/science/air.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import psychrolib from './psychrolib.js';

const temperature = fc.double({ min: -20, max: 60, noNaN: true });
const humidity = fc.double({ min: 5, max: 100, noNaN: true });
const pressure = fc.double({ min: 65, max: 105, noNaN: true });

describe('against psychrolib 2.5.0 (ASHRAE Fundamentals 2017)', () => {
  it('saturation pressure agrees within 0.2 % over water, 1 to 50 °C', () => {
    for (let airTempC = 1; airTempC <= 50; airTempC += 0.5) {
      const reference = psychrolib.GetSatVapPres(airTempC) / 1000;
      expect(Math.abs(saturationVapourPressureKPa(airTempC) / reference - 1), `${airTempC} °C`).toBeLessThan(0.002);
    }
  });

  it('wet bulb agrees within 0.05 °C where the wet surface is not frozen', () => {
    let compared = 0;
    for (let airTempC = 1; airTempC <= 50; airTempC += 1) {
      for (const relHumidityPct of [5, 20, 40, 60, 80, 95, 100]) {
        for (const pressureKPa of [80, 101.325]) {
          const reference = psychrolib.GetTWetBulbFromRelHum(airTempC, relHumidityPct / 100, pressureKPa * 1000);
          if (reference < 0.01) continue;
          compared += 1;
          const label = `${airTempC} °C, ${relHumidityPct} %, ${pressureKPa} kPa`;
          expect(Math.abs(wetBulbC(airTempC, relHumidityPct, pressureKPa) - reference), label).toBeLessThan(0.05);
        }
      }
    }
    expect(compared).toBeGreaterThan(500);
  });

  it('dew point agrees within 0.05 °C above freezing', () => {
    for (let airTempC = 2; airTempC <= 45; airTempC += 1) {
      for (const relHumidityPct of [20, 40, 60, 80, 95, 100]) {
        const reference = psychrolib.GetTDewPointFromRelHum(airTempC, relHumidityPct / 100);
        if (reference < 0.01) continue;
        const label = `${airTempC} °C, ${relHumidityPct} %`;
        expect(Math.abs(dewPointC(airTempC, relHumidityPct) - reference), label).toBeLessThan(0.05);
      }
    }
  });
});

describe('against IAPWS-95 (Wagner & Pruss 2002, auxiliary equation)', () => {
  it.each([
    [0.01, 611.66],
    [10, 1228.11],
    [20, 2339.19],
    [25, 3169.82],
    [30, 4246.92],
    [40, 7385.11],
    [50, 12352.48],
  ])('saturation pressure at %s °C is %s Pa within 0.14 percent', (airTempC, expectedPa) => {
    expect(Math.abs((1000 * saturationVapourPressureKPa(airTempC)) / expectedPa - 1)).toBeLessThan(0.0014);
  });
});

describe('dew-point margin', () => {
  // Worked from the definition and FAO-56 Eq. 11: almost independent of temperature.
  it.each([
    [70, 5.0, 5.9],
    [80, 3.1, 3.7],
    [85, 2.3, 2.7],
    [90, 1.5, 1.8],
    [95, 0.7, 0.9],
  ])('relative humidity %s percent: %s to %s °C between 5 and 25 °C', (relHumidityPct, low, high) => {
    for (const airTempC of [5, 10, 15, 20, 25]) {
      expect(dewPointMarginC(airTempC, relHumidityPct)).toBeGreaterThanOrEqual(low - 0.05);
      expect(dewPointMarginC(airTempC, relHumidityPct)).toBeLessThanOrEqual(high + 0.05);
    }
  });

  it('is exactly zero in saturated air', () => {
    expect(dewPointMarginC(11.3, 100)).toBe(0);
  });
});

describe('properties', () => {
  it('saturation pressure rises with temperature and its slope is the derivative', () => {
    fc.assert(
      fc.property(temperature, (airTempC) => {
        const step = 0.001;
        const above = saturationVapourPressureKPa(airTempC + step);
        const below = saturationVapourPressureKPa(airTempC - step);
        expect(above).toBeGreaterThan(below);
        const numeric = (above - below) / (2 * step);
        // FAO-56 rounds 17.27 x 237.3 = 4098.17 to 4098.
        expect(saturationSlopeKPaPerC(airTempC) / numeric).toBeCloseTo(1, 4);
      }),
    );
  });

  it('dew point <= wet bulb <= air temperature, and VPD lies between zero and saturation', () => {
    fc.assert(
      fc.property(temperature, humidity, pressure, (airTempC, relHumidityPct, pressureKPa) => {
        const dew = dewPointC(airTempC, relHumidityPct);
        const wet = wetBulbC(airTempC, relHumidityPct, pressureKPa);
        expect(dew).toBeLessThanOrEqual(wet + 0.001);
        expect(wet).toBeLessThanOrEqual(airTempC);
        const deficit = vpdKPa(airTempC, relHumidityPct);
        expect(deficit).toBeGreaterThanOrEqual(0);
        expect(deficit + vapourPressureKPa(airTempC, relHumidityPct)).toBeCloseTo(
          saturationVapourPressureKPa(airTempC),
          10,
        );
      }),
    );
  });

  it('wetter air has a higher dew point, a smaller deficit and a higher wet bulb', () => {
    fc.assert(
      fc.property(temperature, fc.double({ min: 1, max: 98, noNaN: true }), (airTempC, relHumidityPct) => {
        const wetter = relHumidityPct + 2;
        expect(dewPointC(airTempC, wetter)).toBeGreaterThan(dewPointC(airTempC, relHumidityPct));
        expect(vpdKPa(airTempC, wetter)).toBeLessThan(vpdKPa(airTempC, relHumidityPct));
        expect(wetBulbC(airTempC, wetter, 101.3)).toBeGreaterThanOrEqual(wetBulbC(airTempC, relHumidityPct, 101.3));
      }),
    );
  });

  it('inverses undo one another', () => {
    fc.assert(
      fc.property(temperature, humidity, pressure, (airTempC, relHumidityPct, pressureKPa) => {
        const vapour = vapourPressureKPa(airTempC, relHumidityPct);
        expect(relHumidityPctFromVapourPressure(airTempC, vapour)).toBeCloseTo(relHumidityPct, 9);
        expect(saturationVapourPressureKPa(dewPointFromVapourPressureC(vapour))).toBeCloseTo(vapour, 10);
        const ratio = humidityRatio(vapour, pressureKPa);
        expect(vapourPressureFromHumidityRatioKPa(ratio, pressureKPa)).toBeCloseTo(vapour, 10);
        const wet = wetBulbC(airTempC, relHumidityPct, pressureKPa);
        expect(Math.abs(humidityRatioFromWetBulb(airTempC, wet, pressureKPa) - ratio)).toBeLessThan(1e-5);
      }),
    );
  });
});

describe('refusals', () => {
  it('NaN is refused with a named error that says what came', () => {
    for (const call of [
      () => saturationVapourPressureKPa(Number.NaN),
      () => vpdKPa(20, Number.NaN),
      () => vpdKPa(Number.NaN, 50),
      () => dewPointC(20, Number.NaN),
      () => wetBulbC(20, 50, Number.NaN),
      () => humidityRatio(Number.NaN, 101),
      () => atmosphericPressureKPa(Number.NaN),
      () => enthalpyKJPerKg(20, Number.NaN),
      () => dailyVpdKPa(10, 20, Number.NaN),
      () => clampSensorRelHumidityPct(Number.NaN),
    ]) {
      expect(call).toThrow(PhysicsRangeError);
    }
    try {
      vpdKPa(20, Number.NaN);
      expect.unreachable();
    } catch (error) {
      expect(error).toMatchObject({ quantity: 'relHumidityPct', unit: '%', bounds: { min: 0, max: 100 } });
      expect((error as Error).message).toContain('relHumidityPct must be a number from 0 to 100 %, but NaN came');
    }
  });

  it('a sensor reading of 101 % must be clamped first, and 106 % is a faulty sensor', () => {
    expect(() => dewPointC(20, 101)).toThrow(PhysicsRangeError);
    expect(dewPointC(20, clampSensorRelHumidityPct(101))).toBe(20);
    expect(() => clampSensorRelHumidityPct(106)).toThrow(PhysicsRangeError);
  });

  it('perfectly dry air has no dew point', () => {
    expect(() => dewPointC(20, 0)).toThrow(/relHumidityPct must be a number above 0 up to 100 %/);
  });

  it('a minimum above the maximum is refused', () => {
    expect(() => dailySaturationVapourPressureKPa(21, 20)).toThrow(PhysicsRangeError);
  });
});
