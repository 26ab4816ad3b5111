import type { Amount, Firmness, NewPairState, OldPairState, Phase, Sign, Stage } from './plants.js';
import type { DueTask } from './tasks.js';
import type { LocalDay } from './time.js';

/** How surely a fact is known. Unknown is a value. */
export type Certainty = 'known' | 'estimated' | 'unknown';

export type FactValue = number | string | boolean;

/** A fact with where it came from, as kept with every morning. */
export interface Fact {
  readonly value: FactValue | null;
  readonly certainty: Certainty;
  /** One standard deviation for an estimated number; probability for an estimated word. */
  readonly spread?: number;
  /** Where it came from, in plain words: `entered on 3 March by Ada`, `calendar at this season`. */
  readonly from: string;
}
/** Facts by declared name (see `facts.ts`). A name that is absent is unknown. */
export type Facts = Readonly<Record<string, Fact>>;

export type Met = 'yes' | 'no' | 'unknown';

/** One condition of one row, with the actual value and the limit. */
export interface TraceCondition {
  readonly fact: string;
  readonly op: string;
  readonly limit: FactValue | readonly FactValue[] | null;
  readonly unit: string;
  readonly actual: FactValue | null;
  readonly met: Met;
}
/** One row of a table that was looked at. */
export interface TraceRow {
  readonly table: string;
  readonly row: string;
  /** Which drink of which phase was asked about, for rows that are asked more than once. */
  readonly of?: string;
  readonly met: Met;
  readonly conditions: readonly TraceCondition[];
  /** Present on rows that took effect. */
  readonly effect?: string;
  readonly because?: string;
  readonly source?: string;
}
export type Trace = readonly TraceRow[];

export interface NearestChange {
  /** The verdict it would become. */
  readonly amount: Amount;
  /** One plain sentence, e.g. `Becomes a light drink when the new pair softens.` */
  readonly sentence: string;
  readonly fact: string;
  readonly expectedOn?: LocalDay;
}

/** What the rulebook says of one batch on one morning. */
export interface Verdict {
  readonly amount: Amount;
  /** Would be watered but for the climate ahead. */
  readonly postponed: boolean;
  readonly postponedUntil?: LocalDay;
  /** Go and look before deciding. */
  readonly inspect: boolean;
  /** Light must be raised in steps. */
  readonly lightRamp: boolean;
  /** Shade this batch wants, % of cloth; null: none. Absent: light is not known. */
  readonly shade?: { readonly minPct: number; readonly maxPct: number } | null;
  /** Kinds of alert this batch gives reason for. */
  readonly alerts: readonly string[];
  /** What to pour today; one dose of several where the drink is split. */
  readonly mlPerPot: number;
  /** A full drink given as several light ones. */
  readonly doses?: { readonly count: number; readonly gapDays: number };
  /** Part of the day to water in. */
  readonly window?: 'by-10' | 'by-09' | 'evening';
  /** What to look for, when `inspect`. */
  readonly lookFor?: string;
  /** What the look is expected to save per pot, where 1 is one pot that went without a drink it needed. */
  readonly lookSaves?: number;
  readonly sentence: string;
  readonly decidedBy: { readonly table: string; readonly row: string };
  readonly vetoes: readonly string[];
  readonly nearestChange?: NearestChange;
  readonly trace: Trace;
}

/** A batch on the list. */
export interface BatchAdvice {
  readonly batchId: string;
  readonly name: string;
  readonly group: string;
  readonly groupName: string;
  readonly benchId: string;
  readonly benchName: string;
  readonly potCount: number;
  readonly phase: {
    readonly phase: Phase;
    readonly stage?: Stage;
    readonly probability: number;
    readonly from: string;
    /** null: nothing can be said, as near the equator when nobody entered one. */
  } | null;
  readonly lastSeen?: {
    readonly at: number;
    readonly firmness?: Firmness;
    readonly oldPair?: OldPairState;
    readonly newPair?: NewPairState;
    readonly signs: readonly Sign[];
  };
  readonly verdict: Verdict;
  /** Water for the whole batch. */
  readonly litres: number;
  /** What was done about it so far today. */
  readonly done?: {
    readonly entryId: number;
    readonly at: number;
    readonly by: string;
    readonly answer: string;
    readonly amount: Amount;
    readonly mlPerPot?: number;
  };
}

/** A watering line waters all or nothing. */
export interface LineAdvice {
  readonly lineId: string | null;
  readonly name: string;
  /** run: everything on it wants the same drink. leave: nobody wants water. by-hand: some want it and some must not get it. */
  readonly action: 'run' | 'leave' | 'by-hand';
  readonly amount: Amount;
  readonly litres: number;
  readonly minutes?: number;
  readonly sentence: string;
  /** Plants of opposite seasons hang on it: which, for how long, and the bench move that would end it. */
  readonly lasting?: string;
  /** Pots on the line that must stay dry though others are thirsty. */
  readonly potsKeptDry: number;
  readonly batches: readonly BatchAdvice[];
}

export interface HouseClimateSummary {
  readonly nightMinC: number | null;
  readonly dayMaxC: number | null;
  readonly meanVpdKPa: number | null;
  readonly dli: number | null;
  readonly peakPpfdUmol: number | null;
  readonly dewPointMarginMinC: number | null;
  readonly sensorsHeard: number;
  readonly lastReadingAt: number | null;
  readonly sentence: string;
}

/** Which cloth a house wants. Light is not known: it is left out. */
export interface HouseShade {
  /** null: none. */
  readonly clothId: string | null;
  /** Since when it is advised, over all lists that said the same. UTC ms. */
  readonly since: number;
  /** What hangs, as entered; null: none. */
  readonly hungId: string | null;
  readonly sentence: string;
  readonly reason?: string;
  /** When it must hang, where the hours ahead are known. UTC ms. */
  readonly from?: number;
  readonly until?: number;
  /** What it would buy in light and degrees. */
  readonly buys?: string;
  /** Benches that need more than the house. */
  readonly benches: readonly { readonly benchId: string; readonly clothId: string; readonly sentence: string }[];
  /** Who gets too little light because of it; whom no cloth in store protects. */
  readonly warnings: readonly string[];
}

export interface HouseAdvice {
  readonly houseId: string;
  readonly name: string;
  /** Revision of the house's settings it was decided under; left out: nothing was set. */
  readonly settingsRevision?: number;
  readonly climate: HouseClimateSummary;
  readonly shade?: HouseShade;
  readonly lines: readonly LineAdvice[];
}

export interface LookItem {
  /** What the look is expected to save, pots and their worth counted. */
  readonly saves?: number;
  readonly batchId: string;
  readonly batchName: string;
  readonly houseId: string;
  readonly benchId: string;
  readonly benchName: string;
  readonly lookFor: string;
  readonly why: string;
}

/** One morning's advice for a site. */
export interface Round {
  readonly siteId: string;
  readonly day: LocalDay;
  /** Rising within the day; a new sign, watering, forecast or limit makes a new one. */
  readonly revision: number;
  readonly madeAt: number;
  /** Journal entries up to this id were known. */
  readonly journalId: number;
  readonly rulebookRevision: string;
  readonly dayHours: number;
  readonly seasonAngleDeg: number | null;
  readonly houses: readonly HouseAdvice[];
  readonly look: readonly LookItem[];
  /** The rest of the work, the most urgent first. */
  readonly tasks: readonly DueTask[];
  readonly counts: {
    readonly none: number;
    readonly light: number;
    readonly full: number;
    readonly postponed: number;
    readonly inspect: number;
  };
  /** What changed since the revision before, in words. */
  readonly changes: readonly string[];
}
