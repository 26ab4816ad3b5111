import type { Logger } from 'pino';
import { createOutlooks, type OutlooksParts } from '../../advice/house-outlook.js';
import { defined } from '../../domain/optional.js';
import type { HouseOutlook } from '../../domain/outlook.js';
import { findHouse } from '../../domain/site.js';
import { decimal, uncapital } from '../../domain/wording.js';
import type { DayEffect } from '../../models/house-thermal/what-if.js';

export interface HouseOutlooksParts extends OutlooksParts {
  now(): number;
  readonly logger: Pick<Logger, 'error'>;
  /** Aborted: nothing new is begun. */
  readonly signal: AbortSignal;
}

/**
 * What lists, alerts and pages ask of the outlooks. None of them waits: an outlook takes seconds to be made, so it is
 * made beside them, and who asked before goes without. One that cannot be made never blanks a list.
 */
export interface HouseOutlooks {
  outlook(siteId: string, houseId: string): Promise<HouseOutlook | undefined>;
  /** What a cloth would do to the air of a house, in words. */
  airUnder(siteId: string, houseId: string, clothId: string): Promise<string | undefined>;
  /** What a cloth and open vents would buy against heat, in words. @param clothId null: none */
  buys(
    siteId: string,
    houseId: string,
    clothId: string | null,
  ): Promise<Partial<Record<'hot-spell' | 'burn-risk', string>>>;
  /** Called when a house has another outlook than before. Returns how to stop listening. */
  onFresh(listener: (siteId: string) => void): () => void;
  /** Resolves when nothing is being made. */
  settled(): Promise<void>;
}

interface Kept {
  readonly outlook: HouseOutlook | undefined;
  /** By cloth. */
  readonly airUnder: ReadonlyMap<string, string>;
  /** What vents held open would buy; undefined: nothing tells. */
  readonly vents: string | undefined;
}

/** An outlook older than this says nothing of now. */
const TOO_OLD_MS = 6 * 3_600_000;

export function houseOutlooks(parts: HouseOutlooksParts): HouseOutlooks {
  const outlooks = createOutlooks(parts);
  const listeners = new Set<(siteId: string) => void>();
  const kept = new Map<string, Kept>();
  const making = new Set<string>();
  /** One house after the other, so that making them leaves the rest of the service its turns. */
  let last: Promise<void> = Promise.resolve();

  async function make(siteId: string, houseId: string): Promise<void> {
    const at = parts.now();
    const key = `${siteId}/${houseId}`;
    const outlook = await outlooks.outlook(siteId, houseId, at);
    const before = kept.get(key);
    if (before && before.outlook === outlook) return;
    const site = parts.sites().find(({ id }) => id === siteId);
    const airUnder = new Map<string, string>();
    for (const { id } of (outlook && site && findHouse(site, houseId)?.cloths) ?? []) {
      const effects = await outlooks.clothEffects(siteId, houseId, id, at);
      const words = effects && effectWords(effects);
      if (words !== undefined) airUnder.set(id, words);
    }
    const vents = ventWords(outlook ? await outlooks.ventEffects(siteId, houseId, at) : []);
    kept.set(key, { outlook, airUnder, vents });
    if (before || outlook) for (const listener of listeners) listener(siteId);
  }

  function refresh(siteId: string, houseId: string): void {
    const key = `${siteId}/${houseId}`;
    if (making.has(key) || parts.signal.aborted) return;
    making.add(key);
    last = last
      .then(() => (parts.signal.aborted ? undefined : make(siteId, houseId)))
      .catch((error) => {
        if (!parts.signal.aborted)
          parts.logger.error(
            { err: error, house: houseId },
            'the outlook of a house could not be made; it goes without',
          );
      })
      .finally(() => making.delete(key));
  }

  const keptOf = (siteId: string, houseId: string): Kept | undefined => {
    const found = kept.get(`${siteId}/${houseId}`);
    return found?.outlook && parts.now() - found.outlook.issuedAt <= TOO_OLD_MS ? found : undefined;
  };

  return {
    async outlook(siteId, houseId) {
      refresh(siteId, houseId);
      return keptOf(siteId, houseId)?.outlook;
    },
    airUnder: async (siteId, houseId, clothId) => keptOf(siteId, houseId)?.airUnder.get(clothId),
    async buys(siteId, houseId, clothId) {
      const site = parts.sites().find(({ id }) => id === siteId);
      const cloth = site && findHouse(site, houseId)?.cloths.find(({ id }) => id === clothId);
      const found = keptOf(siteId, houseId);
      const air = cloth && found?.airUnder.get(cloth.id);
      const under = air === undefined ? undefined : `${cloth?.name}: ${uncapital(air)}`;
      // Sun on a leaf is not cooled by a vent as a house is.
      return defined({ 'burn-risk': under, 'hot-spell': [under, found?.vents].filter(Boolean).join(' ') || undefined });
    },
    onFresh(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    settled: () => last,
  };
}

/** Less than this is not worth a word. */
const LEAST_C = 0.3;

const largest = <T extends DayEffect>(effects: readonly T[]): T | undefined =>
  effects.reduce<T | undefined>(
    (a, b) => (a && Math.abs(a.maxChangeC.p50) >= Math.abs(b.maxChangeC.p50) ? a : b),
    undefined,
  );

/** What vents held open all day would buy beside what they do by themselves. */
export function ventWords(effects: readonly DayEffect[]): string | undefined {
  const most = largest(effects);
  if (!most) return undefined;
  if (Math.abs(most.maxChangeC.p50) < LEAST_C)
    return 'Vents: by its readings the house has them open in its hottest hours already.';
  return `Vents wide open from the morning on: ${uncapital(effectWords([most]) as string)}`;
}

/** `At the hottest of the day about 3 °C less, 1 to 5.` */
export function effectWords(effects: readonly DayEffect[]): string | undefined {
  const most = largest(effects);
  if (!most) return undefined;
  const { p10, p50, p90 } = most.maxChangeC;
  if (Math.abs(p50) < LEAST_C) return 'It would hardly change the heat of the house.';
  const low = Math.min(Math.abs(p10), Math.abs(p90));
  const high = Math.max(Math.abs(p10), Math.abs(p90));
  const word = p50 < 0 ? 'less' : 'more';
  // A range through nought has no lower end that helps.
  const range = p10 < 0 && p90 > 0 ? `up to ${decimal(high, 1)}` : `${decimal(low, 1)} to ${decimal(high, 1)}`;
  return `At the hottest of the day about ${decimal(Math.abs(p50), 1)} °C ${word}, ${range}.`;
}
