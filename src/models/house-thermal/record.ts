import type { LocalDay } from '../../domain/time.js';

/** What is measured in and around a house, as one row of a record. Null: not measured, or not believed. */
export interface ThermalValues {
  readonly insideTempC: number | null;
  readonly insideRelHumidityPct: number | null;
  readonly outsideTempC: number | null;
  readonly outsideRelHumidityPct: number | null;
  readonly outsideRadiationWm2: number | null;
}
export const THERMAL_COLUMNS = [
  'insideTempC',
  'insideRelHumidityPct',
  'outsideTempC',
  'outsideRelHumidityPct',
  'outsideRadiationWm2',
] as const satisfies readonly (keyof ThermalValues)[];
export type ThermalColumn = (typeof THERMAL_COLUMNS)[number];

export interface ThermalSample extends ThermalValues {
  /** UTC ms. */
  readonly at: number;
}

/** One UTC hour. Outside values of hours to come are those of the forecast. */
export interface ThermalHour extends ThermalValues {
  /** Start of the hour, UTC ms. */
  readonly startMs: number;
  readonly insideMaxC: number | null;
  readonly insideMinC: number | null;
  /** Share of the hour for which the inside temperature was heard, 0-1. */
  readonly insideHeard: number;
  /** Share of the sun's warmth that the cloths left; 1: none hung. */
  readonly clothWarmthShare: number;
}

/** An hour with what the sun could do in it, and the local day it belongs to. */
export interface SkyHour extends ThermalHour {
  readonly day: LocalDay;
  /** Clear-sky radiation in the middle of the hour, W/m². */
  readonly clearSkyWm2: number;
  /** Radiation told by the spread of the day's outside temperatures where none is measured, W/m²; null: not known either. */
  readonly sunFromTempsWm2: number | null;
  /** Wet-bulb temperature outside, °C. */
  readonly outsideWetBulbC: number | null;
}

export interface ThermalPlace {
  readonly zone: string;
  readonly latitude: number;
  readonly longitude: number;
  readonly elevationM: number;
}
