import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { defined } from '../../domain/optional.js';
import { idSchema } from '../../domain/site.js';
import type { Delivery } from '../../storage/repositories.js';
import { callerOf } from '../access.js';
import { sendCreated, sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { instant, pageOfSchema, reads, writeHeaders, writes } from '../schemas/common.js';

const tags = ['notifications'];

const channelView = z
  .object({
    name: z.string(),
    kind: z.enum(['webhook', 'mail', 'mqtt']),
    address: z.string().describe('Where to, without secrets.'),
    lastSentAt: instant.nullable(),
    lastTrouble: z.string().nullable().describe('In words.'),
    lastTroubleAt: instant.nullable(),
    waiting: z.number().int().describe('Messages to be sent, held or tried again.'),
    dead: z.number().int().describe('Messages that were given up.'),
  })
  .meta({ id: 'Channel' });

const deliveryView = z
  .object({
    id: z.number().int(),
    channel: z.string(),
    recipient: z.string().describe('Empty where the channel has but one.'),
    messageId: z.string().describe('The same however often it is sent.'),
    siteId: z.string(),
    title: z.string(),
    text: z.string(),
    at: instant,
    state: z.enum(['waiting', 'sent', 'dead']),
    tries: z.number().int(),
    trouble: z.string().nullable(),
    troubleAt: instant.nullable(),
  })
  .meta({ id: 'Delivery' });

const testView = z
  .object({
    results: z.array(
      z.object({ recipient: z.string(), sent: z.boolean(), trouble: z.string().nullable().describe('In words.') }),
    ),
  })
  .meta({ id: 'ChannelTest' });

const viewOf = ({ id, channel, recipient, message, state, tries, trouble, troubleAt }: Delivery) => ({
  id,
  channel,
  recipient,
  messageId: message.id,
  siteId: message.siteId,
  title: message.title,
  text: message.text,
  at: message.at,
  state,
  tries,
  trouble,
  troubleAt,
});

/** Ways to people: how they are, a test, and what could not be sent. */
export function notificationRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();

  api.get(
    '/notifications/channels',
    {
      config: { role: 'read' },
      schema: {
        tags,
        summary: 'Channels and how they are',
        response: reads(z.object({ items: z.array(channelView) })),
      },
    },
    async (request, reply) => sendTagged(request, reply, { items: await deps.notifications.channels() }),
  );

  api.get(
    '/notifications/dead',
    {
      config: { role: 'staff' },
      schema: {
        tags,
        summary: 'Messages that were given up',
        description: 'Newest first. They are kept for a year and can be sent again.',
        querystring: pageQuery.extend({
          siteId: idSchema.optional().describe('Only of this site.'),
          channel: idSchema.optional().describe('Only of this channel.'),
        }),
        response: reads(pageOfSchema(deliveryView)),
      },
    },
    async (request, reply) => {
      const { limit, after, siteId, channel } = request.query;
      const beforeId = positionOf(after, z.number().int());
      const rows = await deps.notifications.dead({ limit: limit + 1, ...defined({ siteId, channel, beforeId }) });
      const page = pageOf(request, reply, rows, limit, ({ id }) => id);
      return sendTagged(request, reply, { ...page, items: page.items.map(viewOf) });
    },
  );

  api.post(
    '/notifications/dead/:deliveryId/retry',
    {
      config: { role: 'staff', write: true },
      schema: {
        tags,
        summary: 'Send a message that was given up again',
        params: z.strictObject({ deliveryId: z.coerce.number().int().positive() }),
        headers: writeHeaders,
        response: writes(deliveryView),
      },
    },
    async (request, reply) => {
      const delivery = await deps.notifications.sendAgain(request.params.deliveryId);
      return sendCreated(reply, viewOf(delivery));
    },
  );

  api.post(
    '/notifications/:channel/test',
    {
      config: { role: 'staff', write: true },
      schema: {
        tags,
        summary: 'Send a test over a channel now',
        description:
          'Tried once, whatever the hour, in the name of the first site the channel is for; the answer says what came of it for each recipient.',
        params: z.strictObject({ channel: idSchema }),
        headers: writeHeaders,
        response: writes(testView),
      },
    },
    async (request, reply) => {
      const results = await deps.notifications.test(request.params.channel, callerOf(request).name);
      const view = results.map(({ recipient, outcome }) => ({
        recipient,
        sent: outcome.kind === 'sent',
        trouble: outcome.kind === 'sent' ? null : outcome.trouble,
      }));
      return sendCreated(reply, { results: view });
    },
  );
}
