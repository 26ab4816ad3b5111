import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { IssuedForecast } from '../../domain/forecast.js';
import { pushedForecastSchema } from '../../forecast/pushed.js';
import { callerOf } from '../access.js';
import { sendCreated, sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { siteOf } from '../lookup.js';
import { instant, reads, siteParams, writeHeaders, writes } from '../schemas/common.js';

const tags = ['outdoor forecast'];
const value = (what: string) => z.number().nullable().describe(`${what} null: not told.`);

const forecastHead = {
  siteId: z.string(),
  source: z.string().describe('The service that was asked, or who handed it over.'),
  issuedAt: instant,
  receivedAt: instant,
};
const forecastView = z
  .object({
    ...forecastHead,
    hours: z.array(
      z.object({
        at: instant.describe('Start of the hour, UTC ms.'),
        airTempC: value('°C at the start of the hour.'),
        relHumidityPct: value('%.'),
        radiationWm2: value('Mean of the hour, W/m².'),
        cloudPct: value('Share of the sky that is covered, %.'),
        windMs: value('m/s.'),
        rainMm: value('mm in the hour.'),
      }),
    ),
  })
  .meta({ id: 'OutdoorForecast' });

const latestView = z
  .object({
    forecast: forecastView.nullable().describe('As it was issued; null: none that still says anything.'),
    state: z
      .enum(['fresh', 'old', 'too-old', 'none', 'not-set-up'])
      .describe('old: more than 12 hours, still used; too-old: more than 36, no longer used.'),
    trouble: z.string().nullable().describe('Last trouble of the services that are asked, in words.'),
    troubleAt: instant.nullable(),
  })
  .meta({ id: 'LatestForecast' });

const keptView = z
  .object({
    outcome: z.enum(['kept', 'known']).describe('known: this issue was there already.'),
    ...forecastHead,
    hours: z.number().int().describe('Hours that were kept: none that was over when the forecast was issued.'),
  })
  .meta({ id: 'KeptForecast' });

/** The weather outside in the coming days: handed over, and looked at. */
export function forecastRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();

  for (const method of ['POST', 'PUT'] as const)
    api.route({
      method,
      url: '/sites/:siteId/forecasts',
      config: { role: 'staff', write: true },
      schema: {
        tags,
        summary: method === 'POST' ? 'Hand over an outdoor forecast' : 'The same, for devices that can only put',
        description:
          'Hours in UTC with what is known of each. A forecast is kept as it was issued and never changed; the same issue sent again is one. While it is fresh it goes before that of a service that is asked.',
        params: siteParams,
        headers: writeHeaders,
        body: pushedForecastSchema,
        response: writes(keptView),
      },
      handler: async (request, reply) => {
        const site = siteOf(deps, request.params.siteId);
        const { outcome, forecast } = await deps.forecasts.push(site.id, request.body, callerOf(request).name);
        return sendCreated(reply, { outcome, ...headOf(forecast), hours: forecast.hours.length });
      },
    });

  api.get(
    '/sites/:siteId/forecasts/latest',
    {
      config: { role: 'read' },
      schema: {
        tags,
        summary: 'The outdoor forecast in use',
        description: 'The newest one, and how it stands with it.',
        params: siteParams,
        response: reads(latestView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const forecast = await deps.forecasts.latest(site.id, deps.now());
      const { state, trouble, troubleAt } = deps.forecasts.status(site.id);
      return sendTagged(request, reply, {
        forecast: forecast ? { ...headOf(forecast), hours: forecast.hours } : null,
        state,
        trouble,
        troubleAt,
      });
    },
  );
}

const headOf = ({ siteId, source, issuedAt, receivedAt }: IssuedForecast) => ({ siteId, source, issuedAt, receivedAt });
