import type { Alert } from './alerts.js';

/** What a message to people is about. A summary stands for several that were held or came at once. */
export const MESSAGE_KINDS = ['alert-new', 'alert-worse', 'alert-over', 'summary', 'test'] as const;
export type MessageKind = (typeof MESSAGE_KINDS)[number];

/** One message to people, the same on whatever way it goes. */
export interface Message {
  /** The same however often it is tried: a receiver that has it already can tell. Letters, digits and underscores. */
  readonly id: string;
  readonly siteId: string;
  readonly kind: MessageKind;
  readonly title: string;
  /** Plain text, lines parted by line feeds. */
  readonly text: string;
  /** Told in quiet hours too. */
  readonly dangerous: boolean;
  /** When it came about, UTC ms. */
  readonly at: number;
  /** Left out: not about one alert. */
  readonly alert?: Alert;
  /** Of a summary: what it stands for. */
  readonly parts?: readonly Message[];
}

export const DELIVERY_STATES = ['waiting', 'sent', 'dead'] as const;
/** dead: no longer tried by itself. */
export type DeliveryState = (typeof DELIVERY_STATES)[number];

/** Part of the day in which what is not dangerous waits; by the wall clock of the site, may go over midnight. */
export interface QuietHours {
  readonly from: string;
  readonly to: string;
}
