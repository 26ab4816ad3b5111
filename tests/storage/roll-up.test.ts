import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Quantity, RollUp } from '../../src/domain/quantities.js';
import { addDays, localDayBounds, localDayHours, localDayOf } from '../../src/domain/time.js';
import type { CheckedReading, Storage } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { failAtCall } from './faults.js';
import { rollUpsByDefinition, type Span } from './oracle.js';
import { batchOf, openShared, openTemp, reading, tempFolder } from './support.js';

const HOUR_MS = 3_600_000;
const MINUTE_MS = 60_000;

/** Counts, extremes and covered time are exact; sums of doubles depend on their order in the last digits. */
function expectSame(got: readonly RollUp[], expected: readonly RollUp[]): void {
  const shape = (roll: RollUp) => ({
    startMs: roll.startMs,
    count: roll.count,
    min: roll.count > 0 ? roll.min : undefined,
    max: roll.count > 0 ? roll.max : undefined,
    coveredSeconds: roll.coveredSeconds,
  });
  expect(got.map(shape)).toEqual(expected.map(shape));
  got.forEach((roll, index) => {
    const wanted = expected[index] as RollUp;
    expect(Math.abs(roll.integral - wanted.integral)).toBeLessThanOrEqual(1e-6 + 1e-9 * Math.abs(wanted.integral));
    expect(Math.abs(roll.mean - wanted.mean)).toBeLessThanOrEqual(1e-6 + 1e-9 * Math.abs(wanted.mean));
  });
}

const hourSpans = (fromMs: number, toMs: number): Span[] => {
  const spans: Span[] = [];
  for (let startMs = Math.floor(fromMs / HOUR_MS) * HOUR_MS; startMs < toMs; startMs += HOUR_MS) {
    spans.push({ startMs, endMs: startMs + HOUR_MS });
  }
  return spans;
};
const daySpans = (zone: string, fromMs: number, toMs: number): Span[] => {
  const spans: Span[] = [];
  for (let day = localDayOf(zone, fromMs); localDayBounds(zone, day).startMs < toMs; day = addDays(day, 1)) {
    spans.push(localDayBounds(zone, day));
  }
  return spans;
};

async function stored(storage: Storage, sensorId: string, fromMs: number, toMs: number) {
  const [hours, days] = await Promise.all([
    storage.readings.hourly({ siteId: 'hill' }, fromMs, toMs),
    storage.readings.daily({ siteId: 'hill' }, '2026-01-01', '2027-12-31'),
  ]);
  return {
    hours: hours.find((found) => found.series.sensorId === sensorId)?.rollUps ?? [],
    days: days.find((found) => found.series.sensorId === sensorId)?.days ?? [],
  };
}

/** Times that fall on bounds, next to them, close together and further apart than any hold time. */
const timesArb = fc.uniqueArray(
  fc.tuple(
    fc.oneof(fc.integer({ min: 0, max: 4 * 144 }), fc.integer({ min: 130, max: 170 })),
    fc.constantFrom(0, 0, 0, 1, 299_999, 599_999),
  ),
  { minLength: 1, maxLength: 40, selector: ([slot, offset]) => slot * 600_000 + offset },
);

describe.each([
  { zone: 'Europe/Berlin', around: '2026-10-25', why: '25 hours' },
  { zone: 'Australia/Sydney', around: '2026-10-04', why: '23 hours' },
  { zone: 'Australia/Lord_Howe', around: '2026-04-05', why: '24 and a half hours' },
  { zone: 'America/Santiago', around: '2026-09-06', why: 'midnight does not exist' },
  { zone: 'Asia/Kolkata', around: '2026-06-10', why: 'days that begin at half past a UTC hour' },
])('roll-ups around $around in $zone ($why)', ({ zone, around }) => {
  let storage: Storage;
  beforeAll(async () => {
    storage = await openShared(zone);
  });
  const beginMs = localDayBounds(zone, addDays(around, -1)).startMs;
  const endMs = beginMs + 7 * 24 * HOUR_MS;
  let run = 0;

  it('are those of the definition, in whatever order and batches the readings come', async () => {
    await fc.assert(
      fc.asyncProperty(
        timesArb,
        fc.constantFrom<Quantity>('airTempC', 'flowLPerMinute', 'pressureHpa', 'batteryPct'),
        fc.infiniteStream(fc.tuple(fc.nat(), fc.integer({ min: -300, max: 900 }), fc.nat({ max: 9 }))),
        async (times, quantity, stream) => {
          run += 1;
          const inOrder: CheckedReading[] = [];
          const arrivals: { readonly order: number; readonly reading: CheckedReading; readonly cut: boolean }[] = [];
          for (const [slot, offset] of times) {
            const [order, tenths, chance] = stream.next().value as [number, number, number];
            const one = reading(beginMs + slot * 600_000 + offset, tenths / 10, { quantity, sensorId: `s${run}` });
            inOrder.push(one);
            arrivals.push({ order, reading: one, cut: chance < 4 });
            // Some come twice, at another moment.
            if (chance >= 8) arrivals.push({ order: (order * 7919) % 1_000_003, reading: one, cut: false });
          }
          arrivals.sort((a, b) => a.order - b.order);
          const batches: CheckedReading[][] = [[]];
          for (const arrival of arrivals) {
            batches.at(-1)?.push(arrival.reading);
            if (arrival.cut) batches.push([]);
          }
          let kept = 0;
          let doubles = 0;
          for (const batch of batches) {
            const result = await storage.readings.commit(batchOf(batch));
            kept += result.stored;
            doubles += result.duplicates;
          }
          expect(kept).toBe(inOrder.length);
          expect(kept + doubles).toBe(arrivals.length);

          const { hours, days } = await stored(storage, `s${run}`, beginMs - 30 * HOUR_MS, endMs);
          expectSame(hours, rollUpsByDefinition(inOrder, hourSpans(beginMs - 30 * HOUR_MS, endMs)));
          expectSame(days, rollUpsByDefinition(inOrder, daySpans(zone, beginMs - 30 * HOUR_MS, endMs)));
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('roll-ups over closings and failures', () => {
  it('are those of the definition when the service is stopped, or a commit fails and is tried again, at any point', async () => {
    const zone = 'Europe/Berlin';
    const { startMs } = localDayBounds(zone, '2026-10-24');
    const path = join(tempFolder(), 'test.db');
    let storage = await openSqliteStorage({ path, zoneOf: () => zone });
    let run = 0;
    await fc.assert(
      fc.asyncProperty(
        timesArb,
        fc.array(
          fc.record({ size: fc.integer({ min: 1, max: 8 }), reopen: fc.boolean(), failAt: fc.nat({ max: 25 }) }),
          {
            minLength: 1,
            maxLength: 6,
          },
        ),
        async (times, plan) => {
          run += 1;
          const all = times.map(([slot, offset], index) =>
            reading(startMs + slot * 600_000 + offset, (index * 37) % 50, { sensorId: `s${run}` }),
          );
          for (let next = 0, step = 0; next < all.length; step += 1) {
            const { size, reopen, failAt } = plan[step % plan.length] as (typeof plan)[number];
            const batch = batchOf(all.slice(next, next + size));
            if (reopen) {
              await storage.close();
              storage = await openSqliteStorage({ path, zoneOf: () => zone });
            }
            const fault = failAtCall(failAt, 'SQLITE_IOERR_WRITE');
            const done = await storage.readings
              .commit(batch)
              .then(() => true)
              .catch(() => false)
              .finally(() => fault.end());
            if (!done) await storage.readings.commit(batch);
            next += size;
          }
          const { hours, days } = await stored(storage, `s${run}`, startMs - 30 * HOUR_MS, startMs + 7 * 24 * HOUR_MS);
          expectSame(hours, rollUpsByDefinition(all, hourSpans(startMs, startMs + 7 * 24 * HOUR_MS)));
          expectSame(days, rollUpsByDefinition(all, daySpans(zone, startMs, startMs + 7 * 24 * HOUR_MS)));
        },
      ),
      { numRuns: 25 },
    );
    await storage.close();
  });
});

describe('local days', () => {
  // Lengths from the law of each zone (IANA tz database): where clocks change, by how much and when. The last number
  // is how many UTC hours begin in the day: in a zone of half hours not the same.
  it.each([
    ['Europe/Berlin', '2026-03-29', 23, 23],
    ['Europe/Berlin', '2026-10-25', 25, 25],
    ['Australia/Sydney', '2026-10-04', 23, 23],
    ['Australia/Sydney', '2026-04-05', 25, 25],
    ['Australia/Lord_Howe', '2026-10-04', 23.5, 23],
    ['Australia/Lord_Howe', '2026-04-05', 24.5, 25],
    ['America/Santiago', '2026-09-06', 23, 23],
    ['America/Santiago', '2026-04-04', 25, 25],
    ['Africa/Cairo', '2026-04-24', 23, 23],
    ['Africa/Cairo', '2026-10-29', 25, 25],
  ])('%s %s has %d hours', async (zone, day, hours, utcHoursBegun) => {
    expect(localDayHours(zone, day)).toBe(hours);
    const storage = await openTemp(zone);
    const { startMs, endMs } = localDayBounds(zone, day);
    const readings: CheckedReading[] = [];
    for (let at = startMs - 2 * HOUR_MS; at <= endMs + 2 * HOUR_MS; at += 10 * MINUTE_MS)
      readings.push(reading(at, 21));
    await storage.readings.commit(batchOf(readings));

    const [daily] = await storage.readings.daily({ siteId: 'hill' }, day, day);
    expect(daily?.days).toEqual([
      {
        day,
        startMs,
        count: hours * 6,
        min: 21,
        mean: 21,
        max: 21,
        integral: expect.closeTo(21 * hours * 3600, 6),
        coveredSeconds: hours * 3600,
      },
    ]);
    const [hourly] = await storage.readings.hourly({ siteId: 'hill' }, startMs, endMs);
    expect(hourly?.rollUps).toHaveLength(utcHoursBegun);
  });
});

describe('a bucket', () => {
  it('takes the part of a line that lies in it, cut at the bound', async () => {
    const storage = await openTemp();
    const noon = Date.UTC(2026, 5, 1, 12);
    // 10 °C at 11:40, 40 °C at 12:20: at noon the line is at 25 °C.
    await storage.readings.commit(batchOf([reading(noon - 20 * MINUTE_MS, 10), reading(noon + 20 * MINUTE_MS, 40)]));
    const [found] = await storage.readings.hourly({ siteId: 'hill' }, noon - HOUR_MS, noon + HOUR_MS);
    expect(found?.rollUps.map(({ integral, coveredSeconds }) => ({ integral, coveredSeconds }))).toEqual([
      { integral: ((10 + 25) / 2) * 1200, coveredSeconds: 1200 },
      { integral: ((25 + 40) / 2) * 1200, coveredSeconds: 1200 },
    ]);
  });

  it('leaves out a gap longer than the hold time, and not one exactly as long', async () => {
    const storage = await openTemp();
    const at = Date.UTC(2026, 5, 1, 3);
    await storage.readings.commit(
      batchOf([
        reading(at, 10),
        reading(at + HOUR_MS, 10),
        reading(at + HOUR_MS + HOUR_MS + 1, 10),
        reading(at + 3 * HOUR_MS, 10),
      ]),
    );
    const [found] = await storage.readings.daily({ siteId: 'hill' }, '2026-06-01', '2026-06-01');
    expect(found?.days[0]?.coveredSeconds).toBe(3600 + (HOUR_MS - 1) / 1000);
  });

  it('without a reading of its own shows what the line over it says, and count 0', async () => {
    const storage = await openTemp();
    const at = Date.UTC(2026, 5, 1, 3, 30);
    const soil = { quantity: 'substrateTempC' } as const;
    await storage.readings.commit(batchOf([reading(at, 10, soil), reading(at + 2 * HOUR_MS, 20, soil)]));
    const [found] = await storage.readings.hourly({ siteId: 'hill' }, at, at + HOUR_MS);
    expect(found?.rollUps).toEqual([
      { startMs: at + HOUR_MS / 2, count: 0, min: 15, mean: 15, max: 15, integral: 15 * 3600, coveredSeconds: 3600 },
    ]);
  });
});
