import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { HttpLimits, ServiceDeps } from '../deps.js';
import { reads } from '../schemas/common.js';

/** `POST /what-if`: a decision on facts somebody thought of. It changes nothing, so it needs no Idempotency-Key. */
export function whatIfRoutes(app: FastifyInstance, deps: ServiceDeps, limits: HttpLimits): void {
  app.withTypeProvider<ZodTypeProvider>().post(
    '/what-if',
    {
      config: {
        role: 'read',
        rateLimit: { max: limits.whatIfPerMinute, keyGenerator: (request) => `what-if ${request.ip}` },
      },
      schema: {
        tags: ['the morning list'],
        summary: 'What would be decided on these facts',
        description:
          'Takes the form of a decision case and answers with the verdict and its trace. Nothing is stored. A fact that is left out is unknown.',
        body: z.looseObject({}).describe('A decision case.'),
        response: reads(z.looseObject({}).describe('The verdict and its trace.')),
      },
    },
    async (request, reply) =>
      reply
        .header('cache-control', 'no-store')
        .type('application/json; charset=utf-8')
        .send(JSON.stringify(await deps.whatIf(request.body))),
  );
}
