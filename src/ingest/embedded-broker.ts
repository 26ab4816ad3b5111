import { createServer, type Server, type Socket } from 'node:net';
import { Aedes, type AedesPublishPacket, type Client } from 'aedes';
import { LeafturnError } from '../domain/errors.js';
import { isLoopback } from '../domain/hosts.js';
import { matchTopic } from '../domain/topics.js';
import { FrameGuard } from './frame-guard.js';
import type { IncomingMessage } from './intake.js';
import type { BrokerLink, LinkOptions, LinkStatus, PublishOptions } from './link.js';
import { type BrokerUser, UserBook } from './passwords.js';
import type { MessageSource } from './pipeline.js';

/**
 * The broker inside the service. A device's message is held until it is on disk, and only then acknowledged: the
 * broker library answers a publisher when `authorizePublish` calls back, so that callback waits for the commit.
 */
export interface EmbeddedBrokerOptions extends LinkOptions {
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
  readonly users: readonly BrokerUser[];
  readonly maxPacketBytes?: number;
  readonly maxClients?: number;
  /** Topics that only the service itself may publish, such as `leafturn/#`. */
  readonly reserved?: readonly string[];
  /** Topics under `reserved` that others may publish all the same, such as a pushed forecast. */
  readonly openWithin?: readonly string[];
  /** A device was turned away, in words. */
  readonly onTurnedAway?: (sentence: string) => void;
}

const TCP_KEEPALIVE_MS = 60_000;
const CONNECT_TIMEOUT_MS = 15_000;
const MAX_RETAINED_TOPICS = 10_000;
/** Return codes of MQTT 3.1.1 section 3.2.2.3. */
const SERVER_UNAVAILABLE = 3;
const BAD_USERNAME_OR_PASSWORD = 4;

type Ticket = (error?: Error | null) => void;
interface Listener {
  readonly levels: readonly string[];
  readonly handler: (message: IncomingMessage) => void | Promise<void>;
}

export class EmbeddedBroker implements BrokerLink, MessageSource<Ticket> {
  readonly #options: EmbeddedBrokerOptions;
  readonly #aedes: Aedes;
  readonly #server: Server;
  readonly #users: UserBook;
  readonly #listeners: Listener[] = [];
  /** Messages that listeners have not done with. */
  readonly #handling = new Set<Promise<void>>();
  readonly #reserved: readonly (readonly string[])[];
  readonly #open: readonly (readonly string[])[];
  readonly #retainedTopics = new Set<string>();
  readonly #sockets = new Set<Socket>();
  /** Clients whose refusal has been told already. */
  readonly #told = new WeakSet<Client>();
  #state: LinkStatus['state'] = 'connecting';
  #since: number;

  private constructor(options: EmbeddedBrokerOptions, aedes: Aedes) {
    this.#options = options;
    this.#aedes = aedes;
    this.#since = options.now();
    this.#users = new UserBook(options.users);
    this.#reserved = (options.reserved ?? []).map((pattern) => pattern.split('/'));
    this.#open = (options.openWithin ?? []).map((pattern) => pattern.split('/'));
    aedes.authenticate = (client, name, password, done) => void this.#authenticate(client, name, password, done);
    aedes.authorizePublish = (client, packet, done) => this.#take(client, packet as AedesPublishPacket, done);
    aedes.authorizeSubscribe = (_client, subscription, done) =>
      // The broker's own topics are nobody's business but its own.
      subscription.topic.startsWith('$SYS') ? done(null, null) : done(null, subscription);
    // Without listeners these would be lost without a trace.
    aedes.on('clientError', (client, error) => this.#turnedAway(client, error));
    aedes.on('connectionError', (client, error) => this.#turnedAway(client, error));
    this.#server = createServer((socket) => this.#accept(socket));
    this.#server.maxConnections = options.maxClients ?? 500;
  }

  static async start(options: EmbeddedBrokerOptions): Promise<EmbeddedBroker> {
    if (options.users.length === 0 && !isLoopback(options.host))
      throw new LeafturnError('invalid-input', 'The broker may be reached from outside only with user names.', [
        {
          path: 'broker.host',
          expected: '127.0.0.1 while broker.users is empty',
          got: options.host,
          mend: 'Add at least one user, or leave host out.',
        },
      ]);
    const aedes = await Aedes.createBroker({ connectTimeout: CONNECT_TIMEOUT_MS });
    const broker = new EmbeddedBroker(options, aedes);
    await new Promise<void>((resolve, reject) => {
      broker.#server.once('error', (error: NodeJS.ErrnoException) =>
        reject(
          new LeafturnError(
            'broker-failed',
            error.code === 'EADDRINUSE'
              ? `Port ${options.port} is taken, perhaps by another broker. Set broker.port to a free one.`
              : `The broker cannot listen on ${options.host}:${options.port}: ${error.message}`,
          ),
        ),
      );
      broker.#server.listen(options.port, options.host, resolve);
    });
    broker.#enter('connected');
    return broker;
  }

  /** The port it listens on. */
  get port(): number {
    const address = this.#server.address();
    return typeof address === 'object' && address !== null ? address.port : this.#options.port;
  }

  #accept(socket: Socket): void {
    this.#sockets.add(socket);
    socket.on('close', () => this.#sockets.delete(socket));
    socket.setNoDelay(true);
    // Small devices often connect without an MQTT keep-alive; a lost one is then noticed by TCP.
    socket.setKeepAlive(true, TCP_KEEPALIVE_MS);
    const maxBytes = this.#options.maxPacketBytes ?? 262_144;
    const guard = new FrameGuard(maxBytes);
    const read = socket.read.bind(socket);
    socket.read = (size?: number): Buffer | null => {
      const chunk = read(size) as Buffer | null;
      const oversized = chunk === null ? undefined : guard.take(chunk);
      if (!oversized) return chunk;
      this.#options.pipeline.offerRefusal({
        at: this.#options.now(),
        topic: oversized.topic ?? `(from ${socket.remoteAddress ?? 'an unknown address'})`,
        siteId: null,
        sensorId: null,
        quantity: null,
        reason: 'payload-too-large',
        sentence: `A packet of ${oversized.bytes} bytes came; at most ${maxBytes} are taken. The device was disconnected.`,
        excerpt: '',
      });
      socket.destroy();
      return null;
    };
    this.#aedes.handle(socket);
  }

  async #authenticate(
    client: Client,
    name: string | undefined,
    password: Buffer | undefined,
    done: Parameters<Aedes['authenticate']>[3],
  ): Promise<void> {
    if (this.#users.size === 0) return done(null, true);
    let answer: 'yes' | 'no' | 'busy';
    try {
      answer = await this.#users.check(name, password);
    } catch {
      answer = 'busy';
    }
    if (answer === 'yes') return done(null, true);
    this.#told.add(client);
    this.#options.onTurnedAway?.(
      answer === 'busy'
        ? `Device ${client.id} was turned away: too many passwords wait to be checked.`
        : `Device ${client.id} was turned away: wrong user name or password.`,
    );
    const returnCode = answer === 'busy' ? SERVER_UNAVAILABLE : BAD_USERNAME_OR_PASSWORD;
    done(Object.assign(new Error('not allowed'), { returnCode }), false);
  }

  #take(client: Client | null, packet: AedesPublishPacket, done: Ticket): void {
    const levels = packet.topic.split('/');
    const matches = (pattern: readonly string[]): boolean => matchTopic(pattern, levels) !== undefined;
    if (packet.topic.startsWith('$') || (this.#reserved.some(matches) && !this.#open.some(matches))) {
      if (client) this.#told.add(client);
      this.#options.onTurnedAway?.(
        `Device ${client?.id ?? '(gone)'} may not publish ${packet.topic}: that topic belongs to the service.`,
      );
      done(new Error('topic not allowed'));
      return;
    }
    const message: IncomingMessage = {
      topic: packet.topic,
      payload: typeof packet.payload === 'string' ? Buffer.from(packet.payload) : packet.payload,
      qos: packet.qos,
      // To the device it is news, even when it asks the broker to keep it.
      retain: false,
      receivedAt: this.#options.now(),
    };
    this.#boundRetained(packet);
    const listener = this.#listeners.find((one) => matches(one.levels));
    if (listener) {
      const handled = Promise.resolve()
        .then(() => listener.handler(message))
        .then(
          () => done(null),
          (error: Error) => done(error),
        )
        .finally(() => this.#handling.delete(handled));
      this.#handling.add(handled);
      return;
    }
    // The device's next messages are read only when this one is on disk: that bounds what can wait.
    this.#options.pipeline.offer(this, message, done);
  }

  /** Kept messages live in memory; past a bound they are passed on but not kept. */
  #boundRetained(packet: AedesPublishPacket): void {
    if (!packet.retain) return;
    if (packet.payload.length === 0) this.#retainedTopics.delete(packet.topic);
    else if (this.#retainedTopics.size < MAX_RETAINED_TOPICS) this.#retainedTopics.add(packet.topic);
    else if (!this.#retainedTopics.has(packet.topic)) packet.retain = false;
  }

  acknowledge(tickets: readonly Ticket[]): void {
    for (const ticket of tickets) ticket(null);
  }

  #turnedAway(client: Client, error: Error): void {
    if (this.#state === 'closed' || this.#told.has(client)) return;
    this.#options.onTurnedAway?.(`Device ${client.id ?? '(without a name)'} was disconnected: ${error.message}.`);
  }

  async listen(pattern: string, handler: Listener['handler']): Promise<void> {
    this.#listeners.push({ levels: pattern.split('/'), handler });
  }

  publish(topic: string, payload: string | Buffer, options: PublishOptions = {}): Promise<void> {
    if (this.#state === 'closed') return Promise.reject(new LeafturnError('broker-failed', 'The broker is stopped.'));
    return new Promise((resolve, reject) =>
      this.#aedes.publish(
        {
          cmd: 'publish',
          topic,
          payload: Buffer.from(payload),
          qos: options.qos ?? 1,
          retain: options.retain ?? false,
          dup: false,
        },
        (error) => (error ? reject(new LeafturnError('broker-failed', error.message)) : resolve()),
      ),
    );
  }

  status(): LinkStatus {
    return {
      kind: 'embedded',
      state: this.#state,
      since: this.#since,
      address: `mqtt://${this.#options.host}:${this.port}`,
      trouble: null,
      reconnects: 0,
      sessionsLost: 0,
      clients: this.#aedes.connectedClients ?? 0,
    };
  }

  #enter(state: LinkStatus['state']): void {
    this.#state = state;
    this.#since = this.#options.now();
    this.#options.onStatus?.(this.status());
  }

  async close(): Promise<void> {
    if (this.#state === 'closed') return;
    this.#enter('closed');
    const closed = new Promise<void>((resolve) => this.#server.close(() => resolve()));
    await new Promise<void>((resolve) => this.#aedes.close(() => resolve()));
    for (const socket of this.#sockets) socket.destroy();
    await closed;
    await Promise.allSettled(this.#handling);
  }
}
