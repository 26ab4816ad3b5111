import { describe, expect, it } from 'vitest';
import { thermalDays } from '../../../src/models/house-thermal/days.js';
import { hoursOfSamples, skyHours } from '../../../src/models/house-thermal/hours.js';
import { prepareRecord } from '../../../src/models/house-thermal/house-record.js';
import type { ThermalPlace, ThermalSample } from '../../../src/models/house-thermal/record.js';
import { BERLIN, simulatedHouse } from '../../support/thermal-house.js';

const sample = (at: number, insideTempC: number | null, outsideTempC: number | null = 10): ThermalSample => ({
  at,
  insideTempC,
  insideRelHumidityPct: 60,
  outsideTempC,
  outsideRelHumidityPct: 70,
  outsideRadiationWm2: null,
});
const HOUR = 3_600_000;
const MINUTE = 60_000;

describe('hours of samples', () => {
  it('are mean, highest, lowest and the share that was heard', () => {
    const at = Date.UTC(2026, 5, 1, 10);
    const [first, second] = hoursOfSamples([
      sample(at, 20),
      sample(at + 20 * MINUTE, 22),
      sample(at + 40 * MINUTE, 27),
      sample(at + 70 * MINUTE, 25),
    ]);
    expect(first).toMatchObject({ startMs: at, insideTempC: 23, insideMinC: 20, insideMaxC: 27, insideHeard: 1 });
    // The sample at 11:10 speaks for the half hour before it: 20 minutes of 10 o'clock, 10 of 11.
    expect(second?.insideHeard).toBeCloseTo(10 / 60, 9);
  });

  it('do not bridge a silence', () => {
    const at = Date.UTC(2026, 5, 1, 10);
    const hours = skyHours(hoursOfSamples([sample(at, 20), sample(at + 5 * HOUR + 5 * MINUTE, 22)]), BERLIN);
    expect(hours.map(({ insideTempC }) => insideTempC)).toEqual([20, null, null, null, null, 22]);
    expect(hours.map(({ insideHeard }) => insideHeard)).toEqual([0, 0, 0, 0, 0, 0]);
    // The outside is held for three hours and no longer.
    expect(hours.map(({ outsideTempC }) => outsideTempC)).toEqual([10, 10, 10, 10, null, 10]);
  });

  it('bear jittering times: 4 and 6 minutes apart are as good as 5', () => {
    const at = Date.UTC(2026, 5, 1);
    const jitter = Array.from({ length: 288 }, (_, i) => sample(at + i * 5 * MINUTE - (i % 3 === 1 ? MINUTE : 0), 20));
    const { hours, days } = prepareRecord(
      jitter.map((one, i) => ({ ...one, insideTempC: 20 + (i % 7) / 10 })),
      { ...BERLIN, zone: 'UTC' },
    );
    expect(days.find(({ day }) => day === '2026-06-01')).toMatchObject({ maxC: 20.6 });
    expect(Math.min(...hours.flatMap(({ insideMinC }) => insideMinC ?? []))).toBe(20);
  });

  it('tell the sun from the spread of the day outside', () => {
    // FAO-56 Eq. 50 with 0.17 and a spread of 16 °C: 0.68 of the radiation above the air, 0.68 / 0.75 of a clear sky.
    const at = Date.UTC(2026, 5, 1);
    const hours = skyHours(
      hoursOfSamples(
        Array.from({ length: 48 }, (_, half) =>
          sample(at + half * 30 * MINUTE, 20, half === 8 ? 8 : half === 30 ? 24 : 15),
        ),
      ).map((hour, index) => ({ ...hour, outsideTempC: index === 4 ? 8 : index === 15 ? 24 : 15 })),
      { ...BERLIN, zone: 'UTC' },
    );
    const noon = hours[12];
    expect((noon?.sunFromTempsWm2 ?? 0) / (noon?.clearSkyWm2 ?? 1)).toBeCloseTo(0.68 / 0.75, 6);
  });
});

describe('days of a record', () => {
  const record = (place: ThermalPlace, fromMs: number, days: number) => {
    const { samples } = simulatedHouse(2, days, undefined, place, fromMs);
    return prepareRecord(samples, place).days;
  };

  it('last from midnight to midnight of the place, 23 and 25 hours when the clocks change', () => {
    const spring = record(BERLIN, Date.UTC(2026, 2, 27), 5);
    expect(spring.map(({ day, first, end }) => [day, end - first])).toContainEqual(['2026-03-29', 23]);
    const autumn = record(BERLIN, Date.UTC(2026, 9, 23), 5);
    expect(autumn.map(({ day, first, end }) => [day, end - first])).toContainEqual(['2026-10-25', 25]);
    for (const { day, maxC } of [...spring, ...autumn].filter(({ first, end }) => end - first >= 23))
      expect(maxC, day).not.toBeNull();
  });

  it('have no highest while too little of them was heard', () => {
    const { samples } = simulatedHouse(2, 4);
    const place = { ...BERLIN, zone: 'UTC' };
    const without = (hours: number) =>
      thermalDays(
        skyHours(
          hoursOfSamples(samples.filter(({ at }) => at < Date.UTC(2026, 4, 2) || at >= Date.UTC(2026, 4, 2, hours))),
          place,
        ),
      );
    expect(without(4)[1]?.maxC).not.toBeNull();
    expect(without(7)[1]?.maxC).toBeNull();
    // Half a day at the end of a record is no day.
    const half = thermalDays(
      skyHours(hoursOfSamples(samples.filter(({ at }) => at < Date.UTC(2026, 4, 3, 18))), place),
    );
    expect(half[2]?.maxC).toBeNull();
  });

  it('have no highest while the hours about noon were not heard, however much of the rest was', () => {
    const { samples } = simulatedHouse(2, 4);
    const place = { ...BERLIN, zone: 'UTC' };
    // The sun stands highest at 11:08 UTC: the warm hours are those of 8 to 16.
    const without = (from: number, count: number) => {
      const start = Date.UTC(2026, 4, 2, from);
      const heard = samples.filter(({ at }) => at < start || at >= start + count * HOUR);
      return thermalDays(skyHours(hoursOfSamples(heard), place))[1]?.maxC;
    };
    expect(without(12, 3)).toBeNull();
    expect(without(12, 2)).not.toBeNull();
    expect(without(18, 3)).not.toBeNull();
  });

  it('are cut where the zone says, also half an hour off', () => {
    const kolkata = record({ ...BERLIN, zone: 'Asia/Kolkata', latitude: 20, longitude: 77 }, Date.UTC(2026, 4, 1), 4);
    expect(kolkata.slice(1, -1).map(({ first, end }) => end - first)).toEqual([24, 24, 24]);
  });
});
