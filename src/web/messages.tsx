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
/** A server that does not answer holds up the person who pressed the button no longer than this. */
const TEST_LASTS_MS = 20_000;

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
  // What was given up for another site is not this one's business.
  const deadOf = async (siteId: string) =>
    (await deps.notifications.dead({ limit: DEAD_SHOWS })).filter(({ message }) => message.siteId === siteId);

  app.get<SiteParams>('/sites/:siteId/messages', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    const said = SAID.get(String((request.query as { said?: unknown }).said));
    return sendPage(
      request,
      reply,
      <MessagesPage
        page={pageContext(deps, request, site)}
        channels={await deps.notifications.channels()}
        dead={await deadOf(site.id)}
        {...(said && { said })}
      />,
    );
  });
  app.post<SiteParams>('/sites/:siteId/messages/test', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    const by = refuseReaders(deps, request);
    const { channel } = readForm(testFormSchema, request.body);
    const results = await deps.notifications.test(channel, by, AbortSignal.timeout(TEST_LASTS_MS), site.id);
    const sent = results.length > 0 && results.every(({ outcome }) => outcome.kind === 'sent');
    return reply.redirect(`${messagesPath(site.id)}?said=${sent ? 'sent' : 'failed'}`, 303);
  });
  app.post<SiteParams>('/sites/:siteId/messages/again', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    refuseReaders(deps, request);
    const { id } = readForm(againFormSchema, request.body);
    if (!(await deadOf(site.id)).some((delivery) => delivery.id === id))
      throw new LeafturnError('not-found', `There is no message ${id} at ${site.name} that was given up.`);
    await deps.notifications.sendAgain(id);
    return reply.redirect(`${messagesPath(site.id)}?said=again`, 303);
  });
}
