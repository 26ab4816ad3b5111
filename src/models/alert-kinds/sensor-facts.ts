import type { Placement, Quantity, RollUp } from '../../domain/quantities.js';
import { quantityInfo } from '../../domain/quantities.js';
import type { LocalDay } from '../../domain/time.js';
import { inSeries } from '../../domain/wording.js';
import { LIGHT_QUANTITIES } from '../../science/light.js';
import { median } from '../../science/statistics/quantiles.js';
import { MS_PER_HOUR } from '../../science/units.js';
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

/** Quantities that are nought in the dark. */
export const LIGHT: readonly Quantity[] = LIGHT_QUANTITIES;

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
  const counts = days.slice(-8, -1).map(({ count }) => count);
  const usual = counts.length === 0 ? 0 : median(counts);
  return usual === 0 ? 0 : (24 * MS_PER_HOUR) / usual;
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

/** A kind of doubt about single channels. */
export interface ChannelDoubt {
  readonly kind: 'sensor-stuck' | 'sensor-implausible';
  /** Why a channel that is heard is not to be believed, as a sentence; undefined: nothing speaks against it. */
  readonly why: (sensor: SensorFacts, channel: ChannelFacts, limits: AlertLimits) => string | undefined;
  /** What is said of the channels: `stuck`. */
  readonly word: string;
  readonly whatToDo: string;
  readonly caution?: string;
}

/** Sensor by sensor what is doubted; one alert tells of all channels of a sensor. */
export function doubtedSensors(
  site: SiteSensors,
  { kind, why, word, whatToDo, caution }: ChannelDoubt,
): SensorFinding[] {
  return site.sensors.map((sensor): SensorFinding => {
    const subject = { kind, houseId: sensor.houseId, subject: sensor.sensorId } as const;
    const limits = site.limitsOf(sensor.houseId);
    if (sensor.channels.every((channel) => isForgotten(channel, site.at)))
      return { ...subject, known: 'gone', doubted: [] };
    const heard = sensor.channels.filter((channel) => !isSilent(channel, limits, site.at));
    // A silent sensor says neither that it is well nor that it is not.
    if (heard.length === 0) return { ...subject, known: false, doubted: [] };
    const doubts = heard.flatMap((channel) => {
      const sentence = why(sensor, channel, limits);
      return sentence === undefined ? [] : [{ quantity: channel.quantity, sentence }];
    });
    if (doubts.length === 0) return { ...subject, known: true, level: 0, clear: true, doubted: [] };
    const names = inSeries(doubts.map(({ quantity }) => quantityInfo(quantity).label));
    const where = sensor.houseId === null ? '' : ` in ${site.houseName(sensor.houseId)}`;
    return {
      ...subject,
      known: true,
      level: 1,
      doubted: doubts.map(({ quantity }) => quantity),
      detail: {
        batchIds: [],
        text: {
          title: `Sensor ${sensor.sensorId}${where}: ${names} ${word}`,
          reason: doubts.map(({ sentence }) => sentence).join(' '),
          whatToDo,
          ...(caution !== undefined && { caution }),
        },
      },
    };
  });
}
