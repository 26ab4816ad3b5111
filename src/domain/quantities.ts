/**
 * Every quantity a sensor may report, with its canonical unit, the range a working sensor can give, and the checks
 * that tell a working sensor from a broken one. Rates and stuck times are common practice, no published source, and
 * may be set per sensor in the configuration.
 */
export interface QuantityInfo {
  /** What a grower calls it. */
  readonly label: string;
  /** Canonical unit as shown to people. */
  readonly unit: string;
  /** Lowest and highest value a working sensor can give, canonical unit. */
  readonly range: readonly [number, number];
  /** Values just outside the range that are known sensor offsets are moved to the nearer bound and marked `clamped`. */
  readonly clampWithin?: readonly [number, number];
  /** Fastest believable change, canonical unit per minute. Absent: any change is believable (light behind a cloud). */
  readonly maxRatePerMinute?: number;
  /** Unchanged to the last digit for this long means stuck. Absent: may stay the same for ever (a vent, a screen). */
  readonly stuckAfterMinutes?: number;
  /** Exactly this value may last (darkness reads 0, saturated air reads 100). */
  readonly restValues?: readonly number[];
  /** Longest time one value may stand for the quantity until the next comes, in the integrals of the roll-ups. */
  readonly holdMinutes: number;
}

const info = <const T extends Record<string, QuantityInfo>>(table: T): T => table;

export const QUANTITIES = info({
  airTempC: {
    label: 'air temperature',
    unit: '°C',
    range: [-40, 70],
    maxRatePerMinute: 4,
    stuckAfterMinutes: 720,
    holdMinutes: 60,
  },
  relHumidityPct: {
    label: 'relative humidity',
    unit: '%',
    range: [0, 100],
    clampWithin: [0, 105],
    maxRatePerMinute: 25,
    stuckAfterMinutes: 720,
    restValues: [100],
    holdMinutes: 60,
  },
  radiationWm2: {
    label: 'global radiation',
    unit: 'W/m²',
    range: [0, 1500],
    clampWithin: [-15, 1500],
    stuckAfterMinutes: 720,
    restValues: [0],
    holdMinutes: 60,
  },
  ppfdUmol: {
    label: 'plant light (PPFD)',
    unit: 'µmol m⁻² s⁻¹',
    range: [0, 3000],
    clampWithin: [-15, 3000],
    stuckAfterMinutes: 720,
    restValues: [0],
    holdMinutes: 60,
  },
  illuminanceLux: {
    label: 'light (lux)',
    unit: 'lx',
    range: [0, 200_000],
    clampWithin: [-15, 200_000],
    stuckAfterMinutes: 720,
    restValues: [0],
    holdMinutes: 60,
  },
  substrateTempC: {
    label: 'substrate temperature',
    unit: '°C',
    range: [-20, 60],
    maxRatePerMinute: 3,
    stuckAfterMinutes: 1440,
    holdMinutes: 120,
  },
  substrateMoisturePct: {
    label: 'substrate moisture',
    unit: '% by volume',
    range: [0, 100],
    stuckAfterMinutes: 4320,
    restValues: [0],
    holdMinutes: 120,
  },
  substrateEcMsCm: {
    label: 'substrate conductivity',
    unit: 'mS/cm',
    range: [0, 20],
    stuckAfterMinutes: 4320,
    restValues: [0],
    holdMinutes: 120,
  },
  ph: { label: 'pH', unit: 'pH', range: [0, 14], stuckAfterMinutes: 4320, holdMinutes: 120 },
  potWeightG: { label: 'pot weight', unit: 'g', range: [0, 50_000], stuckAfterMinutes: 4320, holdMinutes: 120 },
  co2Ppm: { label: 'carbon dioxide', unit: 'ppm', range: [0, 10_000], stuckAfterMinutes: 1440, holdMinutes: 60 },
  pressureHpa: {
    label: 'air pressure',
    unit: 'hPa',
    range: [800, 1100],
    maxRatePerMinute: 5,
    stuckAfterMinutes: 1440,
    holdMinutes: 180,
  },
  windMs: {
    label: 'wind speed',
    unit: 'm/s',
    range: [0, 75],
    stuckAfterMinutes: 1440,
    restValues: [0],
    holdMinutes: 60,
  },
  flowLPerMinute: { label: 'water flow', unit: 'L/min', range: [0, 1000], holdMinutes: 15 },
  ventPct: { label: 'vent opening', unit: '%', range: [0, 100], holdMinutes: 180 },
  screenPct: { label: 'screen or cloth drawn', unit: '%', range: [0, 100], holdMinutes: 180 },
  batteryPct: { label: 'battery', unit: '%', range: [0, 100], clampWithin: [-20, 130], holdMinutes: 1440 },
});

export type Quantity = keyof typeof QUANTITIES;
export const QUANTITY_NAMES = Object.keys(QUANTITIES) as [Quantity, ...Quantity[]];
export const isQuantity = (name: string): name is Quantity => Object.hasOwn(QUANTITIES, name);
export const quantityInfo = (quantity: Quantity): QuantityInfo => QUANTITIES[quantity];

/** Where a sensor stands. */
export type Placement = 'inside' | 'outside';

/** Where the time of a reading comes from. */
export type TimeSource = 'payload' | 'received';

/** What was noticed about a reading that was kept all the same. Bit mask in storage; the order is part of the stored form. */
export const READING_FLAGS = [
  'clamped',
  'clock-ahead',
  'clock-behind',
  'late',
  'fast-change',
  'stuck',
  'received-time',
] as const;
export type ReadingFlag = (typeof READING_FLAGS)[number];
export const flagsToMask = (flags: readonly ReadingFlag[]): number =>
  flags.reduce((mask, flag) => mask | (1 << READING_FLAGS.indexOf(flag)), 0);
export const maskToFlags = (mask: number): ReadingFlag[] =>
  READING_FLAGS.filter((_, index) => (mask & (1 << index)) !== 0);

/** One value of one quantity from one sensor at one time, in canonical units. */
export interface Reading {
  readonly sensorId: string;
  readonly quantity: Quantity;
  /** UTC milliseconds. */
  readonly at: number;
  readonly value: number;
  readonly flags: readonly ReadingFlag[];
}

/** Readings of one bucket (an hour, or a local day) put together. */
export interface RollUp {
  /** First instant of the bucket, UTC milliseconds. */
  readonly startMs: number;
  readonly count: number;
  readonly min: number;
  readonly mean: number;
  readonly max: number;
  /** Integral over time, canonical unit × seconds, straight lines between readings no further apart than the hold time. */
  readonly integral: number;
  /** Seconds of the bucket that the integral covers. */
  readonly coveredSeconds: number;
}
