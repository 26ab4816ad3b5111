import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createBands } from '../../../src/models/house-thermal/bands.js';
import { createBlend } from '../../../src/models/house-thermal/blend.js';
import { createCarryOver } from '../../../src/models/house-thermal/carry-over.js';
import { watchForChange } from '../../../src/models/house-thermal/change.js';
import { normal, seeded } from '../../support/thermal-house.js';

describe('the blend', () => {
  const members = [
    { name: 'good', prior: 1 },
    { name: 'bad', prior: 1 },
    { name: 'silent', prior: 2 },
  ];

  it('begins at its priors, over those that speak', () => {
    const blend = createBlend(members, 1);
    expect(blend.combine([{ mean: 10, variance: 1 }, { mean: 20, variance: 1 }, undefined], 0)?.mean).toBeCloseTo(
      15,
      12,
    );
    expect(
      blend.combine(
        [
          { mean: 10, variance: 1 },
          { mean: 20, variance: 1 },
          { mean: 30, variance: 1 },
        ],
        0,
      )?.mean,
    ).toBeCloseTo((10 + 20 + 60) / 4, 12);
    expect(blend.combine([undefined, undefined, undefined], 0)).toBeUndefined();
  });

  it('tells how far its members lie apart', () => {
    // Variance of a mixture: 4 about each, and 5 squared between them.
    const blend = createBlend(members.slice(0, 2), 1);
    expect(
      blend.combine(
        [
          { mean: 10, variance: 4 },
          { mean: 20, variance: 4 },
        ],
        0,
      )?.variance,
    ).toBeCloseTo(29, 12);
  });

  it('goes over to who foretells better, and not for good to who was lucky once', () => {
    const random = seeded(1);
    const blend = createBlend(members, 1);
    const weightOf = (member: string) => blend.weights(0).find(({ name }) => name === member)?.weight ?? 0;
    for (let day = 0; day < 40; day += 1) {
      const truth = 20 + normal(random);
      blend.learn([{ mean: truth + 0.5 * normal(random) }, { mean: truth + 3 * normal(random) }, undefined], 0, truth);
      if (day === 0) expect(weightOf('good')).toBeLessThan(0.6);
    }
    expect(weightOf('good') / weightOf('bad')).toBeGreaterThan(20);
    // Who said nothing is neither rewarded nor punished beside those that did.
    expect(weightOf('silent')).toBeGreaterThan(weightOf('bad'));
  });

  it('stays inside its members', () => {
    const value = fc.double({ min: -50, max: 80, noNaN: true });
    fc.assert(
      fc.property(fc.array(fc.tuple(value, value, value), { minLength: 1, maxLength: 40 }), (days) => {
        const blend = createBlend(members, 2);
        for (const [a, b, truth] of days) {
          const said = [{ mean: a }, { mean: b, variance: 0 }, undefined];
          const together = blend.combine(said, 1);
          expect(together?.mean).toBeGreaterThanOrEqual(Math.min(a, b) - 1e-9);
          expect(together?.mean).toBeLessThanOrEqual(Math.max(a, b) + 1e-9);
          expect(together?.variance).toBeGreaterThan(0);
          blend.learn(said, 1, truth);
        }
        expect(blend.weights(0).reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 9);
      }),
    );
  });
});

describe('the 80 % band', () => {
  /** Share of days held, and mean width, when errors have a shape and the forecast claims a spread. */
  const tried = (error: (random: () => number, day: number) => number, claimed: number, days = 400) => {
    const random = seeded(9);
    const bands = createBands(1);
    let held = 0;
    let width = 0;
    for (let day = 0; day < days; day += 1) {
      const given = bands.give({ mean: 20, variance: claimed * claimed }, 0);
      const truth = 20 + error(random, day);
      if (day >= 50 && truth >= given.band.p10 && truth <= given.band.p90) held += 1;
      if (day >= 50) width += given.band.p90 - given.band.p10;
      bands.learn(given, 0, day, truth);
    }
    return { held: held / (days - 50), width: width / (days - 50) };
  };

  it('holds four days in five, whatever the errors look like and whatever was claimed', () => {
    for (const claimed of [0.2, 1, 5])
      for (const error of [
        (random: () => number) => normal(random),
        (random: () => number) => 3 * (random() - 0.5),
        (random: () => number) => normal(random) ** 3,
        (random: () => number, day: number) => (day > 200 ? 3 : 0.5) * normal(random),
      ]) {
        const { held } = tried(error, claimed);
        expect(held).toBeGreaterThan(0.75);
        expect(held).toBeLessThan(0.85);
      }
  });

  it('is about as wide as it must be: 2.56 standard deviations of normal errors', () => {
    const { width } = tried((random) => normal(random), 1);
    expect(width).toBeGreaterThan(2.4);
    expect(width).toBeLessThan(3);
  });

  it('begins as that of a normal distribution, and is never out of order', () => {
    const { band } = createBands(3).give({ mean: 10, variance: 4 }, 0);
    expect(band.p90 - band.p50).toBeGreaterThan(2 * 1.1);
    expect(band.p90 - band.p50).toBeLessThan(2 * 1.5);
    const number = fc.double({ min: -1e3, max: 1e3, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(number, fc.double({ min: 0.0025, max: 1e4, noNaN: true }), number), { maxLength: 60 }),
        (days) => {
          const bands = createBands(2);
          days.forEach(([mean, variance, truth], day) => {
            const given = bands.give({ mean, variance }, day % 2);
            expect(given.band.p10).toBeLessThanOrEqual(given.band.p50);
            expect(given.band.p90).toBeGreaterThanOrEqual(given.band.p50);
            expect(Number.isFinite(given.band.p90)).toBe(true);
            bands.learn(given, day % 2, day, truth);
          });
        },
      ),
    );
  });
});

describe('yesterday’s error', () => {
  const lived = (memory: number) => {
    const random = seeded(3);
    const carry = createCarryOver();
    let error = 0;
    let plain = 0;
    let corrected = 0;
    for (let day = 0; day < 300; day += 1) {
      error = memory * error + normal(random);
      const forecast = { mean: 20, variance: 1 };
      plain += error ** 2;
      corrected += (20 + error - carry.corrected(forecast, day).mean) ** 2;
      carry.learn(forecast, day, 20 + error);
    }
    return corrected / plain;
  };

  it('is taken in where errors last, and left alone where they do not', () => {
    // Of a first-order memory of 0.7 the best correction leaves 1 - 0.7² = 0.51 of the squares.
    expect(lived(0.7)).toBeLessThan(0.65);
    expect(lived(0)).toBeLessThan(1.02);
    expect(lived(-0.5)).toBeLessThan(1.02);
  });

  it('counts only when it is yesterday’s', () => {
    const carry = createCarryOver();
    const forecast = { mean: 20, variance: 1 };
    for (let day = 0; day < 20; day += 1) carry.learn(forecast, day, 22);
    expect(carry.corrected(forecast, 20).mean).toBeGreaterThan(20.5);
    expect(carry.corrected(forecast, 25).mean).toBe(20);
  });
});

describe('the watch for change', () => {
  it('says since when a house is another one, within days of the change', () => {
    const random = seeded(8);
    const watch = watchForChange();
    const found: [day: number, since: number][] = [];
    for (let day = 0; day < 80; day += 1) {
      // Once it is noticed the model learns anew, and its errors are about nothing again.
      const moved = day >= 50 && found.length === 0;
      const since = watch.learn(day, (moved ? 5 : 0) + normal(random));
      if (since !== undefined) found.push([day, since]);
    }
    expect(found).toHaveLength(1);
    const [day, since] = found[0] as [number, number];
    expect(day).toBeLessThan(57);
    expect(since).toBeGreaterThanOrEqual(48);
    expect(since).toBeLessThanOrEqual(51);
  });

  it('is quiet in a house that stays as it is, odd days and all', () => {
    const random = seeded(5);
    const watch = watchForChange();
    const alarms = Array.from({ length: 300 }, (_, day) =>
      watch.learn(day, normal(random) + (day % 25 === 7 ? 8 : 0)),
    ).filter((since) => since !== undefined);
    expect(alarms.length).toBeLessThanOrEqual(1);
  });
});
