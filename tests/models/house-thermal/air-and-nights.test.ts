import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { airCoefficients } from '../../../src/models/house-thermal/air-model.js';
import { airPrior, UNKNOWN_HOUSE } from '../../../src/models/house-thermal/air-prior.js';
import { clothLight, clothWarmth } from '../../../src/models/house-thermal/cloth.js';
import { prepareRecord } from '../../../src/models/house-thermal/house-record.js';
import { humidityAhead, learnMoisture, type MoistureHour } from '../../../src/models/house-thermal/moisture.js';
import { measuredNight, nightSpan, nightsAhead } from '../../../src/models/house-thermal/nights.js';
import { simpleForecasts } from '../../../src/models/house-thermal/simple-forecasts.js';
import { walk } from '../../../src/models/house-thermal/walk.js';
import { type AheadRun, clothEffects } from '../../../src/models/house-thermal/what-if.js';
import {
  relHumidityPctFromVapourPressure,
  saturationVapourPressureKPa,
  vapourPressureKPa,
} from '../../../src/science/air.js';
import { BERLIN, GLASSHOUSE, seeded, simulatedHouse } from '../../support/thermal-house.js';

describe('humidity by a moisture balance', () => {
  const random = seeded(2);
  const hours: MoistureHour[] = Array.from({ length: 500 }, (_, hour) => ({
    insideTempC: 18 + 6 * Math.sin(hour / 4),
    outsideVapourKPa: 0.8 + 0.3 * Math.sin(hour / 60) + 0.1 * random(),
    venting: Math.max(0, Math.sin(hour / 4)),
    sunWm2: Math.max(0, 600 * Math.sin(hour / 4)),
  }));

  it('finds the coefficients of a house that has them, and foretells its humidity', () => {
    const truth = [0.5, 1.5, 0.3, 0.05] as const;
    const humidity = humidityAhead(truth, 1, hours);
    const learned = learnMoisture(hours.map((hour, at) => ({ ...hour, insideRelHumidityPct: humidity[at] as number })));
    truth.forEach((value, at) => {
      expect(learned[at]).toBeGreaterThan(0.8 * value);
      expect(learned[at]).toBeLessThan(1.2 * value);
    });
    const start = vapourPressureKPa(hours[0]?.insideTempC as number, humidity[0] as number);
    const again = humidityAhead(learned, start, hours.slice(1));
    again.forEach((value, at) => {
      expect(Math.abs(value - (humidity[at + 1] as number))).toBeLessThan(3);
    });
  });

  it('settles where what comes in goes out: e = eo + sources / leak', () => {
    const still = Array(200).fill({ insideTempC: 20, outsideVapourKPa: 1, venting: 0, sunWm2: 0 });
    const settled = humidityAhead([0.4, 1, 0.1, 0.08], 1.5, still).at(-1) as number;
    expect(settled).toBeCloseTo(relHumidityPctFromVapourPressure(20, 1.2), 6);
  });

  it('never passes what the air can hold, and stays a number', () => {
    const amount = (min: number, max: number) => fc.double({ min, max, noNaN: true });
    fc.assert(
      fc.property(
        fc.tuple(amount(0.02, 6), amount(0, 6), amount(-5, 5), amount(-2, 2)),
        fc.array(fc.tuple(amount(-10, 55), amount(0, 4), amount(0, 1), amount(0, 1200)), {
          minLength: 1,
          maxLength: 40,
        }),
        (coefficients, rows) => {
          const ahead = rows.map(([insideTempC, outsideVapourKPa, venting, sunWm2]) => ({
            insideTempC,
            outsideVapourKPa,
            venting,
            sunWm2,
          }));
          for (const value of humidityAhead(coefficients, saturationVapourPressureKPa(10), ahead)) {
            expect(value).toBeGreaterThanOrEqual(0);
            expect(value).toBeLessThanOrEqual(100);
          }
        },
      ),
    );
  });
});

describe('nights', () => {
  const house = simulatedHouse(6, 40);
  const { hours, days } = prepareRecord(house.samples, house.place);
  const walked = walk(hours, days, { place: house.place, prior: airPrior(UNKNOWN_HOUSE), issuedAt: '06:00' });

  it('last from noon to noon on the clock of the place, whatever the clocks do', () => {
    const span = nightSpan(hours, BERLIN.zone, '2026-05-10');
    expect(hours[span.first]?.startMs).toBe(Date.parse('2026-05-09T10:00Z'));
    expect(hours[span.end]?.startMs).toBe(Date.parse('2026-05-10T10:00Z'));
    const autumn = prepareRecord(simulatedHouse(1, 4, GLASSHOUSE, BERLIN, Date.UTC(2026, 9, 24)).samples, BERLIN);
    const long = nightSpan(autumn.hours, BERLIN.zone, '2026-10-25');
    expect(long.end - long.first).toBe(25);
  });

  it('are known only when they are over and were heard', () => {
    const span = nightSpan(hours, BERLIN.zone, '2026-05-10');
    expect(measuredNight(hours, span, span.end)).toBeCloseTo(
      Math.min(...hours.slice(span.first, span.end).map(({ insideMinC }) => insideMinC as number)),
      9,
    );
    expect(measuredNight(hours, span, span.end - 1)).toBeNull();
    const deaf = hours.map((hour, at) =>
      at >= span.first && at < span.first + 8 ? { ...hour, insideHeard: 0 } : hour,
    );
    expect(measuredNight(deaf, span, span.end)).toBeNull();
  });

  it('are not known when the hours before sunrise were not heard, however much of the rest was', () => {
    const span = nightSpan(hours, BERLIN.zone, '2026-05-10');
    const without = (from: number, count: number) =>
      hours.map((hour, at) =>
        at >= span.first + from && at < span.first + from + count
          ? { ...hour, insideHeard: 0, insideTempC: null, insideMinC: null, insideMaxC: null }
          : hour,
      );
    // The sun rises at 5:15 on that clock, 17 hours after noon. Three hours are an eighth of the night.
    expect(measuredNight(without(14, 3), span, span.end)).toBeNull();
    expect(measuredNight(without(14, 2), span, span.end)).not.toBeNull();
    expect(measuredNight(without(2, 3), span, span.end)).not.toBeNull();
    // In a night that is under way only the cold hours that have come can be missed.
    expect(measuredNight(without(14, 3), { ...span, end: span.first + 14 }, span.first + 14)).not.toBeNull();
    expect(measuredNight(without(13, 3), { ...span, end: span.first + 17 }, span.first + 17)).toBeNull();
  });

  it('are foretold better than by the night before, with a band that mostly holds', () => {
    let errors = 0;
    let again = 0;
    let held = 0;
    let count = 0;
    walked.mornings.forEach((morning, at) => {
      if (at < 15 || at > 35) return;
      const known = morning.morning.fromHour;
      const [next] = nightsAhead(walked.mornings.slice(0, at + 1), hours, days, BERLIN.zone, known);
      const span = nightSpan(hours, BERLIN.zone, next?.day as string);
      const truth = measuredNight(hours, span, hours.length);
      const before = measuredNight(
        hours,
        nightSpan(hours, BERLIN.zone, days[morning.morning.dayIndex]?.day as string),
        hours.length,
      );
      if (!next || truth === null || before === null) return;
      errors += Math.abs(next.minC.p50 - truth);
      again += Math.abs(before - truth);
      if (truth >= next.minC.p10 && truth <= next.minC.p90) held += 1;
      count += 1;
    });
    expect(count).toBeGreaterThan(15);
    expect(errors).toBeLessThan(0.7 * again);
    expect(held / count).toBeGreaterThan(0.6);
  });
});

describe('simple forecasts', () => {
  const day = (
    index: number,
    maxC: number | null,
    outsideMaxC: number | null,
    radiationMeanWm2: number | null = null,
  ) => ({
    day: `day ${index}`,
    first: 0,
    end: 0,
    maxC,
    outside: {
      outsideMaxC,
      outsideMeanC: null,
      radiationMeanWm2,
      radiationPeakWm2: null,
      clearSkyMeanWm2: null,
      sunFromTempsWm2: null,
      wetBulbMaxC: null,
    },
  });
  const all = { hasOutside: true, hasSun: false };

  it('find a line that is there: twice the outside maximum and 3', () => {
    const random = seeded(3);
    const days = Array.from({ length: 40 }, (_, at) => 10 + 10 * random() + at / 100).map((out, at) =>
      day(at, 3 + 2 * out, out),
    );
    const told = simpleForecasts(days, 39, 0, all);
    expect(told.persistence).toBe(days[38]?.maxC);
    expect(told.delta).toBeCloseTo(days[39]?.maxC as number, 3);
    expect(told.rolling).toBeCloseTo(days[39]?.maxC as number, 3);
  });

  it('do not look at the day itself, nor at days that are not over on the morning', () => {
    const days = Array.from({ length: 30 }, (_, at) => day(at, 20 + (at % 7), 10 + (at % 5)));
    for (const lead of [0, 1, 2]) {
      const changed = days.map((one, at) => (at >= 29 - lead ? { ...one, maxC: 99 } : one));
      expect(simpleForecasts(changed, 29, lead, all)).toEqual(simpleForecasts(days, 29, lead, all));
    }
  });

  it('have nothing to say after a silence of five days, and no line through a few days', () => {
    const days = Array.from({ length: 9 }, (_, at) => day(at, at < 3 ? 20 : null, 10 + at));
    expect(simpleForecasts(days, 8, 0, all)).toEqual({});
    expect(Object.keys(simpleForecasts(days, 4, 0, all))).toEqual(['persistence']);
  });
});

describe('another cloth', () => {
  const white = { shadePct: 50, place: 'outside', colour: 'white' } as const;
  const run: AheadRun = {
    days: [{ day: '2026-06-01', first: 0, end: 24 }],
    inputs: Array.from({ length: 24 }, (_, hour) => ({
      outsideTempC: 20,
      outsideWetBulbC: 15,
      sunWm2: Math.max(0, 800 * Math.sin(((hour - 5) / 14) * Math.PI)),
    })),
    start: { airC: 15, massC: 15 },
    coefficients: [0.9, 1, 1.1].map((factor) => airCoefficients({ ...GLASSHOUSE, sunPerHourWm2: 0.03 * factor })),
  };

  it('takes the light it says, and the warmth its place and colour leave', () => {
    expect(clothLight(null)).toBe(1);
    expect(clothLight(white)).toBe(0.5);
    // 50 % held back, a tenth of it felt all the same.
    expect(clothWarmth(white)).toBeCloseTo(0.55, 12);
    expect(clothWarmth({ shadePct: 50, place: 'inside', colour: 'black' })).toBe(1);
    expect(clothWarmth(null)).toBe(1);
  });

  it('cools by more the denser it is, and is told with a spread', () => {
    const effect = (shadePct: number) => clothEffects(run, null, { ...white, shadePct })[0];
    const [thin, thick] = [effect(30), effect(70)];
    expect(thick?.maxChangeC.p50).toBeLessThan(thin?.maxChangeC.p50 as number);
    expect(thin?.maxChangeC.p50).toBeLessThan(-0.5);
    expect(thin?.maxChangeC.p10).toBeLessThan(thin?.maxChangeC.p50 as number);
    expect(thin?.maxChangeC.p90).toBeGreaterThan(thin?.maxChangeC.p50 as number);
    expect(thick?.lightRatio.p50).toBeCloseTo(0.3, 12);
  });

  it('leaves four times in five a light within a tenth of what is said of it, and warmth by that', () => {
    const same = { ...run, coefficients: Array(14).fill(airCoefficients(GLASSHOUSE)) };
    const [on] = clothEffects(same, null, white);
    expect(on?.lightRatio.p10).toBeCloseTo(0.4, 12);
    expect(on?.lightRatio.p90).toBeCloseTo(0.6, 12);
    // The outer points are those of a cloth that is off by so much: 40 % and 60 % of light, with a tenth of the rest felt.
    const under = (shadePct: number) => clothEffects(same, null, { ...white, shadePct })[0]?.maxChangeC.p50 as number;
    const denser = under(50 + 100 * (0.1 / 0.9));
    const thinner = under(50 - 100 * (0.1 / 0.9));
    expect(on?.maxChangeC.p10).toBeCloseTo(denser, 6);
    expect(on?.maxChangeC.p90).toBeCloseTo(thinner, 6);
    // A cloth that comes off was the unsure one.
    const [off] = clothEffects(same, white, null);
    expect(off?.lightRatio.p10).toBeCloseTo(1 / 0.6, 12);
    expect(off?.lightRatio.p90).toBeCloseTo(1 / 0.4, 12);
    // A change by a quarter of the light is half as unsure.
    expect(clothEffects(same, null, { ...white, shadePct: 25 })[0]?.lightRatio.p10).toBeCloseTo(0.7, 12);
  });

  it('is felt the other way when it comes off, and not at all when nothing changes', () => {
    const [off] = clothEffects(run, white, null);
    expect(off?.maxChangeC.p50).toBeGreaterThan(0.5);
    expect(off?.lightRatio.p50).toBe(2);
    expect(clothEffects(run, white, white)[0]?.maxChangeC).toEqual({ p10: 0, p50: 0, p90: 0 });
  });

  it('is far less sure of a house of which one morning is known', () => {
    const width = (coefficients: AheadRun['coefficients']) => {
      const [effect] = clothEffects({ ...run, coefficients }, null, white);
      return (effect?.maxChangeC.p90 ?? 0) - (effect?.maxChangeC.p10 ?? 0);
    };
    expect(width(run.coefficients.slice(1, 2))).toBeGreaterThan(width(run.coefficients.slice(1, 3)));
  });
});
