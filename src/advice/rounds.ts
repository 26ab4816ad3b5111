import type { Catalogue, SpeciesGroup } from '../domain/catalogue.js';
import type { SetLimit } from '../domain/house-settings.js';
import type { JournalEntry } from '../domain/journal.js';
import type { House, Site } from '../domain/site.js';
import { type LocalDay, localDayOf } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import { type Limits, limitsFor } from '../rules/limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import type { Storage } from '../storage/repositories.js';
import { changesBetween, sameAdvice } from './changes.js';
import { composeRound, type DecisionBook } from './compose.js';
import type { Keeper } from './keeper.js';
import { loadWeather, type WeatherBook } from './weather.js';

export interface Rounds {
  today(siteId: string): LocalDay;
  /** The newest revision of a day. */
  latest(siteId: string, day: LocalDay): Promise<Round | undefined>;
  /**
   * Makes a new revision now, after any that is being made.
   * @param options.onlyIfChanged give the last revision again when the advice is the same
   */
  make(siteId: string, day: LocalDay, options?: MakeOptions): Promise<Round>;
  /** Called with every new revision once it is stored. Returns how to stop listening. */
  onRound(listener: (round: Round) => void): () => void;
}

export interface MakeOptions {
  readonly onlyIfChanged?: boolean;
}

export interface RoundsParts {
  readonly storage: Pick<Storage, 'readings' | 'rounds'>;
  readonly keeper: Pick<Keeper, 'collection'>;
  sites(): readonly Site[];
  catalogue(): Catalogue;
  rulebook(): Rulebook;
  /** What the grower set for a house: the same array until something is set anew. */
  overrides?(siteId: string, houseId: string): readonly SetLimit[];
  looksAtMost(): number;
  now(): number;
}

const NO_OVERRIDES: readonly SetLimit[] = [];

/** Makes and keeps the mornings of the sites. */
export function createRounds(parts: RoundsParts): Rounds {
  const listeners = new Set<(round: Round) => void>();
  const turns = new Map<string, Promise<unknown>>();
  const books = new Map<string, { readonly weather: WeatherBook; readonly decisions: DecisionBook }>();

  const booksOf = (siteId: string) => {
    const known = books.get(siteId) ?? { weather: new Map(), decisions: new Map() };
    books.set(siteId, known);
    return known;
  };

  const siteOf = (siteId: string): Site => {
    const site = parts.sites().find(({ id }) => id === siteId);
    if (!site) throw new Error(`There is no site ${siteId}.`);
    return site;
  };

  async function compose(siteId: string, day: LocalDay, options: MakeOptions): Promise<Round> {
    const site = siteOf(siteId);
    const atMs = parts.now();
    const catalogue = parts.catalogue();
    const rulebook = parts.rulebook();
    const collection = await parts.keeper.collection(siteId);
    const weather = await loadWeather(
      parts.storage.readings,
      site,
      catalogue,
      collection,
      day,
      atMs,
      booksOf(siteId).weather,
    );
    const { round, facts } = composeRound({
      site,
      day,
      atMs,
      collection,
      catalogue,
      rulebook,
      limitsFor: limitBook(siteId, rulebook, catalogue),
      weather,
      looksAtMost: parts.looksAtMost(),
      book: booksOf(siteId).decisions,
    });
    const before = await parts.storage.rounds.latest(siteId, day);
    if (options.onlyIfChanged && before && sameAdvice(before, round)) return before;
    const saved = await parts.storage.rounds.save({ ...round, changes: changesBetween(before, round) }, facts);
    for (const listener of listeners) listener(saved);
    return saved;
  }

  /** Limits of a group are dear to work out; they stay the same object while nothing was set anew. */
  let limits = new WeakMap<readonly SetLimit[], Map<SpeciesGroup, Limits>>();
  let limitsOf: Rulebook | undefined;

  function limitBook(siteId: string, rulebook: Rulebook, catalogue: Catalogue) {
    if (limitsOf !== rulebook) {
      limits = new WeakMap();
      limitsOf = rulebook;
    }
    return (house: House, group: SpeciesGroup): Limits => {
      const overrides = parts.overrides?.(siteId, house.id) ?? NO_OVERRIDES;
      let known = limits.get(overrides);
      if (!known) {
        known = new Map();
        limits.set(overrides, known);
      }
      const found = known.get(group) ?? limitsFor(rulebook, group, catalogue.general, overrides);
      known.set(group, found);
      return found;
    };
  }

  return {
    today: (siteId) => localDayOf(siteOf(siteId).zone, parts.now()),
    latest: (siteId, day) => parts.storage.rounds.latest(siteId, day),
    make(siteId, day, options = {}) {
      // One after another per site, so that the revision stored last is the one that knew most.
      const turn = (turns.get(siteId) ?? Promise.resolve()).then(() => compose(siteId, day, options));
      turns.set(
        siteId,
        turn.catch(() => undefined),
      );
      return turn;
    },
    onRound(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

/** Entries that may change a list: what was told of plants, benches, drinks or cloth. A bare note does not. */
export const changesList = (entry: JournalEntry): boolean => entry.event.kind !== 'note';
