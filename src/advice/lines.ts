import type { SpeciesGroup } from '../domain/catalogue.js';
import type { BenchState } from '../domain/collection.js';
import { compareNames } from '../domain/names.js';
import { type Amount, amountRank } from '../domain/plants.js';
import type { WateringLine } from '../domain/site.js';
import type { BatchAdvice, LineAdvice } from '../domain/verdict.js';
import { count, inSeries } from '../domain/wording.js';
import { type LineConflict, lineConflicts } from '../models/line-conflicts.js';

/**
 * What to do with each watering line of a house. A line waters everything on it, so it runs only when every batch on
 * it wants a drink today; one batch that must stay dry turns it into watering by hand.
 * @param lines watering lines of the house; benches on none of them make the hand-watered group at the end.
 * @param benches benches of the house.
 * @param advice verdicts of the batches on these benches.
 * @param groupOf the species group of a batch.
 */
export function adviseLines(
  lines: readonly WateringLine[],
  benches: readonly BenchState[],
  advice: readonly BatchAdvice[],
  groupOf: (batch: BatchAdvice) => SpeciesGroup,
): LineAdvice[] {
  const lineOfBench = new Map(benches.map((bench) => [bench.benchId, bench.lineId]));
  const known = new Set(lines.map((line) => line.id));
  const onLine = (lineId: string | null) =>
    advice
      .filter((batch) => {
        const line = lineOfBench.get(batch.benchId) ?? null;
        return lineId === null ? line === null || !known.has(line) : line === lineId;
      })
      .sort((a, b) => compareNames(a.benchName, b.benchName) || compareNames(a.name, b.name));
  const hung = lines.map((line) => ({ line, batches: onLine(line.id) })).filter(({ batches }) => batches.length > 0);
  const lasting = lastingWords(lines, benches, hung, groupOf);
  const piped = hung.map(({ line, batches }) => {
    const words = lasting.get(line.id);
    return { ...adviseLine(line, batches), ...(words !== undefined && { lasting: words }) };
  });
  const byHand = onLine(null);
  return byHand.length > 0 ? [...piped, adviseByHand(byHand)] : piped;
}

function adviseLine(line: WateringLine, batches: readonly BatchAdvice[]): LineAdvice {
  const { thirsty, dry, potsKeptDry, litres, amount } = tally(batches);
  const base = { lineId: line.id, name: line.name, batches, potsKeptDry: 0 };
  if (thirsty.length === 0)
    return {
      ...base,
      action: 'leave',
      amount: 'none',
      litres: 0,
      sentence: 'Leave it closed. Nothing on it wants water.',
    };
  if (dry.length > 0)
    return {
      ...base,
      action: 'by-hand',
      amount,
      litres,
      potsKeptDry,
      sentence: `Leave it closed and water ${count(thirsty.length, 'batch', 'batches')} by hand: the line would also wet ${count(potsKeptDry, 'pot')} that must stay dry (${named(dry)}).`,
    };
  // Everyone gets what the most modest asks for; what the others want beyond it is given by hand.
  const runLitres = litresFor(thirsty, (batch) => Math.min(batch.verdict.mlPerPot, leastMl(thirsty)));
  const more = thirsty.filter((batch) => batch.verdict.mlPerPot > leastMl(thirsty) * 1.25);
  const minutes = line.flowLPerMinute === undefined ? undefined : roundMinutes(runLitres / line.flowLPerMinute);
  return {
    ...base,
    action: 'run',
    amount,
    litres: runLitres,
    ...(minutes !== undefined && { minutes }),
    sentence: `Run it: ${amountInWords(amount)}, ${formatLitres(runLitres)} in all${
      minutes === undefined ? '' : `, about ${formatMinutes(minutes)}`
    }.${more.length > 0 ? ` Then give more by hand to ${named(more)}.` : ''}`,
  };
}

/** What to say of each line on which plants of opposite seasons hang. */
function lastingWords(
  lines: readonly WateringLine[],
  benches: readonly BenchState[],
  hung: readonly { readonly line: WateringLine; readonly batches: readonly BatchAdvice[] }[],
  groupOf: (batch: BatchAdvice) => SpeciesGroup,
): Map<string, string> {
  const hangs = new Map(hung.map(({ line, batches }) => [line.id, batches]));
  const loads = lines.map(({ id }) => ({
    lineId: id,
    load: (hangs.get(id) ?? []).map((batch) => ({
      benchId: batch.benchId,
      group: groupOf(batch),
      pots: batch.potCount,
    })),
  }));
  const benchNames = new Map(benches.map((bench) => [bench.benchId, bench.name]));
  const lineNames = new Map(lines.map((line) => [line.id, line.name]));
  const namesOf = (benchIds: readonly string[]): string =>
    inSeries(benchIds.map((id) => benchNames.get(id) ?? id).sort(compareNames));
  return new Map(
    lineConflicts(loads).map((conflict) => [conflict.lineId, lastingSentence(conflict, namesOf, lineNames)]),
  );
}

function lastingSentence(
  { months, between, mixedBenchIds, move }: LineConflict,
  namesOf: (benchIds: readonly string[]) => string,
  lineNames: ReadonlyMap<string, string>,
): string {
  const [thirsty, dry] = between;
  const clash = `For about ${Math.round(months)} months of the year some plants here are in their season while others must stay dry, such as ${thirsty.name} beside ${dry.name}.`;
  if (move) {
    const where = move.toLineId === null ? 'off this line' : `to ${lineNames.get(move.toLineId) ?? move.toLineId}`;
    return `${clash} Moving ${namesOf(move.benchIds)} (${count(move.pots, 'pot')}) ${where} would end it.`;
  }
  return mixedBenchIds.length > 0
    ? `${clash} Both stand together on ${namesOf(mixedBenchIds)}: sort the plants there by season first.`
    : `${clash} No move of a few benches ends it: sort the benches of this house by season.`;
}

function adviseByHand(batches: readonly BatchAdvice[]): LineAdvice {
  const { thirsty, potsKeptDry, litres, amount } = tally(batches);
  return {
    lineId: null,
    name: 'Watered by hand',
    action: thirsty.length > 0 ? 'by-hand' : 'leave',
    amount,
    litres,
    potsKeptDry: thirsty.length > 0 ? potsKeptDry : 0,
    batches,
    sentence:
      thirsty.length > 0
        ? `Water ${count(thirsty.length, 'batch', 'batches')} by hand, ${formatLitres(litres)} in all.`
        : 'Nothing here wants water.',
  };
}

function tally(batches: readonly BatchAdvice[]) {
  const thirsty = batches.filter((batch) => batch.verdict.amount !== 'none');
  const dry = batches.filter((batch) => batch.verdict.amount === 'none');
  const least = thirsty.reduce<Amount>(
    (amount, batch) => (amountRank(batch.verdict.amount) < amountRank(amount) ? batch.verdict.amount : amount),
    'full',
  );
  return {
    thirsty,
    dry,
    potsKeptDry: dry.reduce((sum, batch) => sum + batch.potCount, 0),
    litres: litresFor(thirsty, (batch) => batch.verdict.mlPerPot),
    amount: thirsty.length > 0 ? least : ('none' as const),
  };
}

const leastMl = (batches: readonly BatchAdvice[]): number =>
  Math.min(...batches.map((batch) => batch.verdict.mlPerPot));

const litresFor = (batches: readonly BatchAdvice[], mlPerPot: (batch: BatchAdvice) => number): number =>
  Math.round(batches.reduce((sum, batch) => sum + mlPerPot(batch) * batch.potCount, 0)) / 1000;

/** Names of a few batches; more than three are counted. */
const named = (batches: readonly BatchAdvice[]): string =>
  batches.length <= 3
    ? batches.map((batch) => batch.name).join(', ')
    : `${batches
        .slice(0, 2)
        .map((batch) => batch.name)
        .join(', ')} and ${batches.length - 2} more`;

const amountInWords = (amount: Amount): string =>
  amount === 'full' ? 'a full drink' : amount === 'light' ? 'a light drink' : 'no water';

/** As a person would measure: two figures. */
export const formatLitres = (litres: number): string =>
  litres >= 10 ? `${Math.round(litres)} L` : litres >= 1 ? `${litres.toFixed(1)} L` : `${Math.round(litres * 1000)} mL`;

const roundMinutes = (minutes: number): number => (minutes >= 3 ? Math.round(minutes) : Math.round(minutes * 4) / 4);

const formatMinutes = (minutes: number): string =>
  minutes < 1 ? `${Math.round(minutes * 60)} seconds` : `${minutes} ${minutes === 1 ? 'minute' : 'minutes'}`;
