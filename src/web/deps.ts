import type { FastifyRequest } from 'fastify';
import type { Alerts } from '../advice/alerts/service.js';
import type { HouseNow } from '../advice/house-now.js';
import type { LimitsDesk } from '../advice/limits-desk.js';
import type { Catalogue } from '../domain/catalogue.js';
import type { Collection } from '../domain/collection.js';
import type { JournalEntry, JournalEventInput } from '../domain/journal.js';
import type { HouseOutlook } from '../domain/outlook.js';
import type { Site } from '../domain/site.js';
import type { LocalDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import type { Notifications } from '../notify/notifications.js';
import type { IdempotencyStore } from '../storage/repositories.js';

/** How the service stands with the outside, as far as a grower needs to know. */
export interface PageStatus {
  readonly broker: {
    readonly connected: boolean;
    /** When it came or went, UTC ms; null: never connected since the start. */
    readonly since: number | null;
  };
  /** Newest reading of any sensor of the site, UTC ms. */
  readonly lastReadingAt: number | null;
  /** Sentences about what is wrong and still stands, e.g. a changed configuration that was not taken over. */
  readonly warnings?: readonly string[];
}

/** Who sits in front of the page. */
export interface Reader {
  readonly name: string;
  readonly mayWrite: boolean;
  readonly isOwner: boolean;
}

/** What the pages ask of the service. `main` supplies it. */
export interface PageDeps {
  sites(): readonly Site[];
  today(siteId: string): LocalDay;
  /** Newest revision of that morning, or the one asked for. */
  round(siteId: string, day: LocalDay, revision?: number): Promise<Round | undefined>;
  /** Newest day at or before that has a round: a list that failed today must not blank the one of yesterday. */
  latestDay(siteId: string, upTo: LocalDay): Promise<LocalDay | undefined>;
  record(
    siteId: string,
    events: readonly JournalEventInput[],
    how: {
      readonly by: string;
      readonly happenedAt?: number;
      readonly note?: string;
      /** Of a form that may arrive again. */
      readonly requestKey?: string;
    },
  ): Promise<readonly JournalEntry[]>;
  collection(siteId: string): Promise<Collection>;
  /** Entries that name this batch, newest first. */
  history(siteId: string, batchId: string, limit: number): Promise<readonly JournalEntry[]>;
  status(siteId: string): PageStatus;
  readonly alerts: Pick<Alerts, 'open' | 'past' | 'get' | 'acknowledge' | 'snooze' | 'unsnooze'>;
  readonly notifications: Pick<Notifications, 'channels' | 'test' | 'dead' | 'sendAgain'>;
  /** A house now and in the last week. */
  houseNow(site: Site, houseId: string): Promise<HouseNow>;
  /** What a house is expected to be like; undefined: nobody can tell. */
  outlook(siteId: string, houseId: string): Promise<HouseOutlook | undefined>;
  catalogue(): Catalogue;
  /** Limits set for houses. */
  readonly limits: LimitsDesk;
  reader(request: FastifyRequest): Reader;
  /** Keys of forms already taken in, so that a double tap is one entry. */
  readonly idempotency: IdempotencyStore;
  now(): number;
}
