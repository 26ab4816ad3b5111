import { lightHistoryOf } from '../../src/advice/batch-light.js';
import { plantOf } from '../../src/advice/batch-plant.js';
import { potOf } from '../../src/advice/batch-water.js';
import type { Known, PhaseInput } from '../../src/advice/fact-inputs.js';
import { gatherFacts } from '../../src/advice/facts.js';
import type { HouseWeather } from '../../src/advice/house-weather.js';
import { lookList } from '../../src/advice/look-list.js';
import { expectedEtMm, houseInputOf } from '../../src/advice/weather.js';
import { catalogueEntry, type SpeciesGroup } from '../../src/domain/catalogue.js';
import type { BatchState, Collection, Look } from '../../src/domain/collection.js';
import type { House, Site } from '../../src/domain/site.js';
import type { LocalDay } from '../../src/domain/time.js';
import type { BatchAdvice, HouseAdvice, LookItem, Verdict } from '../../src/domain/verdict.js';
import type { CycleLabel } from '../../src/models/cycle-ring.js';
import {
  type CycleBelief,
  observeSigns,
  startCycle,
  stepCycle,
  withNeighbours,
} from '../../src/models/growth-cycle.js';
import { type PotCapacities, potCapacities } from '../../src/models/pot-water.js';
import { limitsFor } from '../../src/rules/limits.js';
import { decide } from '../../src/rules/verdict.js';
import { seasonAngleAhead, seasonAngleDeg } from '../../src/science/season.js';
import { CATALOGUE, RULEBOOK } from '../support/nursery.js';

/*
 * The list of one house, made of the same parts of the service as its morning round (facts, phase belief, pot water, rules,
 * look list), but without what a year of simulated mornings does not need: dates of coming changes, sentences of what would
 * change a verdict, tasks. `morning-list.test.ts` holds it against the round itself.
 */
export interface MorningList {
  readonly verdicts: ReadonlyMap<string, Verdict>;
  readonly look: readonly LookItem[];
}

export interface MorningParts {
  readonly site: Site;
  readonly day: LocalDay;
  readonly collection: Collection;
  readonly weather: ReadonlyMap<string, HouseWeather>;
  readonly looksAtMost: number;
}

const LOOKS_BACK_MS = 330 * 86_400_000;
const ENTERED_KNOWN_MS = 21 * 86_400_000;
const DRIVERS_BACK_DEG = 30;
const NEIGHBOURS_HEARD = 8;

interface KeptBelief {
  readonly firstLook: Look | undefined;
  readonly looks: number;
  readonly belief: CycleBelief;
}

/** Makes list after list of one house; what it keeps between them only saves work. */
export class ListMaker {
  private readonly kept = new Map<string, KeptBelief>();
  private readonly pots = new Map<string, PotCapacities>();
  private readonly angles = new Map<number, number>();

  constructor(private readonly latitudeDeg: number) {}

  /** @param only batches to decide; left out: all */
  make(parts: MorningParts, only?: ReadonlySet<string>): MorningList {
    const { site, day, collection } = parts;
    const house = site.houses[0] as House;
    const weather = parts.weather.get(house.id) as HouseWeather;
    const houseInput = houseInputOf(weather, house);
    const value = (known: Known<number> | undefined) => known?.value;
    const drivers = defined({
      nightMinC: value(houseInput.recent.nightMinC),
      dayMaxC: value(houseInput.recent.dayMaxC),
      dli: value(houseInput.recent.dli),
    });
    const noonMs = Date.parse(`${day}T12:00:00Z`);
    const living = [...collection.batches.values()].filter((batch) => batch.endedAt === undefined);
    const members = living.map((batch) => {
      const group = catalogueEntry('species group', CATALOGUE.speciesGroups, batch.group);
      return { batch, group, belief: this.beliefOf(batch, group, noonMs, drivers) };
    });
    const verdicts = new Map<string, Verdict>();
    const advice: BatchAdvice[] = [];
    for (const member of members) {
      const { batch, group, belief } = member;
      if (only && !only.has(batch.batchId)) continue;
      const told = members
        .filter((other) => other !== member && other.group === group && other.belief.looks > 0)
        .sort((a, b) => lastLook(b.batch) - lastLook(a.batch))
        .slice(0, NEIGHBOURS_HEARD);
      const phase = phaseInput(
        batch,
        group,
        belief,
        told.map((other) => other.belief),
        noonMs,
      );
      const pot = potOf(batch, group, this.potBook(batch, group), phase.phase, {
        zone: site.zone,
        day,
        past: weather.past,
        aheadEtMm: expectedEtMm(weather),
      });
      const light = lightHistoryOf(batch, parts);
      const facts = gatherFacts({
        day,
        latitudeDeg: site.latitude,
        group,
        general: CATALOGUE.general,
        plant: plantOf(batch, phase, parts),
        pot,
        house: houseInput,
        place: { houseId: house.id, lineId: null, benchExposure: 'open' },
        ...(light && { lightHistory: light }),
      });
      const limits = limitsFor(RULEBOOK, group, CATALOGUE.general);
      const verdict = decide(RULEBOOK, facts, limits, { withoutNearest: true });
      verdicts.set(batch.batchId, verdict);
      advice.push(adviceOf(batch, group, verdict));
    }
    const houses = [{ houseId: house.id, lines: [{ batches: advice }] }] as unknown as readonly HouseAdvice[];
    return { verdicts, look: lookList(houses, () => 1, parts.looksAtMost) };
  }

  private beliefOf(
    batch: BatchState,
    group: SpeciesGroup,
    noonMs: number,
    drivers: Readonly<Record<string, number>>,
  ): CycleBelief {
    const looks = batch.looks.filter((look) => look.at >= noonMs - LOOKS_BACK_MS && tellsPhase(look));
    const now = this.angleAt(noonMs);
    const known = this.kept.get(batch.batchId);
    let seen = known && known.firstLook === looks[0] && known.looks <= looks.length ? known : undefined;
    if (!seen) {
      const first = looks[0];
      seen = { firstLook: first, looks: 0, belief: startCycle(group, first ? this.angleAt(first.at) : now) };
    }
    let { belief } = seen;
    for (const look of looks.slice(seen.looks)) {
      belief = stepCycle(group, belief, this.angleAt(look.at));
      belief = observeSigns(group, belief, look);
    }
    if (looks.length === 0) return startCycle(group, now);
    const left = seasonAngleAhead(belief.seasonAngleDeg, now);
    if (left > DRIVERS_BACK_DEG && left < 300)
      belief = stepCycle(group, belief, belief.seasonAngleDeg + left - DRIVERS_BACK_DEG);
    this.kept.set(batch.batchId, { firstLook: looks[0], looks: looks.length, belief });
    return stepCycle(group, belief, now, drivers);
  }

  /** Season angle at the noon of an instant's day. */
  private angleAt(atMs: number): number {
    const day = Math.floor(atMs / 86_400_000);
    const found = this.angles.get(day) ?? (seasonAngleDeg((day + 0.5) * 86_400_000, this.latitudeDeg) as number);
    this.angles.set(day, found);
    return found;
  }

  private potBook(batch: BatchState, group: SpeciesGroup): PotCapacities {
    const found = this.pots.get(group.id);
    if (found) return found;
    const made = potCapacities({
      pot: catalogueEntry('pot', CATALOGUE.pots, batch.potId),
      mix: catalogueEntry('mix', CATALOGUE.mixes, batch.mixId),
      topDressing: batch.topDressing,
      coverFraction: group.coverFraction,
      clayFactor: CATALOGUE.clayFactor,
      gritTopFactor: CATALOGUE.gritTopFactor,
      mineralDepthFactors: CATALOGUE.mineralDepthFactors,
      lightDrinkMm: CATALOGUE.general.lightDrinkMm,
      dryAtDepletion: CATALOGUE.general.dryAtDepletion,
    });
    this.pots.set(group.id, made);
    return made;
  }
}

const defined = (values: Record<string, number | undefined>): Record<string, number> =>
  Object.fromEntries(Object.entries(values).filter((entry): entry is [string, number] => entry[1] !== undefined));

const lastLook = (batch: BatchState): number => batch.looks.at(-1)?.at ?? 0;

const tellsPhase = (look: Look): boolean =>
  look.phase !== undefined ||
  look.oldPair !== undefined ||
  look.newPair !== undefined ||
  look.sheathed !== undefined ||
  look.signs.includes('closed-tips');

function phaseInput(
  batch: BatchState,
  group: SpeciesGroup,
  belief: CycleBelief,
  neighbours: readonly CycleBelief[],
  noonMs: number,
): PhaseInput {
  const view = withNeighbours(group, belief, neighbours);
  const entered = batch.phase;
  const fresh = entered !== undefined && noonMs - entered.at <= ENTERED_KNOWN_MS && entered.value.phase === view.phase;
  const label = view.stage ?? view.phase;
  const others = (Object.entries(view.probabilities) as [CycleLabel, number][])
    .filter(([other, share]) => other !== label && share > 0.02)
    .sort((a, b) => b[1] - a[1]);
  const second = others[0];
  return {
    phase: view.phase,
    probability: view.probability,
    certainty: fresh ? 'known' : 'estimated',
    from: 'signs seen and the season',
    ...(view.stage && { stage: view.stage }),
    ...(fresh && { daysInPhase: Math.max(0, noonMs - entered.at) / 86_400_000 }),
    ...(second && { second: { ...phaseOfLabel(second[0]), probability: second[1] } }),
  };
}

const phaseOfLabel = (label: CycleLabel): Pick<PhaseInput, 'phase' | 'stage'> =>
  label === 'forming' || label === 'splitting' || label === 'papery'
    ? { phase: 'leaf-replacement', stage: label }
    : { phase: label };

function adviceOf(batch: BatchState, group: SpeciesGroup, verdict: Verdict): BatchAdvice {
  return {
    batchId: batch.batchId,
    name: batch.name,
    group: group.id,
    groupName: group.name,
    benchId: batch.benchId,
    benchName: batch.benchId,
    potCount: batch.potCount,
    phase: null,
    verdict,
    litres: 0,
    ...(batch.looks.length > 0 && { lastSeen: { at: lastLook(batch), signs: [...batch.signs.keys()] } }),
  };
}
