import type { AlertKind, AlertText } from '../../domain/alerts.js';
import type { Band } from '../../domain/outlook.js';
import type { WaterPhase } from '../../domain/plants.js';
import type { LocalDay } from '../../domain/time.js';
import { inSeries } from '../../domain/wording.js';
import { NORMAL_Z90, normalCdf } from '../../science/statistics/normal.js';
import type { AlertLevel } from '../alert-machine.js';

/** What an alert is about. At most one of a kind is open for each. */
export interface AlertSubject {
  readonly kind: AlertKind;
  /** Null: the site as a whole. */
  readonly houseId: string | null;
  /** A sensor's name; empty: the house or site as a whole. */
  readonly subject: string;
}

/** What people are told while the condition holds. */
export interface AlertDetail {
  readonly text: AlertText;
  readonly batchIds: readonly string[];
  /** 0-1; left out where it is no forecast. */
  readonly probability?: number;
  /** When the danger is expected to begin; left out: now. */
  readonly expectedAt?: number;
  /** Last day it is expected on: how it turned out is told once that day is over. */
  readonly lastDay?: LocalDay;
}

/** How one condition stands, as far as it can be told. */
export type Finding = AlertSubject &
  (
    | { readonly known: false }
    /** What it was about is no longer there. */
    | { readonly known: 'gone' }
    | { readonly known: true; readonly level: 0; readonly clear: boolean }
    | {
        readonly known: true;
        readonly level: Exclude<AlertLevel, 0>;
        readonly atOnce?: boolean;
        readonly detail: AlertDetail;
      }
  );

/** A batch as the alerts see it. */
export interface AlertBatch {
  readonly batchId: string;
  readonly name: string;
  readonly benchName: string;
  readonly waterPhase: WaterPhase | null;
  /** Kinds of alert its verdict of the day gives reason for. */
  readonly verdictAlerts: readonly string[];
  /** Undefined: not known. */
  readonly moist?: boolean;
  readonly damageDayMaxC: number;
  readonly minSafeDryC: number;
}

/** Whether it changes its leaf pair: water cannot help it, and its new skin is tender. */
export const isChangingPair = ({ waterPhase }: Pick<AlertBatch, 'waterPhase'>): boolean =>
  waterPhase === 'forming' || waterPhase === 'splitting' || waterPhase === 'papery';

/** Beyond it no probability differs from 0 or 1. */
const FURTHEST_Z = 8;

/**
 * Probability that a figure turns out above a limit, from its band: normal on either side of the middle, each side as
 * wide as its own outer point says. A band without width is a certainty.
 */
export function probabilityAbove({ p10, p50, p90 }: Band, limit: number): number {
  const spread = (limit >= p50 ? p90 - p50 : p50 - p10) / NORMAL_Z90;
  const z = (limit - p50) / spread;
  // Next to no width is none: no division brings it further than this.
  if (!(spread > 0) || Math.abs(z) > FURTHEST_Z) return p50 >= limit ? 1 : 0;
  return 1 - normalCdf(z);
}

export const probabilityBelow = (band: Band, limit: number): number => {
  const { p10, p50, p90 } = band;
  return probabilityAbove({ p10: -p90, p50: -p50, p90: -p10 }, -limit);
};

/** Only so many names are read. */
const NAMES_TOLD = 4;

/** `At risk: Tray 4 (Bench 2), Tray 5 (Bench 2) and 7 more.`; empty without batches. */
export function atRisk(batches: readonly AlertBatch[], all: readonly AlertBatch[]): string {
  if (batches.length === 0) return '';
  if (batches.length === all.length && all.length > NAMES_TOLD) return `At risk: all ${all.length} batches.`;
  const names = batches.slice(0, NAMES_TOLD).map(({ name, benchName }) => `${name} (${benchName})`);
  const more = batches.length - names.length;
  if (more > 0) return `At risk: ${names.join(', ')} and ${more} more.`;
  return `At risk: ${inSeries(names)}.`;
}

/** `37 °C`; below 10 with one decimal, as frost is a matter of tenths. */
export function degrees(value: number): string {
  const rounded = Math.abs(value) >= 10 ? Math.round(value) : Math.round(value * 10) / 10;
  return `${rounded === 0 ? 0 : rounded} °C`;
}

/** `37 °C (34 to 40)`. */
export const degreesOf = ({ p10, p50, p90 }: Band): string =>
  p90 - p10 < 0.5
    ? degrees(p50)
    : `${degrees(p50)} (${degrees(p10).replace(' °C', '')} to ${degrees(p90).replace(' °C', '')})`;

/** Whole fives of a hundred: a forecast is not known better than that. */
export const percent = (probability: number): string =>
  probability >= 0.975 ? 'nearly sure' : `${Math.max(5, 5 * Math.round(probability * 20))} % likely`;

/** Sentences put together, empty ones left out. */
export const sentences = (...parts: readonly string[]): string => parts.filter((part) => part !== '').join(' ');

export const HEAT_CAUTION =
  'A closed house in the sun is dangerous for people too: go in early, drink, do not work alone, and leave at the first dizziness.';
export const HEATER_CAUTION =
  'Heaters and cables near water only on a circuit with a residual-current device, put in by a licensed electrician as local codes ask. Never burn anything without a flue in a closed house: it kills.';
export const MAINS_CAUTION =
  'Switch the mains off before you open a box or touch a wet plug; mains work is for a licensed electrician.';
export const LADDER_CAUTION =
  'Hang cloth from a safe stand, never from a ladder over glass, and not alone in the heat.';
