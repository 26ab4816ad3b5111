import type { z } from 'zod';
import { type BatchState, type Collection, livingBatches } from '../domain/collection.js';
import type { JournalEntry } from '../domain/journal.js';
import { type Quantity, quantityInfo } from '../domain/quantities.js';
import type { House, Site } from '../domain/site.js';
import type { Round } from '../domain/verdict.js';
import type { RefusalCount, SeriesInfo } from '../storage/repositories.js';
import type { batchDetailView, batchView, benchView, entryView } from './schemas/collection.js';
import type { houseView, latestValueView, quantityView, sensorView, siteView } from './schemas/site.js';

/** What the API shows of the things of the domain. */

export const viewOfSite = (site: Site, today: string): z.infer<typeof siteView> => {
  const { houses, ...fields } = site;
  return { ...fields, today, houses: houses.map(({ id, name }) => ({ id, name })) };
};

/** Integrals are kept per second; the unit says so, and where the service shows daily light it divides. */
export const integralUnit = (quantity: Quantity): string => `${quantityInfo(quantity).unit} · s`;

export function viewOfQuantity(quantity: Quantity): z.infer<typeof quantityView> {
  const { label, unit, range, holdMinutes } = quantityInfo(quantity);
  const [lowest, highest] = range;
  return { quantity, label, unit, lowest, highest, integralUnit: integralUnit(quantity), holdMinutes };
}

const latestValues = (series: readonly SeriesInfo[]): z.infer<typeof latestValueView>[] =>
  series.flatMap(({ sensorId, benchId, placement, quantity, lastAt, lastValue }) =>
    lastAt === null || lastValue === null
      ? []
      : [{ sensorId, benchId, placement, quantity, value: lastValue, unit: quantityInfo(quantity).unit, at: lastAt }],
  );

const newest = (instants: readonly (number | null)[]): number | null =>
  instants.reduce<number | null>((latest, at) => (at !== null && (latest === null || at > latest) ? at : latest), null);

export function viewOfHouse(
  site: Site,
  house: House,
  collection: Collection,
  series: readonly SeriesInfo[],
): z.infer<typeof houseView> {
  const benches = new Set(
    [...collection.benches.values()].filter((bench) => bench.houseId === house.id).map((bench) => bench.benchId),
  );
  const batches = livingBatches(collection).filter((batch) => benches.has(batch.benchId));
  const heard = series.filter((one) => one.houseId === house.id && one.lastAt !== null);
  return {
    ...house,
    siteId: site.id,
    clothHung: collection.cloths.get(house.id) ?? null,
    benches: benches.size,
    batches: batches.length,
    pots: batches.reduce((pots, batch) => pots + batch.potCount, 0),
    sensorsHeard: new Set(heard.map((one) => one.sensorId)).size,
    lastReadingAt: newest(heard.map((one) => one.lastAt)),
    latest: latestValues(heard),
  };
}

export function viewsOfBenches(collection: Collection): z.infer<typeof benchView>[] {
  const byBench = new Map<string, { batches: number; pots: number }>();
  for (const { benchId, potCount } of livingBatches(collection)) {
    const sum = byBench.get(benchId) ?? { batches: 0, pots: 0 };
    byBench.set(benchId, { batches: sum.batches + 1, pots: sum.pots + potCount });
  }
  return [...collection.benches.values()]
    .map((bench) => ({ ...bench, ...(byBench.get(bench.benchId) ?? { batches: 0, pots: 0 }) }))
    .sort((a, b) => (a.benchId < b.benchId ? -1 : 1));
}

export function viewOfBatch(batch: BatchState, collection: Collection): z.infer<typeof batchView> {
  const { places: _places, looks: _looks, tasksDone: _tasksDone, waterings, signs, ...fields } = batch;
  const bench = collection.benches.get(batch.benchId);
  const lastWatering = waterings.at(-1);
  return {
    ...fields,
    houseId: bench?.houseId ?? null,
    lineId: bench?.lineId ?? null,
    signs: [...signs].map(([value, seen]) => ({ ...seen, value })),
    ...(lastWatering && { lastWatering }),
  };
}

export const viewOfBatchDetail = (batch: BatchState, collection: Collection): z.infer<typeof batchDetailView> => ({
  ...viewOfBatch(batch, collection),
  places: [...batch.places],
  looks: batch.looks.map((look) => ({ ...look, signs: [...look.signs] })),
  waterings: [...batch.waterings],
  tasksDone: [...batch.tasksDone],
});

export function viewOfEntry(entry: JournalEntry, undone: ReadonlyMap<number, number>): z.infer<typeof entryView> {
  const undoneBy = undone.get(entry.id);
  return { ...entry, ...(undoneBy !== undefined && { undoneBy }) };
}

const MINUTE_MS = 60_000;

/** Sensors with what is known of each of their series, by id. */
export function viewsOfSensors(
  series: readonly SeriesInfo[],
  refusals: readonly RefusalCount[],
  now: number,
): z.infer<typeof sensorView>[] {
  const bySensor = new Map<string, SeriesInfo[]>();
  for (const one of series) bySensor.set(one.sensorId, [...(bySensor.get(one.sensorId) ?? []), one]);
  return [...bySensor]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([sensorId, own]) => {
      const [first] = own as [SeriesInfo, ...SeriesInfo[]];
      const lastReceivedAt = newest(own.map((one) => one.lastReceivedAt));
      return {
        siteId: first.siteId,
        sensorId,
        houseId: first.houseId,
        benchId: first.benchId,
        placement: first.placement,
        lastReceivedAt,
        silentMinutes: lastReceivedAt === null ? null : Math.max(0, Math.floor((now - lastReceivedAt) / MINUTE_MS)),
        series: own.map(({ quantity, lastAt, lastValue, lastReceivedAt: receivedAt, stored, duplicates, refused }) => ({
          quantity,
          unit: quantityInfo(quantity).unit,
          lastAt,
          lastValue,
          lastReceivedAt: receivedAt,
          stored,
          duplicates,
          refused,
        })),
        refusals: refusals.filter((count) => count.sensorId === sensorId),
      };
    });
}

/** A round whose verdicts come without their traces, which are nearly all of its size. */
export const withoutTraces = (round: Round) => ({
  ...round,
  houses: round.houses.map((house) => ({
    ...house,
    lines: house.lines.map((line) => ({
      ...line,
      batches: line.batches.map((batch) => {
        const { trace: _trace, ...verdict } = batch.verdict;
        return { ...batch, verdict };
      }),
    })),
  })),
});
