/**
 * Counts the bytes of MQTT packets on a socket as they are read, because the broker library would collect packets of
 * up to 256 MB in memory. The length stands in the first bytes of a packet (OASIS MQTT 3.1.1 section 2.2.3), so an
 * oversized one is noticed before it is there.
 */
export interface OversizedPacket {
  readonly bytes: number;
  /** What the packet is about, when it is a message and its topic had come. */
  readonly topic: string | undefined;
}

export class FrameGuard {
  readonly #maxBytes: number;
  /** Bytes of the present packet still to come; -1 while its head is read. */
  #left = -1;
  #type = -1;
  #length = 0;
  #shift = 0;

  constructor(maxBytes: number) {
    this.#maxBytes = maxBytes;
  }

  /** What is wrong after this chunk; undefined: read on. */
  take(chunk: Buffer): OversizedPacket | undefined {
    let at = 0;
    while (at < chunk.length) {
      if (this.#left > 0) {
        const step = Math.min(this.#left, chunk.length - at);
        this.#left -= step;
        at += step;
        if (this.#left === 0) this.#left = -1;
        continue;
      }
      const byte = chunk[at++] as number;
      if (this.#type < 0) {
        this.#type = byte >> 4;
        continue;
      }
      this.#length += (byte & 0x7f) * 2 ** this.#shift;
      this.#shift += 7;
      if (byte >= 0x80 && this.#shift < 28) continue;
      if (this.#length > this.#maxBytes) {
        const isMessage = this.#type === 3;
        return { bytes: this.#length, topic: isMessage ? topicAt(chunk, at) : undefined };
      }
      this.#left = this.#length === 0 ? -1 : this.#length;
      this.#type = -1;
      this.#length = 0;
      this.#shift = 0;
    }
    return undefined;
  }
}

function topicAt(chunk: Buffer, at: number): string | undefined {
  if (at + 2 > chunk.length) return undefined;
  const length = chunk.readUInt16BE(at);
  return length <= 512 && at + 2 + length <= chunk.length
    ? chunk.subarray(at + 2, at + 2 + length).toString('utf8')
    : undefined;
}
