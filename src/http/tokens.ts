import { createHash, timingSafeEqual } from 'node:crypto';
import type { AccessStore } from '../storage/repositories.js';
import type { AccessSettings, ConfiguredToken } from './deps.js';

export const hashToken = (token: string): string => createHash('sha256').update(token, 'utf8').digest('hex');

/** Tokens made or revoked by the command line are seen after at most this long. */
const TOKENS_FRESH_MS = 5_000;

/** The tokens that count now, of the configuration and of the database. */
export class TokenList {
  readonly #settings: AccessSettings;
  readonly #store: AccessStore;
  readonly #now: () => number;
  #stored: readonly ConfiguredToken[] = [];
  #readAt = Number.NEGATIVE_INFINITY;
  #reading: Promise<void> | undefined;

  constructor(settings: AccessSettings, store: AccessStore, now: () => number) {
    this.#settings = settings;
    this.#store = store;
    this.#now = now;
  }

  async all(): Promise<readonly ConfiguredToken[]> {
    if (Math.abs(this.#now() - this.#readAt) > TOKENS_FRESH_MS) {
      this.#reading ??= this.#read().finally(() => {
        this.#reading = undefined;
      });
      await this.#reading;
    }
    return [...this.#settings.tokens(), ...this.#stored];
  }

  /** True once anybody needs a token. */
  async exist(): Promise<boolean> {
    return (await this.all()).length > 0;
  }

  /** The token this is, looking at every one of them so that the time taken tells nothing. */
  async find(token: string): Promise<ConfiguredToken | undefined> {
    const hash = Buffer.from(hashToken(token), 'hex');
    let found: ConfiguredToken | undefined;
    for (const known of await this.all()) {
      const knownHash = Buffer.from(known.tokenHash, 'hex');
      if (knownHash.length === hash.length && timingSafeEqual(knownHash, hash)) found = known;
    }
    return found;
  }

  async #read(): Promise<void> {
    this.#stored = (await this.#store.tokens()).filter((token) => token.revokedAt === null);
    this.#readAt = this.#now();
  }
}
