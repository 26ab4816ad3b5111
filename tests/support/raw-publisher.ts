import { connect, type Socket } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import mqttPacket from 'mqtt-packet';
import { onTestFinished } from 'vitest';

/**
 * A publisher that keeps exact books: every message it counts as acknowledged was acknowledged, and after a lost
 * connection it sends at once all that were not. Client libraries resend one by one, which is too slow for a broker
 * that lives for half a second.
 */
export class RawPublisher {
  readonly #port: number;
  readonly #message: (n: number) => { topic: string; payload: string };
  readonly #window: number;
  /** Packet id → number of the message. */
  readonly #open = new Map<number, number>();
  #socket: Socket | undefined;
  #live = false;
  #next = 0;
  #allowed = 0;
  #ended = false;
  #clock: NodeJS.Timeout;
  #onQuiet: (() => void) | undefined;

  /** @param perSecond messages at most */
  constructor(
    port: number,
    perSecond: number,
    message: (n: number) => { topic: string; payload: string },
    window = 500,
  ) {
    this.#port = port;
    this.#message = message;
    this.#window = window;
    this.#clock = setInterval(() => {
      this.#allowed = Math.min(this.#allowed + perSecond / 100, this.#next + perSecond);
      this.#fill();
    }, 10);
    this.#connect();
    onTestFinished(() => this.#end());
  }

  get acknowledged(): number {
    return this.#next - this.#open.size;
  }

  #connect(): void {
    if (this.#ended) return;
    this.#live = false;
    const socket = connect(this.#port, '127.0.0.1');
    this.#socket = socket;
    const parser = mqttPacket.parser({ protocolVersion: 4 });
    parser.on('packet', (packet) => {
      if (packet.cmd === 'connack') {
        this.#live = true;
        for (const [id, n] of this.#open) this.#send(id, n, true);
        this.#fill();
      } else if (packet.cmd === 'puback' && packet.messageId !== undefined) {
        this.#open.delete(packet.messageId);
        if (this.#open.size === 0) this.#onQuiet?.();
        this.#fill();
      }
    });
    socket.on('data', (chunk) => parser.parse(chunk));
    socket.on('error', () => {});
    socket.on('close', () => {
      this.#live = false;
      void wait(10).then(() => this.#connect());
    });
    socket.write(
      mqttPacket.generate({
        cmd: 'connect',
        clientId: 'raw-publisher',
        protocolId: 'MQTT',
        protocolVersion: 4,
        clean: true,
        keepalive: 0,
      }),
    );
  }

  #send(id: number, n: number, dup: boolean): void {
    this.#socket?.write(
      mqttPacket.generate({ cmd: 'publish', messageId: id, qos: 1, dup, retain: false, ...this.#message(n) }),
    );
  }

  #fill(): void {
    while (this.#live && this.#next < this.#allowed && this.#open.size < this.#window) {
      const id = (this.#next % 65_535) + 1;
      if (this.#open.has(id)) return;
      this.#open.set(id, this.#next);
      this.#send(id, this.#next++, false);
    }
  }

  /** Sends nothing new, waits until all is acknowledged, and tells how many messages there were. */
  async stop(): Promise<number> {
    clearInterval(this.#clock);
    this.#allowed = 0;
    if (this.#open.size > 0) await new Promise<void>((resolve) => (this.#onQuiet = resolve));
    this.#end();
    return this.#next;
  }

  #end(): void {
    this.#ended = true;
    clearInterval(this.#clock);
    this.#socket?.destroy();
  }
}
