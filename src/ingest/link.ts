import type { IncomingMessage } from './intake.js';
import type { Pipeline } from './pipeline.js';

/** What the rest of the service sees of a broker, its own or another. */
export interface PublishOptions {
  /** Kept by the broker for whoever subscribes later; the newest of each topic is what counts. */
  readonly retain?: boolean;
  readonly qos?: 0 | 1;
}
export interface LinkStatus {
  readonly kind: 'embedded' | 'external';
  /** connected: messages can come; gone: the broker is away and is tried again. */
  readonly state: 'connecting' | 'connected' | 'gone' | 'closed';
  /** Since when, UTC ms. */
  readonly since: number;
  /** Where, without credentials. */
  readonly address: string;
  /** Why it is gone, in words. */
  readonly trouble: string | null;
  readonly reconnects: number;
  /** How often the broker had forgotten us, so that messages may be missing. */
  readonly sessionsLost: number;
  readonly clients: number;
}
export interface BrokerLink {
  /** Resolves when the broker has the message; rejects with `broker-failed` when it cannot be had. */
  publish(topic: string, payload: string | Buffer, options?: PublishOptions): Promise<void>;
  /** Messages of these topics go to `handler` and not to the pipeline. They are acknowledged when it is done. */
  listen(pattern: string, handler: (message: IncomingMessage) => void | Promise<void>): Promise<void>;
  status(): LinkStatus;
  close(): Promise<void>;
}

export interface LinkOptions {
  readonly pipeline: Pipeline;
  /** UTC ms. */
  readonly now: () => number;
  readonly onStatus?: (status: LinkStatus) => void;
}
