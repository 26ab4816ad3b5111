import type { Contingency, ProbabilityPair } from '../../science/scores.js';
import { MS_PER_86400_S } from '../../science/units.js';
import {
  countWarning,
  type ExceedanceState,
  learnExceedance,
  learnedProbabilityAbove,
  startExceedance,
  startTally,
  type WarningTally,
  warningThreshold,
} from './exceedance.js';
import { HOT_LIMITS, type HotLimit, limitsOfSite } from './hot-limits.js';
import {
  type CorrectedMaximum,
  correctedMaximum,
  type ForecastCase,
  learnOutcome,
  type PlaceCorrection,
  type SharedCorrection,
  startPlaceCorrection,
  startSharedCorrection,
  usualPredictors,
} from './maximum-correction.js';
import { US_LEADS, type UsForecastDay, type UsSite } from './us-forecasts.js';
import { countWarned, emptyTable, type WarningTable } from './warning-table.js';

/**
 * Days from the last high that is known when a forecast is issued to the day it speaks of, by lead. A forecast of the
 * morning (12, 36 h) knows the high of the day before; one of the evening (24, 48 h) not yet that of its own day.
 */
const KNOWN_LAG = [1, 2, 2, 3] as const;
/** Nothing is scored before so many days have taught. */
const TAUGHT_DAYS = 60;
/** Days that the correction, and the odds, remember: spring must not speak in July; limits are near only now and then. */
const CORRECTION_DAYS = 66;
const ODDS_DAYS = 200;
const PLACE_DRIFT = 0.001;

export interface HotDayScores {
  readonly leadHours: number;
  readonly limit: HotLimit;
  readonly model: Contingency;
  /** A warning whenever the forecast itself is above the limit. */
  readonly plain: Contingency;
  /** A warning whenever the last high that is known was above it. */
  readonly persistence: Contingency;
  readonly pairs: readonly ProbabilityPair[];
  /** Probability from which the last warning would have been given. */
  readonly lastThreshold: number;
}

export interface LeadErrors {
  readonly leadHours: number;
  readonly days: number;
  readonly rawMaeC: number;
  readonly correctedMaeC: number;
  readonly persistenceMaeC: number;
}

export interface HotDayBacktest {
  readonly scores: readonly HotDayScores[];
  readonly errors: readonly LeadErrors[];
  readonly from: string;
  readonly to: string;
  readonly sites: number;
}

/** Walks through the archive day by day; a forecast is judged with what was known when it was issued, then learned from. */
export function backtestHotDays(dates: readonly string[], sites: readonly UsSite[]): HotDayBacktest {
  const limits = HOT_LIMITS.map((limit) =>
    sites.map((site) => limitsOfSite(limit, site, TAUGHT_DAYS, Math.max(...KNOWN_LAG))),
  );
  const walks = US_LEADS.map((_, lead) => {
    const walk = new LeadWalk(lead, sites, limits);
    for (let day = 0; day < dates.length; day += 1) walk.day(day);
    return walk;
  });
  return {
    scores: walks.flatMap((walk) => walk.scores()),
    errors: walks.map((walk) => walk.errors()),
    from: dates[TAUGHT_DAYS] ?? '',
    to: dates.at(-1) ?? '',
    sites: sites.length,
  };
}

interface Issued {
  readonly day: number;
  readonly given: ForecastCase;
  readonly corrected: CorrectedMaximum;
  /** By limit. */
  readonly told: readonly ({ readonly probability: number; readonly warned: boolean } | undefined)[];
}

/** What a site remembers under one lead. */
interface SiteMemory {
  place: PlaceCorrection;
  lastErrorC: number;
  lastHighC: number | undefined;
  issued: readonly Issued[];
}

/** Everything about one definition of the limit. */
interface Judge {
  odds: ExceedanceState;
  tally: WarningTally;
  readonly model: WarningTable;
  readonly plain: WarningTable;
  readonly persistence: WarningTable;
  readonly pairs: ProbabilityPair[];
}

type Limits = readonly (readonly (readonly (number | undefined)[])[])[];

/** One lead of the archive, walked through in the order in which things became known. */
class LeadWalk {
  private shared: SharedCorrection = startSharedCorrection(usualPredictors({ forecastC: 0 }).length);
  private readonly memories: readonly SiteMemory[];
  private readonly judges: readonly Judge[];
  private readonly sums = { days: 0, rawC: 0, correctedC: 0, persistenceC: 0 };

  constructor(
    private readonly lead: number,
    private readonly sites: readonly UsSite[],
    private readonly limits: Limits,
  ) {
    this.memories = sites.map(() => ({
      place: startPlaceCorrection(),
      lastErrorC: 0,
      lastHighC: undefined,
      issued: [],
    }));
    this.judges = limits.map(() => ({
      odds: startExceedance(),
      tally: startTally(),
      model: emptyTable(),
      plain: emptyTable(),
      persistence: emptyTable(),
      pairs: [],
    }));
  }

  day(day: number): void {
    const known = day - (KNOWN_LAG[this.lead] as number);
    this.memories.forEach((memory, s) => {
      const outcome = this.sites[s]?.days[known];
      if (outcome) this.learn(memory, s, known, outcome.highC);
    });
    this.memories.forEach((memory, s) => {
      this.issue(memory, s, day, this.sites[s]?.days[day] as UsForecastDay);
    });
  }

  private learn(memory: SiteMemory, s: number, day: number, highC: number | undefined): void {
    const issued = memory.issued.find((one) => one.day === day);
    memory.issued = memory.issued.filter((one) => one.day > day);
    memory.lastHighC = highC ?? memory.lastHighC;
    if (highC === undefined || issued === undefined) {
      memory.lastErrorC *= 0.8;
      return;
    }
    memory.lastErrorC = highC - issued.given.forecastC;
    const forgetting = 1 - 1 / (CORRECTION_DAYS * this.sites.length);
    const pace = { forgetting, placeDrift: PLACE_DRIFT };
    const learned = learnOutcome(this.shared, memory.place, issued.given, highC, pace);
    this.shared = learned.shared;
    memory.place = learned.place;
    this.judges.forEach((judge, k) => {
      const [limitC, told] = [this.limits[k]?.[s]?.[day], issued.told[k]];
      if (limitC === undefined || told === undefined) return;
      const happened = highC > limitC;
      const odds = 1 - 1 / (ODDS_DAYS * this.sites.length);
      judge.odds = learnExceedance(judge.odds, issued.corrected, limitC, happened, odds);
      judge.tally = countWarning(judge.tally, told.warned, happened, 1);
    });
  }

  private issue(memory: SiteMemory, s: number, day: number, { forecastsC, highC, date }: UsForecastDay): void {
    const forecastC = forecastsC[this.lead];
    if (forecastC === undefined) return;
    const { lastHighC, lastErrorC } = memory;
    const earlier = forecastsC[this.lead + 1];
    const predictors = usualPredictors({
      forecastC,
      lastErrorC,
      yearShare: shareOfYear(date),
      ...(earlier !== undefined && { earlierForecastC: earlier }),
      ...(lastHighC !== undefined && { lastObservedC: lastHighC }),
    });
    const given = { forecastC, predictors };
    const corrected = correctedMaximum(this.shared, memory.place, given);
    const told = this.judges.map(({ odds, tally }, k) => {
      const limitC = this.limits[k]?.[s]?.[day];
      if (limitC === undefined) return undefined;
      const probability = learnedProbabilityAbove(odds, corrected, limitC);
      return { probability, warned: probability >= warningThreshold(tally) };
    });
    memory.issued = [...memory.issued, { day, given, corrected, told }];
    if (day < TAUGHT_DAYS || highC === undefined || lastHighC === undefined) return;
    this.sums.days += 1;
    this.sums.rawC += Math.abs(forecastC - highC);
    this.sums.correctedC += Math.abs(corrected.meanC - highC);
    this.sums.persistenceC += Math.abs(lastHighC - highC);
    this.judges.forEach((judge, k) => {
      const [limitC, said] = [this.limits[k]?.[s]?.[day], told[k]];
      if (limitC === undefined || said === undefined) return;
      const happened = highC > limitC;
      judge.pairs.push({ probability: said.probability, happened });
      countWarned(judge.model, said.warned, happened);
      countWarned(judge.plain, forecastC > limitC, happened);
      countWarned(judge.persistence, lastHighC > limitC, happened);
    });
  }

  scores(): HotDayScores[] {
    return this.judges.map(({ model, plain, persistence, pairs, tally }, k) => ({
      leadHours: US_LEADS[this.lead] as number,
      limit: HOT_LIMITS[k] as HotLimit,
      model,
      plain,
      persistence,
      pairs,
      lastThreshold: warningThreshold(tally),
    }));
  }

  errors(): LeadErrors {
    const { days, rawC, correctedC, persistenceC } = this.sums;
    return {
      leadHours: US_LEADS[this.lead] as number,
      days,
      rawMaeC: rawC / days,
      correctedMaeC: correctedC / days,
      persistenceMaeC: persistenceC / days,
    };
  }
}

/** Place of a date in the year, 0 to 1. */
const shareOfYear = (date: string): number =>
  (Date.parse(`${date}T00:00:00Z`) - Date.UTC(Number(date.slice(0, 4)), 0, 1)) / (MS_PER_86400_S * 365.25);
