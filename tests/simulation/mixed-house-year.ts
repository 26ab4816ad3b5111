import { describe, expect, it } from 'vitest';
import { addDays } from '../../src/domain/time.js';
import { advised } from './advice-custom.js';
import { byTheMonth, weekly, whenDry } from './customs.js';
import { houseDays } from './glasshouse.js';
import { EVERY_DAY, type Losses, MIXED_PLANTING, MixedHouse } from './mixed-house.js';
import type { Place } from './places.js';
import { HARMS, type Harm } from './plant-truth.js';

/*
 * A year of a mixed house in five climates, under the advice and under three simple customs, with the same plants, weather
 * and luck. One seed and somebody there twice a week by default; LEAFTURN_TEST_SEEDS=N runs N seeds with somebody there
 * every day.
 */
const SEEDS = Number(process.env['LEAFTURN_TEST_SEEDS'] ?? 0);
const seeds = Array.from({ length: Math.max(1, SEEDS) }, (_, index) => index + 1);
const weekdays = SEEDS > 0 ? EVERY_DAY : [0, 3];
const LOOKS_A_VISIT = 6;
const SENSORS_BEFORE_DAYS = 60;

/** So many plants more or less of one kind of loss are chance. */
const CHANCE = 3;
/** Kinds of loss on which the advice may do worse than the best custom, and why. */
const NOT_WON: Readonly<Partial<Record<Harm, string>>> = {
  scorched: 'the cloth is the same in all customs, and plants that rotted before cannot scorch',
  starved:
    'who waters all year starves nothing; drinks put off for months in nights too cold or too hot cost thin stores',
};

interface Row {
  readonly climate: string;
  readonly seed: number;
  readonly custom: string;
  readonly losses: Losses;
}

function yearOf(climate: string, place: Place, seed: number): Row[] {
  // From the longest day on, when nothing changes its leaves.
  const first = place.latitudeDeg > 0 ? '2026-06-21' : '2025-12-21';
  const all = houseDays(place, seed, addDays(first, -SENSORS_BEFORE_DAYS), 365 + SENSORS_BEFORE_DAYS);
  const before = all.slice(0, SENSORS_BEFORE_DAYS);
  const days = all.slice(SENSORS_BEFORE_DAYS);
  const customs = [
    weekly(),
    whenDry(seed),
    byTheMonth(seed),
    advised(place, seed, before, days, { looksAtMost: LOOKS_A_VISIT }),
  ];
  return customs.map((custom) => {
    const house = new MixedHouse(MIXED_PLANTING, seed, days[0]?.seasonAngleDeg ?? 0);
    return { climate, seed, custom: custom.name, losses: house.year(days, custom, weekdays) };
  });
}

const cell = (value: string | number, width: number): string => String(value).padStart(width);

function tableOf(rows: readonly Row[]): string {
  const head = [
    'climate'.padEnd(20),
    cell('seed', 4),
    '  custom'.padEnd(23),
    ...HARMS.map((harm) => cell(harm, 10)),
    cell('total', 6),
    cell('drinks', 7),
  ];
  const lines = rows.map(({ climate, seed, custom, losses }) =>
    [
      climate.padEnd(20),
      cell(seed, 4),
      `  ${custom}`.padEnd(23),
      ...HARMS.map((harm) => cell(losses[harm], 10)),
      cell(losses.total, 6),
      cell(losses.drinks, 7),
    ].join(''),
  );
  return [head.join(''), ...lines].join('\n');
}

/** The tests of some climates; they are shared out over files so that these run side by side. */
export function losesFewestUnderTheAdvice(climates: readonly (readonly [climate: string, place: Place])[]): void {
  describe('a simulated year of a mixed house', () => {
    it.each(climates)(
      'loses fewest plants under the advice: %s',
      (climate, place) => {
        const rows = seeds.flatMap((seed) => yearOf(climate, place, seed));
        console.log(
          `Of ${rows[0]?.losses.plants} plants lost, somebody there on ${weekdays.length} days a week:\n${tableOf(rows)}`,
        );
        for (const seed of seeds) {
          const same = rows.filter((row) => row.seed === seed);
          const advice = same.find(({ custom }) => custom === 'the advice') as Row;
          const others = same.filter((row) => row !== advice);
          for (const other of others)
            expect(advice.losses.total, `${climate}, seed ${seed}, against ${other.custom}`).toBeLessThan(
              other.losses.total,
            );
          const lost = (harm: Harm) => advice.losses[harm] - Math.min(...others.map(({ losses }) => losses[harm]));
          const notWon = HARMS.filter((harm) => lost(harm) > CHANCE);
          for (const harm of notWon)
            console.log(`${climate}, seed ${seed}: ${lost(harm)} more ${harm} than the best custom: ${NOT_WON[harm]}`);
          expect(notWon.filter((harm) => NOT_WON[harm] === undefined)).toEqual([]);
          // A tenth of the house is more than chance.
          expect(notWon.filter((harm) => lost(harm) > 0.1 * advice.losses.plants)).toEqual([]);
        }
      },
      600_000,
    );
  });
}
