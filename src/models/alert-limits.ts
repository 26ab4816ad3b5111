import type { AlertKind } from '../domain/alerts.js';
import type { Problem } from '../domain/errors.js';
import { didYouMean, shown } from '../domain/problems.js';

/*
 * The limits of the alerts, declared once: the check of a grower's own values, the page that shows them and the
 * evaluation all read this table. Values of frost, wet nights, heat and burning are those of the default rulebook.
 */

export interface AlertLimit {
  /** What a grower reads. */
  readonly label: string;
  readonly kind: AlertKind;
  readonly unit: string;
  readonly default: number;
  /** Values that may be set, both ends included. */
  readonly bounds: readonly [number, number];
  /** Where growers' opinions usually lie. */
  readonly customary: readonly [number, number];
  readonly whole?: true;
  /** Another limit that must not be lower than this one. */
  readonly notAbove?: string;
  readonly reason: string;
  readonly source: string;
}

const PRACTICE = 'common practice, no published source';
const STARTING = 'our starting value, no published source; set it by your own records';
const FROST =
  'Eller & Nipkow 1983, Plant Cell Environ. 6:559-565; Leuning & Cremer 1988, Agric. For. Meteorol. 42:121-133; margins are common practice';
const MOULD = 'Sirjusingh & Sutton 1996, Plant Dis. 80:160-165; Yunis, Shtienberg, Elad & Mahrer 1994';
const LEAF_HEAT =
  'Krause et al. 2016, J. Plant Physiol. (heat limits of CAM leaves); Gates, Alderfer & Taylor 1968, Science 159:994-995; the margin is a starting value';

const table = <const T extends Record<string, AlertLimit>>(limits: T): T => limits;

export const ALERT_LIMITS = table({
  hotDayC: {
    label: 'Day maximum of a hot day',
    kind: 'hot-spell',
    unit: '°C',
    default: 35,
    bounds: [24, 50],
    customary: [32, 38],
    reason: 'A spell is hot when enough days of three reach this.',
    source: PRACTICE,
  },
  hotDayLeafPairC: {
    label: 'Day maximum of a hot day while plants change their leaf pair',
    kind: 'hot-spell',
    unit: '°C',
    default: 32,
    bounds: [20, 45],
    customary: [30, 34],
    notAbove: 'hotDayC',
    reason: 'Plants that change their leaf pair cannot be helped with water, and the new skin is tender.',
    source: STARTING,
  },
  hotNightC: {
    label: 'Night minimum of a hot night',
    kind: 'hot-spell',
    unit: '°C',
    default: 22,
    bounds: [14, 32],
    customary: [20, 24],
    reason: 'Three nights that stay this warm are a hot spell too: the plants cannot take up carbon.',
    source: PRACTICE,
  },
  hotDaysOfThree: {
    label: 'Hot days of three that make a spell',
    kind: 'hot-spell',
    unit: 'days',
    default: 2,
    bounds: [1, 3],
    customary: [2, 3],
    whole: true,
    reason: 'One hot day alone is no spell.',
    source: PRACTICE,
  },
  hotPercentile: {
    label: 'Share of the days of this season that are cooler than a hot day',
    kind: 'hot-spell',
    unit: '%',
    default: 90,
    bounds: [75, 99],
    customary: [90, 95],
    reason: 'Warmer than nine of ten days in this house at this time of the year, once two seasons are on record.',
    source: 'ETCCDI index TX90p: Zhang et al. 2011, WIREs Clim. Change 2:851-870',
  },
  hotFloorC: {
    label: 'Lowest day maximum that can be a hot day',
    kind: 'hot-spell',
    unit: '°C',
    default: 30,
    bounds: [18, 45],
    customary: [28, 33],
    reason: 'A warm day in winter is unusual, but harms nothing.',
    source: STARTING,
  },
  hotTellPct: {
    label: 'Probability from which a hot spell is told',
    kind: 'hot-spell',
    unit: '%',
    default: 40,
    bounds: [10, 95],
    customary: [30, 60],
    reason: 'Hanging cloth costs an hour, scorched plants cost years.',
    source: STARTING,
  },
  hotClearPct: {
    label: 'Probability below which a hot spell is over',
    kind: 'hot-spell',
    unit: '%',
    default: 20,
    bounds: [5, 90],
    customary: [10, 30],
    notAbove: 'hotTellPct',
    reason: 'Well below the first limit, so that the alert does not come and go with every forecast.',
    source: STARTING,
  },
  frostBelowC: {
    label: 'Night minimum below which heat goes on',
    kind: 'frost',
    unit: '°C',
    default: 2,
    bounds: [-8, 8],
    customary: [1, 4],
    notAbove: 'frostMoistBelowC',
    reason: 'Heat goes on below this.',
    source: FROST,
  },
  frostMoistBelowC: {
    label: 'Night minimum that warns of frost while pots are moist',
    kind: 'frost',
    unit: '°C',
    default: 4,
    bounds: [-5, 10],
    customary: [3, 6],
    reason: 'Moist plants freeze first, and leaves near the glass run 2 °C colder than the air.',
    source: FROST,
  },
  frostTellPct: {
    label: 'Probability from which frost is told',
    kind: 'frost',
    unit: '%',
    default: 30,
    bounds: [5, 95],
    customary: [20, 50],
    reason: 'A heater made ready for nothing costs little; one frost costs the house.',
    source: STARTING,
  },
  frostClearPct: {
    label: 'Probability below which frost is no longer expected',
    kind: 'frost',
    unit: '%',
    default: 15,
    bounds: [2, 90],
    customary: [5, 25],
    notAbove: 'frostTellPct',
    reason: 'Well below the first limit, so that the alert does not come and go with every forecast.',
    source: STARTING,
  },
  wetNightHours: {
    label: 'Hours near the dew point that make a wet night',
    kind: 'wet-night',
    unit: 'h',
    default: 6,
    bounds: [2, 12],
    customary: [4, 8],
    reason: 'Hours with the dew point within 2 °C, at 9-21 °C, from which grey mould can take hold.',
    source: MOULD,
  },
  wetNightClearHours: {
    label: 'Hours near the dew point below which a night is dry again',
    kind: 'wet-night',
    unit: 'h',
    default: 4,
    bounds: [0, 11],
    customary: [2, 5],
    notAbove: 'wetNightHours',
    reason: 'Fewer wet hours than mould needs, with some room.',
    source: STARTING,
  },
  burnLeafC: {
    label: 'Leaf temperature that calls for shade now',
    kind: 'burn-risk',
    unit: '°C',
    default: 48,
    bounds: [40, 55],
    customary: [46, 50],
    notAbove: 'burnLeafAtOnceC',
    reason: 'For an hour on end; leaves are killed in the mid fifties.',
    source: LEAF_HEAT,
  },
  burnLeafAtOnceC: {
    label: 'Leaf temperature at which nothing is waited for',
    kind: 'burn-risk',
    unit: '°C',
    default: 52,
    bounds: [42, 58],
    customary: [50, 54],
    reason: 'So near to what kills that an hour is too long.',
    source: LEAF_HEAT,
  },
  burnClearLeafC: {
    label: 'Leaf temperature below which the danger is past',
    kind: 'burn-risk',
    unit: '°C',
    default: 45,
    bounds: [35, 54],
    customary: [43, 46],
    notAbove: 'burnLeafC',
    reason: 'Some degrees below the first limit, so that a cloud does not end the alert.',
    source: STARTING,
  },
  sensorSilentMinutes: {
    label: 'Minutes of silence before a sensor is called silent',
    kind: 'sensor-silent',
    unit: 'min',
    default: 120,
    bounds: [15, 2880],
    customary: [60, 240],
    whole: true,
    reason: 'Sensors that always report seldom get four of their own intervals.',
    source: PRACTICE,
  },
  sensorStuckFactor: {
    label: 'How many times the usual span a value may stand still',
    kind: 'sensor-stuck',
    unit: '×',
    default: 1,
    bounds: [0.5, 10],
    customary: [1, 3],
    reason: 'Each quantity has a span for which its value may stand still, such as 12 hours for air temperature.',
    source: PRACTICE,
  },
  sensorRefusedPct: {
    label: 'Share of readings out of range before a sensor is doubted',
    kind: 'sensor-implausible',
    unit: '%',
    default: 50,
    bounds: [5, 100],
    customary: [20, 80],
    reason: 'A single wild reading is refused and forgotten; half of them are a fault.',
    source: STARTING,
  },
  sensorJumpFactor: {
    label: 'How many times brighter, or dimmer, than before a sensor may become from one day to the next',
    kind: 'sensor-implausible',
    unit: '×',
    default: 20,
    bounds: [8, 500],
    customary: [15, 50],
    reason: 'The brightest day after a dull fortnight is about five times as bright; more is a change of unit.',
    source: STARTING,
  },
  clothSurePct: {
    label: 'How sure the light must be that another cloth hangs than was said',
    kind: 'cloth-not-as-advised',
    unit: '%',
    default: 90,
    bounds: [60, 99],
    customary: [80, 95],
    reason: 'Dirt, dew and low sun change the light by a tenth or more.',
    source: STARTING,
  },
  listDoneByHour: {
    label: 'Hour of the day by which the list should be done',
    kind: 'list-not-done',
    unit: 'h',
    default: 11,
    bounds: [5, 23],
    customary: [9, 13],
    whole: true,
    reason: 'Water given by ten in the morning is dry on the surface before dusk.',
    source: PRACTICE,
  },
  diskFreeMb: {
    label: 'Free disk space below which room is asked for',
    kind: 'disk-low',
    unit: 'MB',
    default: 1000,
    bounds: [250, 1_000_000],
    customary: [500, 5000],
    whole: true,
    reason: 'Below 200 MB readings may be lost at any moment.',
    source: STARTING,
  },
});

export type AlertLimitName = keyof typeof ALERT_LIMITS;
export type AlertLimits = Readonly<Record<AlertLimitName, number>>;

export const ALERT_LIMIT_NAMES = Object.keys(ALERT_LIMITS) as AlertLimitName[];
export const isAlertLimit = (name: string): name is AlertLimitName => Object.hasOwn(ALERT_LIMITS, name);

/**
 * The limits of a house: its own values where it has any that are known and within bounds, else the usual ones. A value
 * kept from an older version that no longer holds is passed over; it must not switch an alert off.
 */
export function alertLimitsOf(own: Readonly<Record<string, number>> = {}): AlertLimits {
  return Object.fromEntries(
    ALERT_LIMIT_NAMES.map((name) => {
      const value = own[name];
      return [
        name,
        value !== undefined && valueProblem(name, value) === undefined ? value : ALERT_LIMITS[name].default,
      ];
    }),
  ) as AlertLimits;
}

function valueProblem(name: AlertLimitName, value: unknown): Problem | undefined {
  const { bounds, unit, whole }: AlertLimit = ALERT_LIMITS[name];
  const [low, high] = bounds;
  const good =
    typeof value === 'number' && value >= low && value <= high && (whole === undefined || Number.isInteger(value));
  if (good) return undefined;
  return {
    path: `/alertLimits/${name}`,
    expected: `a ${whole ? 'whole ' : ''}number, ${low} to ${high} ${unit}`,
    got: shown(value),
  };
}

/** Everything that speaks against a grower's own values, with JSON pointers below `/alertLimits`. */
export function alertLimitProblems(own: Readonly<Record<string, unknown>>): Problem[] {
  const problems = Object.entries(own).flatMap(([name, value]): Problem[] => {
    if (isAlertLimit(name)) return [valueProblem(name, value)].filter((problem) => problem !== undefined);
    const mend = didYouMean(name, ALERT_LIMIT_NAMES);
    return [
      {
        path: `/alertLimits/${name}`,
        expected: 'the name of a limit of the alerts',
        got: shown(name),
        ...(mend !== undefined && { mend }),
      },
    ];
  });
  return problems.length > 0 ? problems : crossed(own as Readonly<Record<string, number>>);
}

/** Pairs that the own values turn round, together with the usual ones. */
function crossed(own: Readonly<Record<string, number>>): Problem[] {
  const limits = alertLimitsOf(own);
  return ALERT_LIMIT_NAMES.flatMap((name): Problem[] => {
    const { notAbove, unit }: AlertLimit = ALERT_LIMITS[name];
    if (notAbove === undefined || !isAlertLimit(notAbove) || limits[name] <= limits[notAbove]) return [];
    return [
      {
        path: `/alertLimits/${own[name] === undefined ? notAbove : name}`,
        expected: `${name} not above ${notAbove}`,
        got: `${limits[name]} and ${limits[notAbove]} ${unit}`,
        mend: 'Change both of them together.',
      },
    ];
  });
}
