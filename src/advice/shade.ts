import type { SpeciesGroup } from '../domain/catalogue.js';
import { compareNames } from '../domain/names.js';
import { defined } from '../domain/optional.js';
import type { HouseOutlook } from '../domain/outlook.js';
import type { ClothInStore, House } from '../domain/site.js';
import { clockAt, type LocalDay, localDayOf, shortDay } from '../domain/time.js';
import type { BatchAdvice, HouseShade } from '../domain/verdict.js';
import { adviseShade, hangingTime, meanDli, type ShadeNeed } from '../models/shade-advice.js';
import type { HouseInput } from './fact-inputs.js';
import type { HouseWeather } from './house-weather.js';

export interface ShadeParts {
  readonly zone: string;
  readonly atMs: number;
  readonly day: LocalDay;
  readonly house: House;
  readonly hungId: string | null;
  readonly weather: HouseWeather;
  readonly input: HouseInput;
  readonly outlook?: HouseOutlook;
  readonly batches: readonly BatchAdvice[];
  groupOf(batch: BatchAdvice): SpeciesGroup;
  /** What a cloth would do to the air of the house, in words; left out: not known. */
  airUnder?(clothId: string): string | undefined;
}

/** Plants in these phases do not grow towards the light. */
const RESTING = ['dormant-warm', 'dormant-cold'];
/** More names than these are counted. */
const NAMED = 3;

/** Which cloth the house wants this morning, and why; undefined where nothing is known of its light. */
export function shadeOf(parts: ShadeParts): HouseShade | undefined {
  const { house, batches, hungId } = parts;
  const told = batches.filter(({ verdict }) => verdict.shade !== undefined);
  if (told.length === 0) return undefined;
  const advice = adviseShade(
    house.cloths,
    hungId,
    told.map((batch) => needOf(batch, parts.groupOf(batch))),
    meanDli(parts.input.ahead.dli ?? []),
  );
  const byId = new Map(batches.map((batch) => [batch.batchId, batch]));
  const named = (ids: readonly string[]): string => nameSome(ids.flatMap((id) => byId.get(id) ?? []));
  const clothOf = (id: string | null): ClothInStore | undefined => house.cloths.find((cloth) => cloth.id === id);
  const cloth = clothOf(advice.clothId);
  const demanding = strictest(advice.forBatchIds.flatMap((id) => byId.get(id) ?? []));
  const time = cloth && demanding && hangingOf(parts, demanding);
  return {
    clothId: advice.clothId,
    since: parts.atMs,
    hungId,
    sentence: sentenceOf(
      cloth,
      clothOf(hungId),
      time && hoursInWords(time, parts),
      named(advice.forBatchIds),
      batches.filter(({ verdict }) => verdict.lightRamp).length,
    ),
    benches: advice.benches.map(({ benchId, clothId, batchIds }) => ({
      benchId,
      clothId,
      sentence: `${byId.get(batchIds[0] as string)?.benchName ?? benchId} needs more than the house: hang a piece of ${clothOf(clothId)?.name ?? clothId} over it, for ${named(batchIds)}.`,
    })),
    warnings: [
      advice.tooDarkBatchIds.length > 0 &&
        `Too little light under it for ${named(advice.tooDarkBatchIds)}: stand them at the brightest place, or give them a place of their own.`,
      advice.unmetBatchIds.length > 0 &&
        `No cloth in store is enough for ${named(advice.unmetBatchIds)}: stand them in the shade of the house.`,
    ].filter((warning) => warning !== false),
    ...defined({
      reason: demanding && reasonOf(demanding),
      from: time?.fromMs,
      until: time?.untilMs,
      buys: cloth && cloth.id !== hungId ? buysOf(parts, cloth) : undefined,
    }),
  };
}

/** The advice with the instant from which it stands: that of the list before, where it asked for the same cloth. */
export const shadeSince = (shade: HouseShade, before: HouseShade | undefined): HouseShade =>
  before && before.clothId === shade.clothId ? { ...shade, since: before.since ?? shade.since } : shade;

const needOf = (batch: BatchAdvice, group: SpeciesGroup): ShadeNeed => ({
  batchId: batch.batchId,
  benchId: batch.benchId,
  pots: batch.potCount,
  leastPct: batch.verdict.shade?.minPct ?? 0,
  ...(!RESTING.includes(batch.phase?.phase ?? '') && { lowDli: group.light.dliLow }),
});

/** The batch on account of which the cloth must be as dense as it is. */
function strictest(batches: readonly BatchAdvice[]): BatchAdvice | undefined {
  const least = ({ verdict }: BatchAdvice): number => verdict.shade?.minPct ?? 0;
  return batches.reduce<BatchAdvice | undefined>(
    (most, one) => (most && least(most) >= least(one) ? most : one),
    undefined,
  );
}

/** The rule that asks for the cloth, in its own words. */
const reasonOf = ({ verdict }: BatchAdvice): string | undefined =>
  verdict.trace.find(({ table, met, effect }) => table === 'light' && met === 'yes' && effect?.includes('shade'))
    ?.because;

/** Hours of light ahead that are too bright for the batch, where the outlook tells them; heat has no hours of light. */
function hangingOf({ input, outlook, weather }: ShadeParts, batch: BatchAdvice) {
  const peak = Math.max(0, ...(input.ahead.peakPpfdUmol ?? []));
  const leastPct = batch.verdict.shade?.minPct ?? 0;
  const hours = (outlook?.hours ?? []).flatMap(({ at, ppfdUmol }) =>
    ppfdUmol === undefined ? [] : [{ at, ppfdUmol: ppfdUmol / weather.hung.transmission }],
  );
  return peak > 0 && hours.length > 0 ? hangingTime(hours, peak * (1 - leastPct / 100)) : undefined;
}

function hoursInWords({ fromMs, untilMs }: { fromMs: number; untilMs: number }, { zone, day }: ShadeParts): string {
  const from = localDayOf(zone, fromMs);
  const until = localDayOf(zone, untilMs);
  const onDay = (on: LocalDay): string => (on === day ? 'today' : `on ${shortDay(on)}`);
  return from === until
    ? `${onDay(from)} from ${clockAt(zone, fromMs)} to ${clockAt(zone, untilMs)}`
    : `from ${clockAt(zone, fromMs)} ${onDay(from)} to ${clockAt(zone, untilMs)} ${onDay(until)}`;
}

function sentenceOf(
  wanted: ClothInStore | undefined,
  hung: ClothInStore | undefined,
  hours: string | undefined,
  whom: string,
  ramps: number,
): string {
  const inSteps =
    ramps > 0 ? ` Give ${ramps === 1 ? '1 batch' : `${ramps} batches`} the new light in steps over days.` : '';
  const when = hours === undefined ? '' : ` It must hang ${hours}.`;
  if (!wanted && !hung) return 'No cloth is wanted.';
  if (!wanted) return `Take off ${hung?.name}: nothing here needs cloth now.${inSteps}`;
  if (wanted.id === hung?.id) return `Leave ${wanted.name} on, for ${whom}.${when}`;
  const lighter = hung && hung.shadePct > wanted.shadePct ? 'It is lighter: a step towards more light.' : '';
  const change = hung ? `Change ${hung.name} for ${wanted.name}, for ${whom}.` : `Hang ${wanted.name}, for ${whom}.`;
  return [change, lighter, when.trim()].filter((part) => part !== '').join(' ');
}

function buysOf({ airUnder, input, weather }: ShadeParts, cloth: ClothInStore): string {
  const peak = Math.max(0, ...(input.ahead.peakPpfdUmol ?? []));
  const now = peak * weather.hung.transmission;
  const then = peak * (1 - cloth.shadePct / 100);
  const light =
    peak > 0
      ? `The brightest hour comes to about ${Math.round(then / 10) * 10} µmol m⁻² s⁻¹ instead of ${Math.round(now / 10) * 10}.`
      : `It holds back about ${cloth.shadePct} % of the light, give or take 10.`;
  return [light, airUnder?.(cloth.id)].filter((part) => part !== undefined).join(' ');
}

function nameSome(batches: readonly BatchAdvice[]): string {
  const names = batches.map(({ name }) => name).sort(compareNames);
  if (names.length <= NAMED) return names.join(', ');
  const pots = batches.reduce((sum, { potCount }) => sum + potCount, 0);
  return `${names.length} batches (${pots} pots), such as ${names.slice(0, 2).join(' and ')}`;
}
