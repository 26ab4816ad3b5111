import fc from 'fast-check';
import mqttPacket from 'mqtt-packet';
import { describe, expect, test } from 'vitest';
import { FrameGuard } from '../../src/ingest/frame-guard.js';
import { hashPassword, isPasswordHash, UserBook, verifyPassword } from '../../src/ingest/passwords.js';

const publish = (bytes: number) =>
  mqttPacket.generate({
    cmd: 'publish',
    topic: 'a/b',
    payload: Buffer.alloc(bytes),
    qos: 1,
    messageId: 7,
    dup: false,
    retain: false,
  });

describe('the length of packets', () => {
  test('is found wherever the stream is cut', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 400 }), { minLength: 1, maxLength: 8 }),
        fc.infiniteStream(fc.integer({ min: 1, max: 90 })),
        (sizes, cuts) => {
          const stream = Buffer.concat([Buffer.from([0xc0, 0x00]), ...sizes.map(publish)]);
          // 7 bytes of topic and id come before the payload.
          const limit = 300;
          const tooLarge = sizes.some((size) => size + 7 > limit);
          const guard = new FrameGuard(limit);
          let found: unknown;
          for (let at = 0; at < stream.length && !found; ) {
            const step = cuts.next().value as number;
            found = guard.take(stream.subarray(at, at + step));
            at += step;
          }
          expect(found !== undefined).toBe(tooLarge);
        },
      ),
      { seed: 5, numRuns: 500 },
    );
  });
  test('tells the topic of what was too large', () => {
    expect(new FrameGuard(100).take(publish(200))).toEqual({ bytes: 207, topic: 'a/b' });
  });
});

describe('passwords', () => {
  test('are known again by their hash, which carries its own parameters', async () => {
    const hash = await hashPassword('sand and stones');
    expect(hash).toMatch(/^scrypt\$32768\$8\$3\$/);
    expect(isPasswordHash(hash)).toBe(true);
    expect(await verifyPassword('sand and stones', hash)).toBe(true);
    expect(await verifyPassword('sand and stone', hash)).toBe(false);
  });
  // RFC 7914 section 12, third test vector: password "pleaseletmein", salt "SodiumChloride", N 16384, r 8, p 1.
  test('agree with the published test vector of scrypt', async () => {
    const key =
      '7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887';
    const stored = `scrypt$16384$8$1$${Buffer.from('SodiumChloride').toString('base64')}$${Buffer.from(key, 'hex').toString('base64')}`;
    expect(await verifyPassword('pleaseletmein', stored)).toBe(true);
  });
  test.each([
    '',
    'plain',
    'scrypt$3$8$1$AAAAAAAA$AAAAAAAAAAAAAAAAAAAA',
    'scrypt$99999999$8$1$AAAAAAAA$AAAAAAAAAAAAAAAAAAAA',
  ])('%j is no hash and lets nobody in', async (text) => {
    expect(isPasswordHash(text)).toBe(false);
    expect(await verifyPassword('x', text)).toBe(false);
  });
  test('a user book knows its users only', async () => {
    const book = new UserBook([{ name: 'bench-4', passwordHash: await hashPassword('right') }]);
    const ask = (name?: string, password?: string) =>
      book.check(name, password === undefined ? undefined : Buffer.from(password));
    expect(await ask('bench-4', 'right')).toBe('yes');
    expect(await ask('bench-4', 'right')).toBe('yes');
    expect(await ask('bench-4', 'wrong')).toBe('no');
    expect(await ask('bench-5', 'right')).toBe('no');
    expect(await ask('bench-4')).toBe('no');
    expect(await ask()).toBe('no');
  });
});
