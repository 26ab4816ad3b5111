import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { LeafturnError, type Problem } from '../domain/errors.js';
import type { PageDeps } from './deps.js';
import { enterOnce } from './entering.js';
import { formKeyOf, readForm } from './forms.js';
import { isKeeping, keepingEvent, newBatchEvents, newBatchSchema } from './keep-forms.js';
import { batchOf, pageContext, siteOf } from './loading.js';
import { NewBatchPage } from './pages/new-batch.js';
import { batchPath, sitePath } from './parts/layout.js';
import { sendPage } from './reply.js';

type SiteRequest = FastifyRequest<{ Params: { siteId: string } }>;
type BatchRequest = FastifyRequest<{ Params: { siteId: string; batchId: string; act: string } }>;

async function newBatchPage(
  deps: PageDeps,
  request: SiteRequest,
  reply: FastifyReply,
  values: Readonly<Record<string, string>>,
  problems: readonly Problem[] = [],
): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const { benches } = await deps.collection(site.id);
  return sendPage(
    request,
    reply,
    <NewBatchPage
      page={pageContext(deps, request, site)}
      catalogue={deps.catalogue()}
      benches={[...benches.values()]}
      values={values}
      problems={problems}
    />,
    problems.length > 0 ? 422 : 200,
  );
}

/** Texts of a form as they were sent. */
const textsOf = (body: unknown): Record<string, string> =>
  Object.fromEntries(
    Object.entries((body ?? {}) as object).filter((field): field is [string, string] => typeof field[1] === 'string'),
  );

async function addBatch(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  try {
    const form = readForm(newBatchSchema, request.body);
    if (form.newBench !== undefined && !deps.reader(request).isOwner)
      throw new LeafturnError('forbidden', 'Only the owner adds benches.');
    let batchId: string | undefined;
    await enterOnce(deps, request, site.id, { key: form.key, content: form }, async () => {
      const events = newBatchEvents(form, await deps.collection(site.id));
      batchId = events.flatMap((event) => (event.kind === 'batch-created' ? [event.batchId] : []))[0];
      return events;
    });
    // A form that came a second time has made its batch already.
    const place =
      batchId === undefined
        ? `${sitePath(site.id)}/batches?q=${encodeURIComponent(form.name)}`
        : batchPath(site.id, batchId);
    return reply.redirect(place, 303);
  } catch (error) {
    if (!(error instanceof LeafturnError) || error.code !== 'invalid-input') throw error;
    return newBatchPage(deps, request, reply, textsOf(request.body), error.problems);
  }
}

async function keep(deps: PageDeps, request: BatchRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const { act } = request.params;
  if (!isKeeping(act)) throw new LeafturnError('not-found', `A batch is not asked for "${act}".`);
  const { batchId } = batchOf(await deps.collection(site.id), site, request.params.batchId);
  const key = `${formKeyOf(request.body)}:${act}`;
  const content = [batchId, act, textsOf(request.body)];
  await enterOnce(deps, request, site.id, { key, content }, async () => [
    keepingEvent(act, request.body, batchId, await deps.collection(site.id)),
  ]);
  return reply.redirect(`${batchPath(site.id, batchId)}?said=kept`, 303);
}

/** Pages that keep the collection: batches that come, move, are divided, repotted, lost and end. */
export function registerKeeping(app: FastifyInstance, deps: PageDeps): void {
  app.get<{ Params: { siteId: string } }>('/sites/:siteId/new-batch', { config: { role: 'staff' } }, (request, reply) =>
    newBatchPage(deps, request, reply, {}),
  );
  app.post<{ Params: { siteId: string } }>(
    '/sites/:siteId/new-batch',
    { config: { role: 'staff' } },
    (request, reply) => addBatch(deps, request, reply),
  );
  app.post<{ Params: { siteId: string; batchId: string; act: string } }>(
    '/sites/:siteId/batches/:batchId/:act',
    { config: { role: 'staff' } },
    (request, reply) => keep(deps, request, reply),
  );
}
