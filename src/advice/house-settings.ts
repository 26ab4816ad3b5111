import type { Catalogue } from '../domain/catalogue.js';
import { LeafturnError, type Problem } from '../domain/errors.js';
import type { HouseSettings, SetLimit, SettingsChange } from '../domain/house-settings.js';
import { limitsInForce } from '../rules/house-limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import type { SettingsStore } from '../storage/repositories.js';
import { settingsDraft } from './settings-draft.js';

/** Who changes something, and which revision they saw when they decided to. */
export interface ChangeBy {
  readonly by: string;
  readonly why: string;
  readonly expected: number;
}

/** What the rules go by in a house. */
export interface InForce {
  readonly revision: number;
  /** The same array until something is set anew. */
  readonly limits: readonly SetLimit[];
  /** Kinds of task that are not shown; left out: all are. */
  readonly tasksOff?: readonly string[];
}

/** What growers set for their houses: what is in force is in memory, every change a revision in the database. */
export interface HouseSettingsBook {
  current(siteId: string, houseId: string): HouseSettings;
  /** Values that the present rulebook does not know or take are left out of it. */
  inForce(siteId: string, houseId: string): InForce;
  /**
   * What would be in force after a change; nothing is kept.
   * @throws LeafturnError `invalid-input` with everything that is wrong, as JSON pointers into the change
   */
  draft(siteId: string, houseId: string, change: SettingsChange): HouseSettings;
  /** @throws LeafturnError as `draft`; `conflict` when somebody else was there first */
  set(siteId: string, houseId: string, change: SettingsChange, by: ChangeBy): Promise<HouseSettings>;
  /**
   * A new revision with the settings of an older one.
   * @param options.to left out: the one before; 0: nothing set
   */
  goBack(
    siteId: string,
    houseId: string,
    by: Omit<ChangeBy, 'why'>,
    options?: { readonly to?: number; readonly why?: string },
  ): Promise<HouseSettings>;
  /** Newest first. */
  history(
    siteId: string,
    houseId: string,
    query?: { readonly beforeRevision?: number; readonly limit?: number },
  ): Promise<readonly HouseSettings[]>;
  /** Called with every new revision once it is kept. Returns how to stop listening. */
  onChange(listener: (settings: HouseSettings) => void): () => void;
}

export interface HouseSettingsParts {
  readonly store: SettingsStore;
  rulebook(): Rulebook;
  catalogue(): Catalogue;
  now(): number;
}

const NO_LIMITS: readonly SetLimit[] = [];

/** Loads what is in force, and keeps it up to date. */
export async function createHouseSettings(parts: HouseSettingsParts): Promise<HouseSettingsBook> {
  const listeners = new Set<(settings: HouseSettings) => void>();
  const newest = new Map<string, HouseSettings>();
  const keyOf = (siteId: string, houseId: string): string => `${siteId}/${houseId}`;
  const remember = (settings: HouseSettings): void => {
    newest.set(keyOf(settings.siteId, settings.houseId), settings);
  };
  for (const settings of await parts.store.newest()) remember(settings);

  const nothing = (siteId: string, houseId: string): HouseSettings => ({
    siteId,
    houseId,
    revision: 0,
    at: 0,
    by: '',
    why: '',
    limits: NO_LIMITS,
    alertLimits: {},
    tasksOff: [],
  });
  const current = (siteId: string, houseId: string): HouseSettings =>
    newest.get(keyOf(siteId, houseId)) ?? nothing(siteId, houseId);

  /** By what was set; another rulebook or catalogue may take other values. */
  let taken = new WeakMap<readonly SetLimit[], readonly SetLimit[]>();
  let takenBy: readonly [Rulebook, Catalogue] | undefined;
  const takenOf = (limits: readonly SetLimit[]): readonly SetLimit[] => {
    const [rulebook, catalogue] = [parts.rulebook(), parts.catalogue()];
    if (takenBy?.[0] !== rulebook || takenBy[1] !== catalogue) {
      taken = new WeakMap();
      takenBy = [rulebook, catalogue];
    }
    const known = taken.get(limits) ?? limitsInForce(rulebook, catalogue, { limits });
    taken.set(limits, known);
    return known;
  };

  const refuseStale = (now: HouseSettings, expected: number): void => {
    if (now.revision !== expected) throw stale(now, expected);
  };

  async function keep(before: HouseSettings, next: HouseSettings): Promise<HouseSettings> {
    if (!(await parts.store.append(next))) {
      const [other = before] = await parts.store.history(next.siteId, next.houseId, { limit: 1 });
      remember(other);
      throw stale(other, before.revision);
    }
    remember(next);
    for (const listener of listeners) listener(next);
    return next;
  }

  const draft = (siteId: string, houseId: string, change: SettingsChange): HouseSettings => {
    const now = current(siteId, houseId);
    const { settings, problems } = settingsDraft(now, change, {
      rulebook: parts.rulebook(),
      catalogue: parts.catalogue(),
    });
    if (problems.length === 0) return settings;
    throw refused(problems);
  };

  return {
    current,
    inForce: (siteId, houseId) => {
      const { revision, limits, tasksOff } = current(siteId, houseId);
      return { revision, limits: takenOf(limits), tasksOff };
    },
    draft,
    async set(siteId, houseId, change, { by, why, expected }) {
      const now = current(siteId, houseId);
      refuseStale(now, expected);
      const wanted = draft(siteId, houseId, change);
      const reason = why.trim();
      if (reason === '')
        throw refused([{ path: '/why', expected: 'the reason for the change', got: 'nothing', mend: 'Add it.' }]);
      // The clock of a machine may be set back; what was in force on a morning is looked up by the instant.
      const at = Math.max(parts.now(), now.at);
      return keep(now, { ...wanted, revision: now.revision + 1, at, by, why: reason });
    },
    async goBack(siteId, houseId, { by, expected }, { to, why } = {}) {
      const now = current(siteId, houseId);
      refuseStale(now, expected);
      const target = to ?? now.revision - 1;
      const old = target === 0 ? nothing(siteId, houseId) : await parts.store.get(siteId, houseId, target);
      if (now.revision === 0 || !old || target >= now.revision)
        throw new LeafturnError('conflict', 'There is nothing to go back to.', [
          {
            path: '/to',
            expected: now.revision === 0 ? 'a house for which something was set' : `0 to ${now.revision - 1}`,
            got: now.revision === 0 ? 'one for which nothing was ever set' : String(target),
          },
        ]);
      const words = target === 0 ? 'Back to what is usual.' : `Back to what held before: revision ${target}.`;
      const at = Math.max(parts.now(), now.at);
      return keep(now, { ...old, revision: now.revision + 1, at, by, why: why?.trim() || words });
    },
    history: (siteId, houseId, query) => parts.store.history(siteId, houseId, query),
    onChange(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

const refused = (problems: readonly Problem[]): LeafturnError =>
  new LeafturnError('invalid-input', 'This cannot be set. Nothing was changed.', problems);

const stale = (now: HouseSettings, expected: number): LeafturnError =>
  new LeafturnError(
    'conflict',
    now.revision > expected
      ? `${now.by} set something for this house in the meantime: ${now.why}`
      : 'This house has fewer revisions than that.',
    [
      {
        path: '/expected',
        expected: `the newest revision, ${now.revision}`,
        got: String(expected),
        mend: 'Look at what is in force now, then set it again.',
      },
    ],
  );
