import type { Placement, Quantity, RollUp } from '../../domain/quantities.js';
import { quantityInfo } from '../../domain/quantities.js';
import type { LocalDay } from '../../domain/time.js';
import type { AlertLimits } from '../alert-limits.js';
import type { Finding } from './finding.js';

/** One channel of a sensor, as far as its roll-ups tell. */
export interface ChannelFacts {
  readonly quantity: Quantity;
  readonly lastAt: number | null;
  readonly lastReceivedAt: number | null;
  /** Days with readings, oldest first, the last may be today: some two weeks. */
  readonly days: readonly (RollUp & { readonly day: LocalDay })[];
  /** Hours with readings, oldest first, the last may be this one: at least the last three days. */
  readonly hours: readonly RollUp[];
  /** Readings out of range in the last hours, and the sentence that tells of the last one. */
  readonly refused: { readonly count: number; readonly lastAt: number; readonly lastSentence: string } | null;
}

export interface SensorFacts {
  readonly sensorId: string;
  readonly houseId: string | null;
  readonly placement: Placement;
  readonly channels: readonly ChannelFacts[];
}

/** Everything the alerts about the sensors of a site may see. */
export interface SiteSensors {
  readonly at: number;
  readonly zone: string;
  readonly latitude: number;
  readonly longitude: number;
  readonly sensors: readonly SensorFacts[];
  readonly houseName: (houseId: string | null) => string;
  readonly limitsOf: (houseId: string | null) => AlertLimits;
}

/** A finding about a sensor, with the channels that are not to be believed. */
export type SensorFinding = Finding & { readonly doubted: readonly Quantity[] };

/** A sensor that was not heard for so long was taken away. */
export const FORGOTTEN_AFTER_MS = 30 * 86_400_000;
/** What is refused is looked at over so many hours. */
export const REFUSED_HOURS = 6;

const MINUTE_MS = 60_000;

/** When a channel was last heard, readings that were refused included: it speaks, if nonsense. */
export const heardAt = ({ lastReceivedAt, refused }: ChannelFacts): number | null =>
  refused === null ? lastReceivedAt : Math.max(refused.lastAt, lastReceivedAt ?? 0);

/** How often it usually reports: from the middle one of the last days. */
function usualIntervalMs({ days }: ChannelFacts): number {
  const counts = days
    .slice(-8, -1)
    .map(({ count }) => count)
    .sort((a, b) => a - b);
  const usual = counts[Math.floor(counts.length / 2)];
  return usual === undefined || usual === 0 ? 0 : 86_400_000 / usual;
}

/** From when on a channel counts as silent: never sooner than its value may stand for, or than it misses four reports. */
export const silentAfterMs = (channel: ChannelFacts, { sensorSilentMinutes }: AlertLimits): number =>
  Math.max(
    sensorSilentMinutes * MINUTE_MS,
    2 * quantityInfo(channel.quantity).holdMinutes * MINUTE_MS,
    4 * usualIntervalMs(channel),
  );

export function isSilent(channel: ChannelFacts, limits: AlertLimits, at: number): boolean {
  const heard = heardAt(channel);
  return heard === null || at - heard > silentAfterMs(channel, limits);
}

export const isForgotten = (channel: ChannelFacts, at: number): boolean => {
  const heard = heardAt(channel);
  return heard === null || at - heard > FORGOTTEN_AFTER_MS;
};
