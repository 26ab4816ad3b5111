import { normal } from '../../src/app/demo/random.js';
import type { HouseDay } from './glasshouse.js';
import type { Batch, Custom, Drink, MixedHouse } from './mixed-house.js';

/*
 * Three simple customs of watering. Each hangs one cloth by the calendar, as most houses do: 40 % from the second month of
 * spring to the end of summer (common practice, no published source).
 */
const CLOTH = { from: 215, to: 350, share: 0.4 };
export const calendarCloth = ({ seasonAngleDeg }: HouseDay): number =>
  seasonAngleDeg >= CLOTH.from && seasonAngleDeg < CLOTH.to ? CLOTH.share : 0;

/** A finger or a lifted pot: called dry below a quarter of what it holds, give or take. */
function feelsDry(house: MixedHouse, batch: Batch, day: number, error: (n: number) => number): boolean {
  const look = house.sample(batch, day);
  return look !== undefined && look.potMoist + 0.08 * error(day * 1000 + batch.index) < 0.25;
}

/** Everything, every seventh day or on the next visit, the year round. */
export function weekly(): Custom {
  let last = Number.NEGATIVE_INFINITY;
  return {
    name: 'weekly',
    clothShare: calendarCloth,
    morning(_, index, house) {
      if (index - last < 7) return [];
      last = index;
      return house.batches.map((batch) => ({ batch, amount: 'full' }));
    },
  };
}

/** A full drink whenever the pot feels dry, the year round. */
export function whenDry(seed: number): Custom {
  const error = normal(seed, 'finger');
  return {
    name: 'when the pot is dry',
    clothShare: calendarCloth,
    morning: (_, index, house) =>
      house.batches.filter((batch) => feelsDry(house, batch, index, error)).map((batch) => ({ batch, amount: 'full' })),
  };
}

/**
 * By the month, counted from the autumn equinox: F a full drink every fortnight when the pot is dry, L a light one every
 * four weeks when it is dry, - none. Lithops: dry from October to mid-April (trials staff of a British garden, newspaper
 * column 2019); Conophytum: none from late spring to midsummer (society plant page); Adromischus: every two weeks in growth,
 * four at rest (specialist page); the others as such tables usually have them (common practice, no published source).
 */
const MONTHS: Readonly<Record<string, string>> = {
  'lithops-summer-rain': 'L------FFFFF',
  'lithops-winter-rain': 'FFL----L---F',
  conophytum: 'FFFLLFF---LF',
  pleiospilos: 'FFL---LFF--F',
  argyroderma: 'FFLL--L----L',
  dinteranthus: 'LL-----LL-LL',
  lapidaria: 'FL----LFF--F',
  'titanopsis-aloinopsis': 'FFL-LFFFLLLF',
  fenestraria: 'FFFLLFFLLLLF',
  faucaria: 'FL----FFFLFF',
  gibbaeum: 'FFFLLFFL-L-F',
  'monilaria-oophytum': 'FFFLFFL-----',
  cheiridopsis: 'FFFLFFF----L',
  adromischus: 'FFLLLFFFLLLF',
  'haworthia-soft': 'FFLLLFFFLLLF',
  echeveria: 'FL--LFFFFFFF',
  'crassula-winter': 'FFFLFFFLLLLF',
};
const FULL_EVERY_DAYS = 14;
const LIGHT_EVERY_DAYS = 28;
const SEEDLINGS_EVERY_DAYS = 7;

export function byTheMonth(seed: number): Custom {
  const error = normal(seed, 'finger');
  const last = new Map<Batch, number>();
  return {
    name: 'by the month',
    clothShare: calendarCloth,
    morning(day, index, house) {
      const drinks: Drink[] = [];
      for (const batch of house.batches) {
        const letter = MONTHS[batch.group]?.[Math.floor(day.seasonAngleDeg / 30)];
        const since = index - (last.get(batch) ?? -100);
        const amount = batch.young ? 'light' : letter === 'F' ? 'full' : letter === 'L' ? 'light' : undefined;
        const every = batch.young ? SEEDLINGS_EVERY_DAYS : amount === 'full' ? FULL_EVERY_DAYS : LIGHT_EVERY_DAYS;
        if (amount === undefined || since < every || !feelsDry(house, batch, index, error)) continue;
        last.set(batch, index);
        drinks.push({ batch, amount });
      }
      return drinks;
    },
  };
}
