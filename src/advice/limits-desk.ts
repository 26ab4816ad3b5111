import type { Catalogue } from '../domain/catalogue.js';
import { LeafturnError, type Problem } from '../domain/errors.js';
import type { HouseSettings, SettingsChange } from '../domain/house-settings.js';
import { pointerText } from '../domain/problems.js';
import { limitsInForce } from '../rules/house-limits.js';
import type { Rulebook } from '../rules/rulebook.js';
import type { ChangeBy, HouseSettingsBook } from './house-settings.js';
import { type DraftOfToday, draftOfToday } from './limits-draft.js';
import { type AskedScope, type LimitsView, limitsView, settingsChanges } from './limits-view.js';
import type { Rounds } from './rounds.js';
import { type WhatIfAnswer, whatIf } from './what-if.js';

/** A draft and what it would do. Nothing of it is kept. */
export interface TriedChange {
  /** The revision it was tried against. */
  readonly revision: number;
  readonly draft: HouseSettings;
  readonly changes: readonly string[];
  readonly today: DraftOfToday;
  /** The case that was asked about, as things are and under the draft. */
  readonly given?: { readonly before: WhatIfAnswer; readonly after: WhatIfAnswer };
}

export interface RevisionView {
  readonly settings: HouseSettings;
  /** What it changed against the revision before, in words. */
  readonly changes: readonly string[];
}

/** Where limits of a house are looked at, tried and set: what the API and the pages ask. */
export interface LimitsDesk {
  rulebook(): Rulebook;
  catalogue(): Catalogue;
  current(siteId: string, houseId: string): HouseSettings;
  view(siteId: string, houseId: string, asked?: AskedScope): Promise<LimitsView>;
  /**
   * @param given a batch in the form of a decision case
   * @throws LeafturnError `invalid-input` with everything that is wrong with the change or the case
   */
  tryOut(siteId: string, houseId: string, change: SettingsChange, given?: unknown): Promise<TriedChange>;
  set(siteId: string, houseId: string, change: SettingsChange, by: ChangeBy): Promise<RevisionView>;
  goBack(
    siteId: string,
    houseId: string,
    by: Omit<ChangeBy, 'why'>,
    options?: { readonly to?: number; readonly why?: string },
  ): Promise<RevisionView>;
  /** Newest first. */
  revisions(
    siteId: string,
    houseId: string,
    query: { readonly beforeRevision?: number; readonly limit: number },
  ): Promise<readonly RevisionView[]>;
}

export interface LimitsDeskParts {
  readonly settings: HouseSettingsBook;
  readonly rounds: Pick<Rounds, 'tryLimits'>;
  rulebook(): Rulebook;
  catalogue(): Catalogue;
}

export function createLimitsDesk({ settings, rounds, rulebook, catalogue }: LimitsDeskParts): LimitsDesk {
  const changed = (before: HouseSettings, after: HouseSettings): RevisionView => ({
    settings: after,
    changes: settingsChanges(rulebook(), catalogue(), before, after),
  });

  return {
    rulebook,
    catalogue,
    current: settings.current,
    async view(siteId, houseId, asked) {
      const history = await settings.history(siteId, houseId);
      const now = settings.current(siteId, houseId);
      return limitsView(rulebook(), catalogue(), now, history, asked);
    },
    async tryOut(siteId, houseId, change, given) {
      const now = settings.current(siteId, houseId);
      const draft = settings.draft(siteId, houseId, change);
      const limits = limitsInForce(rulebook(), catalogue(), draft);
      const answers =
        given === undefined ? undefined : tryGiven(given, settings.inForce(siteId, houseId).limits, limits);
      return {
        revision: now.revision,
        draft,
        changes: settingsChanges(rulebook(), catalogue(), now, draft),
        today: draftOfToday(await rounds.tryLimits(siteId, houseId, limits)),
        ...(answers && { given: answers }),
      };
    },
    async set(siteId, houseId, change, by) {
      const before = settings.current(siteId, houseId);
      return changed(before, await settings.set(siteId, houseId, change, by));
    },
    async goBack(siteId, houseId, by, options) {
      const before = settings.current(siteId, houseId);
      return changed(before, await settings.goBack(siteId, houseId, by, options));
    },
    async revisions(siteId, houseId, { beforeRevision, limit }) {
      const rows = await settings.history(siteId, houseId, {
        limit: limit + 1,
        ...(beforeRevision !== undefined && { beforeRevision }),
      });
      return rows.slice(0, limit).map((after, index) => {
        const before = rows[index + 1] ?? { ...after, limits: [], alertLimits: {}, tasksOff: [] };
        return changed(before, after);
      });
    },
  };

  function tryGiven(given: unknown, before: HouseSettings['limits'], after: HouseSettings['limits']) {
    const under = (overrides: HouseSettings['limits']): WhatIfAnswer =>
      whatIf(given, { rulebook: rulebook(), catalogue: catalogue(), overrides, pathForm: pointerText });
    try {
      return { before: under(before), after: under(after) };
    } catch (error) {
      if (!(error instanceof LeafturnError)) throw error;
      const problems = error.problems.map((problem): Problem => ({ ...problem, path: `/given${problem.path}` }));
      throw new LeafturnError(error.code, error.message, problems, { cause: error });
    }
  }
}
