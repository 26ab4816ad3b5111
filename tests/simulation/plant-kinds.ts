/**
 * What the simulated plants are like. This is the truth of the simulated house, written apart from the models of the
 * service: dates by kind, limits and hazards of its own. Flowering follows the SANBI flora keys (habitat, as season angle);
 * everything else is common practice, no published source, and was set before any comparison was run.
 */

/** What a plant is about to do next, and at which season angle the middle plant does it (0 autumn equinox, 180 spring). */
export type TruePhase = 'grow' | 'flower' | 'form' | 'split' | 'paper' | 'rest' | 'wake';

export interface PlantKind {
  readonly group: string;
  readonly change: 'pair' | 'sheath' | 'leaf-by-leaf' | 'rosette';
  readonly year: readonly (readonly [TruePhase, number])[];
  /** Mean of the day's maximum, and of the night's minimum, at which the roots stop: half of them are idle there. */
  readonly heatStopC: readonly [day: number, night: number];
  /** A wet pot harms the roots in nights below this. */
  readonly wetMinC: number;
  /** Daily light below which turgid growth stretches. */
  readonly compactDli: number;
  /** Noon light it bears when used to it, µmol m⁻² s⁻¹. */
  readonly bearsPpfd: number;
  /** Chance to burst at a full drink while its water is above the share named. */
  readonly burst: { readonly above: number; readonly chance: number };
  /** Water left in the old pair when it should be skin, share of full, above which the plant counts as doubled. */
  readonly doubledAbove: number;
  /** How easily its roots and neck rot, beside an ordinary mesemb. */
  readonly rots: number;
}

const noBurst = { above: 1, chance: 0 };

export const PLANT_KINDS: readonly PlantKind[] = [
  {
    group: 'lithops-summer-rain',
    change: 'pair',
    year: [
      ['grow', 325],
      ['flower', 348],
      ['form', 80],
      ['split', 152],
      ['paper', 208],
      ['grow', 225],
    ],
    heatStopC: [37, 23],
    wetMinC: 6,
    compactDli: 8,
    bearsPpfd: 1400,
    burst: { above: 0.95, chance: 0.01 },
    doubledAbove: 0.45,
    rots: 1,
  },
  {
    group: 'lithops-winter-rain',
    change: 'pair',
    year: [
      ['rest', 264],
      ['wake', 328],
      ['grow', 340],
      ['flower', 25],
      ['form', 98],
      ['split', 160],
      ['paper', 216],
      ['grow', 230],
    ],
    heatStopC: [33, 20],
    wetMinC: 6,
    compactDli: 8,
    bearsPpfd: 1200,
    burst: { above: 0.95, chance: 0.01 },
    doubledAbove: 0.45,
    rots: 1.2,
  },
  {
    group: 'conophytum',
    change: 'sheath',
    year: [
      ['wake', 324],
      ['grow', 342],
      ['flower', 0],
      ['grow', 50],
      ['form', 188],
      ['rest', 240],
    ],
    heatStopC: [29, 19],
    wetMinC: 4,
    compactDli: 5,
    bearsPpfd: 900,
    burst: { above: 0.97, chance: 0.005 },
    doubledAbove: 0.45,
    rots: 1,
  },
  {
    group: 'pleiospilos',
    change: 'pair',
    year: [
      ['grow', 322],
      ['flower', 352],
      ['grow', 35],
      ['form', 110],
      ['split', 162],
      ['paper', 212],
      ['grow', 234],
    ],
    heatStopC: [36, 23],
    wetMinC: 5,
    compactDli: 8,
    bearsPpfd: 1500,
    burst: { above: 0.95, chance: 0.02 },
    doubledAbove: 0.7,
    rots: 1.2,
  },
  {
    group: 'argyroderma',
    change: 'pair',
    year: [
      ['wake', 340],
      ['grow', 354],
      ['flower', 40],
      ['form', 105],
      ['split', 168],
      ['paper', 212],
      ['rest', 240],
    ],
    heatStopC: [33, 21],
    wetMinC: 5,
    compactDli: 8,
    bearsPpfd: 1300,
    burst: { above: 0.92, chance: 0.05 },
    doubledAbove: 0.55,
    rots: 1,
  },
  {
    group: 'dinteranthus',
    change: 'pair',
    year: [
      ['grow', 322],
      ['flower', 0],
      ['form', 88],
      ['split', 155],
      ['paper', 203],
      ['grow', 220],
    ],
    heatStopC: [39, 25],
    wetMinC: 7,
    compactDli: 10,
    bearsPpfd: 1700,
    burst: { above: 0.8, chance: 0.07 },
    doubledAbove: 0.45,
    rots: 1.3,
  },
  {
    group: 'lapidaria',
    change: 'pair',
    year: [
      ['grow', 324],
      ['flower', 20],
      ['form', 100],
      ['split', 162],
      ['paper', 212],
      ['grow', 230],
    ],
    heatStopC: [37, 23],
    wetMinC: 6,
    compactDli: 9,
    bearsPpfd: 1600,
    burst: { above: 0.92, chance: 0.03 },
    doubledAbove: 0.8,
    rots: 1,
  },
  {
    group: 'titanopsis-aloinopsis',
    change: 'leaf-by-leaf',
    year: [
      ['grow', 330],
      ['flower', 160],
      ['grow', 205],
    ],
    heatStopC: [35, 21],
    wetMinC: 2,
    compactDli: 8,
    bearsPpfd: 1500,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 0.8,
  },
  {
    group: 'fenestraria',
    change: 'leaf-by-leaf',
    year: [
      ['grow', 340],
      ['flower', 120],
      ['grow', 170],
      ['rest', 244],
    ],
    heatStopC: [33, 21],
    wetMinC: 7,
    compactDli: 7,
    bearsPpfd: 1200,
    burst: { above: 0.97, chance: 0.005 },
    doubledAbove: 0.45,
    rots: 1.2,
  },
  {
    group: 'faucaria',
    change: 'leaf-by-leaf',
    year: [
      ['grow', 178],
      ['flower', 345],
      ['grow', 45],
    ],
    heatStopC: [37, 24],
    wetMinC: 5,
    compactDli: 6,
    bearsPpfd: 1300,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 0.6,
  },
  {
    group: 'gibbaeum',
    change: 'sheath',
    year: [
      ['wake', 328],
      ['grow', 340],
      ['flower', 158],
      ['form', 190],
      ['rest', 250],
    ],
    heatStopC: [34, 21],
    wetMinC: 5,
    compactDli: 7,
    bearsPpfd: 1300,
    burst: { above: 0.95, chance: 0.01 },
    doubledAbove: 0.45,
    rots: 1,
  },
  {
    group: 'monilaria-oophytum',
    change: 'sheath',
    year: [
      ['wake', 340],
      ['grow', 354],
      ['flower', 68],
      ['grow', 130],
      ['rest', 222],
    ],
    heatStopC: [29, 19],
    wetMinC: 5,
    compactDli: 6,
    bearsPpfd: 1200,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 1.6,
  },
  {
    group: 'cheiridopsis',
    change: 'sheath',
    year: [
      ['wake', 340],
      ['grow', 352],
      ['flower', 75],
      ['grow', 150],
      ['form', 206],
      ['rest', 234],
    ],
    heatStopC: [31, 20],
    wetMinC: 4,
    compactDli: 7,
    bearsPpfd: 1400,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 1,
  },
  {
    group: 'adromischus',
    change: 'leaf-by-leaf',
    year: [
      ['grow', 330],
      ['flower', 245],
      ['rest', 282],
    ],
    heatStopC: [35, 23],
    wetMinC: 5,
    compactDli: 6,
    bearsPpfd: 1000,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 0.8,
  },
  {
    group: 'haworthia-soft',
    change: 'rosette',
    year: [
      ['grow', 328],
      ['flower', 195],
      ['grow', 250],
    ],
    heatStopC: [34, 23],
    wetMinC: 6,
    compactDli: 3,
    bearsPpfd: 700,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 0.7,
  },
  {
    group: 'echeveria',
    change: 'rosette',
    year: [
      ['grow', 163],
      ['flower', 195],
      ['grow', 245],
      ['rest', 62],
    ],
    heatStopC: [38, 25],
    wetMinC: 6,
    compactDli: 7,
    bearsPpfd: 1300,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 0.7,
  },
  {
    group: 'crassula-winter',
    change: 'leaf-by-leaf',
    year: [
      ['grow', 340],
      ['flower', 35],
      ['grow', 132],
      ['rest', 238],
    ],
    heatStopC: [31, 20],
    wetMinC: 5,
    compactDli: 7,
    bearsPpfd: 1000,
    burst: noBurst,
    doubledAbove: 0.45,
    rots: 1,
  },
];

export const kindOf = (group: string): PlantKind => {
  const found = PLANT_KINDS.find((kind) => kind.group === group);
  if (!found) throw new Error(`no simulated plant of the group ${group}`);
  return found;
};
