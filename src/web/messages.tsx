import type { FastifyInstance, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { LeafturnError } from '../domain/errors.js';
import type { PageDeps } from './deps.js';
import { readForm } from './forms.js';
import { pageContext, siteOf } from './loading.js';
import { MessagesPage } from './pages/messages.js';
import { messagesPath } from './parts/layout.js';
import { sendPage } from './reply.js';

const DEAD_SHOWS = 50;

const SAID: ReadonlyMap<string, string> = new Map([
  ['sent', 'The test was sent.'],
  ['failed', 'The test did not arrive. The reason stands below.'],
  ['again', 'It is tried again.'],
]);

type SiteParams = { Params: { siteId: string } };
const testFormSchema = z.strictObject({ channel: z.string().min(1).max(200) });
const againFormSchema = z.strictObject({ id: z.coerce.number().int().positive() });

function refuseReaders(deps: PageDeps, request: FastifyRequest): string {
  const reader = deps.reader(request);
  if (!reader.mayWrite) throw new LeafturnError('forbidden', 'You may read how messages go, but not send any.');
  return reader.name;
}

/** The page of the ways to people. */
export function registerMessages(app: FastifyInstance, deps: PageDeps): void {
  app.get<SiteParams>('/sites/:siteId/messages', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    // Addresses of people stand there.
    const { mayWrite } = deps.reader(request);
    const said = SAID.get(String((request.query as { said?: unknown }).said));
    return sendPage(
      request,
      reply,
      <MessagesPage
        page={pageContext(deps, request, site)}
        channels={await deps.notifications.channels(site.id)}
        dead={mayWrite ? await deps.notifications.dead({ siteId: site.id, limit: DEAD_SHOWS }) : []}
        {...(said && { said })}
      />,
    );
  });
  app.post<SiteParams>('/sites/:siteId/messages/test', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    const by = refuseReaders(deps, request);
    const { channel } = readForm(testFormSchema, request.body);
    const results = await deps.notifications.test(channel, by, site.id);
    const sent = results.length > 0 && results.every(({ outcome }) => outcome.kind === 'sent');
    return reply.redirect(`${messagesPath(site.id)}?said=${sent ? 'sent' : 'failed'}`, 303);
  });
  app.post<SiteParams>('/sites/:siteId/messages/again', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    refuseReaders(deps, request);
    const { id } = readForm(againFormSchema, request.body);
    const [found] = await deps.notifications.dead({ siteId: site.id, beforeId: id + 1, limit: 1 });
    if (found?.id !== id)
      throw new LeafturnError('not-found', `There is no message ${id} at ${site.name} that was given up.`);
    await deps.notifications.sendAgain(id);
    return reply.redirect(`${messagesPath(site.id)}?said=again`, 303);
  });
}
