import { readdirSync, readFileSync } from 'node:fs';
import { parse } from 'yaml';
import type { Band, HouseOutlook } from '../../../src/domain/outlook.js';
import { addDays, instantOnDay, type LocalDay } from '../../../src/domain/time.js';
import type { AlertBatch } from '../../../src/models/alert-kinds/finding.js';
import type { HouseFacts } from '../../../src/models/alert-kinds/house-facts.js';
import { alertLimitsOf } from '../../../src/models/alert-limits.js';

/*
 * Cases of the weather alerts as files: a house on a day, and what the alert finds.
 */

/** One number is certain; three are the 10, 50 and 90 % of a band; null is not known. */
type Figure = number | readonly [number, number, number] | null;

export interface HouseCase {
  readonly id: string;
  readonly note: string;
  readonly source: string;
  readonly kind: 'hot-spell' | 'frost' | 'wet-night' | 'burn-risk';
  readonly at?: string;
  readonly given: {
    readonly ahead?: {
      readonly dayMax?: readonly Figure[];
      readonly nightMin?: readonly Figure[];
      readonly wetHours?: readonly (number | null)[];
      /** Air and light of the hours of today from 10:00 on. */
      readonly hours?: readonly (readonly [airTempC: number, ppfdUmol: number])[];
      /** Between those hours; left out: one. */
      readonly everyHours?: number;
    };
    /** Day maxima and night minima before today, the last is yesterday. */
    readonly past?: { readonly dayMax?: readonly number[]; readonly nightMin?: readonly number[] };
    readonly todayMax?: number;
    readonly now?: { readonly airTempC?: number; readonly radiationWm2?: number };
    readonly list?: Readonly<Record<string, number | boolean>>;
    /** Of the days around, nine of ten stay below. */
    readonly unusual?: number;
    readonly batches?: readonly Partial<AlertBatch>[];
    readonly limits?: Readonly<Record<string, number>>;
    readonly drop?: number;
    /** In the night to tomorrow. */
    readonly cloudy?: boolean;
    readonly stillAir?: boolean;
    readonly basis?: HouseOutlook['basis'];
  };
  readonly expect: {
    readonly level?: 0 | 1 | 2;
    readonly known?: false;
    readonly clear?: boolean;
    readonly atOnce?: boolean;
    /** Lowest and highest. */
    readonly probability?: readonly [number, number];
    readonly batches?: readonly string[];
    /** Wall clock of the day it is expected on, e.g. `2026-07-02 12:00`; null: now. */
    readonly expectedAt?: string | null;
    readonly says?: readonly string[];
    readonly saysNot?: readonly string[];
  };
}

export const ZONE = 'Europe/Berlin';
export const TODAY: LocalDay = '2026-07-01';

const bandOf = (figure: Figure | undefined): Band | undefined => {
  if (figure === undefined || figure === null) return undefined;
  const [p10, p50, p90] = typeof figure === 'number' ? [figure, figure, figure] : figure;
  return { p10, p50, p90 };
};

function outlookOf({ ahead, basis }: HouseCase['given'], at: number): HouseOutlook | undefined {
  if (ahead === undefined) return undefined;
  const { dayMax = [], nightMin = [], wetHours = [], hours = [], everyHours = 1 } = ahead;
  const from = instantOnDay(ZONE, TODAY, '10:00');
  return {
    houseId: 'north',
    issuedAt: at,
    basis: basis ?? 'forecast',
    from: 'the case',
    learned: [],
    hours: hours.map(([airTempC, ppfdUmol], index) => ({
      at: from + index * everyHours * 3_600_000,
      airTempC: { p10: airTempC, p50: airTempC, p90: airTempC },
      ppfdUmol,
    })),
    days: Array.from({ length: Math.max(dayMax.length, nightMin.length, wetHours.length) }, (_, lead) => {
      const [dayMaxC, nightMinC, wet] = [bandOf(dayMax[lead]), bandOf(nightMin[lead]), wetHours[lead]];
      return {
        day: addDays(TODAY, lead),
        lead,
        ...(dayMaxC && { dayMaxC }),
        ...(nightMinC && { nightMinC }),
        ...(wet != null && { wetHours: wet }),
      };
    }),
  };
}

export function factsOf({ given, at: clock = '08:00' }: HouseCase): HouseFacts {
  const at = instantOnDay(ZONE, TODAY, clock);
  const outlook = outlookOf(given, at);
  const { dayMax = [], nightMin = [] } = given.past ?? {};
  const days = Math.max(dayMax.length, nightMin.length);
  const from = (values: readonly number[], index: number) => values[index - (days - values.length)];
  return {
    at,
    zone: ZONE,
    houseId: 'north',
    houseName: 'North house',
    limits: alertLimitsOf(given.limits),
    batches: (given.batches ?? [{}]).map((batch, index) => ({
      batchId: `b${index + 1}`,
      name: `Tray ${index + 1}`,
      benchName: 'Bench 1',
      waterPhase: 'growing',
      verdictAlerts: [],
      moist: false,
      damageDayMaxC: 42,
      minSafeDryC: -3,
      ...batch,
    })),
    listFacts: Object.fromEntries(
      Object.entries(given.list ?? {}).map(([name, value]) => [
        name,
        { value, certainty: 'estimated', from: 'the case' },
      ]),
    ),
    past: Array.from({ length: days }, (_, index) => {
      const [max, min] = [from(dayMax, index), from(nightMin, index)];
      return {
        day: addDays(TODAY, index - days),
        ...(max !== undefined && { dayMaxC: max }),
        ...(min !== undefined && { nightMinC: min }),
      };
    }),
    now: given.now ?? {},
    clearNightLeafDropC: given.drop ?? 2,
    stillAir: given.stillAir ?? false,
    ...(given.unusual !== undefined && {
      record: { from: 'own record' as const, unusualMaxC: Array.from({ length: 365 }, () => given.unusual) },
    }),
    ...(given.cloudy === true && { cloudyNights: [addDays(TODAY, 1)] }),
    ...(given.todayMax !== undefined && { todayMaxC: given.todayMax }),
    ...(outlook && { outlook }),
  };
}

const folder = new URL('cases/', import.meta.url);
export const houseCases: readonly HouseCase[] = readdirSync(folder).flatMap(
  (file) => parse(readFileSync(new URL(file, folder), 'utf8')) as HouseCase[],
);
