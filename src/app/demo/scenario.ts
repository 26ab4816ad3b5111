/**
 * The invented collection of the demo. Nothing here stands for a real grower, place or plant in trade: labels are a
 * genus and how the plants look.
 */

export interface DemoBench {
  readonly id: string;
  readonly houseId: string;
  readonly name: string;
  readonly lineId?: string;
  readonly exposure?: 'open' | 'under-gutter' | 'shaded-side';
}

export interface DemoBatch {
  readonly benchId: string;
  readonly group: string;
  readonly name: string;
  readonly pots: number;
  readonly ageMonths: number;
  readonly potId?: string;
  readonly mixId?: string;
  readonly worth?: number;
}

export interface DemoPeople {
  readonly grower: string;
  readonly hand: string;
}

export interface DemoSensor {
  readonly houseId: string;
  readonly device: string;
  readonly kind: 'climate' | 'light' | 'substrate';
  /** Bench whose pots a substrate probe stands in. */
  readonly benchId?: string;
  /** Stands where the sun warms it by this much at full light, °C. */
  readonly sunWarmthC?: number;
}

export interface DemoSite {
  readonly siteId: string;
  readonly people: DemoPeople;
  readonly benches: readonly DemoBench[];
  readonly batches: readonly DemoBatch[];
  readonly sensors: readonly DemoSensor[];
}

type BatchRow = readonly [
  benchId: string,
  group: string,
  name: string,
  pots: number,
  ageMonths: number,
  more?: Partial<DemoBatch>,
];

const batches = (rows: readonly BatchRow[]): DemoBatch[] =>
  rows.map(([benchId, group, name, pots, ageMonths, more]) => ({ benchId, group, name, pots, ageMonths, ...more }));

const TRAY = { potId: 'tray-30x50' } as const;
const SMALL = { potId: 'square-5cm-plastic' } as const;
const DEEP = { potId: 'square-9cm-deep-plastic' } as const;
const CLAY = { potId: 'round-8-5cm-clay' } as const;

export const DEMO_SITES: readonly DemoSite[] = [
  {
    siteId: 'aldervane',
    people: { grower: 'Mirel', hand: 'Tovan' },
    benches: [
      { id: 'front-1', houseId: 'front-house', name: 'Front bench 1', lineId: 'front-left' },
      { id: 'front-2', houseId: 'front-house', name: 'Front bench 2', lineId: 'front-left' },
      { id: 'front-3', houseId: 'front-house', name: 'Front bench 3', lineId: 'front-right' },
      { id: 'front-shelf', houseId: 'front-house', name: 'Shelf by the door', exposure: 'under-gutter' },
      { id: 'long-1', houseId: 'long-house', name: 'Long bench, north end', lineId: 'long-north' },
      { id: 'long-2', houseId: 'long-house', name: 'Long bench, middle', lineId: 'long-north' },
      { id: 'long-3', houseId: 'long-house', name: 'Long bench, south end' },
      { id: 'nursery-1', houseId: 'nursery', name: 'Seed trays', lineId: 'nursery-mist' },
      { id: 'nursery-2', houseId: 'nursery', name: 'Warm corner', exposure: 'shaded-side' },
    ],
    batches: batches([
      ['front-1', 'lithops-summer-rain', 'Lithops, rust brown', 96, 52],
      ['front-1', 'lithops-summer-rain', 'Lithops, grey with red lines', 64, 40],
      ['front-1', 'lithops-winter-rain', 'Lithops, green coast form', 40, 64, { worth: 5 }],
      ['front-1', 'lapidaria', 'Lapidaria, bone white', 24, 58],
      ['front-1', 'conophytum', 'Conophytum, small heads', 30, 44],
      ['front-2', 'lithops-summer-rain', 'Lithops, olive window', 72, 30],
      ['front-2', 'dinteranthus', 'Dinteranthus, chalk', 28, 46, { mixId: 'pure-mineral' }],
      ['front-2', 'pleiospilos', 'Pleiospilos, split rock', 36, 38, DEEP],
      ['front-2', 'argyroderma', 'Argyroderma, silver egg', 42, 50],
      ['front-3', 'lithops-summer-rain', 'Lithops, yellow flowered', 80, 28],
      ['front-3', 'lithops-winter-rain', 'Lithops, pink blush', 18, 71, { worth: 10 }],
      ['front-3', 'fenestraria', 'Fenestraria, white', 32, 36, DEEP],
      ['front-3', 'monilaria-oophytum', 'Monilaria, red beads', 20, 33],
      ['front-shelf', 'conophytum', 'Conophytum, night scented', 26, 60, SMALL],
      ['front-shelf', 'crassula-winter', 'Crassula, white buttons', 22, 42],
      ['long-1', 'faucaria', 'Faucaria, many teeth', 60, 34],
      ['long-1', 'titanopsis-aloinopsis', 'Titanopsis, lime dots', 48, 40],
      ['long-1', 'gibbaeum', 'Gibbaeum, unequal pair', 34, 55],
      ['long-2', 'cheiridopsis', 'Cheiridopsis, papery sheath', 38, 43],
      ['long-2', 'titanopsis-aloinopsis', 'Aloinopsis, peach', 30, 47, DEEP],
      ['long-2', 'adromischus', 'Adromischus, spotted', 44, 39, CLAY],
      ['long-3', 'pleiospilos', 'Pleiospilos, purple', 27, 61, { ...DEEP, worth: 3 }],
      [
        'long-3',
        'echeveria',
        'Echeveria, blue rosette',
        54,
        26,
        { potId: 'round-10cm-plastic', mixId: 'mineral-50-50' },
      ],
      ['long-3', 'monilaria-oophytum', 'Oophytum, paired eggs', 25, 48],
      ['nursery-1', 'lithops-summer-rain', 'Lithops seedlings, mixed', 12, 4, TRAY],
      ['nursery-1', 'conophytum', 'Conophytum seedlings', 8, 9, TRAY],
      ['nursery-1', 'argyroderma', 'Argyroderma seedlings', 6, 3, TRAY],
      ['nursery-1', 'lithops-winter-rain', 'Lithops, two years old', 90, 22, SMALL],
      ['nursery-2', 'haworthia-soft', 'Haworthia, clear windows', 40, 45],
      ['nursery-2', 'echeveria', 'Echeveria, velvet', 36, 18],
      ['nursery-2', 'adromischus', 'Adromischus, rough leaf', 21, 57, CLAY],
    ]),
    sensors: [
      { houseId: 'front-house', device: 'mid', kind: 'climate' },
      { houseId: 'front-house', device: 'door', kind: 'climate', sunWarmthC: 0.8 },
      { houseId: 'front-house', device: 'roof', kind: 'light' },
      { houseId: 'front-house', device: 'bench-1', kind: 'substrate', benchId: 'front-1' },
      { houseId: 'long-house', device: 'mid', kind: 'climate' },
      { houseId: 'long-house', device: 'ridge', kind: 'light' },
      { houseId: 'nursery', device: 'mid', kind: 'climate' },
      { houseId: 'nursery', device: 'bench', kind: 'light' },
    ],
  },
  {
    siteId: 'quillerra',
    people: { grower: 'Sanna', hand: 'Orrick' },
    benches: [
      { id: 'stone-1', houseId: 'stone-house', name: 'Stone bench 1', lineId: 'stone-drip' },
      { id: 'stone-2', houseId: 'stone-house', name: 'Stone bench 2', lineId: 'stone-drip' },
      { id: 'stone-3', houseId: 'stone-house', name: 'Edge bench', lineId: 'stone-edge' },
      { id: 'stone-4', houseId: 'stone-house', name: 'Back wall', exposure: 'shaded-side' },
      { id: 'winter-1', houseId: 'winter-house', name: 'Winter bench, left', lineId: 'winter-drip' },
      { id: 'winter-2', houseId: 'winter-house', name: 'Winter bench, right', lineId: 'winter-drip' },
      { id: 'winter-3', houseId: 'winter-house', name: 'Winter shelf' },
      { id: 'lean-1', houseId: 'lean-to', name: 'Lean-to, upper' },
      { id: 'lean-2', houseId: 'lean-to', name: 'Lean-to, lower', exposure: 'shaded-side' },
    ],
    batches: batches([
      ['stone-1', 'lithops-summer-rain', 'Lithops, cobble grey', 120, 48],
      ['stone-1', 'lithops-summer-rain', 'Lithops, cinnamon', 84, 36],
      ['stone-1', 'dinteranthus', 'Dinteranthus, dove grey', 30, 41, { mixId: 'pure-mineral' }],
      ['stone-1', 'lapidaria', 'Lapidaria, old clumps', 16, 95, { worth: 4 }],
      ['stone-2', 'lithops-winter-rain', 'Lithops, fog coast', 22, 66, { worth: 8 }],
      ['stone-2', 'lithops-summer-rain', 'Lithops, white flowered', 77, 32],
      ['stone-2', 'pleiospilos', 'Pleiospilos, granite', 45, 50, DEEP],
      ['stone-2', 'argyroderma', 'Argyroderma, clumps', 33, 62],
      ['stone-3', 'fenestraria', 'Fenestraria, yellow', 38, 29, DEEP],
      ['stone-3', 'titanopsis-aloinopsis', 'Titanopsis, winter flowering', 41, 37],
      ['stone-3', 'faucaria', 'Faucaria, pale', 35, 27],
      ['stone-4', 'gibbaeum', 'Gibbaeum, velvet pair', 29, 53],
      ['stone-4', 'cheiridopsis', 'Cheiridopsis, blue horns', 31, 46],
      ['winter-1', 'conophytum', 'Conophytum, dotted', 110, 56],
      ['winter-1', 'conophytum', 'Conophytum, windowed', 48, 68, { worth: 6 }],
      ['winter-1', 'monilaria-oophytum', 'Oophytum, red in sun', 26, 51],
      ['winter-1', 'crassula-winter', 'Crassula, square columns', 37, 35],
      ['winter-2', 'conophytum', 'Conophytum, lobed', 66, 49],
      ['winter-2', 'argyroderma', 'Argyroderma, finger leaf', 52, 58],
      ['winter-2', 'cheiridopsis', 'Cheiridopsis, soft grey', 24, 40],
      ['winter-2', 'lithops-winter-rain', 'Lithops, winter flowering', 34, 54],
      ['winter-3', 'conophytum', 'Conophytum, hairy', 14, 73, { ...SMALL, worth: 10 }],
      ['winter-3', 'monilaria-oophytum', 'Monilaria, long beads', 19, 38],
      ['winter-3', 'conophytum', 'Conophytum, young plants', 60, 11, SMALL],
      ['winter-3', 'gibbaeum', 'Gibbaeum, white felt', 23, 44],
      ['lean-1', 'adromischus', 'Adromischus, egg leaf', 39, 42, CLAY],
      ['lean-1', 'crassula-winter', 'Crassula, coral', 28, 33],
      ['lean-1', 'faucaria', 'Faucaria, white spots', 42, 31],
      ['lean-1', 'echeveria', 'Echeveria, red edge', 46, 24, { potId: 'round-10cm-plastic', mixId: 'mineral-50-50' }],
      ['lean-2', 'haworthia-soft', 'Haworthia, striped', 58, 52],
      ['lean-2', 'haworthia-soft', 'Haworthia, cut tops', 17, 80, { worth: 7 }],
      ['lean-2', 'fenestraria', 'Fenestraria seedlings', 9, 7, TRAY],
    ]),
    sensors: [
      { houseId: 'stone-house', device: 'mid', kind: 'climate' },
      { houseId: 'stone-house', device: 'door', kind: 'climate', sunWarmthC: 0.6 },
      { houseId: 'stone-house', device: 'roof', kind: 'light' },
      { houseId: 'stone-house', device: 'bench-1', kind: 'substrate', benchId: 'stone-1' },
      { houseId: 'winter-house', device: 'mid', kind: 'climate' },
      { houseId: 'winter-house', device: 'roof', kind: 'light' },
      { houseId: 'lean-to', device: 'mid', kind: 'climate' },
      { houseId: 'lean-to', device: 'wall', kind: 'light' },
    ],
  },
];

/** Ids count within a bench, so that a new batch in the list leaves the others as they are. */
export function batchIdOf(site: DemoSite, batch: DemoBatch): string {
  const neighbours = site.batches.filter((other) => other.benchId === batch.benchId);
  return `${batch.benchId}-${String(neighbours.indexOf(batch) + 1).padStart(2, '0')}`;
}
