import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { didYouMean } from '../../domain/problems.js';
import { maskToFlags, quantityInfo } from '../../domain/quantities.js';
import { idSchema, type Site } from '../../domain/site.js';
import { addDays, daysBetween, localDayOf } from '../../domain/time.js';
import type { SeriesFilter, SeriesInfo } from '../../storage/repositories.js';
import { sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { houseOf, instantFrom, siteOf } from '../lookup.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { HttpProblem, invalidRequest, notFound } from '../problem.js';
import { localDay, pageOfSchema, reads, siteParams, writtenInstant } from '../schemas/common.js';
import {
  dailyView,
  hourlyView,
  placementSchema,
  quantitySchema,
  rawPointView,
  refusalCountView,
  refusalView,
} from '../schemas/site.js';
import { integralUnit } from '../views.js';

const tags = ['sensors and readings'];
const config = { role: 'read' } as const;
const HOUR_MS = 3_600_000;
/** Roll-ups of one answer: a year of hours of eleven series, or of days of 270. */
const ROLL_UPS_AT_ONCE = 100_000;

const seriesQuery = z.strictObject({
  house: idSchema.optional(),
  bench: idSchema.optional(),
  placement: placementSchema.optional(),
  quantity: z
    .union([quantitySchema, z.array(quantitySchema)])
    .optional()
    .describe('May be repeated.'),
});

/** Sensor ids come from topics and are freer than ids of our own. */
const sensorId = z.string().min(1).max(200);

export function readingRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { readings, refusals } = deps.storage;

  function filterOf(site: Site, { house, bench, placement, quantity }: z.infer<typeof seriesQuery>): SeriesFilter {
    if (house !== undefined) houseOf(site, house);
    return {
      siteId: site.id,
      ...(house !== undefined && { houseId: house }),
      ...(bench !== undefined && { benchId: bench }),
      ...(placement !== undefined && { placement }),
      ...(quantity !== undefined && { quantities: Array.isArray(quantity) ? quantity : [quantity] }),
    };
  }

  async function refuseTooMany(filter: SeriesFilter, buckets: number, what: string): Promise<void> {
    const series = (await readings.series(filter)).length;
    if (series * buckets > ROLL_UPS_AT_ONCE)
      throw new HttpProblem(
        'invalid-input',
        `${series} series over ${Math.ceil(buckets)} ${what} are too much for one answer. Ask for a house or a quantity, or for less time.`,
      );
  }

  api.get(
    '/sites/:siteId/readings/hourly',
    {
      config,
      schema: {
        tags,
        summary: 'Readings by the hour',
        description:
          'Count, lowest, mean, highest and the integral over time, for hours that begin from `from` to before `to`.',
        params: siteParams,
        querystring: seriesQuery.extend({ from: writtenInstant, to: writtenInstant }),
        response: reads(z.object({ items: z.array(hourlyView) })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { from, to, ...query } = request.query;
      const fromMs = instantFrom(from, site.zone, { path: '/from', part: 'querystring' });
      const toMs = instantFrom(to, site.zone, { path: '/to', part: 'querystring' });
      refuseBackwards(fromMs < toMs, String(from), String(to));
      const filter = filterOf(site, query);
      await refuseTooMany(filter, (toMs - fromMs) / HOUR_MS, 'hours');
      const found = await readings.hourly(filter, fromMs, toMs);
      return sendTagged(request, reply, {
        items: found.map(({ series, rollUps }) => ({ ...seriesFields(series), hours: rollUps })),
      });
    },
  );

  api.get(
    '/sites/:siteId/readings/daily',
    {
      config,
      schema: {
        tags,
        summary: 'Readings by the local day',
        description: 'Days of the site, 23 to 25 hours long, both ends included. Left out: the last 30 days.',
        params: siteParams,
        querystring: seriesQuery.extend({ from: localDay.optional(), to: localDay.optional() }),
        response: reads(z.object({ items: z.array(dailyView) })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { from, to = localDayOf(site.zone, deps.now()), ...query } = request.query;
      const first = from ?? addDays(to, -29);
      refuseBackwards(first <= to, first, to);
      const filter = filterOf(site, query);
      await refuseTooMany(filter, daysBetween(first, to) + 1, 'days');
      const found = await readings.daily(filter, first, to);
      return sendTagged(request, reply, {
        items: found.map(({ series, days }) => ({ ...seriesFields(series), days })),
      });
    },
  );

  api.get(
    '/sites/:siteId/readings/raw',
    {
      config,
      schema: {
        tags,
        summary: 'Readings of one sensor as they came',
        description: 'By rising time. The flags say what was noticed about a reading that was kept all the same.',
        params: siteParams,
        querystring: pageQuery.extend({
          sensor: sensorId,
          quantity: quantitySchema,
          from: writtenInstant.optional().describe('At or after; left out: the oldest there is.'),
          to: writtenInstant.optional().describe('Before; left out: now.'),
        }),
        response: reads(pageOfSchema(rawPointView)),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { limit, after, sensor, quantity, from, to } = request.query;
      const all = await readings.series({ siteId: site.id });
      const series = all.find((one) => one.sensorId === sensor && one.quantity === quantity);
      if (!series) throw unknownSeries(all, sensor, quantity);
      const at = (given: string | number | undefined, name: string, otherwise: number) =>
        given === undefined ? otherwise : instantFrom(given, site.zone, { path: `/${name}`, part: 'querystring' });
      const fromMs = at(from, 'from', 0);
      const toMs = at(to, 'to', deps.now() + HOUR_MS);
      refuseBackwards(fromMs < toMs, String(from), String(to));
      const position = positionOf(after, z.number().int());
      const points = await readings.raw(series.seriesId, position ?? fromMs - 1, toMs, limit + 1);
      const page = pageOf(request, reply, points, limit, (point) => point.at);
      return sendTagged(request, reply, {
        ...page,
        items: page.items.map(({ at: instant, value, flagMask }) => ({
          at: instant,
          value,
          flags: maskToFlags(flagMask),
        })),
      });
    },
  );

  const refusalQuery = z.strictObject({
    site: idSchema.optional().describe('Left out: all, also what could not be given to a site.'),
    sensor: sensorId.optional(),
  });

  api.get(
    '/refusals',
    {
      config,
      schema: {
        tags,
        summary: 'What came and was not kept, and why',
        description: 'Newest first. Old ones fall out; their counts stay.',
        querystring: pageQuery.extend(refusalQuery.shape),
        response: reads(pageOfSchema(refusalView)),
      },
    },
    async (request, reply) => {
      const { limit, after, site, sensor } = request.query;
      if (site !== undefined) siteOf(deps, site);
      const beforeId = positionOf(after, z.number().int());
      const rows = await refusals.list({
        limit: limit + 1,
        ...(site !== undefined && { siteId: site }),
        ...(sensor !== undefined && { sensorId: sensor }),
        ...(beforeId !== undefined && { beforeId }),
      });
      return sendTagged(
        request,
        reply,
        pageOf(request, reply, rows, limit, ({ id }) => id),
      );
    },
  );

  api.get(
    '/refusals/counts',
    {
      config,
      schema: {
        tags,
        summary: 'How often what was refused',
        querystring: refusalQuery.pick({ site: true }),
        response: reads(z.object({ items: z.array(refusalCountView) })),
      },
    },
    async (request, reply) => {
      const { site } = request.query;
      if (site !== undefined) siteOf(deps, site);
      return sendTagged(request, reply, { items: await refusals.counts(site) });
    },
  );
}

const seriesFields = ({ sensorId: id, houseId, benchId, placement, quantity }: SeriesInfo) => ({
  sensorId: id,
  houseId,
  benchId,
  placement,
  quantity,
  unit: quantityInfo(quantity).unit,
  integralUnit: integralUnit(quantity),
});

function refuseBackwards(forwards: boolean, from: string, to: string): void {
  if (!forwards)
    throw invalidRequest([{ path: '/to', expected: `later than from, which is ${from}`, got: to }], 'querystring');
}

function unknownSeries(all: readonly SeriesInfo[], sensor: string, quantity: string): HttpProblem {
  const own = all.filter((one) => one.sensorId === sensor);
  if (own.length > 0)
    return notFound(`series of ${sensor} for`, quantity, `It reports ${own.map((one) => one.quantity).join(', ')}.`);
  return notFound(
    'sensor',
    sensor,
    didYouMean(
      sensor,
      all.map((one) => one.sensorId),
    ),
  );
}
