import type { FastifyBaseLogger } from 'fastify';
import type { Alerts } from '../advice/alerts/service.js';
import type { Keeper } from '../advice/keeper.js';
import type { LimitsDesk } from '../advice/limits-desk.js';
import type { Catalogue } from '../domain/catalogue.js';
import type { Site } from '../domain/site.js';
import type { LocalDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import type { Forecasts } from '../forecast/forecasts.js';
import type { Notifications } from '../notify/notifications.js';
import type { Storage } from '../storage/repositories.js';

/** What the API needs of the service. `main` supplies it; tests supply it with a real database. */
export interface ServiceDeps {
  sites(): readonly Site[];
  catalogue(): Catalogue;
  readonly storage: Storage;
  readonly keeper: Keeper;
  readonly rounds: RoundService;
  /** A decision on facts given, in the form of a decision case. Throws a LeafturnError on facts it cannot read. */
  whatIf(body: unknown): Promise<unknown>;
  /** Limits set for houses. */
  readonly houseLimits: LimitsDesk;
  readonly alerts: Pick<Alerts, 'open' | 'past' | 'get' | 'acknowledge' | 'snooze' | 'unsnooze' | 'onEvent'>;
  readonly forecasts: Pick<Forecasts, 'push' | 'latest' | 'status'>;
  readonly notifications: Pick<Notifications, 'channels' | 'test' | 'dead' | 'sendAgain'>;
  /** Makes the addresses of the calendar feeds; at least 32 random bytes kept over restarts. */
  readonly calendarKey: Uint8Array;
  brokerStatus(): BrokerState;
  /** Reasons of other parts why the service is not ready, e.g. disk space. */
  readiness?(): Promise<readonly ReadinessCheck[]>;
  now(): number;
  readonly access: AccessSettings;
  readonly logger: FastifyBaseLogger;
  readonly version: string;
  readonly limits?: Partial<HttpLimits>;
  /** Believe `X-Forwarded-*` of this proxy (address, range or list of them). */
  readonly trustProxy?: string | readonly string[];
}

export interface RoundService {
  /** The newest revision of a day. */
  latest(siteId: string, day: LocalDay): Promise<Round | undefined>;
  /** Makes a new revision now. */
  make(siteId: string, day: LocalDay): Promise<Round>;
  today(siteId: string): LocalDay;
  /** Called with every new revision once it is stored. Returns how to stop listening. */
  onRound(listener: (round: Round) => void): () => void;
}

export interface BrokerState {
  readonly kind: 'embedded' | 'external';
  readonly connected: boolean;
  /** When it came to be so, UTC ms. */
  readonly since: number | null;
  /** In words, when something is wrong. */
  readonly detail?: string;
}

export interface ReadinessCheck {
  readonly part: string;
  readonly ready: boolean;
  readonly reason?: string;
  /** UTC ms. */
  readonly since?: number | null;
}

export const ROLES = ['read', 'staff', 'owner'] as const;
/** read: look. staff: enter what was done and seen. owner: everything. */
export type Role = (typeof ROLES)[number];

/** A token as configured: never the token itself, only its SHA-256 in hex. */
export interface ConfiguredToken {
  readonly name: string;
  readonly role: Role;
  readonly tokenHash: string;
}

export interface AccessSettings {
  /** Tokens of the configuration file; those of the database come on top. */
  tokens(): readonly ConfiguredToken[];
  /** Signs the sessions of the pages; at least 32 random bytes kept over restarts. Left out: sessions end with the process. */
  readonly sessionKey?: Uint8Array;
}

export interface HttpLimits {
  readonly bodyBytes: number;
  readonly readsPerMinute: number;
  readonly writesPerMinute: number;
  readonly whatIfPerMinute: number;
  readonly triesPerMinute: number;
  readonly signInsPerMinute: number;
  readonly eventClients: number;
  readonly heartbeatMs: number;
}

export const DEFAULT_LIMITS: HttpLimits = {
  bodyBytes: 256 * 1024,
  readsPerMinute: 600,
  writesPerMinute: 120,
  whatIfPerMinute: 600,
  triesPerMinute: 30,
  signInsPerMinute: 10,
  eventClients: 50,
  heartbeatMs: 25_000,
};
