import { z } from 'zod';
import { ALERT_KINDS } from '../../domain/alerts.js';
import type { Problem } from '../../domain/errors.js';
import { isLoopback } from '../../domain/hosts.js';
import { clockTimeSchema, idSchema, type Site } from '../../domain/site.js';
import { filePath, namedOnce, unknownId } from './checks.js';

/** The section `notifications` of the site file. Nothing is sent to anybody unless it says so. */

const topicBase = z
  .string()
  .regex(/^[^#+/\s][^#+\s]*[^#+/\s]$/, 'a topic without + and #, that neither begins nor ends with a slash');
const address = z
  .string()
  .trim()
  .max(320)
  .regex(/^(?:[^<>\r\n]*<)?[^\s<>@]+@[^\s<>@]+>?$/, 'an e-mail address such as ada@example.org');

const forChannel = {
  name: idSchema.refine((name) => name !== 'mqtt', 'another name: mqtt is the broker'),
  /** Left out: every kind of alert. */
  kinds: z.array(z.enum(ALERT_KINDS)).min(1).optional(),
  /** Left out: every site. */
  sites: z.array(idSchema).min(1).max(100).optional(),
};

const webhookSchema = z.strictObject({
  ...forChannel,
  kind: z.literal('webhook'),
  url: z
    .string()
    .trim()
    .max(2000)
    .refine(
      (text) => /^https?:\/\/[^\s/]+/.test(text) && URL.canParse(text) && new URL(text).username === '',
      'an address such as https://hooks.example/leafturn, without user and password',
    ),
  /** Holds the secret both sides sign and check by. */
  secretFile: filePath,
  /** The secret before it, as long as the receiver still checks by it. */
  previousSecretFile: filePath.optional(),
  /** Unencrypted to another machine: only on a network of one's own. */
  plainHttp: z.boolean().default(false),
});

const mailSchema = z.strictObject({
  ...forChannel,
  kind: z.literal('mail'),
  host: z.string().trim().min(1).max(253),
  security: z.enum(['starttls', 'tls', 'none']).default('starttls'),
  /** Left out: 587 with starttls, 465 with tls, 25 with none. */
  port: z.number().int().min(1).max(65_535).optional(),
  user: z.string().min(1).max(320).optional(),
  /** LEAFTURN_MAIL_PASSWORD_FILE stands for it where it is left out. */
  passwordFile: filePath.optional(),
  caFile: filePath.optional(),
  from: address,
  to: z.array(address).min(1).max(50),
});

export const notificationsSchema = z.strictObject({
  /** Lists and open alerts as retained messages under `<topicBase>/<site>/`. Left out: not published. */
  mqtt: z.strictObject({ topicBase: topicBase.default('leafturn') }).optional(),
  channels: z
    .array(z.discriminatedUnion('kind', [webhookSchema, mailSchema]))
    .max(50)
    .default([]),
  /** By site: what is not dangerous waits until they end. */
  quietHours: z.record(idSchema, z.strictObject({ from: clockTimeSchema, to: clockTimeSchema })).default({}),
});
export type NotificationsFile = z.infer<typeof notificationsSchema>;

export function notificationProblems({ channels, quietHours }: NotificationsFile, sites: readonly Site[]): Problem[] {
  const known = sites.map(({ id }) => id);
  const unknown = (path: string, id: string): Problem[] =>
    known.includes(id) ? [] : [unknownId(path, 'a site of this file', id, known)];
  return [
    ...namedOnce('notifications.channels', channels),
    ...channels.flatMap((channel, index): Problem[] => {
      const path = `notifications.channels[${index}]`;
      const problems = (channel.sites ?? []).flatMap((id) => unknown(`${path}.sites`, id));
      if (channel.kind === 'webhook') {
        const { protocol, hostname } = new URL(channel.url);
        if (protocol === 'http:' && !channel.plainHttp && !isLoopback(hostname))
          problems.push({
            path: `${path}.url`,
            expected: 'an address with https, because others can read along on the way',
            got: channel.url,
            mend: 'Use https, or on a network of your own add plainHttp: true.',
          });
      } else if (channel.user !== undefined && channel.security === 'none' && !isLoopback(channel.host))
        problems.push({
          path: `${path}.security`,
          expected: 'starttls or tls where a password is sent to another machine',
          got: 'none',
        });
      else if (channel.user === undefined && channel.passwordFile !== undefined)
        problems.push({ path: `${path}.user`, expected: 'the user the password belongs to', got: 'nothing' });
      return problems;
    }),
    ...Object.entries(quietHours).flatMap(([id, { from, to }]): Problem[] => {
      const path = `notifications.quietHours.${id}`;
      if (from !== to) return unknown(path, id);
      return [
        ...unknown(path, id),
        { path: `${path}.to`, expected: 'another time than from', got: to, mend: 'Leave the site out to have none.' },
      ];
    }),
  ];
}
