import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { BatchState, Collection } from '../../domain/collection.js';
import { freeId } from '../../domain/free-id.js';
import { idSchema } from '../../domain/site.js';
import { AnswerCache } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { enter, formOf, oneEvent, sendEntered, split, whenAndNote } from '../entering.js';
import { batchOf, benchOf, houseOf, siteOf } from '../lookup.js';
import { pageOf, pageQuery, positionOf } from '../paging.js';
import { batchDetailView, batchView, benchView, entriesView, entryView } from '../schemas/collection.js';
import { pageOfSchema, reads, siteParams, writeHeaders, writes } from '../schemas/common.js';
import { viewOfBatch, viewOfBatchDetail, viewOfEntry, viewsOfBenches } from '../views.js';

const tags = ['benches and batches'];
const read = { role: 'read' } as const;
const staff = { role: 'staff', write: true } as const;
const owner = { role: 'owner', write: true } as const;
const benchParams = siteParams.extend({ benchId: idSchema });
const batchParams = siteParams.extend({ batchId: idSchema });

const batchFilter = z.strictObject({
  house: idSchema.optional(),
  bench: idSchema.optional(),
  line: idSchema.optional(),
  group: idSchema.optional().describe('A species group of the catalogue.'),
  name: z.string().trim().min(1).max(120).optional().describe('Part of the name or of the id.'),
  state: z.enum(['living', 'ended', 'all']).default('living'),
});

function matches(batch: BatchState, collection: Collection, filter: z.infer<typeof batchFilter>): boolean {
  const bench = collection.benches.get(batch.benchId);
  const ended = batch.endedAt !== undefined || batch.potCount === 0;
  const part = filter.name?.toLowerCase();
  return (
    (filter.state === 'all' || ended === (filter.state === 'ended')) &&
    (filter.house === undefined || bench?.houseId === filter.house) &&
    (filter.bench === undefined || batch.benchId === filter.bench) &&
    (filter.line === undefined || bench?.lineId === filter.line) &&
    (filter.group === undefined || batch.group === filter.group) &&
    (part === undefined || batch.name.toLowerCase().includes(part) || batch.batchId.includes(part))
  );
}

export function collectionRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const answers = new AnswerCache();
  const revisionOf = (siteId: string, collection: Collection) => `${siteId}.${collection.journalId}`;

  api.get(
    '/sites/:siteId/benches',
    {
      config: read,
      schema: {
        tags,
        summary: 'Benches of a site',
        params: siteParams,
        querystring: z.strictObject({ house: idSchema.optional() }),
        response: reads(z.object({ items: z.array(benchView) })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { house } = request.query;
      if (house !== undefined) houseOf(site, house);
      const collection = await deps.keeper.collection(site.id);
      return answers.send(request, reply, revisionOf(site.id, collection), () => ({
        value: { items: viewsOfBenches(collection).filter((bench) => house === undefined || bench.houseId === house) },
      }));
    },
  );

  api.post(
    '/sites/:siteId/benches',
    {
      config: owner,
      schema: {
        tags,
        summary: 'Add a bench',
        params: siteParams,
        headers: writeHeaders,
        body: formOf('bench-added').omit({ kind: true }).extend(whenAndNote),
        response: writes(entriesView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      return sendEntered(
        reply,
        await enter(deps, site, request, [split({ ...request.body, kind: 'bench-added' })], oneEvent),
      );
    },
  );

  api.patch(
    '/sites/:siteId/benches/:benchId',
    {
      config: owner,
      schema: {
        tags,
        summary: 'Change a bench',
        description: '`lineId: null` takes it off its watering line.',
        params: benchParams,
        headers: writeHeaders,
        body: formOf('bench-changed').omit({ kind: true, benchId: true }).extend(whenAndNote),
        response: writes(entriesView),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { benchId } = benchOf(await deps.keeper.collection(site.id), request.params.benchId);
      const posted = split({ ...request.body, kind: 'bench-changed', benchId });
      return sendEntered(reply, await enter(deps, site, request, [posted], oneEvent));
    },
  );

  api.get(
    '/sites/:siteId/batches',
    {
      config: read,
      schema: {
        tags,
        summary: 'Batches of a site',
        description: 'By id. Batches that ended are left out unless asked for with `state`.',
        params: siteParams,
        querystring: pageQuery.extend(batchFilter.shape),
        response: reads(pageOfSchema(batchView)),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { limit, after, ...filter } = request.query;
      const position = positionOf(after, idSchema);
      const collection = await deps.keeper.collection(site.id);
      return answers.send(request, reply, revisionOf(site.id, collection), () => {
        const rows = [...collection.batches.values()]
          .filter((batch) => (position === undefined || batch.batchId > position) && matches(batch, collection, filter))
          .sort((a, b) => (a.batchId < b.batchId ? -1 : 1));
        const page = pageOf(request, reply, rows, limit, (batch) => batch.batchId);
        return {
          value: { ...page, items: page.items.map((batch) => viewOfBatch(batch, collection)) },
          headers: page.next ? { link: `<${page.next}>; rel="next"` } : {},
        };
      });
    },
  );

  api.post(
    '/sites/:siteId/batches',
    {
      config: staff,
      schema: {
        tags,
        summary: 'Make a batch',
        description: 'Without `batchId` an id is made of the name.',
        params: siteParams,
        headers: writeHeaders,
        body: formOf('batch-created').omit({ kind: true }).partial({ batchId: true }).extend(whenAndNote),
        response: writes(entriesView.extend({ batch: batchView }).meta({ id: 'BatchMade' })),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const batchId = request.body.batchId ?? freeBatchId(request.body.name, await deps.keeper.collection(site.id));
      const posted = split({ ...request.body, kind: 'batch-created', batchId });
      const entries = await enter(deps, site, request, [posted], oneEvent);
      const collection = await deps.keeper.collection(site.id);
      return sendEntered(reply, entries, { batch: viewOfBatch(batchOf(collection, batchId), collection) });
    },
  );

  api.get(
    '/sites/:siteId/batches/:batchId',
    {
      config: read,
      schema: { tags, summary: 'One batch', params: batchParams, response: reads(batchDetailView) },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const collection = await deps.keeper.collection(site.id);
      const batch = batchOf(collection, request.params.batchId);
      return answers.send(request, reply, revisionOf(site.id, collection), () => ({
        value: viewOfBatchDetail(batch, collection),
      }));
    },
  );

  api.get(
    '/sites/:siteId/batches/:batchId/history',
    {
      config: read,
      schema: {
        tags,
        summary: 'Everything entered about a batch',
        description: 'Newest first.',
        params: batchParams,
        querystring: pageQuery,
        response: reads(pageOfSchema(entryView)),
      },
    },
    async (request, reply) => {
      const site = siteOf(deps, request.params.siteId);
      const { limit, after } = request.query;
      const beforeId = positionOf(after, z.number().int());
      const collection = await deps.keeper.collection(site.id);
      const { batchId } = batchOf(collection, request.params.batchId);
      const undone = await deps.keeper.undone(site.id);
      return answers.send(request, reply, revisionOf(site.id, collection), async () => {
        const query = { siteId: site.id, batchId, limit: limit + 1, ...(beforeId !== undefined && { beforeId }) };
        const page = pageOf(request, reply, await deps.storage.journal.list(query), limit, (entry) => entry.id);
        return {
          value: { ...page, items: page.items.map((entry) => viewOfEntry(entry, undone)) },
          headers: page.next ? { link: `<${page.next}>; rel="next"` } : {},
        };
      });
    },
  );

  /** Events about one batch, at its address: the body holds the rest of their fields. */
  const aboutBatch = (
    method: 'POST' | 'PATCH',
    path: string,
    kind: 'batch-changed' | 'batch-moved' | 'batch-split' | 'batch-ended',
    summary: string,
  ) =>
    api.route({
      method,
      url: `/sites/:siteId/batches/:batchId${path}`,
      config: staff,
      schema: {
        tags,
        summary,
        params: batchParams,
        headers: writeHeaders,
        body: aboutBatchBody(kind),
        response: writes(entriesView),
      },
      handler: async (request, reply) => {
        const site = siteOf(deps, request.params.siteId);
        const collection = await deps.keeper.collection(site.id);
        const { batchId } = batchOf(collection, request.params.batchId);
        const fields: Record<string, unknown> = { ...(request.body as object), kind, batchId };
        if (kind === 'batch-split') fields['newBatchId'] ??= freeBatchId(String(fields['newName']), collection);
        return sendEntered(reply, await enter(deps, site, request, [split(fields)], oneEvent));
      },
    });
  aboutBatch('PATCH', '', 'batch-changed', 'Correct what is known of a batch');
  aboutBatch('POST', '/move', 'batch-moved', 'Move a batch to another bench');
  aboutBatch('POST', '/split', 'batch-split', 'Split pots off into a new batch');
  aboutBatch('POST', '/end', 'batch-ended', 'End a batch');
}

function aboutBatchBody(kind: 'batch-changed' | 'batch-moved' | 'batch-split' | 'batch-ended'): z.ZodObject {
  const form = (formOf(kind) as z.ZodObject).omit({ kind: true, batchId: true }).extend(whenAndNote);
  return kind === 'batch-split' ? form.partial({ newBatchId: true }) : form;
}

const freeBatchId = (name: string, { batches }: Collection): string => freeId(name, (id) => batches.has(id), 'batch');
