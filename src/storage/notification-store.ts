import type { DeliveryState, Message } from '../domain/messages.js';

/** A message for one recipient over one channel. */
export interface NewDelivery {
  readonly channel: string;
  /** Empty where the channel has but one. */
  readonly recipient: string;
  readonly message: Message;
  readonly at: number;
  readonly held?: boolean;
}
export interface Delivery {
  readonly id: number;
  readonly channel: string;
  readonly recipient: string;
  readonly message: Message;
  readonly state: DeliveryState;
  /** Waits, or waited, for quiet hours to end. */
  readonly held: boolean;
  readonly tries: number;
  /** Not before this instant. */
  readonly nextAt: number;
  readonly createdAt: number;
  /** When it was sent or given up. */
  readonly endedAt: number | null;
  /** The last failure in words. */
  readonly trouble: string | null;
  readonly troubleAt: number | null;
}
export interface ChannelState {
  readonly lastSentAt: number | null;
  readonly lastTrouble: string | null;
  readonly lastTroubleAt: number | null;
  readonly waiting: number;
  readonly dead: number;
}
export interface NotificationStore {
  /** Id of the last event of an alert that was taken in. */
  toldUntil(): Promise<number>;
  /** All of it in one transaction, and only if the events were taken in until `from`; false, and nothing is kept, if not. */
  takeIn(
    deliveries: readonly NewDelivery[],
    events: { readonly from: number; readonly until: number },
  ): Promise<boolean>;
  /** Waiting ones whose time has come: danger first, then those that were tried least. `except`: not of these channels. */
  due(at: number, limit: number, which?: { readonly except: readonly string[] }): Promise<Delivery[]>;
  /** When the next one is due; undefined: none waits. */
  nextAt(): Promise<number | undefined>;
  hold(id: number, until: number): Promise<void>;
  /** One in place of several, in one transaction. */
  join(ids: readonly number[], summary: NewDelivery): Promise<Delivery>;
  sent(delivery: Pick<Delivery, 'id' | 'channel'>, at: number): Promise<void>;
  /** `nextAt` null: given up. */
  failed(
    delivery: Pick<Delivery, 'id' | 'channel'>,
    failure: { readonly at: number; readonly trouble: string; readonly nextAt: number | null },
  ): Promise<void>;
  /** How a try went that is not kept as a delivery. */
  note(
    channel: string,
    what: { readonly sentAt: number } | { readonly trouble: string; readonly at: number },
  ): Promise<void>;
  /** Those given up, newest first; `beforeId` continues. */
  dead(query: {
    readonly siteId?: string;
    readonly channel?: string;
    readonly beforeId?: number;
    readonly limit: number;
  }): Promise<Delivery[]>;
  get(id: number): Promise<Delivery | undefined>;
  /** To be tried again from the start, as the same message; false: it was not given up. */
  revive(id: number, at: number): Promise<boolean>;
  /** By name, of those that were ever used. */
  channels(): Promise<ReadonlyMap<string, ChannelState>>;
}
