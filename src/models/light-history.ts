/**
 * Light a batch has been used to, and how much more it may get. A plant from dim light is harmed by a bright day it would
 * have borne a month later; the limit rises with what it has had. The history follows the batch: bench, house and cloth.
 */
import type { SpeciesGroup } from '../domain/catalogue.js';
import type { LocalDay } from '../domain/time.js';
import { clamp, requireInRange, requireNotNegative } from '../science/guards.js';

/** Light of one day at the sensor of a house; what was not measured is left out. */
export interface LightDay {
  readonly day: LocalDay;
  /** mol m⁻² d⁻¹ */
  readonly dli?: number;
  /** Highest hourly mean, µmol m⁻² s⁻¹. */
  readonly peakPpfdUmol?: number;
}

/** Share of the house's light that reaches benches of an exposure (starting values; measure with a hand meter). */
export const EXPOSURE_SHARE = { open: 1, 'under-gutter': 0.75, 'shaded-side': 0.65 } as const;
export type Exposure = keyof typeof EXPOSURE_SHARE;

/**
 * Light of a day at a bench.
 * @param clothTransmission share of light the cloth lets through, when it hangs between the sensor and the bench; 1 when
 * the sensor hangs under the cloth too
 */
export function benchLight(house: LightDay, exposure: Exposure, clothTransmission = 1): LightDay {
  const share = EXPOSURE_SHARE[exposure] * requireInRange('clothTransmission', clothTransmission, '', 0, 1);
  return {
    day: house.day,
    ...(house.dli !== undefined && { dli: requireNotNegative('dli', house.dli, 'mol/m²/d') * share }),
    ...(house.peakPpfdUmol !== undefined && {
      peakPpfdUmol: requireNotNegative('peakPpfdUmol', house.peakPpfdUmol, 'µmol/m²/s') * share,
    }),
  };
}

/** Where a batch stood, from a day on. */
export interface Stay {
  readonly from: LocalDay;
  readonly houseId: string;
  readonly exposure: Exposure;
}

/**
 * Light of the days as the batch had it: each day's light is that of the house and bench where it stood that day.
 * @param stays oldest first; days before the first stay are unknown
 * @param houseLight light of a house on a day, and what the cloth between sensor and bench let through
 */
export function lightWhereItStood(
  days: readonly LocalDay[],
  stays: readonly Stay[],
  houseLight: (
    houseId: string,
    day: LocalDay,
  ) => { readonly light: LightDay; readonly clothTransmission?: number } | undefined,
): LightDay[] {
  return days.map((day) => {
    // ISO days sort as text.
    const stay = stays.findLast((candidate) => candidate.from <= day);
    const found = stay && houseLight(stay.houseId, day);
    return stay && found ? benchLight(found.light, stay.exposure, found.clothTransmission) : { day };
  });
}

export interface LightMean {
  readonly dli: number;
  readonly peakPpfdUmol: number | undefined;
  readonly certainty: 'known' | 'estimated';
  /** Days that were measured. */
  readonly days: number;
}

/** Fewer measured days than this share of the span leave its mean unknown (starting value). */
const TOLD_SHARE = 0.5;

/**
 * Mean daily light and highest peak over the last days of a history.
 * @param history oldest first, one entry a day, today not among them
 * @param span 7 for the ramp, 30 for the season
 */
export function lightOver(history: readonly LightDay[], span: number): LightMean | undefined {
  const last = history.slice(-span);
  const measured = last.flatMap((day) => (day.dli === undefined ? [] : [day.dli]));
  if (measured.length === 0 || measured.length < span * TOLD_SHARE) return undefined;
  const peaks = last.flatMap((day) => (day.peakPpfdUmol === undefined ? [] : [day.peakPpfdUmol]));
  return {
    dli: measured.reduce((sum, dli) => sum + dli, 0) / measured.length,
    peakPpfdUmol: peaks.length === 0 ? undefined : Math.max(...peaks),
    certainty: measured.length === span ? 'known' : 'estimated',
    days: measured.length,
  };
}

/** Allowed daily light against the mean of the last week, and peak against its highest hour (starting values). */
export const RAMP_DLI_FACTOR = 1.3;
export const RAMP_PEAK_FACTOR = 1.5;
/** Days after the new pair is bare during which its light is not raised (starting value). */
export const RAMP_FREEZE_DAYS_AFTER_PAPERY = 7;

export interface RampLimit {
  /** Most light a day, mol m⁻² d⁻¹. */
  readonly dli: number;
  /** Highest hour, µmol m⁻² s⁻¹; undefined when no peak of the last week is known. */
  readonly peakPpfdUmol: number | undefined;
  readonly frozen: boolean;
}

/**
 * The most light a batch may get today: 1.3 × the mean of its last week, never asking for less than the floor of its
 * group; peak 1.5 × the highest hour of the week. Frozen (no rise) in a hot spell and while new skin is fresh.
 * Starting values built on Clusia alata, J. Plant Physiol. 166:1914-1922 (2009): harmed at day 2 of a light step, adjusted
 * by day 7.
 */
export function rampLimit(
  lastWeek: Pick<LightMean, 'dli' | 'peakPpfdUmol'>,
  group: Pick<SpeciesGroup, 'light'>,
  frozen: boolean,
): RampLimit {
  requireNotNegative('dli', lastWeek.dli, 'mol/m²/d');
  const { dli, peakPpfdUmol } = lastWeek;
  return {
    dli: Math.max(group.light.rampFloorDli, dli * (frozen ? 1 : RAMP_DLI_FACTOR)),
    peakPpfdUmol: peakPpfdUmol === undefined ? undefined : peakPpfdUmol * (frozen ? 1 : RAMP_PEAK_FACTOR),
    frozen,
  };
}

/** Whether the ramp stands still: a hot spell, or new skin bared within the last week. */
export const isRampFrozen = (hotSpell: boolean, daysSincePapery: number | undefined): boolean =>
  hotSpell || (daysSincePapery !== undefined && daysSincePapery < RAMP_FREEZE_DAYS_AFTER_PAPERY);

/**
 * Shade that keeps coming light within a limit, % of light held back; 0 when none is needed.
 * @param ahead daily light and peak expected without further shade; what is not known is left out
 * @returns undefined when nothing of the coming light is known
 */
export function shadeForLimitPct(
  limit: Pick<RampLimit, 'dli' | 'peakPpfdUmol'>,
  ahead: { readonly dli?: number; readonly peakPpfdUmol?: number },
): number | undefined {
  const shares: number[] = [];
  if (ahead.dli !== undefined) shares.push(ahead.dli > 0 ? limit.dli / ahead.dli : 1);
  if (ahead.peakPpfdUmol !== undefined && limit.peakPpfdUmol !== undefined)
    shares.push(ahead.peakPpfdUmol > 0 ? limit.peakPpfdUmol / ahead.peakPpfdUmol : 1);
  return shares.length === 0 ? undefined : 100 * (1 - clamp(Math.min(...shares), 0, 1));
}

/** Longest ramp looked at. */
const RAMP_DAYS_AT_MOST = 120;

/**
 * Days until a batch may have a daily light, when each day brings as much as the ramp allows.
 * @param lastWeek daily light of the last 7 days, oldest first
 * @returns 0 when it may have it today; undefined when it would take longer than four months
 */
export function daysToLight(
  lastWeek: readonly number[],
  targetDli: number,
  group: Pick<SpeciesGroup, 'light'>,
): number | undefined {
  requireNotNegative('targetDli', targetDli, 'mol/m²/d');
  const days = [...lastWeek];
  if (days.length === 0) return undefined;
  for (let day = 0; day <= RAMP_DAYS_AT_MOST; day += 1) {
    const week = days.slice(-7);
    const mean = week.reduce((sum, dli) => sum + dli, 0) / week.length;
    const allowed = rampLimit({ dli: mean, peakPpfdUmol: undefined }, group, false).dli;
    if (allowed >= targetDli) return day;
    days.push(allowed);
  }
  return undefined;
}
