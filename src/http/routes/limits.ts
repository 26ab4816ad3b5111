import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { LimitsView, LimitView } from '../../advice/limits-view.js';
import { WATER_PHASES } from '../../domain/catalogue.js';
import type { SettingsChange } from '../../domain/house-settings.js';
import { defined } from '../../domain/optional.js';
import { didYouMean } from '../../domain/problems.js';
import { idSchema } from '../../domain/site.js';
import { callerOf } from '../access.js';
import { sendCreated, sendTagged } from '../answers.js';
import type { HttpLimits, ServiceDeps } from '../deps.js';
import { houseOf, siteOf } from '../lookup.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { invalidRequest } from '../problem.js';
import { pageOfSchema, reads, siteParams, writeHeaders, writes } from '../schemas/common.js';
import { backBody, changeBody, limitsView, revisionView, triedView, tryBody } from '../schemas/limits.js';

const tags = ['limits of a house'];
const params = siteParams.extend({ houseId: idSchema.describe('Id of the house.') });
const owner = { role: 'owner', write: true } as const;
const at = '/sites/:siteId/houses/:houseId/limits';

/** What the rules go by in one house: looked at, tried, set, and gone back. */
export function limitRoutes(app: FastifyInstance, deps: ServiceDeps, { triesPerMinute }: HttpLimits): void {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const placeOf = ({ siteId, houseId }: z.infer<typeof params>): [siteId: string, houseId: string] => {
    const site = siteOf(deps, siteId);
    return [site.id, houseOf(site, houseId).id];
  };

  api.get(
    at,
    {
      config: { role: 'read' },
      schema: {
        tags,
        summary: 'Every limit of a house',
        description:
          'What holds beside what is usual, with bounds, reason and source; what was set for the house, by whom, when and why.',
        params,
        querystring: z.strictObject({
          group: idSchema.optional().describe('Only as it is for this species group.'),
          phase: z.enum(WATER_PHASES).optional().describe('Only as it is in this phase.'),
        }),
        response: reads(limitsView),
      },
    },
    async (request, reply) => {
      const place = placeOf(request.params);
      const { group, phase } = request.query;
      if (group !== undefined) refuseUnknownGroup(deps, group);
      const view = await deps.houseLimits.view(
        ...place,
        defined({ groups: group === undefined ? undefined : [group], phase }),
      );
      return sendTagged(request, reply, viewOf(view));
    },
  );

  api.patch(
    at,
    {
      config: owner,
      schema: {
        tags,
        summary: 'Set limits of a house',
        description: 'Makes a new revision, and with it a new list. Everything that is wrong is told at once.',
        params,
        headers: writeHeaders,
        body: changeBody,
        response: writes(revisionView),
      },
    },
    async (request, reply) => {
      const place = placeOf(request.params);
      const { why, expected, ...change } = request.body;
      const by = { by: callerOf(request).name, why, expected };
      const { settings, changes } = await deps.houseLimits.set(...place, change as SettingsChange, by);
      return sendCreated(reply, { ...settings, changes });
    },
  );

  api.post(
    `${at}/back`,
    {
      config: owner,
      schema: {
        tags,
        summary: 'Go back one step',
        description:
          'A new revision with the settings of the one before, or of the one named. Doing it twice brings back what was left.',
        params,
        headers: writeHeaders,
        body: backBody,
        response: writes(revisionView),
      },
    },
    async (request, reply) => {
      const place = placeOf(request.params);
      const { expected, to, why } = request.body;
      const by = { by: callerOf(request).name, expected };
      const { settings, changes } = await deps.houseLimits.goBack(...place, by, defined({ to, why }));
      return sendCreated(reply, { ...settings, changes });
    },
  );

  api.post(
    `${at}/try`,
    {
      // Two lists of the house are worked out for it, so not for everybody, and not without end.
      config: {
        role: 'staff',
        rateLimit: { max: triesPerMinute, keyGenerator: (request) => `try ${request.ip}` },
      },
      schema: {
        tags,
        summary: 'Try limits before they are set',
        description:
          'What today’s list of the house would say, and what would be decided on a batch you describe. Nothing is stored.',
        params,
        body: tryBody,
        response: reads(triedView),
      },
    },
    async (request, reply) => {
      const place = placeOf(request.params);
      const { given, ...change } = request.body;
      const { draft, ...tried } = await deps.houseLimits.tryOut(...place, change as SettingsChange, given);
      return reply
        .header('cache-control', 'no-store')
        .type('application/json; charset=utf-8')
        .send(JSON.stringify({ ...tried, limits: draft.limits }));
    },
  );

  api.get(
    `${at}/revisions`,
    {
      config: { role: 'read' },
      schema: {
        tags,
        summary: 'What was set for a house over time',
        description: 'Newest first. Revisions are never changed or taken away.',
        params,
        querystring: pageQuery,
        response: reads(pageOfSchema(revisionView)),
      },
    },
    async (request, reply) => {
      const place = placeOf(request.params);
      const { limit, after } = request.query;
      const beforeRevision = positionOf(after, z.number().int());
      const rows = await deps.houseLimits.revisions(...place, { limit: limit + 1, ...defined({ beforeRevision }) });
      const page = pageOf(request, reply, rows, limit, ({ settings }) => settings.revision);
      return sendTagged(request, reply, {
        ...page,
        items: page.items.map(({ settings, changes }) => ({ ...settings, changes })),
      });
    },
  );
}

function refuseUnknownGroup(deps: ServiceDeps, group: string): void {
  const groups = deps.catalogue().speciesGroups.map(({ id }) => id);
  if (groups.includes(group)) return;
  const mend = didYouMean(group, groups);
  const expected = 'a species group of the catalogue';
  throw invalidRequest([{ path: '/group', expected, got: group, ...(mend && { mend }) }], 'querystring');
}

function viewOf({ settings, sections, rulebookRevision, leftOut, alerts }: LimitsView) {
  const { limits: _limits, ...fields } = settings;
  return {
    ...fields,
    rulebookRevision,
    sections: sections.map(({ id, heading }) => ({ id, heading })),
    items: sections.flatMap(({ limits }) => limits.map(viewOfLimit)),
    alertItems: alerts.map(({ limit, ...view }) => ({ ...limit, ...view })),
    leftOut,
  };
}

function viewOfLimit({ limit, ...view }: LimitView) {
  const { from: _from, set: _set, ...declared } = limit;
  return { ...declared, ...view };
}
