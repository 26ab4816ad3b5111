import type { GeneralCare, SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import type { Amount, Firmness, NewPairState, OldPairState, OriginZone, Phase, Sign, Stage } from '../domain/plants.js';
import type { LocalDay } from '../domain/time.js';

/*
 * What has to be known about one batch on one morning, as plain data. The daily round fills it from the database and
 * the models, what-if from the body of a request; both get their facts from `gatherFacts`. Whatever is left out is
 * unknown, never zero.
 */

/** A value with where it came from, in plain words. */
export interface Known<T> {
  readonly value: T;
  readonly from: string;
  /** Left out: known. */
  readonly certainty?: 'known' | 'estimated';
  /** One standard deviation of an estimated number; probability of an estimated word. */
  readonly spread?: number;
  /** Days since it was seen; left out: today. Old looks at softness stop counting, see `gatherFacts`. */
  readonly daysAgo?: number;
}

export interface PhaseInput {
  readonly phase: Phase;
  readonly stage?: Stage;
  /** How sure; 1 when entered this week. */
  readonly probability: number;
  readonly from: string;
  readonly certainty: 'known' | 'estimated';
  readonly daysInPhase?: number;
  /** The next likely phase, when the belief is split. */
  readonly second?: { readonly phase: Phase; readonly stage?: Stage; readonly probability: number };
  /** What comes next, and in how many days. */
  readonly next?: { readonly phase: WaterPhase; readonly inDays: number; readonly spreadDays?: number };
}

export interface PlantInput {
  /** Left out: worked out from the calendar, the signs and the climate. */
  readonly phase?: PhaseInput;
  readonly firmness?: Known<Firmness>;
  readonly oldPair?: Known<OldPairState>;
  readonly newPair?: Known<NewPairState>;
  readonly sheathed?: Known<boolean>;
  /** Signs present; what is not listed was not reported. */
  readonly signs: readonly Known<Sign>[];
  readonly ageMonths?: Known<number>;
  /** Days since roots were cut; left out: not lately. */
  readonly repottedDaysAgo?: Known<number>;
  /** Water held in the plant, 1 = plump. */
  readonly reserve?: Known<number>;
}

export interface PotInput {
  /** mL that stand for 1 mm of water over the pot's surface. */
  readonly mlPerMm: number;
  /** Water between draining and the roots' limit, mm. */
  readonly availableMm: number;
  /** Days since the substrate became dry; 0: still moist. */
  readonly dryDays?: Known<number>;
  /** Share of the available water gone. */
  readonly depletion?: Known<number>;
  readonly daysToDry?: Known<number>;
  /** The last drink (light or full; a skipped one is none). */
  readonly lastWatering?: { readonly daysAgo: number; readonly amount: Amount; readonly from: string };
}

export interface LightHistoryInput {
  readonly dli: Known<number>;
  /** Days it stood in that light. */
  readonly days?: number;
  /** Highest hour of those days, µmol m⁻² s⁻¹. */
  readonly peakPpfdUmol?: Known<number>;
}

export interface HouseInput {
  /** Means of the last 7 days; the light is that at the bench, the peak the highest hour. */
  readonly recent: {
    readonly nightMinC?: Known<number>;
    readonly dayMaxC?: Known<number>;
    readonly dli?: Known<number>;
    readonly peakPpfdUmol?: Known<number>;
  };
  readonly tonight: {
    readonly minC?: Known<number>;
    readonly maxC?: Known<number>;
    /** Hours with the dew point within 2 °C at 9-21 °C. */
    readonly wetHours?: Known<number>;
    /** Highest relative humidity, %; below 8 °C it tells a cold damp night. */
    readonly maxRelHumidityPct?: Known<number>;
  };
  /** From today on; light as it would be with no cloth on. */
  readonly ahead: {
    readonly dayMaxC?: readonly number[];
    readonly nightMinC?: readonly number[];
    readonly dli?: readonly number[];
    readonly peakPpfdUmol?: readonly number[];
    /** The hot-spell test of the house, when it could be made. */
    readonly hotSpell?: boolean;
    readonly from?: string;
    /** Light is measured here but was not of late: whether dull days are coming cannot be told. */
    readonly lightSilent?: boolean;
    /** Share of light that the cloth on the house now lets through; `dli` and `peakPpfdUmol` are those without it. */
    readonly hungTransmission?: number;
  };
  /** Vents shut and no fan: leaves get hotter in the sun. Left out: vents open. */
  readonly stillAir?: boolean;
}

export interface FactInputs {
  readonly day: LocalDay;
  readonly latitudeDeg: number;
  /** Season angle of the day, degrees; left out: that of noon in Greenwich, and none near the equator. */
  readonly seasonAngleDeg?: number;
  readonly group: SpeciesGroup;
  readonly general: GeneralCare;
  readonly originZone?: OriginZone;
  readonly potCount?: number;
  readonly worth?: number;
  readonly plant: PlantInput;
  readonly pot: PotInput;
  readonly lightHistory?: LightHistoryInput;
  readonly house: HouseInput;
  readonly place?: {
    readonly houseId?: string;
    readonly lineId?: string | null;
    readonly benchExposure?: 'open' | 'under-gutter' | 'shaded-side';
  };
}
