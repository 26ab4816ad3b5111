import { createServer, type IncomingHttpHeaders, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { Webhook } from 'standardwebhooks';
import { describe, expect, it, onTestFinished } from 'vitest';
import { createWebhook } from '../../src/notify/webhook.js';
import { webhookKey } from '../../src/notify/webhook-signature.js';
import { freePort } from '../support/broker.js';
import { message, NOW } from './support.js';

const SECRET = 'whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw';
const never = new AbortController().signal;

/** A receiver that answers as told, and what came to it. */
async function receiver(answer: (response: ServerResponse) => void = (response) => response.writeHead(204).end()) {
  const got: { headers: IncomingHttpHeaders; body: string }[] = [];
  const server = createServer((request, response) => {
    let body = '';
    request.on('data', (part) => {
      body += part;
    });
    request.on('end', () => {
      got.push({ headers: request.headers, body });
      answer(response);
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => {
    server.closeAllConnections();
    server.close();
  });
  return { got, url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/hook/abc` };
}
const hook = (url: string, more: object = {}) =>
  createWebhook({ name: 'hook', url, keys: [webhookKey(SECRET) as Buffer], program: 'leafturn/1', ...more });

it('posts type, time and data, so signed that the reference library accepts it', async () => {
  const { got, url } = await receiver();
  // The library checks the time against the clock of the machine.
  const at = Date.now();
  expect(await hook(url).send(message(), '', at, never)).toEqual({ kind: 'sent' });
  const [{ headers, body } = { headers: {}, body: '' }] = got;
  expect(headers).toMatchObject({
    'content-type': 'application/json',
    'user-agent': 'leafturn/1',
    'webhook-id': 'msg_1',
  });
  expect(new Webhook(SECRET).verify(body, headers as Record<string, string>)).toEqual({
    type: 'alert.new',
    timestamp: new Date(NOW).toISOString(),
    data: {
      id: 'msg_1',
      site: 'home',
      title: message().title,
      text: message().text,
      dangerous: false,
      alert: JSON.parse(JSON.stringify(message().alert)),
    },
  });
});

it('the address that is shown holds no secret of the path', async () => {
  expect(hook('https://hooks.example/t0k3n?k=1').address).toBe('https://hooks.example');
});

describe('what goes wrong', () => {
  it.each([
    [410, {}, { kind: 'refused', trouble: expect.stringContaining('wants no messages any more (410)') }],
    [401, {}, { kind: 'failed', trouble: expect.stringContaining('Is the secret the same on both sides? (401)') }],
    [500, {}, { kind: 'failed', trouble: expect.stringContaining('has trouble of its own (500)') }],
    [429, { 'retry-after': '120' }, { kind: 'failed', trouble: expect.any(String), notBeforeMs: 120_000 }],
    [
      503,
      { 'retry-after': new Date(NOW + 3_600_000).toUTCString() },
      { kind: 'failed', trouble: expect.any(String), notBeforeMs: 3_600_000 },
    ],
  ])('an answer %i %j', async (status, headers, expected) => {
    const { url } = await receiver((response) => response.writeHead(status, headers).end('no'));
    expect(await hook(url).send(message(), '', NOW, never)).toEqual(expected);
  });

  it('a redirect is not followed, and the new host told, without what may be a secret of the receiver', async () => {
    const other = await receiver();
    const { url } = await receiver((response) => response.writeHead(307, { location: other.url }).end());
    expect(await hook(url).send(message(), '', NOW, never)).toEqual({
      kind: 'failed',
      trouble: expect.stringContaining(`has moved to ${new URL(other.url).origin} (307). Change the url`),
    });
    expect(other.got).toEqual([]);
  });

  it('a receiver that hangs, and one that is not there', async () => {
    const { url } = await receiver(() => {});
    expect(await hook(url, { timeoutMs: 100 }).send(message(), '', NOW, never)).toMatchObject({
      kind: 'failed',
      trouble: expect.stringContaining('did not answer within 0.1 seconds'),
    });
    const port = await freePort();
    expect(await hook(`http://127.0.0.1:${port}/`).send(message(), '', NOW, never)).toEqual({
      kind: 'failed',
      trouble: `Nothing answers at 127.0.0.1:${port}.`,
    });
  });

  it('an answer that never ends is not read', async () => {
    const { url } = await receiver((response) => {
      response.writeHead(200);
      response.write('x'.repeat(100_000));
    });
    expect(await hook(url).send(message(), '', NOW, never)).toEqual({ kind: 'sent' });
  });

  it('being stopped is no trouble of the receiver', async () => {
    const stopping = new AbortController();
    const { url } = await receiver(() => stopping.abort(new Error('stopped')));
    await expect(hook(url).send(message(), '', NOW, stopping.signal)).rejects.toThrow('stopped');
  });
});

it('takes the kinds and sites it is for', () => {
  const { takes } = hook('https://hooks.example/', { kinds: ['frost'], sites: ['home'] });
  expect(takes(message())).toBe(false);
  const frost = { ...(message().alert as NonNullable<ReturnType<typeof message>['alert']>), kind: 'frost' as const };
  expect(takes(message({ alert: frost }))).toBe(true);
  expect(takes(message({ alert: frost, siteId: 'away' }))).toBe(false);
});
