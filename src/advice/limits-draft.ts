import type { BatchAdvice, HouseAdvice, Verdict } from '../domain/verdict.js';
import { drinkInWords } from '../rules/words.js';
import type { TriedLimits } from './rounds.js';

/** One thing that would be different, in words. */
export interface Difference {
  readonly what: 'drink' | 'cloth' | 'light' | 'warnings' | 'time of day' | 'doses';
  readonly before: string;
  readonly after: string;
}

export interface DifferingBatch {
  readonly batchId: string;
  readonly name: string;
  readonly benchName: string;
  readonly potCount: number;
  readonly differences: readonly Difference[];
  /** Why it would be so. */
  readonly sentence: string;
}

/** What today's list of a house would say under a draft, beside what it says under what is in force. */
export interface DraftOfToday {
  readonly day: string;
  readonly batches: number;
  readonly differing: readonly DifferingBatch[];
  /** Watering lines that would be run, left or watered by hand otherwise. */
  readonly lines: readonly { readonly name: string; readonly before: string; readonly after: string }[];
}

export function draftOfToday({ day, live, draft }: TriedLimits): DraftOfToday {
  const before = new Map(batchesOf(live).map((batch) => [batch.batchId, batch]));
  const after = batchesOf(draft);
  const lines = new Map(live.lines.map((line) => [line.lineId, line]));
  return {
    day,
    batches: after.length,
    differing: after.flatMap((batch) => {
      const was = before.get(batch.batchId);
      const differences = was ? differencesOf(was.verdict, batch.verdict) : [];
      if (differences.length === 0) return [];
      const { batchId, name, benchName, potCount, verdict } = batch;
      return [{ batchId, name, benchName, potCount, differences, sentence: verdict.sentence }];
    }),
    lines: draft.lines.flatMap((line) => {
      const was = lines.get(line.lineId);
      if (!was || (was.action === line.action && was.amount === line.amount)) return [];
      return [{ name: line.name, before: was.sentence, after: line.sentence }];
    }),
  };
}

const batchesOf = (house: HouseAdvice): BatchAdvice[] => house.lines.flatMap((line) => line.batches);

/** What a person would do otherwise; the reason alone is none. */
export function differencesOf(before: Verdict, after: Verdict): Difference[] {
  const told: readonly (readonly [Difference['what'], (verdict: Verdict) => string])[] = [
    ['drink', drinkOf],
    ['doses', ({ doses }) => (doses ? `${doses.count} doses, ${doses.gapDays} days apart` : 'all at once')],
    ['time of day', ({ window }) => (window === undefined ? 'any time' : WINDOWS[window])],
    ['cloth', clothOf],
    ['light', ({ lightRamp }) => (lightRamp ? 'raised in steps' : 'as it is')],
    ['warnings', ({ alerts }) => alerts.map((kind) => kind.replaceAll('-', ' ')).join(', ') || 'none'],
  ];
  return told.flatMap(([what, inWords]) => {
    const [was, is] = [inWords(before), inWords(after)];
    return was === is ? [] : [{ what, before: was, after: is }];
  });
}

const WINDOWS: Record<NonNullable<Verdict['window']>, string> = {
  'by-09': 'before 9 o’clock sun time',
  'by-10': 'before 10 o’clock sun time',
  evening: 'in the evening',
};

function drinkOf({ amount, mlPerPot, inspect, postponed, postponedUntil }: Verdict): string {
  const drink = amount === 'none' ? 'leave dry' : `${drinkInWords(amount)}, ${mlPerPot} mL a pot`;
  if (inspect) return amount === 'none' ? 'look first' : `look first, then ${drink}`;
  if (!postponed || amount !== 'none') return drink;
  return postponedUntil ? `wait until ${postponedUntil}` : 'wait, not today';
}

function clothOf({ shade }: Verdict): string {
  if (shade === undefined) return 'not known';
  if (shade === null) return 'none';
  return shade.minPct === shade.maxPct ? `${shade.minPct} %` : `${shade.minPct} to ${shade.maxPct} %`;
}
