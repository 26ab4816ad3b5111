import { type Catalogue, catalogueEntry, type SpeciesGroup } from '../domain/catalogue.js';
import { type BatchState, type BenchState, type Collection, livingBatches } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import type { HouseOutlook } from '../domain/outlook.js';
import type { House } from '../domain/site.js';
import { civilNoon, localDayHours, localDayOf } from '../domain/time.js';
import type { BatchAdvice, Facts, HouseAdvice, LookItem, Round, Verdict } from '../domain/verdict.js';
import { type PotCapacities, potCapacities } from '../models/pot-water.js';
import type { Limits } from '../rules/limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import { decide } from '../rules/verdict.js';
import { seasonAngleDeg } from '../science/season.js';
import { houseAtBench, lightHistoryOf } from './batch-light.js';
import { beliefBook, type PhaseContext, phasesOfHouse } from './batch-phase.js';
import { plantOf } from './batch-plant.js';
import { potOf } from './batch-water.js';
import { summaryOf } from './climate-summary.js';
import type { FactInputs, PhaseInput } from './fact-inputs.js';
import { gatherFacts } from './facts.js';
import { adviseLines } from './lines.js';
import { lookList } from './look-list.js';
import { shadeOf } from './shade.js';
import { type TaskMember, type TaskParts, tasksOfMorning } from './tasks.js';
import { expectedEtMm, houseInputOf } from './weather.js';

/** Everything one morning's advice is made of. Nothing else goes in, so the same parts make the same advice. */
export interface RoundParts extends TaskParts {
  readonly atMs: number;
  readonly rulebook: Rulebook;
  /** Limits of a group in a house, with what the grower set there. */
  limitsFor(house: House, group: SpeciesGroup): Limits;
  /** Which revision of what the grower set they come from; left out: nothing was set. */
  settingsRevision?(house: House): number;
  /** What each house is expected to be like; left out: like the last days. */
  readonly outlooks?: ReadonlyMap<string, HouseOutlook>;
  /** What a cloth would do to the air of a house, in words. */
  airUnder?(house: House, clothId: string): string | undefined;
  readonly looksAtMost: number;
  /** What was worked out for an earlier list of the same morning; brought up to date. */
  readonly book?: DecisionBook;
}

/** Per house: phases by what was seen, and decisions by what is known. Valid while what the house has in common is the same. */
export type DecisionBook = Map<string, HouseBook>;
interface HouseBook {
  /** What the batches of the house have in common. */
  readonly key: string;
  readonly beliefOf: ReturnType<typeof beliefBook>;
  readonly phases: Map<string, PhaseInput>;
  /** By the limits they were decided under: a changed limit makes new ones. */
  readonly decided: WeakMap<Limits, Map<string, Decided>>;
}

export interface ComposedRound {
  readonly round: Omit<Round, 'revision' | 'changes'>;
  readonly facts: Readonly<Record<string, Facts>>;
}

export function composeRound(parts: RoundParts): ComposedRound {
  const { site, collection } = parts;
  const batches = livingBatches(collection);
  const facts: Record<string, Facts> = {};
  const pots = potBook(parts.catalogue);
  const houses: HouseAdvice[] = [];
  const members: TaskMember[] = [];
  for (const house of site.houses) {
    const benches = [...collection.benches.values()].filter((bench) => bench.houseId === house.id);
    const here = new Set(benches.map((bench) => bench.benchId));
    const weather = parts.weather.get(house.id);
    const outlook = parts.outlooks?.get(house.id);
    const input = weather && houseInputOf(weather, house, outlook);
    const groupOf = ({ group }: { readonly group: string }) =>
      catalogueEntry('species group', parts.catalogue.speciesGroups, group);
    const advice = adviseHouse(
      parts,
      house,
      input,
      new Map(benches.map((bench) => [bench.benchId, bench])),
      batches.filter((batch) => here.has(batch.benchId)),
      pots,
      facts,
      members,
    );
    const settingsRevision = parts.settingsRevision?.(house) || undefined;
    houses.push({
      houseId: house.id,
      name: house.name,
      ...defined({ settingsRevision }),
      climate: summaryOf(weather, parts.atMs),
      ...defined({
        shade:
          weather &&
          input &&
          shadeOf({
            zone: site.zone,
            atMs: parts.atMs,
            day: parts.day,
            house,
            hungId: collection.cloths.get(house.id)?.value ?? null,
            weather,
            input,
            ...defined({ outlook }),
            batches: advice,
            groupOf,
            airUnder: (clothId) => parts.airUnder?.(house, clothId),
          }),
      }),
      lines: adviseLines(house.lines, benches, advice, groupOf),
    });
  }
  const all = houses.flatMap((house) => house.lines.flatMap((line) => line.batches));
  const count = (test: (verdict: Verdict) => boolean) => all.filter(({ verdict }) => test(verdict)).length;
  return {
    facts,
    round: {
      siteId: site.id,
      day: parts.day,
      madeAt: parts.atMs,
      journalId: collection.journalId,
      rulebookRevision: parts.rulebook.revision,
      dayHours: localDayHours(site.zone, parts.day),
      seasonAngleDeg: seasonAngleDeg(civilNoon(site.zone, parts.day), site.latitude) ?? null,
      houses,
      look: looksOf(houses, collection, parts.looksAtMost),
      tasks: tasksOfMorning(parts, members),
      counts: {
        none: count(({ amount }) => amount === 'none'),
        light: count(({ amount }) => amount === 'light'),
        full: count(({ amount }) => amount === 'full'),
        postponed: count(({ postponed }) => postponed),
        inspect: count(({ inspect }) => inspect),
      },
    },
  };
}

function looksOf(houses: readonly HouseAdvice[], collection: Collection, atMost: number): LookItem[] {
  const worth = (batch: BatchAdvice) => collection.batches.get(batch.batchId)?.worth ?? 1;
  return lookList(houses, worth, atMost);
}

function adviseHouse(
  parts: RoundParts,
  house: House,
  houseInput: FactInputs['house'] | undefined,
  benches: ReadonlyMap<string, BenchState>,
  batches: readonly BatchState[],
  pots: (batch: BatchState, group: SpeciesGroup) => PotCapacities,
  factsOut: Record<string, Facts>,
  membersOut: TaskMember[],
): BatchAdvice[] {
  const { site, catalogue, weather } = parts;
  const here = weather.get(house.id);
  if (!here || !houseInput) return [];
  const context: PhaseContext = {
    // The season of a morning is that of its local noon, so that a list made again at ten has the same one.
    atMs: civilNoon(site.zone, parts.day),
    latitudeDeg: site.latitude,
    zone: site.zone,
    drivers: defined({
      nightMinC: houseInput.recent.nightMinC?.value,
      dayMaxC: houseInput.recent.dayMaxC?.value,
      dli: houseInput.recent.dli?.value,
    }),
  };
  const grouped = batches.map((batch) => ({
    batch,
    group: catalogueEntry('species group', catalogue.speciesGroups, batch.group),
  }));
  const book = houseBook(parts, house, houseInput, context);
  const phases = phasesOfHouse(
    grouped.map(({ batch, group }) => book.beliefOf(batch, group)),
    context,
    book.phases,
  );
  const potContext = { zone: site.zone, day: parts.day, past: here.past, aheadEtMm: expectedEtMm(here) };
  const decideOnce = decisions(parts.rulebook, (group) => parts.limitsFor(house, group), book.decided);
  // Size and worth tell batches apart that stand alike, so they are facts only where a rule asks for them.
  const sizeMatters = asksForSize(parts.rulebook);
  return grouped.map(({ batch, group }) => {
    const bench = benches.get(batch.benchId) as BenchState;
    const phase = phases.get(batch.batchId);
    const capacities = pots(batch, group);
    const pot = potOf(batch, group, capacities, phase?.phase, potContext);
    const decided = decideOnce({
      day: parts.day,
      latitudeDeg: site.latitude,
      group,
      general: catalogue.general,
      ...(sizeMatters && { potCount: batch.potCount, worth: batch.worth }),
      plant: plantOf(batch, phase, parts),
      pot,
      house: houseAtBench(houseInput, bench.exposure),
      place: { houseId: house.id, lineId: bench.lineId, benchExposure: bench.exposure },
      ...defined({
        originZone: batch.originZone,
        lightHistory: lightHistoryOf(batch, parts),
      }),
    });
    factsOut[batch.batchId] = decided.facts;
    membersOut.push({ batch, group, bench, house, phase, pot: capacities, verdict: decided.verdict });
    return adviceOf(parts, batch, group, bench, phase, decided.verdict);
  });
}

function houseBook(parts: RoundParts, house: House, input: FactInputs['house'], context: PhaseContext): HouseBook {
  const key = JSON.stringify([parts.day, parts.rulebook.revision, input]);
  const known = parts.book?.get(house.id);
  if (known?.key === key) return known;
  const made = { key, beliefOf: beliefBook(context), phases: new Map(), decided: new WeakMap() };
  parts.book?.set(house.id, made);
  return made;
}

interface Decided {
  readonly facts: Facts;
  readonly verdict: Verdict;
}

/**
 * Decides for the batches of one house. Batches that stand alike, as on a bench that is watered and noted as a whole, are
 * decided once and share their facts and their verdict.
 */
function decisions(
  rulebook: Rulebook,
  limitsOf: (group: SpeciesGroup) => Limits,
  book: HouseBook['decided'],
): (inputs: FactInputs) => Decided {
  return (inputs) => {
    // What the batches of a house have in common is left out of the key.
    const { group, general: _general, house: _house, ...own } = inputs;
    const key = `${group.id} ${JSON.stringify(own)}`;
    const limits = limitsOf(group);
    let same = book.get(limits);
    if (!same) {
      same = new Map();
      book.set(limits, same);
    }
    const known = same.get(key);
    if (known) return known;
    const facts = gatherFacts(inputs);
    const decided = { facts, verdict: decide(rulebook, facts, limits) };
    same.set(key, decided);
    return decided;
  };
}

const asksForSize = (rulebook: Rulebook): boolean =>
  rulebook.file.tables.some((table) =>
    table.rows.some((row) => row.when.some(({ fact }) => fact === 'potCount' || fact === 'worth')),
  );

function adviceOf(
  parts: RoundParts,
  batch: BatchState,
  group: SpeciesGroup,
  bench: BenchState,
  phase: PhaseInput | undefined,
  verdict: Verdict,
): BatchAdvice {
  const last = batch.looks.at(-1);
  const done = batch.waterings.findLast((watering) => localDayOf(parts.site.zone, watering.at) === parts.day);
  return {
    batchId: batch.batchId,
    name: batch.name,
    group: group.id,
    groupName: group.name,
    benchId: bench.benchId,
    benchName: bench.name,
    potCount: batch.potCount,
    phase: phase
      ? { phase: phase.phase, probability: phase.probability, from: phase.from, ...defined({ stage: phase.stage }) }
      : null,
    verdict,
    litres: (verdict.mlPerPot * batch.potCount) / 1000,
    ...defined({
      lastSeen: last && {
        at: last.at,
        signs: [...batch.signs.keys()],
        ...defined({
          firmness: batch.firmness?.value,
          oldPair: batch.oldPair?.value,
          newPair: batch.newPair?.value,
        }),
      },
      done: done && {
        entryId: done.entryId,
        at: done.at,
        by: done.by,
        answer: done.answer,
        amount: done.amount,
        ...defined({ mlPerPot: done.mlPerPot }),
      },
    }),
  };
}

/** Capacities of a pot: batches in the same pot and mix share them. */
function potBook(catalogue: Catalogue): (batch: BatchState, group: SpeciesGroup) => PotCapacities {
  const book = new Map<string, PotCapacities>();
  return (batch, group) => {
    const key = `${batch.potId} ${batch.mixId} ${batch.topDressing} ${group.coverFraction}`;
    const found = book.get(key);
    if (found) return found;
    const made = potCapacities({
      pot: catalogueEntry('pot', catalogue.pots, batch.potId),
      mix: catalogueEntry('mix', catalogue.mixes, batch.mixId),
      topDressing: batch.topDressing,
      coverFraction: group.coverFraction,
      clayFactor: catalogue.clayFactor,
      gritTopFactor: catalogue.gritTopFactor,
      mineralDepthFactors: catalogue.mineralDepthFactors,
      lightDrinkMm: catalogue.general.lightDrinkMm,
      dryAtDepletion: catalogue.general.dryAtDepletion,
    });
    book.set(key, made);
    return made;
  };
}
