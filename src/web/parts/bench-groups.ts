import type { BenchState } from '../../domain/collection.js';
import type { Site } from '../../domain/site.js';
import type { Option } from './select.js';

/** Benches to choose from, under the names of their houses. */
export const benchGroups = (site: Site, benches: readonly BenchState[]) =>
  site.houses.flatMap(({ id, name: heading }) => {
    const options = benches.filter(({ houseId }) => houseId === id).map(({ benchId, name }): Option => [benchId, name]);
    return options.length > 0 ? [{ heading, options }] : [];
  });
