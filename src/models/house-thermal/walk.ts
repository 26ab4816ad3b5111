/**
 * The day's highest inside, foretold along a record morning after morning: by the air model, by what earlier days were
 * like, by the simple yardsticks, blended by how each did of late, with a band that holds.
 */
import type { Band } from '../../domain/outlook.js';
import { instantOnDay, type LocalDay } from '../../domain/time.js';
import type { Estimate } from '../../science/statistics/kalman.js';
import { median } from '../../science/statistics/quantiles.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { AirPrior } from './air-model.js';
import { type AirForecast, type AirRunner, airRunner, type Morning, offsetOf } from './air-run.js';
import { createBands, type GivenBand } from './bands.js';
import { type Blend, createBlend, type Member, type MemberForecast } from './blend.js';
import { createCarryOver } from './carry-over.js';
import { watchForChange } from './change.js';
import type { ThermalDay } from './days.js';
import type { SkyHour, ThermalPlace } from './record.js';
import { SIMPLE_FORECASTS, simpleForecasts } from './simple-forecasts.js';
import { type FigureOf, MANNER_COUNT, VIEW_SETS, type ViewRunner, viewRunner } from './views.js';

export const LEADS = [0, 1, 2] as const;

export interface DayForecast {
  readonly day: LocalDay;
  readonly dayIndex: number;
  readonly lead: number;
  readonly maxC: Band;
}

export interface WalkedMorning {
  readonly morning: Morning;
  readonly forecasts: readonly DayForecast[];
  /** The air model with measured sun, run from that morning. */
  readonly air: AirForecast | undefined;
}

export interface Walk {
  /** Mornings in rising order. */
  readonly mornings: readonly WalkedMorning[];
  /** Who had how much say in the end, for a lead. */
  readonly weights: Blend['weights'];
  /** Days from which on the house was another one than before. */
  readonly changes: readonly number[];
}

export interface WalkOptions {
  readonly place: ThermalPlace;
  readonly prior: AirPrior;
  /** Clock of the site at which forecasts are made. */
  readonly issuedAt: string;
  /** Mornings after this instant are not walked, UTC ms; left out: all of the record. */
  readonly untilMs?: number;
}

/** Weight before the house was heard; the views share theirs. Ours, the same for every house. */
const PRIORS: Readonly<Record<string, number>> = {
  persistence: 0.3,
  delta: 0.5,
  rolling: 3,
  'air-model': 4,
  'air-model-from-temperatures': 1,
};
/** Days whose middle stands in when nothing else can be told. */
const USUAL_DAYS = 10;
/** Spread of a forecast that is no more than the usual, °C. */
const USUAL_VARIANCE = 16;

const MEMBERS: readonly Member[] = [
  ...SIMPLE_FORECASTS.map((name) => ({ name, prior: PRIORS[name] as number })),
  ...['air-model', 'air-model-from-temperatures'].map((name) => ({ name, prior: PRIORS[name] as number })),
  ...VIEW_SETS.flatMap(({ id }) =>
    Array.from({ length: MANNER_COUNT }, (_, manner) => ({ name: `${id}-${manner + 1}`, prior: 1 / MANNER_COUNT })),
  ),
];

/** Forecasts of one target made on one morning, kept until its highest is known. */
interface Pending {
  readonly members: readonly MemberForecast[];
  /** As the blend had it, before yesterday's error was taken in. */
  readonly blended?: Estimate;
  readonly given?: GivenBand;
  readonly rawC: readonly (number | null)[];
}

/** @param days of the grid of `hours`; those after the last known morning have no inside */
export function walk(hours: readonly SkyHour[], days: readonly ThermalDay[], options: WalkOptions): Walk {
  const steps = walkInSteps(hours, days, options);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** The same with a pause after every morning, for a caller that has other things to do. */
export function* walkInSteps(
  hours: readonly SkyHour[],
  days: readonly ThermalDay[],
  options: WalkOptions,
): Generator<undefined, Walk> {
  const mornings = days.map((day, dayIndex) => morningOf(hours, day, dayIndex, options));
  const walker = createWalker(hours, days, mornings, options.prior);
  const walked: WalkedMorning[] = [];
  for (const morning of mornings) {
    if (!morning || (options.untilMs !== undefined && (hours[morning.fromHour] as SkyHour).startMs > options.untilMs))
      continue;
    walked.push(walker.step(morning));
    yield;
  }
  return { mornings: walked, weights: walker.weights, changes: walker.changes };
}

function morningOf(
  hours: readonly SkyHour[],
  { day }: ThermalDay,
  dayIndex: number,
  { place, issuedAt }: WalkOptions,
): Morning | undefined {
  const startMs = (hours[0] as SkyHour).startMs;
  // An hour that is only half over by then is not yet measured.
  const fromHour = Math.floor((instantOnDay(place.zone, day, issuedAt) - startMs) / MS_PER_HOUR);
  return fromHour > 0 && fromHour < hours.length ? { dayIndex, fromHour } : undefined;
}

function createWalker(
  hours: readonly SkyHour[],
  days: readonly ThermalDay[],
  mornings: readonly (Morning | undefined)[],
  prior: AirPrior,
) {
  const hasSun = hours.some(({ outsideRadiationWm2 }) => outsideRadiationWm2 !== null);
  const air: AirRunner = airRunner(hours, days, mornings, prior, 'measured');
  // Without a sun sensor both would be one.
  const airFromTemps = hasSun ? airRunner(hours, days, mornings, prior, 'temperatures') : undefined;
  const models = [air, airFromTemps];
  const maxC = days.map((day) => day.maxC);
  /** Highest of each day as a model told it with each lead. */
  const toldBy = models.map(() => LEADS.map(() => new Array<number | null>(days.length).fill(null)));
  const modelErrors = models.map(() => LEADS.map((): number[] => []));
  const figureOf: FigureOf = (figure, dayIndex, lead) => {
    if (figure === 'modelMaxC') return toldBy[0]?.[lead]?.[dayIndex] ?? null;
    if (figure === 'modelFromTempsMaxC') return toldBy[hasSun ? 1 : 0]?.[lead]?.[dayIndex] ?? null;
    return days[dayIndex]?.outside[figure] ?? null;
  };
  const views: readonly ViewRunner[] = VIEW_SETS.map((set) => viewRunner(set, maxC, figureOf));
  const blend = createBlend(MEMBERS, LEADS.length);
  const carryOver = createCarryOver();
  const bands = createBands(LEADS.length);
  const watch = watchForChange();
  const changes: number[] = [];
  const pending = LEADS.map(() => new Map<number, Pending>());
  let learned = 0;

  const noteChange = (dayIndex: number, errorC: number): void => {
    const since = watch.learn(dayIndex, errorC);
    if (since === undefined) return;
    changes.push(since);
    for (const model of models) model?.changed(since);
    // Offsets of the house as it was are none of the house as it is.
    for (const ofModel of modelErrors) for (const errors of ofModel) errors.length = 0;
  };

  const learn = (dayIndex: number): void => {
    const observed = maxC[dayIndex];
    for (const lead of LEADS) {
      const kept = pending[lead]?.get(dayIndex);
      pending[lead]?.delete(dayIndex);
      if (kept === undefined || observed == null) continue;
      blend.learn(kept.members, lead, observed);
      if (kept.given) bands.learn(kept.given, lead, dayIndex, observed);
      if (kept.blended && lead === 0) carryOver.learn(kept.blended, dayIndex, observed);
      const [modelC] = kept.rawC;
      if (lead === 0 && modelC != null) noteChange(dayIndex, observed - modelC - offsetOf(modelErrors[0]?.[0] ?? []));
      kept.rawC.forEach((raw, model) => {
        if (raw !== null) modelErrors[model]?.[lead]?.push(observed - raw);
      });
    }
  };

  const step = (morning: Morning): WalkedMorning => {
    const { dayIndex } = morning;
    for (; learned < dayIndex; learned += 1) learn(learned);
    const runs = models.map((model) => model?.forecast(morning));
    const leads = LEADS.filter((lead) => dayIndex + lead < days.length);
    for (const lead of leads)
      runs.forEach((run, model) => {
        (toldBy[model]?.[lead] as (number | null)[])[dayIndex + lead] = run?.dayMaxC[lead] ?? null;
      });
    const seen = views.map((view) => view.forecast(dayIndex, leads));
    const forecasts = leads.flatMap((lead): DayForecast[] => {
      const target = dayIndex + lead;
      const simple = simpleForecasts(days, target, lead, { hasOutside: true, hasSun });
      const rawC = models.map((_, model) => toldBy[model]?.[lead]?.[target] ?? null);
      const members: MemberForecast[] = [
        ...SIMPLE_FORECASTS.map((name) => pointOf(simple[name])),
        ...rawC.map((raw, model) =>
          raw === null ? undefined : { mean: raw + offsetOf(modelErrors[model]?.[lead] ?? []) },
        ),
        ...seen.flatMap((manners) => manners.map((told) => told.find((one) => one.lead === lead))),
      ];
      const blended = blend.combine(members, lead) ?? usual(maxC, dayIndex);
      if (blended === undefined) return [];
      // Further ahead too little of an error is left to be worth its own error.
      const given = bands.give(lead === 0 ? carryOver.corrected(blended, target) : blended, lead);
      pending[lead]?.set(target, { members, rawC, blended, given });
      return [{ day: (days[target] as ThermalDay).day, dayIndex: target, lead, maxC: given.band }];
    });
    return { morning, forecasts, air: runs[0] };
  };
  return { step, weights: blend.weights, changes };
}

const pointOf = (mean: number | undefined): MemberForecast => (mean === undefined ? undefined : { mean });

function usual(maxC: readonly (number | null)[], before: number): Estimate | undefined {
  const known = maxC.slice(0, before).filter((value) => value !== null);
  return known.length === 0 ? undefined : { mean: median(known.slice(-USUAL_DAYS)), variance: USUAL_VARIANCE };
}
