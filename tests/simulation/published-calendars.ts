import { ALBUQUERQUE, DALLAS, LONDON, type Place, SARASOTA } from './places.js';

/**
 * Calendars of watering that were published or come from institutions, as season angles (0 autumn equinox, 90 winter
 * solstice; 30 degrees are about a month), each with a place whose climate fits.
 */
export interface DrySeason {
  readonly kind: 'dry season';
  /** From the end of the weeks with water to their new beginning. */
  readonly dry: readonly [from: number, to: number];
}
export interface Rhythm {
  readonly kind: 'rhythm';
  readonly during: readonly (readonly [from: number, to: number])[];
  /** Days between drinks, the shortest and the longest published. */
  readonly everyDays: readonly [shortest: number, longest: number];
}
export interface MoreInOneSeason {
  readonly kind: 'more water';
  readonly during: readonly (readonly [from: number, to: number])[];
  readonly than: readonly (readonly [from: number, to: number])[];
}
export interface Begins {
  readonly kind: 'first drink';
  readonly within: readonly [from: number, to: number];
}

export interface PublishedStatement {
  readonly id: string;
  readonly group: string;
  readonly place: Place;
  readonly says: DrySeason | Rhythm | MoreInOneSeason | Begins;
  readonly source: string;
  /** What is known to differ, by what was compared, and why. Days: simulated minus published. */
  readonly differs?: readonly Difference[];
}
export interface Difference {
  readonly of: string;
  readonly days: readonly [least: number, most: number];
  readonly reason: string;
}

const TRIALS = 'staff of a British trials garden (RHS Garden Wisley), newspaper column of 30 November 2019';
const FLORIDA = 'Marie Selby Botanical Gardens, Lithops culture sheet';
const LEAFLET = 'British leaflet "Lithops (Living Stones)"';
const PLANT_PAGE = 'RHS plant page, Conophytum';
const TEXAS = 'Texas society, plant of the month, 2006';
const MESEMBS = 'British Cactus and Succulent Society, Growing Mesembs';
const ADROMISCHUS = 'specialist page on Adromischus';
const NEW_MEXICO = 'New Mexico society sheet "Growing seasons for succulent families of Southern Africa"';

/** Why the advice waters Lithops less often than calendars say. */
const FIRM = 'a firm Lithops is never watered, and a simulated one takes seven weeks to soften in a cool house';

export const PUBLISHED: readonly PublishedStatement[] = [
  {
    id: 'trials garden, Lithops: none from October to April',
    group: 'lithops-summer-rain',
    place: LONDON,
    says: { kind: 'dry season', dry: [10, 210] },
    source: TRIALS,
    differs: [
      {
        of: 'last drink before it',
        days: [15, 60],
        reason:
          'soft plants still in flower get light drinks into autumn while the nights are mild; growers differ on the last one',
      },
    ],
  },
  {
    id: 'trials garden, Lithops: a thorough drink about monthly in spring and summer',
    group: 'lithops-summer-rain',
    place: LONDON,
    says: { kind: 'rhythm', during: [[210, 360]], everyDays: [21, 35] },
    source: TRIALS,
    differs: [{ of: 'days between drinks', days: [15, 50], reason: FIRM }],
  },
  {
    id: 'Florida garden, Lithops: none from January to March',
    group: 'lithops-summer-rain',
    place: SARASOTA,
    says: { kind: 'dry season', dry: [100, 165] },
    source: FLORIDA,
    differs: [
      {
        of: 'last drink before it',
        days: [-75, -15],
        reason:
          'the change of the pair is taken to begin in late autumn everywhere; the Florida garden waters until the flowers fade',
      },
      {
        of: 'first drink after it',
        days: [25, 100],
        reason:
          'the new pair lives on the old one into mid-spring, and by then days of 35 °C under glass put drinks off as a hot spell',
      },
    ],
  },
  {
    id: 'Florida garden, Lithops: misting only from June to September',
    group: 'lithops-summer-rain',
    place: SARASOTA,
    says: { kind: 'dry season', dry: [255, 345] },
    source: FLORIDA,
    differs: [
      {
        of: 'last drink before it',
        days: [-60, -15],
        reason: 'days of 35 °C under glass begin before June and put drinks off as a hot spell',
      },
    ],
  },
  {
    id: 'leaflet, Lithops: dormant from October to about April',
    group: 'lithops-summer-rain',
    place: LONDON,
    says: { kind: 'dry season', dry: [10, 210] },
    source: LEAFLET,
    differs: [
      {
        of: 'last drink before it',
        days: [15, 60],
        reason:
          'soft plants still in flower get light drinks into autumn while the nights are mild; growers differ on the last one',
      },
    ],
  },
  {
    id: 'leaflet, Lithops: every one to two weeks in growth, drying out between',
    group: 'lithops-summer-rain',
    place: LONDON,
    says: { kind: 'rhythm', during: [[210, 10]], everyDays: [7, 14] },
    source: LEAFLET,
    differs: [{ of: 'days between drinks', days: [15, 70], reason: FIRM }],
  },
  {
    id: 'plant page, Conophytum: dry from late spring to midsummer',
    group: 'conophytum',
    place: LONDON,
    says: { kind: 'dry season', dry: [225, 285] },
    source: PLANT_PAGE,
    differs: [
      {
        of: 'first drink after it',
        days: [15, 50],
        reason: 'the plants wake with cool nights in late summer; the page itself says sparingly from late summer',
      },
    ],
  },
  {
    id: 'Texas, Conophytum: water from October to March',
    group: 'conophytum',
    place: DALLAS,
    says: { kind: 'dry season', dry: [190, 10] },
    source: TEXAS,
    differs: [
      {
        of: 'last drink before it',
        days: [15, 45],
        reason: 'light drinks go on while the new body forms and the nights are cool, into mid-spring',
      },
    ],
  },
  {
    id: 'society, Conophytum begins in autumn',
    group: 'conophytum',
    place: LONDON,
    says: { kind: 'first drink', within: [315, 30] },
    source: MESEMBS,
  },
  {
    id: 'society, Monilaria begins in autumn',
    group: 'monilaria-oophytum',
    place: LONDON,
    says: { kind: 'first drink', within: [315, 30] },
    source: MESEMBS,
  },
  {
    id: 'specialist, Adromischus: every two weeks in growth',
    group: 'adromischus',
    place: LONDON,
    says: {
      kind: 'rhythm',
      during: [
        [330, 45],
        [165, 235],
      ],
      everyDays: [10, 18],
    },
    source: ADROMISCHUS,
  },
  {
    id: 'specialist, Adromischus: every four weeks at rest',
    group: 'adromischus',
    place: LONDON,
    says: { kind: 'rhythm', during: [[75, 135]], everyDays: [22, 35] },
    source: ADROMISCHUS,
    differs: [
      {
        of: 'days between drinks',
        days: [20, 120],
        reason:
          'in a house kept at 5 °C pots dry slowly and damp nights at the limit put drinks off; the page does not say how warm the rest is',
      },
    ],
  },
  ...['adromischus', 'crassula-winter'].map(
    (group): PublishedStatement => ({
      id: `New Mexico, Crassulaceae of South Africa: spring and autumn growers, dry winter and summer (${group})`,
      group,
      place: ALBUQUERQUE,
      says: {
        kind: 'more water',
        during: [
          [150, 240],
          [330, 60],
        ],
        than: [
          [75, 135],
          [270, 325],
        ],
      },
      source: NEW_MEXICO,
    }),
  ),
];
