import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { idSchema } from '../../domain/site.js';
import { sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { houseOf, siteOf } from '../lookup.js';
import { reads, siteParams } from '../schemas/common.js';
import { houseView, sensorView, siteView } from '../schemas/site.js';
import { viewOfHouse, viewOfSite, viewsOfSensors } from '../views.js';

const tags = ['sites and houses'];
const config = { role: 'read' } as const;

export function siteRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const seriesOf = (siteId: string) => deps.storage.readings.series({ siteId });

  api.get(
    '/sites',
    { config, schema: { tags, summary: 'All sites', response: reads(z.object({ items: z.array(siteView) })) } },
    async (request, reply) =>
      sendTagged(request, reply, {
        items: deps.sites().map((site) => viewOfSite(site, deps.rounds.today(site.id))),
      }),
  );

  api.get(
    '/sites/:siteId',
    { config, schema: { tags, summary: 'One site', params: siteParams, response: reads(siteView) } },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      return sendTagged(request, reply, viewOfSite(site, deps.rounds.today(site.id)));
    },
  );

  api.get(
    '/sites/:siteId/houses',
    {
      config,
      schema: {
        tags,
        summary: 'Houses of a site',
        description:
          'With their cloths and watering lines, the cloth that hangs, and the newest value of every sensor.',
        params: siteParams,
        response: reads(z.object({ items: z.array(houseView) })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const [collection, series] = await Promise.all([deps.keeper.collection(site.id), seriesOf(site.id)]);
      return sendTagged(request, reply, {
        items: site.houses.map((house) => viewOfHouse(site, house, collection, series)),
      });
    },
  );

  api.get(
    '/sites/:siteId/houses/:houseId',
    {
      config,
      schema: {
        tags,
        summary: 'One house',
        params: siteParams.extend({ houseId: idSchema }),
        response: reads(houseView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const house = houseOf(site, request.params.houseId);
      const [collection, series] = await Promise.all([deps.keeper.collection(site.id), seriesOf(site.id)]);
      return sendTagged(request, reply, viewOfHouse(site, house, collection, series));
    },
  );

  api.get(
    '/sites/:siteId/sensors',
    {
      config,
      schema: {
        tags: ['sensors and readings'],
        summary: 'Sensors heard, and how they are',
        description:
          'When each was last heard, what it reports, and how much of it was kept, came twice or was refused.',
        params: siteParams,
        querystring: z.strictObject({ house: idSchema.optional().describe('Only sensors of this house.') }),
        response: reads(z.object({ items: z.array(sensorView) })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { house } = request.query;
      if (house !== undefined) houseOf(site, house);
      const filter = { siteId: site.id, ...(house !== undefined && { houseId: house }) };
      const [series, counts] = await Promise.all([
        deps.storage.readings.series(filter),
        deps.storage.refusals.counts(site.id),
      ]);
      return sendTagged(request, reply, { items: viewsOfSensors(series, counts, deps.now()) });
    },
  );
}
