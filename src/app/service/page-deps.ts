import type { Keeper } from '../../advice/keeper.js';
import type { LimitsDesk } from '../../advice/limits-desk.js';
import type { Rounds } from '../../advice/rounds.js';
import type { Site } from '../../domain/site.js';
import { callerOf, mayAct } from '../../http/access.js';
import type { Storage } from '../../storage/repositories.js';
import type { PageDeps, PageStatus } from '../../web/deps.js';

export interface PageParts {
  sites(): readonly Site[];
  readonly rounds: Rounds;
  readonly keeper: Keeper;
  readonly storage: Storage;
  readonly limits: LimitsDesk;
  readonly catalogue: PageDeps['catalogue'];
  readonly alerts: PageDeps['alerts'];
  readonly houseNow: PageDeps['houseNow'];
  readonly notifications: PageDeps['notifications'];
  readonly outlook: PageDeps['outlook'];
  status(siteId: string): PageStatus;
  now(): number;
}

/** What the pages ask, answered from the running service. */
export function pageDeps(parts: PageParts): PageDeps {
  const { rounds, keeper, storage } = parts;
  return {
    sites: parts.sites,
    today: rounds.today,
    round: async (siteId, day, revision) =>
      revision === undefined ? rounds.latest(siteId, day) : (await storage.rounds.get(siteId, day, revision))?.round,
    latestDay: (siteId, upTo) => storage.rounds.latestDay(siteId, upTo),
    record: (siteId, events, how) => keeper.record(siteId, events, how),
    collection: (siteId) => keeper.collection(siteId),
    history: (siteId, batchId, limit) => storage.journal.list({ siteId, batchId, limit }),
    status: parts.status,
    limits: parts.limits,
    catalogue: parts.catalogue,
    alerts: parts.alerts,
    houseNow: parts.houseNow,
    notifications: parts.notifications,
    outlook: parts.outlook,
    reader: (request) => {
      const caller = callerOf(request);
      return { name: caller.name, mayWrite: mayAct(caller, 'staff'), isOwner: mayAct(caller, 'owner') };
    },
    idempotency: storage.idempotency,
    now: parts.now,
  };
}
