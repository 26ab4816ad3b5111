import type { Catalogue, SpeciesGroup } from '../domain/catalogue.js';
import type { SetLimit } from '../domain/house-settings.js';
import type { JournalEntry } from '../domain/journal.js';
import type { HouseOutlook } from '../domain/outlook.js';
import type { House, Site } from '../domain/site.js';
import { addDays, type LocalDay, localDayOf } from '../domain/time.js';
import type { HouseAdvice, Round } from '../domain/verdict.js';
import { type Limits, limitsFor } from '../rules/limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import type { Storage } from '../storage/repositories.js';
import { changesBetween, sameAdvice } from './changes.js';
import { type ComposedRound, composeRound, type DecisionBook } from './compose.js';
import type { InForce } from './house-settings.js';
import { loadExtremes } from './house-warmth.js';
import type { Keeper } from './keeper.js';
import { shadeSince } from './shade.js';
import { createTurns } from './turns.js';
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
  /** What the list of today would say of one house, as things are and under other limits; nothing is kept. */
  tryLimits(siteId: string, houseId: string, limits: readonly SetLimit[]): Promise<TriedLimits>;
  /** Called with every new revision once it is stored. Returns how to stop listening. */
  onRound(listener: (round: Round) => void): () => void;
}

export interface MakeOptions {
  readonly onlyIfChanged?: boolean;
}

/** One house, twice on the same facts. */
export interface TriedLimits {
  readonly day: LocalDay;
  readonly live: HouseAdvice;
  readonly draft: HouseAdvice;
}

export interface RoundsParts {
  readonly storage: Pick<Storage, 'readings' | 'rounds'>;
  readonly keeper: Pick<Keeper, 'collection'>;
  sites(): readonly Site[];
  catalogue(): Catalogue;
  rulebook(): Rulebook;
  /** What the grower set for a house; left out: nothing. */
  settings?(siteId: string, houseId: string): InForce;
  /** What a house is expected to be like; left out, or undefined: like the last days. */
  outlook?(siteId: string, houseId: string): Promise<HouseOutlook | undefined>;
  /** What a cloth would do to the air of a house, in words; undefined: not known. */
  airUnder?(siteId: string, houseId: string, clothId: string): Promise<string | undefined>;
  looksAtMost(): number;
  now(): number;
}

const NOTHING_SET: InForce = { revision: 0, limits: [] };

/** Makes and keeps the mornings of the sites. */
export function createRounds(parts: RoundsParts): Rounds {
  const listeners = new Set<(round: Round) => void>();
  /** One after another per site, so that the revision stored last is the one that knew most. */
  const inTurn = createTurns();
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

  const settingsOf =
    (siteId: string) =>
    (house: House): InForce =>
      parts.settings?.(siteId, house.id) ?? NOTHING_SET;

  /** Gathers what there is to know, and gives the advice as often as it is asked for under whatever settings. */
  async function gathered(site: Site, day: LocalDay): Promise<(settings: (house: House) => InForce) => ComposedRound> {
    const siteId = site.id;
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
    const extremes = await loadExtremes(parts.storage.readings, site, collection, day);
    const outlooks = new Map<string, HouseOutlook>();
    const airUnder = new Map<string, string>();
    for (const house of site.houses) {
      const outlook = await parts.outlook?.(siteId, house.id);
      if (outlook) outlooks.set(house.id, outlook);
      for (const { id } of outlook ? house.cloths : []) {
        const words = await parts.airUnder?.(siteId, house.id, id);
        if (words !== undefined) airUnder.set(`${house.id}/${id}`, words);
      }
    }
    return (settings) =>
      composeRound({
        site,
        day,
        atMs,
        collection,
        catalogue,
        rulebook,
        limitsFor: limitBook(settings, rulebook, catalogue),
        settingsRevision: (house) => settings(house).revision,
        weather,
        outlooks,
        airUnder: (house, clothId) => airUnder.get(`${house.id}/${clothId}`),
        extremes,
        tasksOff: (house) => settings(house).tasksOff ?? [],
        looksAtMost: parts.looksAtMost(),
        book: booksOf(siteId).decisions,
      });
  }

  async function lastOf(siteId: string, upTo: LocalDay): Promise<Round | undefined> {
    const day = await parts.storage.rounds.latestDay(siteId, upTo);
    return day === undefined ? undefined : parts.storage.rounds.latest(siteId, day);
  }

  async function compose(siteId: string, day: LocalDay, options: MakeOptions): Promise<Round> {
    const { round: made, facts } = (await gathered(siteOf(siteId), day))(settingsOf(siteId));
    const before = await parts.storage.rounds.latest(siteId, day);
    const round = withShadeSince(made, before ?? (await lastOf(siteId, addDays(day, -1))));
    if (options.onlyIfChanged && before && sameAdvice(before, round)) return before;
    const saved = await parts.storage.rounds.save({ ...round, changes: changesBetween(before, round) }, facts);
    for (const listener of listeners) listener(saved);
    return saved;
  }

  /** Limits of a group are dear to work out; they stay the same object while nothing was set anew. */
  let limits = new WeakMap<readonly SetLimit[], Map<SpeciesGroup, Limits>>();
  let limitsOf: Rulebook | undefined;

  function limitBook(settings: (house: House) => InForce, rulebook: Rulebook, catalogue: Catalogue) {
    if (limitsOf !== rulebook) {
      limits = new WeakMap();
      limitsOf = rulebook;
    }
    return (house: House, group: SpeciesGroup): Limits => {
      const overrides = settings(house).limits;
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
    make: (siteId, day, options = {}) => inTurn(siteId, () => compose(siteId, day, options)),
    async tryLimits(siteId, houseId, tried) {
      const site = siteOf(siteId);
      const day = localDayOf(site.zone, parts.now());
      const advise = await gathered({ ...site, houses: site.houses.filter(({ id }) => id === houseId) }, day);
      const adviceUnder = (settings: (house: House) => InForce): HouseAdvice => {
        const [house] = advise(settings).round.houses;
        if (!house) throw new Error(`There is no house ${houseId} at ${siteId}.`);
        return house;
      };
      const live = settingsOf(siteId);
      return {
        day,
        live: adviceUnder(live),
        draft: adviceUnder((house) => ({ revision: live(house).revision, limits: tried })),
      };
    },
    onRound(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

const withShadeSince = <R extends Pick<Round, 'houses'>>(round: R, before: Round | undefined): R => ({
  ...round,
  houses: round.houses.map((house) => {
    const earlier = before?.houses.find(({ houseId }) => houseId === house.houseId)?.shade;
    return house.shade ? { ...house, shade: shadeSince(house.shade, earlier) } : house;
  }),
});

/** Entries that may change a list: what was told of plants, benches, drinks or cloth. A bare note does not. */
export const changesList = (entry: JournalEntry): boolean => entry.event.kind !== 'note';
