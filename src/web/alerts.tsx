import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import type { Alert } from '../domain/alerts.js';
import { LeafturnError } from '../domain/errors.js';
import { addDays, instantOnDay, localDayOf } from '../domain/time.js';
import type { PageDeps } from './deps.js';
import { readForm } from './forms.js';
import { pageContext, siteOf } from './loading.js';
import { AlertsPage } from './pages/alerts.js';
import { alertsPath } from './parts/layout.js';
import { sendPage } from './reply.js';

const PAST_SHOWS = 20;
/** What a person who put an alert off until the morning means by it. */
const MORNING = '05:00';
const THREE_DAYS = 3;

const SAID: ReadonlyMap<string, string> = new Map([
  ['acknowledge', 'Noted that it is seen to.'],
  ['snooze', 'Done.'],
]);

type SiteParams = { Params: { siteId: string } };
type AlertParams = { Params: { siteId: string; alertId: string } };

const snoozeFormSchema = z.strictObject({ until: z.enum(['morning', 'three-days', 'none']) });
const beforeSchema = z
  .object({ before: z.coerce.number().int(), id: z.coerce.number().int() })
  .transform(({ before, id }) => ({ resolvedAt: before, id }));

async function list(deps: PageDeps, request: FastifyRequest<SiteParams>, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const before = beforeSchema.safeParse(request.query);
  const past = await deps.alerts.past(site.id, {
    limit: PAST_SHOWS + 1,
    ...(before.success && { before: before.data }),
  });
  const shown = past.slice(0, PAST_SHOWS);
  const last = past.length > PAST_SHOWS ? shown.at(-1) : undefined;
  const said = SAID.get(String((request.query as { said?: unknown }).said));
  return sendPage(
    request,
    reply,
    <AlertsPage
      page={pageContext(deps, request, site)}
      open={inOrderOfWeight(await deps.alerts.open(site.id))}
      past={shown}
      collection={await deps.collection(site.id)}
      {...(last?.resolvedAt !== undefined && { older: `before=${last.resolvedAt}&id=${last.id}` })}
      {...(said && { said })}
    />,
  );
}

/** What nobody has seen to comes first, danger before the rest, then what begins soonest. */
export const inOrderOfWeight = (alerts: readonly Alert[]): Alert[] =>
  [...alerts].sort(
    (a, b) =>
      Number(a.acknowledged !== undefined) - Number(b.acknowledged !== undefined) ||
      Number(b.level === 'danger') - Number(a.level === 'danger') ||
      (a.expectedAt ?? 0) - (b.expectedAt ?? 0) ||
      a.id - b.id,
  );

/** So many mornings from now: pressed at night, the first is that of the same night. */
function mornings(zone: string, now: number, many: number): number {
  const today = localDayOf(zone, now);
  const isNight = now < instantOnDay(zone, today, MORNING);
  return instantOnDay(zone, addDays(today, isNight ? many - 1 : many), MORNING);
}

async function act(
  deps: PageDeps,
  request: FastifyRequest<AlertParams>,
  reply: FastifyReply,
  what: string,
  change: (id: number, by: string, zone: string) => Promise<Alert>,
): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const reader = deps.reader(request);
  if (!reader.mayWrite) throw new LeafturnError('forbidden', 'You may read the alerts but not answer them.');
  const id = Number(request.params.alertId);
  const known = Number.isSafeInteger(id) ? await deps.alerts.get(id) : undefined;
  if (known?.siteId !== site.id)
    throw new LeafturnError('not-found', `There is no alert ${request.params.alertId} at ${site.name}.`);
  await change(id, reader.name, site.zone);
  return reply.redirect(`${alertsPath(site.id)}?said=${what}#alert-${id}`, 303);
}

/** The page of the alerts, and what people do to them. Doing it twice is as doing it once. */
export function registerAlerts(app: FastifyInstance, deps: PageDeps): void {
  app.get<SiteParams>('/sites/:siteId/alerts', (request, reply) => list(deps, request, reply));
  app.post<AlertParams>('/sites/:siteId/alerts/:alertId/acknowledge', (request, reply) =>
    act(deps, request, reply, 'acknowledge', (id, by) => deps.alerts.acknowledge(id, by)),
  );
  app.post<AlertParams>('/sites/:siteId/alerts/:alertId/snooze', (request, reply) => {
    const { until } = readForm(snoozeFormSchema, request.body);
    return act(deps, request, reply, 'snooze', (id, by, zone) => {
      if (until === 'none') return deps.alerts.unsnooze(id, by);
      return deps.alerts.snooze(id, by, mornings(zone, deps.now(), until === 'morning' ? 1 : THREE_DAYS));
    });
  });
}
