import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { idSchema } from '../../domain/site.js';
import { isLocalDay, type LocalDay } from '../../domain/time.js';
import type { BatchAdvice, Round } from '../../domain/verdict.js';
import { AnswerCache, sendCreated, sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { siteOf } from '../lookup.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { fieldError, HttpProblem, notFound } from '../problem.js';
import { localDay, pageOfSchema, reads, siteParams, writeHeaders, writes } from '../schemas/common.js';
import { batchAdviceView, roundDayView, roundView } from '../schemas/round.js';
import { withoutTraces } from '../views.js';

const tags = ['the morning list'];
const read = { role: 'read' } as const;
const dayParams = siteParams.extend({
  day: z.union([z.literal('today'), localDay]).describe('A day of the site, or `today`.'),
});
const revisionQuery = z.strictObject({
  revision: z.coerce.number().int().positive().optional().describe('Left out: the newest.'),
});

export function roundRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const answers = new AnswerCache();
  const dayOf = (siteId: string, day: string): LocalDay => (day === 'today' ? deps.rounds.today(siteId) : day);

  async function stored(siteId: string, day: LocalDay, revision: number | undefined): Promise<Round> {
    const round =
      revision === undefined
        ? await deps.rounds.latest(siteId, day)
        : (await deps.storage.rounds.get(siteId, day, revision))?.round;
    if (round) return round;
    const which = revision === undefined ? day : `${day}, revision ${revision}`;
    throw notFound('list of', which, 'The list of today is made with POST on the address of the lists.');
  }
  const tagOf = (round: Round) => `${round.siteId}.${round.day}.${round.revision}.${round.madeAt.toString(36)}`;

  api.get(
    '/sites/:siteId/rounds',
    {
      config: read,
      schema: {
        tags,
        summary: 'Days that have a list',
        description: 'Newest first.',
        params: siteParams,
        querystring: pageQuery,
        response: reads(pageOfSchema(roundDayView)),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { limit, after } = request.query;
      const before = positionOf(after, z.string().refine(isLocalDay));
      const rows = await deps.storage.rounds.days(site.id, {
        limit: limit + 1,
        ...(before !== undefined && { before }),
      });
      const page = pageOf(request, reply, rows, limit, ({ day }) => day);
      return sendTagged(request, reply, {
        ...page,
        items: page.items.map((row) => ({ ...row, address: `/api/v1/sites/${site.id}/rounds/${row.day}` })),
      });
    },
  );

  api.post(
    '/sites/:siteId/rounds',
    {
      config: { role: 'staff', write: true },
      schema: {
        tags,
        summary: 'Make the list of today now',
        description: 'Makes a new revision of it when there is one already. Past days are not decided again here.',
        params: siteParams,
        headers: writeHeaders,
        body: z.strictObject({ day: z.union([z.literal('today'), localDay]).default('today') }).nullish(),
        response: writes(roundView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const today = deps.rounds.today(site.id);
      const day = dayOf(site.id, request.body?.day ?? 'today');
      if (day !== today)
        throw new HttpProblem('invalid-input', 'Only the list of today can be made.', [
          fieldError({ path: '/day', expected: `today, ${today}`, got: day }),
        ]);
      const round = await deps.rounds.make(site.id, day);
      return sendCreated(reply, withoutTraces(round));
    },
  );

  api.get(
    '/sites/:siteId/rounds/:day',
    {
      config: read,
      schema: {
        tags,
        summary: 'The list of a day',
        description:
          'Houses, watering lines, batches, each with its verdict and the reason. Its tag changes with its revision.',
        params: dayParams,
        querystring: revisionQuery.extend({
          trace: z
            .enum(['true', 'false'])
            .default('false')
            .describe('`true` brings the trace of every verdict: some 30 kB a batch. One batch alone has an address.'),
        }),
        response: reads(roundView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { revision, trace } = request.query;
      const round = await stored(site.id, dayOf(site.id, request.params.day), revision);
      if (trace === 'true') refuseTooLong(round);
      return answers.send(request, reply, tagOf(round), () => ({
        value: trace === 'true' ? round : withoutTraces(round),
      }));
    },
  );

  api.get(
    '/sites/:siteId/rounds/:day/batches/:batchId',
    {
      config: read,
      schema: {
        tags,
        summary: 'One batch of a list, with the facts it was decided on',
        params: dayParams.extend({ batchId: idSchema }),
        querystring: revisionQuery,
        response: reads(
          z
            .object({
              siteId: z.string(),
              day: z.string(),
              revision: z.number().int(),
              rulebookRevision: z.string(),
              advice: batchAdviceView,
              facts: z.unknown().describe('Facts by name, each with value, certainty and where it came from.'),
            })
            .meta({ id: 'BatchDecision' }),
        ),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { batchId } = request.params;
      const { revision, day, rulebookRevision } = await stored(
        site.id,
        dayOf(site.id, request.params.day),
        request.query.revision,
      );
      const kept = await deps.storage.rounds.get(site.id, day, revision);
      const advice = kept && adviceOf(kept.round, batchId);
      if (!advice) throw notFound(`batch on the list of ${day}`, batchId);
      return answers.send(request, reply, tagOf(kept.round), () => ({
        value: { siteId: site.id, day, revision, rulebookRevision, advice, facts: kept.facts[batchId] ?? null },
      }));
    },
  );
}

/** Every trace of so many batches would hold up everybody else while it is written out. */
const TRACED_AT_ONCE = 1000;
function refuseTooLong(round: Round): void {
  const count = round.houses.reduce(
    (sum, house) => sum + house.lines.reduce((batches, line) => batches + line.batches.length, 0),
    0,
  );
  if (count > TRACED_AT_ONCE)
    throw new HttpProblem(
      'invalid-input',
      `The traces of ${count} batches are too much for one answer; ${TRACED_AT_ONCE} are the most. Ask for them batch by batch.`,
    );
}

function adviceOf(round: Round, batchId: string): BatchAdvice | undefined {
  for (const house of round.houses)
    for (const line of house.lines) {
      const advice = line.batches.find((batch) => batch.batchId === batchId);
      if (advice) return advice;
    }
  return undefined;
}
