import { describe, expect, it } from 'vitest';
import { hourErrors } from '../../../src/models/house-thermal/hour-errors.js';
import type { SkyHour } from '../../../src/models/house-thermal/record.js';
import type { WalkedMorning } from '../../../src/models/house-thermal/walk.js';

/** A house that always measures 20 °C, foretold every morning with an error that only the hours ahead decide. */
function errorsOf(mornings: number, errorAhead: (ahead: number, morning: number) => number, fromClock = 6) {
  const hours = Array.from({ length: (mornings + 4) * 24 }, () => ({ insideTempC: 20 }) as SkyHour);
  const walked = Array.from({ length: mornings }, (_, at) => {
    const fromHour = at * 24 + fromClock;
    return {
      morning: { dayIndex: at, fromHour },
      air: { hourlyC: Float64Array.from({ length: 72 }, (_, ahead) => 20 - errorAhead(ahead, at)) },
    } as unknown as WalkedMorning;
  });
  return hourErrors(walked, hours, (index) => index % 24, hours.length);
}

describe('errors of the air model', () => {
  it('are those of so many whole days after the morning: past midnight it is still the first', () => {
    const errors = errorsOf(28, (ahead) => (ahead < 24 ? 1 : ahead < 48 ? 4 : 8));
    // 28 mornings with the same error, drawn towards none as by 3: 28 / 31 of it.
    for (const clock of [6, 23, 0, 5]) expect(errors(clock, 0).offsetC, `${clock} h`).toBeCloseTo(28 / 31, 9);
    expect(errors(5, 1).offsetC).toBeCloseTo((4 * 28) / 31, 9);
    expect(errors(5, 2).offsetC).toBeCloseTo((8 * 28) / 31, 9);
    expect(errors(5, 9)).toEqual(errors(5, 2));
  });

  it('leave a house nobody heard unsure', () => {
    expect(errorsOf(0, () => 0)(12, 0)).toEqual({ offsetC: 0, halfBandC: 5 });
  });

  it('make the band no surer with fewer mornings', () => {
    // Errors of 1 °C to either side in turn.
    const halves = Array.from({ length: 28 }, (_, at) => errorsOf(at + 1, (_ahead, morning) => (morning % 2 ? 1 : -1)));
    const bands = halves.map((errors) => errors(12, 0).halfBandC);
    bands.forEach((band, at) => {
      expect(band, `${at + 1} mornings`).toBeGreaterThan(1);
      if (at > 0) expect(band, `${at + 1} mornings`).toBeLessThan((bands[at - 1] as number) + 0.1);
    });
    expect(bands[5] as number).toBeGreaterThan(bands[7] as number);
    expect(bands[7] as number).toBeGreaterThan(bands[27] as number);
  });
});
