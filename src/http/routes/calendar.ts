import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { Site } from '../../domain/site.js';
import { calendarOf, feedToken, isFeedToken } from '../../notify/calendar.js';
import { sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { siteOf } from '../lookup.js';
import { notFound } from '../problem.js';
import { reads, siteParams } from '../schemas/common.js';

const tags = ['calendar'];
const feed = {
  200: { description: 'An iCalendar feed (RFC 5545).', content: { 'text/calendar': { schema: z.string() } } },
} as unknown;

/** The round, the tasks and what is coming, for calendars. */
export function calendarRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();

  async function send(reply: FastifyReply, site: Site) {
    const [round, alerts] = await Promise.all([
      deps.rounds.latest(site.id, deps.rounds.today(site.id)),
      deps.alerts.open(site.id),
    ]);
    const text = calendarOf({ site, round, alerts, at: deps.now() });
    return reply.type('text/calendar; charset=utf-8').header('cache-control', 'private, no-cache').send(text);
  }

  api.get(
    '/sites/:siteId/calendar.ics',
    {
      config: { role: 'read' },
      schema: { tags, summary: 'Round, tasks and expected alerts as a calendar', params: siteParams, response: feed },
    },
    async (request, reply) => send(reply, siteOf(deps, request.params.siteId)),
  );

  api.get(
    '/sites/:siteId/calendar',
    {
      config: { role: 'owner' },
      schema: {
        tags,
        summary: 'The address of the feed for calendars',
        description:
          'Calendars cannot send a token: whoever has this address can read the feed, and nothing else. To change it, delete the file calendar-key in the data folder and start the service anew.',
        params: siteParams,
        response: reads(z.object({ address: z.string() }).meta({ id: 'CalendarAddress' })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const address = `/api/v1/sites/${site.id}/calendar/${feedToken(deps.calendarKey, site.id)}.ics`;
      return sendTagged(request, reply, { address });
    },
  );

  api.get(
    '/sites/:siteId/calendar/:token.ics',
    {
      config: { role: 'open' },
      schema: {
        tags,
        summary: 'The feed at its own address',
        params: siteParams.extend({ token: z.string().min(1).max(100) }),
        response: feed,
      },
    },
    async (request, reply) => {
      const { siteId, token } = request.params;
      // The same answer for a wrong site and a wrong token.
      const site = deps.sites().find(({ id }) => id === siteId);
      if (!site || !isFeedToken(deps.calendarKey, siteId, token)) throw notFound('calendar', 'at this address');
      return send(reply, site);
    },
  );
}
