import { connect as connectSocket } from 'node:net';
import { fileURLToPath } from 'node:url';
import mqttPacket from 'mqtt-packet';

/**
 * Publishes readings as fast as the broker acknowledges them. A process of its own, and packets written by hand, so
 * that what is measured is the one who listens.
 */
export interface PublishOrder {
  readonly port: number;
  readonly count: number;
  /** Number of the first message: time goes on from round to round. */
  readonly from: number;
  readonly sensors: number;
  /** Unacknowledged messages at most. */
  readonly window: number;
}

const START_MS = Date.UTC(2026, 2, 1);
const MINUTE_MS = 60_000;

/** Each sensor once a minute, one after the other. */
export function benchMessage(number: number, sensors: number): { topic: string; payload: string } {
  const sensor = number % sensors;
  const at = START_MS + Math.floor(number / sensors) * MINUTE_MS + Math.floor((sensor * MINUTE_MS) / sensors);
  const warmth = 20 + 8 * Math.sin(at / 1.4e7) + sensor / 50;
  return {
    topic: `bench/house-${sensor % 8}/sensor-${sensor}/air`,
    payload: `{"t":${warmth.toFixed(2)},"rh":${(55 - warmth / 2).toFixed(1)},"at":${at}}`,
  };
}

const publisherFile = fileURLToPath(import.meta.url);
export const PUBLISHER_FILE = publisherFile;

async function publish(order: PublishOrder): Promise<void> {
  const socket = connectSocket(order.port, '127.0.0.1');
  socket.setNoDelay(true);
  socket.write(
    mqttPacket.generate({
      cmd: 'connect',
      clientId: `publisher-${process.pid}`,
      protocolId: 'MQTT',
      protocolVersion: 4,
      clean: true,
      keepalive: 0,
    }),
  );
  let sent = 0;
  let received = 0;
  const fill = (): void => {
    // Every answer of the broker, to the connection and to each message, has four bytes.
    const acknowledged = Math.floor(received / 4) - 1;
    const parts: Buffer[] = [];
    while (sent < order.count && sent - acknowledged < order.window) {
      const { topic, payload } = benchMessage(order.from + sent, order.sensors);
      const length = 2 + topic.length + 2 + payload.length;
      const packet = Buffer.allocUnsafe(length + 3);
      packet[0] = 0x32;
      packet[1] = (length & 0x7f) | 0x80;
      packet[2] = length >> 7;
      packet.writeUInt16BE(topic.length, 3);
      packet.write(topic, 5, 'latin1');
      packet.writeUInt16BE((sent % 65_535) + 1, 5 + topic.length);
      packet.write(payload, 7 + topic.length, 'latin1');
      parts.push(packet);
      sent++;
    }
    if (parts.length > 0) socket.write(Buffer.concat(parts));
    if (acknowledged >= order.count) socket.end(Buffer.from([0xe0, 0x00]));
  };
  await new Promise<void>((resolve, reject) => {
    socket.on('data', (chunk) => {
      received += chunk.length;
      fill();
    });
    socket.on('close', () => resolve());
    socket.on('error', reject);
  });
}

if (process.argv[1] === publisherFile && process.send) {
  process.on('message', (order: PublishOrder) => {
    publish(order).then(
      () => process.send?.('done'),
      (error: Error) => process.send?.(error.message),
    );
  });
}
