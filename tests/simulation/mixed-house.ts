import { even, normal } from '../../src/app/demo/random.js';
import type { HouseDay } from './glasshouse.js';
import { peakPpfd } from './glasshouse.js';
import { kindOf } from './plant-kinds.js';
import { HARMS, type Harm, LIGHT_DRINK_MM, Plant, type PlantLook } from './plant-truth.js';

/*
 * A house with batches of simulated plants, watered by a custom: by the day of the week, by the feel of the pot, by the
 * month, or by the advice of the service. Chance is drawn by plant and day, so that all customs meet the same luck.
 */
export interface BatchPlan {
  readonly id: string;
  readonly group: string;
  readonly young: boolean;
}

export interface Batch extends BatchPlan {
  readonly index: number;
  plants: SimulatedPlant[];
  readonly startPlants: number;
}
interface SimulatedPlant {
  readonly plant: Plant;
  readonly id: number;
}

export interface Drink {
  readonly batch: Batch;
  readonly amount: 'light' | 'full';
  /** Poured, mm over the pot; left out: what is usual for the amount. */
  readonly mm?: number;
}

/** Whoever waters: asked every morning. */
export interface Custom {
  readonly name: string;
  /** Before the first morning. */
  begin?(house: MixedHouse): void;
  /** Mornings on which nobody came are left out. */
  morning(day: HouseDay, index: number, house: MixedHouse): readonly Drink[];
  /** Cloth over the benches that day, share of light held back. */
  clothShare(day: HouseDay): number;
  /** After the day, whether anybody came or not. */
  evening?(day: HouseDay): void;
}

export interface Losses extends Readonly<Record<Harm, number>> {
  readonly plants: number;
  readonly total: number;
  /** Drinks given, light and full, over all batches. */
  readonly drinks: number;
  readonly byGroup: ReadonlyMap<string, Readonly<Record<Harm, number>>>;
}

const PLANTS_A_BATCH = 4;
/** A full drink fills the pot and drains, mm. */
const FULL_DRINK_MM = 12;
/** Scatter, one standard deviation: a year, a batch (one seed source), a plant; pots. Common practice, no published source. */
const LATE_DEG = { year: 5, batch: 5, plant: 6 };
const POT_SCATTER = 0.15;
const HEAT_SCATTER_C = 1;
/** How far what is poured is off, one standard deviation of its share. */
const POUR_SCATTER = 0.15;
export const EVERY_DAY: readonly number[] = [0, 1, 2, 3, 4, 5, 6];
/** Mornings on which somebody should come and nobody does. */
const ABSENT = 0.05;

export class MixedHouse {
  readonly batches: readonly Batch[];
  private readonly odds: (n: number) => number;

  constructor(plans: readonly BatchPlan[], seed: number, seasonAngleDeg: number) {
    this.odds = even(seed, 'luck');
    const scatter = normal(seed, 'plants');
    const yearLate = LATE_DEG.year * scatter(0);
    this.batches = plans.map((plan, index) => {
      const kind = kindOf(plan.group);
      const batchLate = yearLate + LATE_DEG.batch * scatter(1000 + index);
      const plants = Array.from({ length: PLANTS_A_BATCH }, (_, number): SimulatedPlant => {
        const id = index * PLANTS_A_BATCH + number;
        const draw = (of: number) => Math.max(-2.5, Math.min(2.5, scatter(10_000 * of + id)));
        return {
          id,
          plant: new Plant(
            kind,
            {
              lateDeg: batchLate + LATE_DEG.plant * draw(1),
              potHolds: 1 + POT_SCATTER * draw(2),
              potDries: 1 + POT_SCATTER * draw(3),
              heatC: HEAT_SCATTER_C * draw(4),
              young: plan.young,
            },
            seasonAngleDeg,
            0.1,
          ),
        };
      });
      return { ...plan, index, plants, startPlants: plants.length };
    });
  }

  /** The plant a person picks from a batch to look at; undefined when all are lost. */
  sample(batch: Batch, day: number): PlantLook | undefined {
    const { plants } = batch;
    return plants[Math.floor(this.odds(7_000_000 + day * 1000 + batch.index) * plants.length)]?.plant.look();
  }

  /** @param weekdays mornings of the week, 0 to 6, on which somebody comes */
  year(days: readonly HouseDay[], custom: Custom, weekdays: readonly number[] = EVERY_DAY): Losses {
    const harms = Object.fromEntries(HARMS.map((harm) => [harm, 0])) as Record<Harm, number>;
    const byGroup = new Map(this.batches.map(({ group }) => [group, { ...harms }]));
    let drinks = 0;
    custom.begin?.(this);
    days.forEach((day, index) => {
      const away = !weekdays.includes(index % 7) || this.odds(9_000_000 + index) < ABSENT;
      const given = away ? [] : custom.morning(day, index, this);
      drinks += given.length;
      const water = new Map(given.map((drink) => [drink.batch, drink.mm ?? usualMm(drink.amount)]));
      const cloth = custom.clothShare(day);
      for (const batch of this.batches) {
        const mm = water.get(batch) ?? 0;
        batch.plants = batch.plants.filter(({ plant, id }) => {
          const harm = plant.day(
            day,
            day.dli * (1 - cloth),
            peakPpfd(day, cloth),
            this.poured(mm, id, index),
            this.luckOf(id, index),
          );
          if (!harm) return true;
          harms[harm] += 1;
          (byGroup.get(batch.group) as Record<Harm, number>)[harm] += 1;
          return false;
        });
      }
      custom.evening?.(day);
    });
    const plants = this.batches.reduce((sum, batch) => sum + batch.startPlants, 0);
    return { ...harms, plants, total: HARMS.reduce((sum, harm) => sum + harms[harm], 0), drinks, byGroup };
  }

  private poured(mm: number, id: number, day: number): number {
    if (mm === 0) return 0;
    const off = (this.odds(3_000_000 + day * 1000 + id) - 0.5) * Math.sqrt(12);
    return Math.max(0, mm * (1 + POUR_SCATTER * off));
  }

  /** Three draws for each plant and day: the same whatever the custom did before. */
  private luckOf(id: number, day: number): () => number {
    let draw = 0;
    return () => this.odds(20_000_000 + (day * 1000 + id) * 4 + draw++);
  }
}

const usualMm = (amount: Drink['amount']): number => (amount === 'light' ? LIGHT_DRINK_MM : FULL_DRINK_MM);

const PLANTED: readonly (readonly [group: string, batches: number])[] = [
  ['lithops-summer-rain', 8],
  ['conophytum', 6],
  ['lithops-winter-rain', 4],
  ['pleiospilos', 3],
  ['argyroderma', 3],
  ['dinteranthus', 3],
  ['lapidaria', 3],
  ['titanopsis-aloinopsis', 3],
  ['fenestraria', 3],
  ['faucaria', 3],
  ['gibbaeum', 3],
  ['monilaria-oophytum', 3],
  ['cheiridopsis', 3],
  ['adromischus', 3],
  ['haworthia-soft', 3],
  ['echeveria', 3],
  ['crassula-winter', 3],
];

/** Sixty batches of all groups; the last of the larger groups are seedlings. */
export const MIXED_PLANTING: readonly BatchPlan[] = PLANTED.flatMap(([group, count]) =>
  Array.from({ length: count }, (_, number) => ({
    id: `${group}-${number + 1}`,
    group,
    young: count > 3 && number === count - 1,
  })),
);
