import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { type JournalKind, journalEventSchema } from '../../domain/journal.js';
import { idSchema } from '../../domain/site.js';
import { sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { enter, formOf, manyEvents, oneEvent, sendEntered, split, whenAndNote } from '../entering.js';
import { instantFrom, siteOf } from '../lookup.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { notFound } from '../problem.js';
import { entriesView, entryView } from '../schemas/collection.js';
import { pageOfSchema, reads, siteParams, writeHeaders, writes, writtenInstant } from '../schemas/common.js';
import { viewOfEntry } from '../views.js';

const tags = ['journal'];
const KINDS = journalEventSchema.options.map((option) => option.shape.kind.value) as [JournalKind, ...JournalKind[]];
const kindSchema = z.enum(KINDS);

/** An event as it is posted: its fields, when it happened, a note. */
const postedEvent = z
  .discriminatedUnion(
    'kind',
    journalEventSchema.options.map((option) => z.strictObject({ ...option.shape, ...whenAndNote })) as unknown as [
      z.ZodObject<{ kind: z.ZodLiteral<JournalKind> }, z.core.$loose>,
      ...z.ZodObject<{ kind: z.ZodLiteral<JournalKind> }, z.core.$loose>[],
    ],
  )
  .meta({ id: 'PostedEvent' });

/** A day's ticks of a phone that was out of reach come at once. */
const EVENTS_AT_ONCE = 500;

export function journalRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();

  api.get(
    '/sites/:siteId/journal',
    {
      config: { role: 'read' },
      schema: {
        tags,
        summary: 'What people did and saw',
        description:
          'Newest entry first, or oldest first with `order=oldest`. An entry that was taken back says by which.',
        params: siteParams,
        querystring: pageQuery.extend({
          order: z.enum(['newest', 'oldest']).default('newest'),
          kind: z
            .union([kindSchema, z.array(kindSchema)])
            .optional()
            .describe('Only these kinds; may be repeated.'),
          batch: idSchema.optional().describe('Only entries that name this batch.'),
          from: writtenInstant.optional().describe('Happened at or after.'),
          to: writtenInstant.optional().describe('Happened before.'),
        }),
        response: reads(pageOfSchema(entryView)),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { limit, after, order, kind, batch, from, to } = request.query;
      const position = positionOf(after, z.number().int());
      const at = (given: string | number, name: string) =>
        instantFrom(given, site.zone, { path: `/${name}`, part: 'querystring' });
      const rows = await deps.storage.journal.list({
        siteId: site.id,
        limit: limit + 1,
        ...(kind !== undefined && { kinds: Array.isArray(kind) ? kind : [kind] }),
        ...(batch !== undefined && { batchId: batch }),
        ...(from !== undefined && { happenedFrom: at(from, 'from') }),
        ...(to !== undefined && { happenedTo: at(to, 'to') }),
        // Without a place to begin, oldest first begins before the first entry.
        ...(order === 'oldest' ? { afterId: position ?? 0 } : position !== undefined && { beforeId: position }),
      });
      const undone = await deps.keeper.undone(site.id);
      const page = pageOf(request, reply, rows, limit, (entry) => entry.id);
      return sendTagged(request, reply, { ...page, items: page.items.map((entry) => viewOfEntry(entry, undone)) });
    },
  );

  api.get(
    '/sites/:siteId/journal/:entryId',
    {
      config: { role: 'read' },
      schema: {
        tags,
        summary: 'One entry',
        params: siteParams.extend({ entryId: z.coerce.number().int().positive() }),
        response: reads(entryView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const entry = await deps.storage.journal.get(site.id, request.params.entryId);
      if (!entry) throw notFound('entry', String(request.params.entryId));
      return sendTagged(request, reply, viewOfEntry(entry, await deps.keeper.undone(site.id)));
    },
  );

  api.post(
    '/sites/:siteId/journal',
    {
      config: { role: 'staff', write: true },
      schema: {
        tags,
        summary: 'Enter what was done or seen',
        description:
          'One event, or up to 500 in the order in which they happened. All of them are entered, or none. Benches need the role owner.',
        params: siteParams,
        headers: writeHeaders,
        body: z.union([postedEvent, z.array(postedEvent).min(1).max(EVENTS_AT_ONCE)]),
        response: writes(entriesView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { body } = request;
      const posted = (Array.isArray(body) ? body : [body]).map((event) => split(event));
      const entries = await enter(deps, site, request, posted, Array.isArray(body) ? manyEvents : oneEvent);
      return sendEntered(reply, entries);
    },
  );

  api.post(
    '/sites/:siteId/journal/:entryId/undo',
    {
      config: { role: 'staff', write: true },
      schema: {
        tags,
        summary: 'Take an entry back',
        description:
          'The entry stays in the journal; a new entry says that it no longer counts. An undo can be undone.',
        params: siteParams.extend({ entryId: z.coerce.number().int().positive() }),
        headers: writeHeaders,
        body: formOf('undo').pick({ reason: true }).nullish(),
        response: writes(entriesView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { entryId } = request.params;
      if (!(await deps.storage.journal.get(site.id, entryId))) throw notFound('entry', String(entryId));
      const reason = request.body?.reason;
      const event = { kind: 'undo' as const, entryId, ...(reason !== undefined && { reason }) };
      const entries = await enter(deps, site, request, [{ event, when: {} }], oneEvent);
      return sendEntered(reply, entries);
    },
  );

  /** Events that are entered at an address of their own: the body holds their fields. */
  const address = (
    path: string,
    kind: 'watering' | 'signs' | 'repotting' | 'task-done' | 'cloth' | 'loss' | 'note',
    summary: string,
  ) =>
    api.post(
      `/sites/:siteId/${path}`,
      {
        config: { role: 'staff', write: true },
        schema: {
          tags,
          summary,
          params: siteParams,
          headers: writeHeaders,
          body: (formOf(kind) as z.ZodObject).omit({ kind: true }).extend(whenAndNote),
          response: writes(entriesView),
        },
      },
      async (request, reply) => {
        const site = siteOf(deps, request.params.siteId);
        const posted = split({ ...(request.body as object), kind });
        return sendEntered(reply, await enter(deps, site, request, [posted], oneEvent));
      },
    );
  address('waterings', 'watering', 'Enter a watering, or that one was left out');
  address('signs', 'signs', 'Enter what was seen on batches');
  address('repottings', 'repotting', 'Enter a repotting');
  address('tasks-done', 'task-done', 'Enter a task that was done for batches or for a house');
  address('cloths', 'cloth', 'Enter which cloth hangs in a house now');
  address('losses', 'loss', 'Enter lost pots of a batch');
  address('notes', 'note', 'Enter a note');
}
