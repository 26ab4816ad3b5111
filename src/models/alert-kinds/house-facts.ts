import type { WeatherAlert } from '../../domain/alerts.js';
import type { HouseOutlook, OutlookDay } from '../../domain/outlook.js';
import { clockAt, type LocalDay, localDayOf } from '../../domain/time.js';
import type { Fact } from '../../domain/verdict.js';
import type { AlertLimits } from '../alert-limits.js';
import type { DayHeat, HeatRecord } from '../hot-spell.js';
import type { AlertBatch } from './finding.js';

/** What was measured on a day; what was not heard is left out. */
export type MeasuredDay = DayHeat;

/** Everything the weather alerts of one house may see. */
export interface HouseFacts {
  readonly at: number;
  readonly zone: string;
  readonly houseId: string;
  readonly houseName: string;
  readonly limits: AlertLimits;
  /** Of the newest list of today; empty where there is none. */
  readonly batches: readonly AlertBatch[];
  /** Facts of the list that are the same for all batches of a house, such as `tonightMinC`; a name that is absent is unknown. */
  readonly listFacts: Readonly<Record<string, Fact>>;
  readonly outlook?: HouseOutlook;
  /** Days before today, oldest first, without holes. */
  readonly past: readonly MeasuredDay[];
  /** Highest temperature of today so far. */
  readonly todayMaxC?: number;
  /** Newest readings, none older than half an hour. */
  readonly now: { readonly airTempC?: number; readonly radiationWm2?: number };
  /** What is usual in this house; left out: not known yet. */
  readonly record?: HeatRecord;
  /** How far exposed leaves get below the air on a clear night under this cover, °C. */
  readonly clearNightLeafDropC: number;
  /** Nights, by the day they end on, in which cloud keeps leaves as warm as the air; any other is taken as clear. */
  readonly cloudyNights?: readonly LocalDay[];
  readonly stillAir: boolean;
  /** What a measure would buy, where the house model can tell. */
  readonly buys?: Readonly<Partial<Record<WeatherAlert, string>>>;
}

/** Alerts look no further ahead than three days. */
export const LEAD_DAYS = 3;

export const todayOf = ({ zone, at }: Pick<HouseFacts, 'zone' | 'at'>): LocalDay => localDayOf(zone, at);

/** Coming days of the outlook, today first. */
export const outlookDays = (facts: HouseFacts): readonly OutlookDay[] => {
  const today = todayOf(facts);
  return (facts.outlook?.days ?? []).filter(({ day, lead }) => day >= today && lead <= LEAD_DAYS);
};

/** Hour of the wall clock, 0-23. */
export const hourOf = (zone: string, at: number): number => Number(clockAt(zone, at).slice(0, 2));

/** A number of the list's facts, or undefined where it is not known. */
export function listNumber(facts: HouseFacts, name: string): number | undefined {
  const value = facts.listFacts[name]?.value;
  return typeof value === 'number' ? value : undefined;
}

/** Where a forecast came from, for the reason; empty without one. */
export const basisOf = ({ outlook }: HouseFacts): string =>
  outlook === undefined
    ? ''
    : outlook.basis === 'forecast'
      ? ''
      : 'No weather forecast came, so the last days stand in for it.';
