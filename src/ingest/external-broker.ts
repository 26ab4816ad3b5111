import { connect, type IClientOptions, type IPublishPacket, type MqttClient } from 'mqtt';
import { LeafturnError } from '../domain/errors.js';
import { matchTopic } from '../domain/topics.js';
import type { IncomingMessage } from './intake.js';
import type { BrokerLink, LinkOptions, LinkStatus, PublishOptions } from './link.js';
import type { MessageSource } from './pipeline.js';

/** A broker of the grower's own, such as Mosquitto, reached over MQTT 5 with a session that outlives the service. */
export interface ExternalBrokerOptions extends LinkOptions {
  readonly url: string;
  /** The broker keeps messages for this name: two services with one name throw each other out. */
  readonly clientId: string;
  readonly username?: string | undefined;
  readonly password?: string | undefined;
  /** Certificate authority in PEM form, when the broker's is not a public one. */
  readonly ca?: string | Buffer | undefined;
  readonly keepaliveSeconds?: number;
  readonly sessionExpirySeconds?: number;
  /** Topic patterns to subscribe to. */
  readonly topics: readonly string[];
  /** True when this service has read from this broker before, so that a forgotten session may mean missing messages. */
  readonly expectSession?: boolean;
  /** The broker had forgotten us: messages since `goneSince` may be missing. */
  readonly onSessionLost?: (lost: { at: number; goneSince: number | null }) => void;
  readonly firstReconnectMs?: number;
  readonly longestReconnectMs?: number;
}

/**
 * How many messages the broker may send ahead of our acknowledgements: two commits' worth, so that the next batch
 * comes in while one is written.
 */
export const RECEIVE_MAXIMUM = 2000;
/** Larger than what is read, so that an oversized message arrives and can be refused with a reason. */
const MAXIMUM_PACKET_BYTES = 2 * 1024 * 1024;
const MAX_RETAINED_WAITING = 1000;
const SESSION_TAKEN_OVER = 142;

/** Handed to MQTT.js in place of its acknowledgement: the packet is done with, but not acknowledged yet. */
const ACKNOWLEDGED_LATER = new Error('acknowledged after the commit');

interface Ticket {
  readonly epoch: number;
  /** Undefined for QoS 0, which has no acknowledgement. */
  readonly messageId: number | undefined;
}
interface Listener {
  readonly pattern: string;
  readonly levels: readonly string[];
  readonly handler: (message: IncomingMessage) => void | Promise<void>;
}
interface Waiting {
  readonly payload: string | Buffer;
  readonly options: PublishOptions;
  readonly done: ((error?: Error) => void)[];
}

export class ExternalBroker implements BrokerLink, MessageSource<Ticket> {
  readonly #options: ExternalBrokerOptions;
  readonly #client: MqttClient;
  readonly #listeners: Listener[] = [];
  /** Newest retained message of each topic that could not be sent yet. */
  readonly #waiting = new Map<string, Waiting>();
  #topics: Set<string>;
  /** Counts connections: acknowledgements of an earlier one mean nothing to the broker. */
  #epoch = 0;
  #state: LinkStatus['state'] = 'connecting';
  #since: number;
  #goneSince: number | null = null;
  #trouble: string | null = null;
  #reconnects = 0;
  #sessionsLost = 0;
  #everConnected: boolean;
  #pauseMs: number;

  constructor(options: ExternalBrokerOptions) {
    this.#options = options;
    this.#topics = new Set(options.topics);
    this.#since = options.now();
    this.#everConnected = options.expectSession ?? false;
    this.#pauseMs = options.firstReconnectMs ?? 500;
    this.#client = connect(options.url, this.#clientOptions());
    this.#listen();
    // Handlers first, connection second: the broker sends what it kept as soon as it has answered.
    this.#client.connect();
  }

  #clientOptions(): IClientOptions {
    const { username, password, ca } = this.#options;
    return {
      protocolVersion: 5,
      clientId: this.#options.clientId,
      clean: false,
      keepalive: this.#options.keepaliveSeconds ?? 30,
      connectTimeout: 10_000,
      reconnectPeriod: this.#pauseMs,
      reconnectOnConnackError: true,
      manualConnect: true,
      resubscribe: false,
      // The library's own log costs a call per packet even when nobody reads it.
      log: () => {},
      properties: {
        sessionExpiryInterval: this.#options.sessionExpirySeconds ?? 7 * 86_400,
        receiveMaximum: RECEIVE_MAXIMUM,
        maximumPacketSize: MAXIMUM_PACKET_BYTES,
      },
      ...(username === undefined ? {} : { username }),
      ...(password === undefined ? {} : { password }),
      ...(ca === undefined ? {} : { ca }),
    };
  }

  #listen(): void {
    const client = this.#client;
    client.handleMessage = (packet, done) => this.#take(packet, done);
    client.on('connect', (packet) => {
      this.#epoch++;
      if (packet.sessionPresent === false && this.#everConnected) {
        this.#sessionsLost++;
        this.#options.onSessionLost?.({ at: this.#options.now(), goneSince: this.#goneSince });
      }
      if (this.#state === 'gone') this.#reconnects++;
      this.#everConnected = true;
      this.#goneSince = null;
      this.#pauseMs = this.#options.firstReconnectMs ?? 500;
      client.options.reconnectPeriod = this.#pauseMs;
      void this.#greet(this.#epoch);
    });
    client.on('close', () => {
      this.#epoch++;
      if (this.#state === 'closed') return;
      this.#goneSince ??= this.#options.now();
      this.#enter('gone', this.#trouble ?? 'The connection was closed.');
      // The pause now running was set before; this one is for the next try. Jitter keeps services that lost the same
      // broker from coming back in step.
      this.#pauseMs = Math.min(this.#pauseMs * 2, this.#options.longestReconnectMs ?? 30_000);
      client.options.reconnectPeriod = Math.round(this.#pauseMs * (0.75 + Math.random() / 2));
    });
    client.on('error', (error) => {
      this.#trouble = brokerTrouble(error);
      if (this.#state === 'gone' || this.#state === 'connecting') this.#enter(this.#state, this.#trouble);
    });
    client.on('disconnect', (packet) => {
      this.#trouble =
        packet.reasonCode === SESSION_TAKEN_OVER
          ? `Another service connected under the name ${this.#options.clientId}. Give each its own clientId.`
          : `The broker ended the connection (reason ${packet.reasonCode ?? 'not given'}).`;
    });
  }

  /** Connected means that messages can come: the subscriptions stand. */
  async #greet(epoch: number): Promise<void> {
    const refused = await this.#subscribe([...this.#topics, ...this.#listeners.map((one) => one.pattern)]);
    if (epoch !== this.#epoch || this.#state === 'closed') return;
    this.#enter('connected', refused);
    this.#sendWaiting();
  }

  #take(packet: IPublishPacket, done: (error?: Error) => void): void {
    const message: IncomingMessage = {
      topic: packet.topic,
      payload: typeof packet.payload === 'string' ? Buffer.from(packet.payload) : packet.payload,
      qos: packet.qos,
      retain: packet.retain,
      receivedAt: this.#options.now(),
    };
    const ticket: Ticket = { epoch: this.#epoch, messageId: packet.qos > 0 ? packet.messageId : undefined };
    const finish = (): void => done(packet.qos > 0 ? ACKNOWLEDGED_LATER : undefined);
    const listener = this.#listeners.length > 0 ? this.#listenerOf(packet.topic) : undefined;
    if (listener) {
      void this.#hand(listener, message, ticket);
      finish();
      return;
    }
    // While too much waits, the stream stays unread: the network and the broker hold the rest.
    if (this.#options.pipeline.offer(this, message, ticket)) finish();
    else this.#options.pipeline.whenDrained(finish);
  }

  acknowledge(tickets: readonly Ticket[]): void {
    const answers = Buffer.allocUnsafe(tickets.length * 4);
    let length = 0;
    for (const { epoch, messageId } of tickets) {
      // The broker of an earlier connection sends it again; the store knows it as a duplicate.
      if (messageId === undefined || epoch !== this.#epoch) continue;
      // PUBACK with reason "success", which MQTT 5.0 section 3.4.2.1 lets one leave out.
      answers[length++] = 0x40;
      answers[length++] = 0x02;
      answers[length++] = messageId >> 8;
      answers[length++] = messageId & 0xff;
    }
    const { stream } = this.#client;
    if (length === 0 || !stream?.writable) return;
    stream.write(answers.subarray(0, length));
    // Messages came and answers went: the connection lives. A broker with a long line of messages for us puts its
    // answer to a ping at the end of that line, and must not be taken for dead meanwhile.
    this.#client.reschedulePing(true);
  }

  #listenerOf(topic: string): Listener | undefined {
    const levels = topic.split('/');
    return this.#listeners.find((listener) => matchTopic(listener.levels, levels));
  }

  async #hand(listener: Listener, message: IncomingMessage, ticket: Ticket): Promise<void> {
    try {
      await listener.handler(message);
      this.acknowledge([ticket]);
    } catch (error) {
      // Not acknowledged: it comes again with the next connection.
      this.#trouble = error instanceof Error ? error.message : String(error);
    }
  }

  /** What the broker refused, in words, or null. */
  async #subscribe(patterns: readonly string[]): Promise<string | null> {
    if (patterns.length === 0) return null;
    try {
      // rh 1: stored messages only for new subscriptions, not after every reconnect.
      await this.#client.subscribeAsync([...new Set(patterns)], { qos: 1, rh: 1 });
      return null;
    } catch (error) {
      return `The broker refused a subscription: ${(error as Error).message}`;
    }
  }

  /** Takes the topics of a changed configuration. */
  async setTopics(topics: readonly string[]): Promise<void> {
    const gone = [...this.#topics].filter((topic) => !topics.includes(topic));
    this.#topics = new Set(topics);
    if (!this.#client.connected) return;
    if (gone.length > 0) await this.#client.unsubscribeAsync(gone).catch(() => {});
    const refused = await this.#subscribe(topics);
    if (refused !== null && this.#state === 'connected') this.#enter('connected', refused);
  }

  async listen(pattern: string, handler: Listener['handler']): Promise<void> {
    this.#listeners.push({ pattern, levels: pattern.split('/'), handler });
    if (this.#client.connected) await this.#subscribe([pattern]);
  }

  publish(topic: string, payload: string | Buffer, options: PublishOptions = {}): Promise<void> {
    if (this.#client.connected) return this.#send(topic, payload, options);
    if (!options.retain || this.#state === 'closed')
      return Promise.reject(new LeafturnError('broker-failed', `The broker at ${this.status().address} is away.`));
    // Only the newest retained message of a topic matters, so waiting for the broker needs little memory.
    const earlier = this.#waiting.get(topic);
    if (!earlier && this.#waiting.size >= MAX_RETAINED_WAITING)
      return Promise.reject(new LeafturnError('broker-failed', 'Too many messages wait for the broker.'));
    return new Promise((resolve, reject) => {
      const done = earlier?.done ?? [];
      done.push((error) => (error ? reject(error) : resolve()));
      this.#waiting.set(topic, { payload, options, done });
    });
  }

  async #send(topic: string, payload: string | Buffer, options: PublishOptions): Promise<void> {
    try {
      await this.#client.publishAsync(topic, payload, { qos: options.qos ?? 1, retain: options.retain ?? false });
    } catch (error) {
      throw new LeafturnError('broker-failed', `The broker did not take a message: ${(error as Error).message}`);
    }
  }

  #sendWaiting(): void {
    for (const [topic, { payload, options, done }] of this.#waiting) {
      this.#send(topic, payload, options).then(
        () => {
          for (const one of done) one();
        },
        (error: Error) => {
          for (const one of done) one(error);
        },
      );
    }
    this.#waiting.clear();
  }

  status(): LinkStatus {
    return {
      kind: 'external',
      state: this.#state,
      since: this.#state === 'gone' ? (this.#goneSince ?? this.#since) : this.#since,
      address: withoutCredentials(this.#options.url),
      trouble: this.#trouble,
      reconnects: this.#reconnects,
      sessionsLost: this.#sessionsLost,
      clients: this.#state === 'connected' ? 1 : 0,
    };
  }

  #enter(state: LinkStatus['state'], trouble: string | null): void {
    if (this.#state === state && this.#trouble === trouble && state !== 'gone') return;
    const changed = this.#state !== state;
    if (changed) this.#since = this.#options.now();
    this.#state = state;
    this.#trouble = trouble;
    if (changed || trouble !== null) this.#options.onStatus?.(this.status());
  }

  async close(): Promise<void> {
    this.#enter('closed', null);
    for (const { done } of this.#waiting.values())
      for (const one of done) one(new LeafturnError('broker-failed', 'The service is stopping.'));
    this.#waiting.clear();
    // Not forced while connected: acknowledgements already written still go out.
    await this.#client.endAsync(!this.#client.connected);
  }
}

function brokerTrouble(error: Error & { code?: number | string }): string {
  if (error.code === 'ECONNREFUSED') return 'Nothing answers at the address of the broker.';
  if (error.code === 'ENOTFOUND' || error.code === 'EAI_AGAIN')
    return 'The name of the broker is not known on this network.';
  if (error.code === 134 || error.code === 135) return 'The broker refuses the user name or password.';
  return error.message || String(error.code ?? error);
}

const withoutCredentials = (url: string): string => url.replace(/\/\/[^@/]*@/, '//');
