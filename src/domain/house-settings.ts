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
