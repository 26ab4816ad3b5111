import type { Catalogue, SpeciesGroup } from '../domain/catalogue.js';
import type { BatchState, BenchState, Collection } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import type { House, Site } from '../domain/site.js';
import type { DueTask, TaskDone } from '../domain/tasks.js';
import { type LocalDay, localDayOf, monthsBetween } from '../domain/time.js';
import type { Verdict } from '../domain/verdict.js';
import type { DayDone, TaskBatch } from '../models/due-tasks.js';
import { waterPhaseOf } from '../models/growth-cycle.js';
import type { DayExtremes, PotSurface } from '../models/pest-pressure.js';
import type { PotCapacities } from '../models/pot-water.js';
import { dueTasks } from '../models/task-list.js';
import type { PhaseInput } from './fact-inputs.js';
import type { HouseWeather } from './house-weather.js';

/** A batch with what the morning worked out for it. */
export interface TaskMember {
  readonly batch: BatchState;
  readonly group: SpeciesGroup;
  readonly bench: BenchState;
  readonly house: House;
  readonly phase: PhaseInput | undefined;
  readonly pot: PotCapacities;
  readonly verdict: Verdict;
}

export interface TaskParts {
  readonly site: Site;
  readonly day: LocalDay;
  readonly collection: Collection;
  readonly catalogue: Catalogue;
  readonly weather: ReadonlyMap<string, HouseWeather>;
  /** By house: air of the days since the oldest look; left out: not known. */
  readonly extremes?: ReadonlyMap<string, ReadonlyMap<LocalDay, DayExtremes>>;
  /** Kinds the grower does not want to see in a house; left out: none. */
  tasksOff?(house: House): readonly string[];
}

const NOTHING_HEARD: ReadonlyMap<LocalDay, DayExtremes> = new Map();

/** The second list of the morning. */
export function tasksOfMorning(parts: TaskParts, members: readonly TaskMember[]): DueTask[] {
  const { site, day, collection, catalogue } = parts;
  const byHouse = new Map<string, TaskMember[]>();
  for (const member of members) {
    const same = byHouse.get(member.house.id);
    if (same) same.push(member);
    else byHouse.set(member.house.id, [member]);
  }
  return dueTasks({
    zone: site.zone,
    latitudeDeg: site.latitude,
    longitudeDeg: site.longitude,
    day,
    general: catalogue.general,
    sources: catalogue.sources['species-groups'],
    houses: site.houses.map((house) => ({
      houseId: house.id,
      name: house.name,
      done: daysOf(collection.houseTasks.get(house.id) ?? [], site.zone),
      tasksOff: parts.tasksOff?.(house) ?? [],
      batches: (byHouse.get(house.id) ?? []).map((member) => taskBatch(member, parts)),
      extremes: parts.extremes?.get(house.id) ?? NOTHING_HEARD,
      past: parts.weather.get(house.id)?.past ?? [],
    })),
  });
}

const daysOf = (done: readonly TaskDone[], zone: string): DayDone[] =>
  done.map((one) => ({ ...one, day: localDayOf(zone, one.at) }));

function taskBatch(member: TaskMember, { site: { zone }, day }: TaskParts): TaskBatch {
  const { batch, group, bench, house, phase, pot, verdict } = member;
  const line = house.lines.find(({ id }) => id === bench.lineId);
  const { sownOn } = batch;
  return {
    batchId: batch.batchId,
    benchId: bench.benchId,
    benchName: bench.name,
    potCount: batch.potCount,
    group,
    drink: verdict.amount,
    noted: batch.looks.flatMap((look) => (look.phase ? [{ day: localDayOf(zone, look.at), phase: look.phase }] : [])),
    done: daysOf(batch.tasksDone, zone),
    surface: () => surfaceOf(batch, pot, zone),
    ...defined({
      sownOn,
      ageMonths: sownOn === undefined ? undefined : Math.max(0, monthsBetween(sownOn, day)),
      phase: phase && believed(phase),
      fromAbove: line?.fromAbove ? line.name : undefined,
    }),
  };
}

function believed({ phase, stage, probability, second }: PhaseInput): TaskBatch['phase'] {
  const label = waterPhaseOf(phase, stage);
  if (!label) return undefined;
  const other = second && waterPhaseOf(second.phase, second.stage);
  return {
    label,
    probability,
    ...(second && other && { second: { label: other, probability: second.probability } }),
  };
}

function surfaceOf(batch: BatchState, pot: PotCapacities, zone: string): PotSurface {
  const drinksMm = new Map<LocalDay, number>();
  for (const { amount, mlPerPot, at } of batch.waterings) {
    if (amount === 'none') continue;
    const usual = amount === 'light' ? pot.lightDrinkMm : pot.totalAvailableMm;
    const day = localDayOf(zone, at);
    const mm = mlPerPot === undefined ? usual : mlPerPot / pot.mlPerMm;
    drinksMm.set(day, (drinksMm.get(day) ?? 0) + mm);
  }
  return { readilyEvaporableMm: pot.readilyEvaporableMm, topFactor: pot.topFactor, drinksMm };
}
