import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { callerOf } from '../access.js';
import { sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { instantFrom, siteOf } from '../lookup.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { alertHistoryView, alertView } from '../schemas/alert.js';
import { pageOfSchema, reads, siteParams, writeHeaders, writtenInstant } from '../schemas/common.js';

const tags = ['alerts'];
const read = { role: 'read' } as const;
const write = { role: 'staff', write: true } as const;
const alertParams = z.strictObject({ alertId: z.coerce.number().int().positive() });
const pastPosition = z.object({ resolvedAt: z.number().int(), id: z.number().int() });

export function alertRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { alerts } = deps;

  api.get(
    '/sites/:siteId/alerts',
    {
      config: read,
      schema: {
        tags,
        summary: 'Alerts that are open, or over',
        description:
          'Open ones oldest first, all on one page: at most one of a kind for each house and sensor. Past ones newest first, page by page, with how they turned out.',
        params: siteParams,
        querystring: pageQuery.extend({ state: z.enum(['open', 'past']).default('open') }),
        response: reads(pageOfSchema(alertView)),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { state, limit, after } = request.query;
      if (state === 'open') return sendTagged(request, reply, { items: await alerts.open(site.id), next: null });
      const before = positionOf(after, pastPosition);
      const rows = await alerts.past(site.id, { limit: limit + 1, ...(before && { before }) });
      return sendTagged(
        request,
        reply,
        pageOf(request, reply, rows, limit, ({ resolvedAt, id }) => ({ resolvedAt, id })),
      );
    },
  );

  api.get(
    '/alerts/:alertId',
    {
      config: read,
      schema: {
        tags,
        summary: 'One alert, with what happened to it',
        params: alertParams,
        response: reads(alertHistoryView),
      },
    },
    async (request, reply) => {
      const alert = await alerts.get(request.params.alertId);
      siteOf(deps, alert.siteId);
      const events = await deps.storage.alerts.eventsOf(alert.id);
      return sendTagged(request, reply, { ...alert, history: events.map(({ at, what, by }) => ({ at, what, by })) });
    },
  );

  api.post(
    '/alerts/:alertId/acknowledge',
    {
      config: write,
      schema: {
        tags,
        summary: 'Say that somebody takes care of it',
        description: 'Under the name of the token. The first who does is kept. Getting worse makes it unseen again.',
        params: alertParams,
        headers: writeHeaders,
        body: z.strictObject({}).nullish(),
        response: reads(alertView),
      },
    },
    async (request, reply) => reply.send(await alerts.acknowledge(request.params.alertId, callerOf(request).name)),
  );

  api.post(
    '/alerts/:alertId/snooze',
    {
      config: write,
      schema: {
        tags,
        summary: 'Be told of it again later',
        description:
          'Not told again before that time, unless it gets worse; then, if it is still so, it is told anew. At most a week. `until: null` takes it back.',
        params: alertParams,
        headers: writeHeaders,
        body: z.strictObject({ until: writtenInstant.nullable() }),
        response: reads(alertView),
      },
    },
    async (request, reply) => {
      const { alertId } = request.params;
      const { until } = request.body;
      const by = callerOf(request).name;
      if (until === null) return reply.send(await alerts.unsnooze(alertId, by));
      const { zone } = siteOf(deps, (await alerts.get(alertId)).siteId);
      return reply.send(await alerts.snooze(alertId, by, instantFrom(until, zone, { path: '/until', part: 'body' })));
    },
  );
}
