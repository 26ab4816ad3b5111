import { type Catalogue, catalogueEntry } from '../../domain/catalogue.js';
import type { Site } from '../../domain/site.js';
import { addDays } from '../../domain/time.js';
import type { BatchAdvice, Fact, Facts, Round } from '../../domain/verdict.js';
import type { AlertBatch } from '../../models/alert-kinds/finding.js';
import { waterPhaseOf } from '../../models/growth-cycle.js';
import type { AlertsParts, Slot } from './parts.js';

/** Facts of a list that are the same for every batch of a house. */
const HOUSE_FACTS = ['aheadHotSpell', 'tonightMinC', 'tonightWetHours'] as const;

/** The batches of a house as its newest list has them. */
export interface ListedHouse {
  readonly batches: readonly AlertBatch[];
  readonly listFacts: Readonly<Record<string, Fact>>;
}

export interface Listed {
  /** Of today; undefined while there is none. */
  readonly today: Round | undefined;
  readonly houses: ReadonlyMap<string, ListedHouse>;
}

/** What was read of the newest list: its facts are megabytes, and stay the same until a new one is made. */
export type ListBook = Slot<{ readonly key: string; readonly listed: Listed }>;

export async function gatherLists(parts: AlertsParts, site: Site, book: ListBook): Promise<Listed> {
  const today = parts.rounds.today(site.id);
  const round = (await parts.rounds.latest(site.id, today)) ?? (await parts.rounds.latest(site.id, addDays(today, -1)));
  if (round === undefined) return { today: undefined, houses: new Map() };
  const isToday = round.day === today;
  const key = `${round.day} ${round.revision} ${round.madeAt} ${isToday}`;
  if (book.kept?.key === key) return book.kept.listed;
  const facts = await parts.storage.rounds.facts(site.id, round.day, round.revision);
  const listed = listedOf(round, isToday, (facts ?? {}) as Readonly<Record<string, Facts>>, parts.catalogue());
  book.kept = { key, listed };
  return listed;
}

function listedOf(
  round: Round,
  isToday: boolean,
  facts: Readonly<Record<string, Facts>>,
  catalogue: Catalogue,
): Listed {
  const houses = round.houses.map(({ houseId, lines }): [string, ListedHouse] => {
    const advised = lines.flatMap(({ batches }) => batches);
    const first = advised[0] && facts[advised[0].batchId];
    return [
      houseId,
      {
        batches: advised.map((advice) => batchOf(advice, isToday, facts[advice.batchId], catalogue)),
        // A list of yesterday tells which plants stand there, but nothing of tonight.
        listFacts:
          isToday && first
            ? Object.fromEntries(HOUSE_FACTS.flatMap((name) => (first[name] ? [[name, first[name]]] : [])))
            : {},
      },
    ];
  });
  return { today: isToday ? round : undefined, houses: new Map(houses) };
}

function batchOf(
  { batchId, name, benchName, group, phase, verdict }: BatchAdvice,
  isToday: boolean,
  facts: Facts | undefined,
  catalogue: Catalogue,
): AlertBatch {
  const { climate } = catalogueEntry('species group', catalogue.speciesGroups, group);
  const depletion = facts?.['depletion']?.value;
  return {
    batchId,
    name,
    benchName,
    waterPhase: (phase && waterPhaseOf(phase.phase, phase.stage)) ?? null,
    verdictAlerts: isToday ? verdict.alerts : [],
    ...(typeof depletion === 'number' && { moist: depletion < catalogue.general.dryAtDepletion }),
    damageDayMaxC: climate.damageDayMaxC,
    minSafeDryC: climate.minSafeDryC,
  };
}
