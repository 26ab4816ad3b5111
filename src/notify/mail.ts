import { createTransport, type Transporter } from 'nodemailer';
import { connectionTrouble, printable } from '../domain/connection-words.js';
import { type Channel, type Outcome, type Wanted, wants } from './channel.js';
import { within } from './within.js';

export interface MailSettings extends Wanted {
  readonly name: string;
  readonly host: string;
  readonly port: number;
  /** tls: from the first byte. starttls: the connection is not used unless it can be encrypted. none: in the clear. */
  readonly security: 'tls' | 'starttls' | 'none';
  readonly user?: string;
  readonly password?: string;
  /** A certificate authority of one's own, PEM. */
  readonly ca?: string;
  readonly from: string;
  readonly to: readonly string[];
  readonly timeoutMs?: number;
}

const TIMEOUT_MS = 30_000;

/** Sends messages as plain text, one mail to each recipient: who is refused does not cost the others their mail. */
export function createMail(settings: MailSettings): Channel {
  const { name, host, port, to, timeoutMs = TIMEOUT_MS } = settings;
  return {
    name,
    kind: 'mail',
    address: `${host}:${port}`,
    recipients: to,
    ...(settings.sites && { sites: settings.sites }),
    takes: (message) => wants(settings, message),
    send: async (message, recipient, _at, signal) => {
      const transport = transportOf(settings, timeoutMs);
      try {
        const mail = transport.sendMail({
          from: settings.from,
          to: recipient,
          subject: message.title,
          text: `${message.text}\n\n-- \nLeafturn, automatically. The tool advises; look before you act.\n`,
          date: new Date(message.at),
          // The same however often it is tried: a mailbox that has it already can tell.
          messageId: `<${message.id}@leafturn.invalid>`,
          // RFC 3834: nobody's holiday is answered to us.
          headers: { 'Auto-Submitted': 'auto-generated' },
          disableFileAccess: true,
          disableUrlAccess: true,
        });
        await within(mail, timeoutMs, signal);
        return { kind: 'sent' };
      } catch (error) {
        if (signal.aborted) throw error;
        return outcomeOf(error, recipient, `${host}:${port}`, timeoutMs);
      } finally {
        transport.close();
      }
    },
  };
}

function transportOf({ host, port, security, user, password, ca }: MailSettings, timeoutMs: number): Transporter {
  return createTransport({
    host,
    port,
    secure: security === 'tls',
    requireTLS: security === 'starttls',
    ignoreTLS: security === 'none',
    ...(user !== undefined && { auth: { user, pass: password ?? '' } }),
    tls: { minVersion: 'TLSv1.2', ...(ca !== undefined && { ca }) },
    connectionTimeout: timeoutMs,
    greetingTimeout: timeoutMs,
    dnsTimeout: timeoutMs,
    socketTimeout: timeoutMs,
  });
}

function outcomeOf(error: unknown, recipient: string, host: string, timeoutMs: number): Outcome {
  const { name, code, responseCode, response, message } = error as {
    name: string;
    code?: string;
    responseCode?: number;
    response?: string;
    message: string;
  };
  const said = response === undefined ? '' : ` It said: ${printable(response, 160)}`;
  switch (code) {
    case 'EAUTH':
      return { kind: 'failed', trouble: `${host} does not accept the user or the password.${said}` };
    case 'ETIMEDOUT':
      return { kind: 'failed', trouble: `${host} did not answer within ${timeoutMs / 1000} seconds.` };
    case 'ETLS':
      return {
        kind: 'failed',
        trouble: `The connection to ${host} could not be encrypted: ${printable(message, 160)}.`,
      };
  }
  if (responseCode === undefined) {
    // The library puts a code of its own over that of the network, which stands in the message alone.
    const network = /^\w+ (E[A-Z_]+)\b/.exec(message)?.[1] ?? code;
    return { kind: 'failed', trouble: connectionTrouble({ name, message, code: network }, host, timeoutMs) };
  }
  // RFC 5321 section 4.2.1: 5yz is for good, 4yz may pass.
  return responseCode >= 500
    ? { kind: 'refused', trouble: `${host} refuses the mail to ${recipient}.${said}` }
    : { kind: 'failed', trouble: `${host} does not take the mail to ${recipient} now.${said}` };
}
