import type { BatchState, BenchState, Collection } from '../domain/collection.js';
import { didYouMean } from '../domain/problems.js';
import { findHouse, type House, type Site } from '../domain/site.js';
import { parseInstant } from '../domain/time.js';
import type { ServiceDeps } from './deps.js';
import { invalidRequest, notFound, type RequestPart } from './problem.js';

/** What the ids of an address stand for, or a 404 that names the nearest id. */

export function siteOf(deps: Pick<ServiceDeps, 'sites'>, siteId: string): Site {
  const sites = deps.sites();
  const site = sites.find(({ id }) => id === siteId);
  if (site) return site;
  const ids = sites.map(({ id }) => id);
  throw notFound('site', siteId, didYouMean(siteId, ids));
}

export function houseOf(site: Site, houseId: string): House {
  const house = findHouse(site, houseId);
  if (house) return house;
  const ids = site.houses.map(({ id }) => id);
  throw notFound(`house of ${site.name}`, houseId, didYouMean(houseId, ids));
}

export function benchOf(collection: Collection, benchId: string): BenchState {
  const bench = collection.benches.get(benchId);
  if (bench) return bench;
  throw notFound('bench', benchId, didYouMean(benchId, [...collection.benches.keys()]));
}

export function batchOf(collection: Collection, batchId: string): BatchState {
  const batch = collection.batches.get(batchId);
  if (batch) return batch;
  throw notFound('batch', batchId, didYouMean(batchId, [...collection.batches.keys()]));
}

/** An instant as a client may write it: milliseconds UTC, or a date-time, on the wall clock of the site without an offset. */
export function instantFrom(
  given: string | number,
  zone: string,
  place: { readonly path: string; readonly part: RequestPart },
): number {
  if (typeof given === 'number') return given;
  const at = /^-?\d+$/.test(given) ? Number(given) : parseInstant(given, zone);
  if (at !== undefined && Number.isSafeInteger(at)) return at;
  throw invalidRequest(
    [
      {
        path: place.path,
        expected: 'an instant such as 2026-10-25T07:30, 2026-10-25T06:30:00Z, or milliseconds UTC',
        got: JSON.stringify(given),
      },
    ],
    place.part,
  );
}
