import type { AddressInfo } from 'node:net';
import { createServer } from 'node:net';
import { SMTPServer, type SMTPServerOptions } from 'smtp-server';
import { describe, expect, it, onTestFinished } from 'vitest';
import { createMail, type MailSettings } from '../../src/notify/mail.js';
import { freePort } from '../support/broker.js';
import { message, NOW } from './support.js';

const never = new AbortController().signal;

/** A real SMTP server, and the mails that came to it. */
async function mailServer(options: SMTPServerOptions = {}) {
  const mails: { to: string[]; raw: string; secure: boolean }[] = [];
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onData: (stream, session, done) => {
      let raw = '';
      stream.setEncoding('utf8');
      stream.on('data', (part) => {
        raw += part;
      });
      stream.on('end', () => {
        mails.push({ to: session.envelope.rcptTo.map(({ address }) => address), raw, secure: session.secure });
        done();
      });
    },
    ...options,
  });
  // A client that breaks off is part of what is tried.
  server.on('error', () => {});
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()));
  onTestFinished(() => new Promise<void>((resolve) => server.close(() => resolve())));
  return { mails, port: (server.server.address() as AddressInfo).port };
}
const mail = (port: number, more: Partial<MailSettings> = {}) =>
  createMail({
    name: 'mail',
    host: '127.0.0.1',
    port,
    security: 'none',
    from: 'Leafturn <leafturn@example.org>',
    to: ['ada@example.org', 'bo@example.org'],
    ...more,
  });
const refusing = (address: string, code: number): SMTPServerOptions => ({
  onRcptTo: (recipient, _session, done) =>
    recipient.address === address
      ? done(Object.assign(new Error(`No mailbox ${address}`), { responseCode: code }))
      : done(),
});

describe('a mail', () => {
  it('arrives as plain text with the title as its subject', async () => {
    const { mails, port } = await mailServer();
    expect(await mail(port).send(message({ title: 'Home: 38 °C coming' }), 'ada@example.org', NOW, never)).toEqual({
      kind: 'sent',
    });
    expect(mails).toHaveLength(1);
    const [{ to, raw } = { to: [], raw: '' }] = mails;
    expect(to).toEqual(['ada@example.org']);
    // RFC 2047: °C does not fit into a header as it is.
    expect(raw).toMatch(/^Subject: =\?UTF-8\?Q\?Home=3A_38_=C2=B0C_coming\?=\r$/m);
    expect(raw).toMatch(/^Message-ID: <msg_1@leafturn\.invalid>\r$/m);
    expect(raw).toMatch(/^Content-Type: text\/plain; charset=utf-8\r$/m);
    expect(raw).toMatch(/^Auto-Submitted: auto-generated\r$/m);
    expect(raw).toMatch(/^Date: Wed, 25 Feb 2026 07:00:00 \+0000\r$/m);
    expect(raw).toContain('What to do: Let air move.');
  });

  it('a title cannot smuggle in another header', async () => {
    const { mails, port } = await mailServer();
    await mail(port).send(message({ title: 'a\r\nBcc: eve@example.org' }), 'ada@example.org', NOW, never);
    expect(mails[0]?.to).toEqual(['ada@example.org']);
    expect(mails[0]?.raw).not.toMatch(/^Bcc:/m);
  });

  it('goes with user and password', async () => {
    const { mails, port } = await mailServer({
      authOptional: false,
      onAuth: ({ username, password }, _session, done) =>
        username === 'leaf' && password === 'turn' ? done(null, { user: 'leaf' }) : done(new Error('No such user')),
    });
    const login = { security: 'none', user: 'leaf' } as const;
    const good = mail(port, { ...login, password: 'turn' });
    expect(await good.send(message(), 'ada@example.org', NOW, never)).toEqual({ kind: 'sent' });
    const bad = mail(port, { ...login, password: 'turm' });
    expect(await bad.send(message(), 'ada@example.org', NOW, never)).toMatchObject({
      kind: 'failed',
      trouble: expect.stringContaining('does not accept the user or the password. It said: 535'),
    });
    expect(mails).toHaveLength(1);
  });
});

describe('what goes wrong', () => {
  it('a recipient that does not exist is refused for good, the other gets the mail', async () => {
    const { mails, port } = await mailServer(refusing('bo@example.org', 550));
    expect(await mail(port).send(message(), 'bo@example.org', NOW, never)).toEqual({
      kind: 'refused',
      trouble: `127.0.0.1:${port} refuses the mail to bo@example.org. It said: 550 No mailbox bo@example.org`,
    });
    expect(await mail(port).send(message(), 'ada@example.org', NOW, never)).toEqual({ kind: 'sent' });
    expect(mails.map(({ to }) => to)).toEqual([['ada@example.org']]);
  });

  it('one that is refused for now is tried again', async () => {
    const { port } = await mailServer(refusing('bo@example.org', 451));
    expect(await mail(port).send(message(), 'bo@example.org', NOW, never)).toMatchObject({ kind: 'failed' });
  });

  it('a server that hangs, before its greeting or after the mail', async () => {
    const silent = createServer();
    await new Promise<void>((resolve) => silent.listen(0, '127.0.0.1', () => resolve()));
    onTestFinished(() => void silent.close());
    const swallowing = await mailServer({ onData: (stream) => void stream.resume() });
    for (const port of [(silent.address() as AddressInfo).port, swallowing.port])
      expect(await mail(port, { timeoutMs: 300 }).send(message(), 'ada@example.org', NOW, never)).toEqual({
        kind: 'failed',
        trouble: `127.0.0.1:${port} did not answer within 0.3 seconds.`,
      });
  });

  it('a server that is not there', async () => {
    const port = await freePort();
    expect(await mail(port).send(message(), 'ada@example.org', NOW, never)).toEqual({
      kind: 'failed',
      trouble: `Nothing answers at 127.0.0.1:${port}.`,
    });
  });

  it('a server that cannot encrypt, or whose certificate nobody vouches for, gets nothing', async () => {
    const plain = await mailServer();
    const unknown = await mailServer({ disabledCommands: [] });
    for (const { port, mails } of [plain, unknown]) {
      const channel = mail(port, { security: 'starttls' });
      expect(await channel.send(message(), 'ada@example.org', NOW, never)).toMatchObject({ kind: 'failed' });
      expect(mails).toEqual([]);
    }
  });
});
