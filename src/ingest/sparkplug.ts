/**
 * Reader of Sparkplug B payloads (Eclipse Sparkplug 3.0, chapter 6) on the wire form of protocol buffers. Fields are
 * told by their number and values by the field that carries them, because only births have to name the data type.
 */
export interface SparkplugMetric {
  readonly name: string | undefined;
  /** Kept as text: aliases are 64-bit numbers. */
  readonly alias: string | undefined;
  readonly timestampMs: number | undefined;
  readonly datatype: number | undefined;
  readonly isNull: boolean;
  /** Integers as they travel, without a sign: `integerValue` gives it back. */
  readonly value: number | bigint | boolean | string | undefined;
  readonly quality: number | undefined;
}
export interface SparkplugPayload {
  readonly timestampMs: number | undefined;
  readonly seq: number | undefined;
  readonly metrics: readonly SparkplugMetric[];
}

/** Thrown inside the reader and caught by `decodeSparkplug`; it never leaves this file. */
class Malformed extends Error {}

interface Field {
  readonly number: number;
  readonly wire: number;
  /** Varint, or the bits of a fixed field. */
  readonly bits: bigint;
  readonly bytes: Buffer;
}
const NONE = Buffer.alloc(0);

function* fieldsOf(bytes: Buffer): Generator<Field> {
  let at = 0;
  const varint = (): bigint => {
    let value = 0n;
    for (let shift = 0n; shift < 70n; shift += 7n) {
      const byte = bytes[at++];
      if (byte === undefined) throw new Malformed();
      value |= BigInt(byte & 0x7f) << shift;
      if (byte < 0x80) return BigInt.asUintN(64, value);
    }
    throw new Malformed();
  };
  const take = (length: number): Buffer => {
    if (length > bytes.length - at) throw new Malformed();
    at += length;
    return bytes.subarray(at - length, at);
  };
  while (at < bytes.length) {
    const key = Number(varint());
    const number = Math.floor(key / 8);
    const wire = key % 8;
    if (number === 0) throw new Malformed();
    if (wire === 0) yield { number, wire, bits: varint(), bytes: NONE };
    else if (wire === 1) yield { number, wire, bits: 0n, bytes: take(8) };
    else if (wire === 2) yield { number, wire, bits: 0n, bytes: take(Number(varint())) };
    else if (wire === 5) yield { number, wire, bits: 0n, bytes: take(4) };
    else throw new Malformed();
  }
}

const need = (field: Field, wire: number): Field => {
  if (field.wire !== wire) throw new Malformed();
  return field;
};
const WIRE = { varint: 0, fixed64: 1, bytes: 2, fixed32: 5 } as const;

/** The number in the property "Quality": 0 bad, 192 good, 500 stale. */
function qualityOf(properties: Buffer): number | undefined {
  const keys: string[] = [];
  const values: (number | undefined)[] = [];
  for (const field of fieldsOf(properties)) {
    if (field.number === 1) keys.push(need(field, WIRE.bytes).bytes.toString('utf8'));
    if (field.number !== 2) continue;
    let value: number | undefined;
    for (const inner of fieldsOf(need(field, WIRE.bytes).bytes))
      if (inner.number === 3 || inner.number === 4) value = Number(need(inner, WIRE.varint).bits);
    values.push(value);
  }
  const index = keys.indexOf('Quality');
  return index < 0 ? undefined : values[index];
}

function metricOf(bytes: Buffer): SparkplugMetric {
  const metric: { -readonly [K in keyof SparkplugMetric]: SparkplugMetric[K] } = {
    name: undefined,
    alias: undefined,
    timestampMs: undefined,
    datatype: undefined,
    isNull: false,
    value: undefined,
    quality: undefined,
  };
  for (const field of fieldsOf(bytes)) {
    switch (field.number) {
      case 1:
        metric.name = need(field, WIRE.bytes).bytes.toString('utf8');
        break;
      case 2:
        metric.alias = String(need(field, WIRE.varint).bits);
        break;
      case 3:
        metric.timestampMs = Number(need(field, WIRE.varint).bits);
        break;
      case 4:
        metric.datatype = Number(need(field, WIRE.varint).bits);
        break;
      case 7:
        metric.isNull = need(field, WIRE.varint).bits !== 0n;
        break;
      case 9:
        metric.quality = qualityOf(need(field, WIRE.bytes).bytes);
        break;
      case 10:
        metric.value = need(field, WIRE.varint).bits & 0xffff_ffffn;
        break;
      case 11:
        metric.value = need(field, WIRE.varint).bits;
        break;
      case 12:
        metric.value = need(field, WIRE.fixed32).bytes.readFloatLE(0);
        break;
      case 13:
        metric.value = need(field, WIRE.fixed64).bytes.readDoubleLE(0);
        break;
      case 14:
        metric.value = need(field, WIRE.varint).bits !== 0n;
        break;
      case 15:
        metric.value = need(field, WIRE.bytes).bytes.toString('utf8');
        break;
    }
  }
  return metric;
}

/** Undefined when the bytes are not a Sparkplug B payload. */
export function decodeSparkplug(bytes: Buffer): SparkplugPayload | undefined {
  let timestampMs: number | undefined;
  let seq: number | undefined;
  const metrics: SparkplugMetric[] = [];
  try {
    for (const field of fieldsOf(bytes)) {
      if (field.number === 1) timestampMs = Number(need(field, WIRE.varint).bits);
      else if (field.number === 2) metrics.push(metricOf(need(field, WIRE.bytes).bytes));
      else if (field.number === 3) seq = Number(need(field, WIRE.varint).bits);
    }
  } catch (error) {
    if (error instanceof Malformed) return undefined;
    throw error;
  }
  return { timestampMs, seq, metrics };
}

const SIGNED_BITS: Record<number, number> = { 1: 8, 2: 16, 3: 32, 4: 64 };

/** Signed integers travel as unsigned ones; the data type of the birth tells them apart. */
export function integerValue(value: bigint, datatype: number | undefined): number {
  const bits = datatype === undefined ? undefined : SIGNED_BITS[datatype];
  if (bits === undefined) return Number(value);
  // Small types are sent either in their own width or widened to 32 bits.
  const width = value < 2n ** BigInt(bits) ? bits : value < 2n ** 32n ? 32 : 64;
  return Number(BigInt.asIntN(width, value));
}

export type SparkplugKind = 'NBIRTH' | 'NDATA' | 'NDEATH' | 'DBIRTH' | 'DDATA' | 'DDEATH';
export interface SparkplugTopic {
  readonly group: string;
  readonly kind: SparkplugKind;
  readonly node: string;
  readonly device: string;
}
const KINDS: readonly string[] = ['NBIRTH', 'NDATA', 'NDEATH', 'DBIRTH', 'DDATA', 'DDEATH'];

/** Undefined for commands, host states and whatever else is not from a node or device. */
export function sparkplugTopic(topic: string): SparkplugTopic | undefined {
  const [namespace, group, kind, node, device = '', ...more] = topic.split('/');
  if (namespace !== 'spBv1.0' || !group || !kind || !node || more.length > 0 || !KINDS.includes(kind)) return undefined;
  return { group, kind: kind as SparkplugKind, node, device };
}

interface NodeSession {
  lastSeq: number | undefined;
  readonly aliases: Map<string, { name: string; datatype: number | undefined }>;
}
const MAX_NODES = 5000;
const MAX_ALIASES = 20_000;

export interface NamedMetric extends SparkplugMetric {
  readonly name: string;
}
export interface SessionResult {
  readonly metrics: readonly NamedMetric[];
  /** Aliases that no birth has named. */
  readonly unknownAliases: readonly string[];
  /** True when messages before this one are missing. */
  readonly gap: boolean;
}

/** What the births of each node said: names behind aliases, and the running number of messages. */
export class SparkplugSessions {
  readonly #nodes = new Map<string, NodeSession>();

  take(topic: SparkplugTopic, payload: SparkplugPayload): SessionResult {
    const key = `${topic.group}/${topic.node}`;
    if (topic.kind === 'NDEATH') {
      this.#nodes.delete(key);
      return { metrics: [], unknownAliases: [], gap: false };
    }
    let node = this.#nodes.get(key);
    if (!node || topic.kind === 'NBIRTH') {
      node = { lastSeq: topic.kind === 'NBIRTH' ? -1 : undefined, aliases: new Map() };
      this.#nodes.delete(key);
      this.#nodes.set(key, node);
      if (this.#nodes.size > MAX_NODES) this.#nodes.delete(this.#nodes.keys().next().value as string);
    }
    const gap = node.lastSeq !== undefined && payload.seq !== undefined && payload.seq !== (node.lastSeq + 1) % 256;
    if (payload.seq !== undefined) node.lastSeq = payload.seq;
    const birth = topic.kind === 'NBIRTH' || topic.kind === 'DBIRTH';
    const metrics: NamedMetric[] = [];
    const unknownAliases: string[] = [];
    for (const metric of payload.metrics) {
      if (birth && metric.alias !== undefined && metric.name !== undefined && node.aliases.size < MAX_ALIASES)
        node.aliases.set(metric.alias, { name: metric.name, datatype: metric.datatype });
      const known = metric.alias === undefined ? undefined : node.aliases.get(metric.alias);
      const name = metric.name || known?.name;
      if (name === undefined || name === '') unknownAliases.push(metric.alias ?? '(no name)');
      else metrics.push({ ...metric, name, datatype: metric.datatype ?? known?.datatype });
    }
    return { metrics: topic.kind === 'DDEATH' ? [] : metrics, unknownAliases, gap };
  }
}

/** The message that asks a node to tell again all it has (Sparkplug 3.0, `Node Control/Rebirth`). */
export function rebirthRequest(topic: SparkplugTopic, atMs: number): { topic: string; payload: Buffer } {
  const bytes: number[] = [];
  const varint = (value: bigint): void => {
    let rest = value;
    while (rest >= 0x80n) {
      bytes.push(Number(rest & 0x7fn) | 0x80);
      rest >>= 7n;
    }
    bytes.push(Number(rest));
  };
  const name = Buffer.from('Node Control/Rebirth');
  // Metric: name (1), datatype Boolean = 11 (4), boolean value true (14).
  const metric = [0x0a, name.length, ...name, 0x20, 11, 0x70, 1];
  bytes.push(0x08);
  varint(BigInt(Math.trunc(atMs)));
  bytes.push(0x12, metric.length, ...metric);
  return { topic: `spBv1.0/${topic.group}/NCMD/${topic.node}`, payload: Buffer.from(bytes) };
}
