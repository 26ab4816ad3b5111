import type { AlertEvent, AlertEventKind } from '../domain/alerts.js';
import type { IssuedForecast } from '../domain/forecast.js';
import type { HouseSettings } from '../domain/house-settings.js';
import type { JournalEntry, JournalEvent, JournalKind } from '../domain/journal.js';
import type { Placement, Quantity, RollUp, TimeSource } from '../domain/quantities.js';
import type { LocalDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import type { KeptAlert } from '../models/alert-view.js';
import type { NotificationStore } from './notification-store.js';

export type { ChannelState, Delivery, NewDelivery, NotificationStore } from './notification-store.js';

/**
 * What the rest of the service may ask of the database. Every method returns a promise, so that the same calls serve a
 * file and a server. Instants are UTC milliseconds.
 */
export interface Storage {
  readonly readings: ReadingStore;
  readonly refusals: RefusalStore;
  readonly journal: JournalStore;
  readonly rounds: RoundStore;
  readonly settings: SettingsStore;
  readonly forecasts: ForecastStore;
  readonly alerts: AlertStore;
  readonly notifications: NotificationStore;
  readonly idempotency: IdempotencyStore;
  readonly access: AccessStore;
  readonly upkeep: UpkeepStore;
  close(): Promise<void>;
}

/** Who reports what: one series per sensor and quantity. */
export interface SeriesKey {
  readonly siteId: string;
  readonly sensorId: string;
  readonly quantity: Quantity;
}
export interface SeriesPlace {
  readonly houseId: string | null;
  readonly benchId: string | null;
  readonly placement: Placement;
}

/** A reading that passed the checks, ready to be kept. */
export interface CheckedReading extends SeriesKey, SeriesPlace {
  readonly at: number;
  readonly value: number;
  /** Bit mask of READING_FLAGS. */
  readonly flagMask: number;
  readonly timeSource: TimeSource;
  readonly receivedAt: number;
}

/** Something that was not kept as a reading, with the reason. */
export interface Refusal {
  readonly at: number;
  readonly topic: string;
  /** Null where the message could not be given to a sensor or a site. */
  readonly siteId: string | null;
  readonly sensorId: string | null;
  readonly quantity: Quantity | null;
  /** Stable word, e.g. `out-of-range`. */
  readonly reason: string;
  /** In a grower's words: what was expected, what came. */
  readonly sentence: string;
  /** The first bytes of what came, made printable. */
  readonly excerpt: string;
}

/** Everything of one commit: all of it is on disk when the promise resolves, or none of it. */
export interface IngestBatch {
  readonly readings: readonly CheckedReading[];
  readonly refusals: readonly Refusal[];
  /** Messages, readings or not, per sensor or topic, for the health counts. */
  readonly messages: number;
}
export interface CommitResult {
  readonly stored: number;
  /** Same sensor, quantity and time as one already kept. */
  readonly duplicates: number;
  readonly refused: number;
}

export interface IngestTotals extends CommitResult {
  readonly messages: number;
}

export interface SeriesInfo extends SeriesKey, SeriesPlace {
  readonly seriesId: number;
  readonly lastAt: number | null;
  readonly lastValue: number | null;
  readonly lastReceivedAt: number | null;
  readonly stored: number;
  readonly duplicates: number;
  readonly refused: number;
}

export interface SeriesFilter {
  readonly siteId: string;
  readonly houseId?: string | null;
  readonly benchId?: string | null;
  readonly placement?: Placement;
  readonly quantities?: readonly Quantity[];
}
export interface SeriesRollUps {
  readonly series: SeriesInfo;
  readonly rollUps: readonly RollUp[];
}
export interface DailyRollUp extends RollUp {
  readonly day: LocalDay;
}
export interface SeriesDays {
  readonly series: SeriesInfo;
  readonly days: readonly DailyRollUp[];
}
export interface RawPoint {
  readonly at: number;
  readonly value: number;
  readonly flagMask: number;
}

export interface ReadingStore {
  commit(batch: IngestBatch): Promise<CommitResult>;
  series(filter: SeriesFilter): Promise<SeriesInfo[]>;
  /** Hours that start in [fromMs, toMs). */
  hourly(filter: SeriesFilter, fromMs: number, toMs: number): Promise<SeriesRollUps[]>;
  /** Local days from `from` to `to`, both included. */
  daily(filter: SeriesFilter, from: LocalDay, to: LocalDay): Promise<SeriesDays[]>;
  /** Raw points of one series by rising time, strictly after `afterMs`, before `toMs`, at most `limit`. */
  raw(seriesId: number, afterMs: number, toMs: number, limit: number): Promise<RawPoint[]>;
  /** Counts since the database was made, over all sites: what came in is what was stored, was there already or was refused. */
  totals(): Promise<IngestTotals>;
}

export interface RefusalCount {
  readonly siteId: string | null;
  readonly sensorId: string | null;
  readonly reason: string;
  readonly count: number;
  readonly lastAt: number;
  readonly lastSentence: string;
}
export interface SeriesRefusals extends Omit<RefusalCount, 'siteId'> {
  readonly quantity: Quantity | null;
}
export interface RefusalStore {
  /** Newest first; `beforeId` continues. */
  list(query: {
    siteId?: string;
    sensorId?: string;
    beforeId?: number;
    limit: number;
  }): Promise<(Refusal & { id: number })[]>;
  /** Counts outlive the bounded store of messages. */
  counts(siteId?: string): Promise<RefusalCount[]>;
  /** Of one site since an instant, by sensor, quantity and reason, as far as the messages are still kept. */
  since(siteId: string, fromMs: number): Promise<SeriesRefusals[]>;
}

export interface NewJournalEntry {
  readonly siteId: string;
  readonly happenedAt: number;
  readonly enteredAt: number;
  readonly by: string;
  readonly event: JournalEvent;
  readonly note?: string;
}
export interface JournalQuery {
  readonly siteId: string;
  readonly kinds?: readonly JournalKind[];
  /** Entries that name this batch. */
  readonly batchId?: string;
  readonly happenedFrom?: number;
  readonly happenedTo?: number;
  /** Newest first: entries with an id below. */
  readonly beforeId?: number;
  /** Oldest first: entries with an id above. */
  readonly afterId?: number;
  readonly limit: number;
}
export interface JournalStore {
  /**
   * All of them in one transaction, in order. With a request key that was used before for the site, nothing is added
   * and the entries of the first time are given again: a write tried again after a crash is not entered twice.
   */
  append(entries: readonly NewJournalEntry[], options?: { requestKey?: string }): Promise<JournalEntry[]>;
  /** What was entered with a request key; empty: nothing yet. */
  enteredWith(siteId: string, requestKey: string): Promise<JournalEntry[]>;
  get(siteId: string, id: number): Promise<JournalEntry | undefined>;
  list(query: JournalQuery): Promise<JournalEntry[]>;
  /** Every entry of a site by rising id, entered at or before `enteredUntil`, above `afterId`: what a fold needs. */
  all(siteId: string, options?: { enteredUntil?: number; afterId?: number }): Promise<JournalEntry[]>;
}

/** What a morning was decided on, kept so that it can be decided again. */
export interface StoredRound {
  readonly round: Round;
  /** batchId → facts as JSON. */
  readonly facts: Readonly<Record<string, unknown>>;
}
export interface RoundStore {
  /** Gives the revision number: one above the last of that site and day. */
  save(round: Omit<Round, 'revision'>, facts: StoredRound['facts']): Promise<Round>;
  latest(siteId: string, day: LocalDay): Promise<Round | undefined>;
  get(siteId: string, day: LocalDay, revision: number): Promise<StoredRound | undefined>;
  /** The facts of a revision without its round. */
  facts(siteId: string, day: LocalDay, revision: number): Promise<StoredRound['facts'] | undefined>;
  /** Newest day at or before. */
  latestDay(siteId: string, upTo: LocalDay): Promise<LocalDay | undefined>;
  days(
    siteId: string,
    query: { before?: LocalDay; limit: number },
  ): Promise<{ day: LocalDay; revision: number; madeAt: number }[]>;
}

/** Where the asking of one source stands; kept, so that a restart does not ask again before its time. */
export interface PullState {
  /** What was asked and how; another address or contact begins anew. */
  readonly askedAs: string;
  /** Not to be asked before this instant. */
  readonly nextAt: number;
  /** When the last good answer came, a "nothing new" too. */
  readonly answeredAt: number | null;
  /** Sent back as they came. */
  readonly lastModified: string | null;
  readonly etag: string | null;
  /** Failures one after the other. */
  readonly failures: number;
  /** The last failure in words; null after a good answer. */
  readonly trouble: string | null;
  readonly troubleAt: number | null;
}

export interface ForecastStore {
  /** The same issue of a source is kept once. `differs`: that issue is there with other hours, and stays as it is. */
  save(forecast: IssuedForecast): Promise<'kept' | 'known' | 'differs'>;
  /** The newest issue of those that had arrived by `at`: what was known then. */
  latestBefore(
    siteId: string,
    at: number,
    sources?: { readonly only?: readonly string[]; readonly except?: readonly string[] },
  ): Promise<IssuedForecast | undefined>;
  /** Issued in [from, to), by rising issue; with `spacingMs` those of a source that follow sooner are left out. */
  range(
    siteId: string,
    query: { readonly from: number; readonly to: number; readonly source?: string; readonly spacingMs?: number },
  ): Promise<IssuedForecast[]>;
  pull(siteId: string, source: string): Promise<PullState | undefined>;
  /** Names of the services that were ever asked for the site. */
  pulledNames(siteId: string): Promise<string[]>;
  setPull(siteId: string, source: string, state: PullState): Promise<void>;
}

export interface SettingsStore {
  /** False, and nothing is kept, unless the revision is one above the newest of the house. */
  append(settings: HouseSettings): Promise<boolean>;
  /** The newest revision of each house that has any. */
  newest(): Promise<HouseSettings[]>;
  get(siteId: string, houseId: string, revision: number): Promise<HouseSettings | undefined>;
  /** What was in force at an instant; undefined: nothing had been set. */
  at(siteId: string, houseId: string, instant: number): Promise<HouseSettings | undefined>;
  /** Newest first. */
  history(
    siteId: string,
    houseId: string,
    query?: { beforeRevision?: number; limit?: number },
  ): Promise<HouseSettings[]>;
}

export interface StoredAlert extends KeptAlert {
  /** Rises with every write. */
  readonly version: number;
}
export interface NewAlertEvent {
  readonly at: number;
  readonly what: AlertEventKind;
  readonly by: string | null;
}
/** A change of one alert, with what happened. */
export type AlertWrite = { readonly events: readonly NewAlertEvent[] } & (
  | { readonly alert: Omit<KeptAlert, 'id'> }
  /** `version`: the one the change was made on. */
  | { readonly alert: KeptAlert; readonly version: number }
  /** It was pending and never came to anything. */
  | { readonly dropped: Pick<StoredAlert, 'id' | 'version'> }
);
export interface AlertStore {
  /** All that are not over, those that are pending too; of one site, by id. */
  open(siteId: string): Promise<StoredAlert[]>;
  /** Those that are over, newest first; `before` continues. */
  past(
    siteId: string,
    query: { readonly before?: { readonly resolvedAt: number; readonly id: number }; readonly limit: number },
  ): Promise<StoredAlert[]>;
  get(id: number): Promise<StoredAlert | undefined>;
  /** Those that are over and of which it is not told yet how they turned out. */
  withoutOutcome(siteId: string): Promise<StoredAlert[]>;
  /**
   * All of it in one transaction, events in their order. Undefined, and nothing is kept, when one of the alerts was
   * changed in between, or is open already: read anew and try again. So the same write never counts twice.
   */
  save(writes: readonly AlertWrite[]): Promise<AlertEvent[] | undefined>;
  /** What happened, oldest first, after an id. */
  events(query: { readonly siteId?: string; readonly afterId: number; readonly limit: number }): Promise<AlertEvent[]>;
  eventsOf(alertId: number): Promise<AlertEvent[]>;
  /** 0: nothing has happened yet. */
  lastEventId(): Promise<number>;
}

export interface StoredAnswer {
  readonly requestHash: string;
  readonly status: number;
  readonly body: string;
}
export interface IdempotencyStore {
  /** `new`: go on; `running`: the same key is being worked on; an answer: give it again. */
  begin(key: string, requestHash: string, at: number): Promise<'new' | 'running' | StoredAnswer>;
  finish(key: string, status: number, body: string): Promise<void>;
  /** Forget a key whose work failed, so that it can be tried again. */
  abandon(key: string): Promise<void>;
}

export interface StoredToken {
  readonly id: number;
  readonly name: string;
  readonly role: 'read' | 'staff' | 'owner';
  readonly tokenHash: string;
  readonly createdAt: number;
  readonly revokedAt: number | null;
}
export interface AccessStore {
  tokens(): Promise<StoredToken[]>;
  add(token: Omit<StoredToken, 'id' | 'revokedAt'>): Promise<StoredToken>;
  revoke(id: number, at: number): Promise<boolean>;
}

export interface Retention {
  readonly readingsDays: number;
  readonly hourlyDays: number;
  readonly refusalsKept: number;
  readonly idempotencyHours: number;
  /** Revisions of a round older than this many days keep only the last of the day. */
  readonly roundRevisionsDays: number;
  readonly forecastsDays: number;
}
export interface UpkeepStore {
  /** Removes at most one small step of what is past its time; true when more is left. */
  pruneStep(retention: Retention, at: number): Promise<boolean>;
  /** Writes a sound copy to `path` from the writing connection. */
  backup(path: string): Promise<void>;
  check(): Promise<{ ok: boolean; detail: string }>;
  sizes(): Promise<{ databaseBytes: number; walBytes: number }>;
}
