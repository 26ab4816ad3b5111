import type { WaterPhase } from './catalogue-entries.js';
import type { Amount } from './plants.js';

/** Null: the limit is not asked. Two numbers: a season window in degrees of the season angle. */
export type SetValue =
  | number
  | string
  | boolean
  | readonly [number, number]
  | readonly (readonly [number, number])[]
  | null;

/** A limit of the rulebook as one house has it; narrower ones win. */
export interface SetLimit {
  readonly name: string;
  readonly group?: string;
  readonly phase?: WaterPhase;
  /** Only for this drink of the phase. */
  readonly drink?: Amount;
  readonly value: SetValue;
}

/** Which plants a limit is set for; the most general is the whole house. */
export type LimitScope = Omit<SetLimit, 'value'>;

/** A change somebody wants. What is left out stays as it is. */
export interface SettingsChange {
  /** Set, in place of the value that was set for the same plants. */
  readonly limits?: readonly SetLimit[];
  /** Own values taken out: the usual ones hold again. */
  readonly unset?: readonly LimitScope[];
  /** Null: the usual holds again. */
  readonly alertLimits?: Readonly<Record<string, number | null>>;
  /** All kinds of task that shall not be shown. */
  readonly tasksOff?: readonly string[];
}

/** What the grower set for one house. Nothing is changed in place: each change is a revision, the newest is in force. */
export interface HouseSettings {
  readonly siteId: string;
  readonly houseId: string;
  /** 0: nothing was ever set. */
  readonly revision: number;
  readonly at: number;
  readonly by: string;
  readonly why: string;
  readonly limits: readonly SetLimit[];
  /** Limits of the alerts by name, e.g. `frostBelowC`; what is not here is the usual. */
  readonly alertLimits: Readonly<Record<string, number>>;
  /** Kinds of task that are not shown in this house. */
  readonly tasksOff: readonly string[];
}
