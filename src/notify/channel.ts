import type { Message } from '../domain/messages.js';

/** What came of one try. */
export type Outcome =
  | { readonly kind: 'sent' }
  /** May go another time. */
  | { readonly kind: 'failed'; readonly trouble: string; readonly notBeforeMs?: number }
  /** Will not go however often it is tried. */
  | { readonly kind: 'refused'; readonly trouble: string };

/** A way to people or to other programs. It never throws but when it is stopped. */
export interface Channel {
  readonly name: string;
  readonly kind: 'webhook' | 'mail' | 'mqtt';
  /** Where to, without credentials. */
  readonly address: string;
  /** Each gets a delivery of its own, so that one that is refused does not cost the others. Never empty. */
  readonly recipients: readonly string[];
  /** Left out: for all. */
  readonly sites?: readonly string[];
  takes(message: Message): boolean;
  /** @param at instant of this try, UTC ms */
  send(message: Message, recipient: string, at: number, signal: AbortSignal): Promise<Outcome>;
}

/** Which messages a channel takes. Left out: all. */
export interface Wanted {
  readonly kinds?: readonly string[];
  readonly sites?: readonly string[];
}

export const isFor = ({ sites }: Pick<Wanted, 'sites'>, siteId: string): boolean =>
  sites === undefined || sites.includes(siteId);

export const wants = (wanted: Wanted, { siteId, alert }: Message): boolean =>
  isFor(wanted, siteId) && (wanted.kinds === undefined || alert === undefined || wanted.kinds.includes(alert.kind));
