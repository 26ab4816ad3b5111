import { randomBytes } from 'node:crypto';
import fc from 'fast-check';
import { Webhook } from 'standardwebhooks';
import { describe, expect, it } from 'vitest';
import { signWebhook, webhookKey } from '../../src/notify/webhook-signature.js';

const SECRET = 'whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw';
const key = (secret: string): Buffer => {
  const found = webhookKey(secret);
  if (!found) throw new Error(`${secret} is not in the form of the specification`);
  return found;
};
const newSecret = (bytes = 32) => `whsec_${randomBytes(bytes).toString('base64')}`;

describe('the signature', () => {
  it('is that of the example published with the specification', () => {
    // standard-webhooks/standard-webhooks, libraries/javascript/src/webhook.test.ts, "sign function works".
    expect(
      signWebhook([key(SECRET)], 'msg_p5jXN8AQM9LWM0D4loKWxJek', 1_614_265_330_000, '{"test": 2432232314}'),
    ).toEqual({
      'webhook-id': 'msg_p5jXN8AQM9LWM0D4loKWxJek',
      'webhook-timestamp': '1614265330',
      'webhook-signature': 'v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=',
    });
  });

  it('is that of the reference library, whatever is signed', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 24, maxLength: 64 }),
        fc.stringMatching(/^[A-Za-z0-9_-]{1,40}$/),
        fc.integer({ min: 0, max: 4_000_000_000_000 }),
        fc.string({ unit: 'grapheme' }),
        (bytes, id, at, body) => {
          const secret = `whsec_${Buffer.from(bytes).toString('base64')}`;
          const theirs = new Webhook(secret).sign(id, new Date(at), body);
          expect(signWebhook([key(secret)], id, at, body)['webhook-signature']).toBe(theirs);
        },
      ),
    );
  });

  it('is accepted by the reference library, with either secret while one is being changed', () => {
    const [next, before] = [newSecret(), newSecret(24)];
    // The library checks the time against the clock of the machine.
    const headers = signWebhook([key(next), key(before)], 'msg_1', Date.now(), '{"a":"°C"}');
    expect(headers['webhook-signature']).toMatch(/^v1,\S{44} v1,\S{44}$/);
    for (const secret of [next, before])
      expect(new Webhook(secret).verify('{"a":"°C"}', { ...headers })).toEqual({ a: '°C' });
    expect(() => new Webhook(newSecret()).verify('{"a":"°C"}', { ...headers })).toThrow();
    expect(() => new Webhook(next).verify('{"a":"°F"}', { ...headers })).toThrow();
    expect(() => new Webhook(next).verify('{"a":"°C"}', { ...headers, 'webhook-id': 'msg_2' })).toThrow();
  });

  it('needs a key, a time and an id in which no full stop can move the border between the fields', () => {
    const keys = [key(SECRET)];
    expect(() => signWebhook([], 'a', 0, '')).toThrow('keys: expected at least one');
    expect(() => signWebhook(keys, 'a.1', 0, '')).toThrow('id: expected letters, digits');
    expect(() => signWebhook(keys, 'a', Number.NaN, '')).toThrow('at: expected an instant');
  });
});

describe('a secret', () => {
  it('has 24 to 64 bytes, as the specification says', () => {
    expect(webhookKey(newSecret(24))).toHaveLength(24);
    expect(webhookKey(newSecret(64))).toHaveLength(64);
    expect(webhookKey(newSecret(23))).toBeUndefined();
    expect(webhookKey(newSecret(65))).toBeUndefined();
  });

  it.each(['', 'whsec_', SECRET.slice(6), `${SECRET}!`, `${SECRET}A`, SECRET.toUpperCase(), 'correct horse battery'])(
    'such as %j is not one',
    (text) => expect(webhookKey(text)).toBeUndefined(),
  );
});
