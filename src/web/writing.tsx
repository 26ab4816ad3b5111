import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { VNode } from 'preact';
import { render } from 'preact-render-to-string';
import type { JournalEventInput } from '../domain/journal.js';
import type { Site } from '../domain/site.js';
import { safeBack } from './back.js';
import { rememberRead } from './cookies.js';
import type { PageDeps } from './deps.js';
import { enterOnce } from './entering.js';
import {
  amountFormSchema,
  clothFormSchema,
  noteBatches,
  noteEvents,
  noteFormSchema,
  readForm,
  readFormSchema,
  tickEvents,
  tickFormSchema,
  undoFormSchema,
} from './forms.js';
import { currentRound, houseOf, loadList, pageContext, siteOf } from './loading.js';
import { Jumps, Look, Progress, printedLine } from './pages/today.js';
import { FOLD_UP_TO_BATCHES, House } from './parts/house.js';
import { sitePath } from './parts/layout.js';
import { Tasks } from './parts/tasks.js';
import { taskEvent, taskFormSchema } from './task-forms.js';

type SiteRequest = FastifyRequest<{ Params: { siteId: string } }>;

/** Sent by the browser module: it wants the changed parts of the page, not the page. */
export const wantsParts = (request: FastifyRequest): boolean => request.headers['x-leafturn-parts'] === '1';

/** What an entry may have changed on the page. */
interface Touched {
  readonly batchIds: readonly string[];
  /** The second list. */
  readonly tasks?: boolean;
}

/** Parts of the list that an entry about these batches changes, by their id on the page. */
async function changedParts(deps: PageDeps, request: SiteRequest, site: Site, { batchIds, tasks }: Touched) {
  const round = await currentRound(deps, site.id, deps.today(site.id));
  if (!round) return { parts: {}, digest: null };
  const { view, digest } = await loadList(deps, site, round);
  const page = pageContext(deps, request, site);
  const touched = new Set(batchIds);
  const houses = view.houses.filter((house) =>
    house.house.lines.some((line) => line.batches.some((advice) => touched.has(advice.batchId))),
  );
  const fold = view.batches <= FOLD_UP_TO_BATCHES;
  const parts: Record<string, VNode> = {
    progress: <Progress view={view} />,
    jumps: <Jumps view={view} />,
    look: <Look look={view.look} page={page} round={round} />,
  };
  if (tasks) parts.due = <Tasks tasks={view.tasks} page={page} round={round} printed={printedLine(page, round)} />;
  for (const house of houses)
    parts[`house-${house.house.houseId}`] = (
      <House view={house} page={page} fold={fold} printed={printedLine(page, round)} />
    );
  return { parts: Object.fromEntries(Object.entries(parts).map(([id, node]) => [id, render(node)])), digest };
}

interface Written {
  readonly key: string;
  readonly ago: number | undefined;
  readonly back: string;
  readonly said?: string;
}

/** Notes the events once, then answers with the changed parts or the way back. */
async function write(
  deps: PageDeps,
  request: SiteRequest,
  reply: FastifyReply,
  site: Site,
  events: readonly JournalEventInput[],
  { key, ago, back, said }: Written,
  touched: Touched,
): Promise<FastifyReply> {
  await enterOnce(deps, request, site.id, { key, content: events, ago }, async () => events);
  reply.header('cache-control', 'no-store');
  const url = new URL(back, 'http://here.invalid');
  if (said) url.searchParams.set('said', said);
  const way = `${url.pathname}${url.search}${url.hash}`;
  if (wantsParts(request)) return reply.send({ ...(await changedParts(deps, request, site, touched)), back: way });
  return reply.redirect(way, 303);
}

async function tick(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(tickFormSchema, request.body);
  const batchIds = form.tick.items.map((item) => item.batchId);
  const anchor = form.tick.lineId ? `l-${form.tick.lineId}` : `b-${batchIds[0]}`;
  const back = `${safeBack(form.back, sitePath(site.id)).split('#')[0]}#${anchor}`;
  // The page has one key and many buttons: what the button says is part of what must not count twice.
  const key = `${form.key}:${form.tick.answer}:${anchor}`;
  return write(deps, request, reply, site, tickEvents(form), { key, ago: form.ago, back }, { batchIds });
}

async function amount(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(amountFormSchema, request.body);
  const event: JournalEventInput = {
    kind: 'watering',
    batchIds: [form.batch],
    amount: form.amount,
    ...(form.ml !== undefined && { mlPerPot: form.ml }),
    answer: 'another-amount',
    day: form.day,
  };
  const back = safeBack(form.back, sitePath(site.id));
  return write(deps, request, reply, site, [event], { key: form.key, ago: form.ago, back }, { batchIds: [form.batch] });
}

async function undo(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(undoFormSchema, request.body);
  const collection = await deps.collection(site.id);
  const touched = [...collection.batches.values()]
    .filter((batch) => batch.waterings.some((watering) => form.entry.includes(watering.entryId)))
    .map((batch) => batch.batchId);
  const events = form.entry.map((entryId): JournalEventInput => ({ kind: 'undo', entryId }));
  const back = safeBack(form.back, sitePath(site.id)).split('#')[0] as string;
  const anchor = touched.length === 1 ? `#b-${touched[0]}` : '';
  const key = `${form.key}:undo:${form.entry.join(',')}`;
  const isTask = ({ entryId }: { readonly entryId: number }) => form.entry.includes(entryId);
  const tasks = [...collection.houseTasks.values(), ...[...collection.batches.values()].map((one) => one.tasksDone)];
  return write(
    deps,
    request,
    reply,
    site,
    events,
    { key, ago: form.ago, back: back + anchor, said: 'undo' },
    { batchIds: touched, tasks: tasks.some((done) => done.some(isTask)) },
  );
}

async function task(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(taskFormSchema, request.body);
  const seen = await deps.round(site.id, form.day, form.revision);
  const event = taskEvent(form, seen, await deps.collection(site.id));
  const back = `${safeBack(form.back, sitePath(site.id)).split('#')[0]}#t-${form.task.id}`;
  const key = `${form.key}:${form.task.id}:${form.task.roots ?? ''}`;
  return write(deps, request, reply, site, [event], { key, ago: form.ago, back }, { batchIds: [], tasks: true });
}

async function note(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(noteFormSchema, request.body);
  const batchIds = noteBatches(form, await deps.collection(site.id));
  const back = safeBack(form.back, sitePath(site.id));
  const events = noteEvents(form, batchIds);
  return write(deps, request, reply, site, events, { key: form.key, ago: form.ago, back, said: 'note' }, { batchIds });
}

async function cloth(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(clothFormSchema, request.body);
  const house = houseOf(site, form.house);
  const event: JournalEventInput = {
    kind: 'cloth',
    houseId: house.id,
    clothId: form.cloth === 'none' ? null : form.cloth,
  };
  const back = safeBack(form.back, sitePath(site.id));
  const key = `${form.key}:cloth:${house.id}:${form.cloth}`;
  return write(deps, request, reply, site, [event], { key, ago: form.ago, back, said: 'cloth' }, { batchIds: [] });
}

/** What was read is told to this browser alone, so whoever may look may say it. */
async function read(deps: PageDeps, request: SiteRequest, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const form = readForm(readFormSchema, request.body);
  rememberRead(reply, site.id, form.mark);
  return reply.redirect(safeBack(form.back, sitePath(site.id)), 303);
}

/** Forms of the pages. Each is a plain form that answers with the way back. */
export function registerWriting(app: FastifyInstance, deps: PageDeps): void {
  type Take = (deps: PageDeps, request: SiteRequest, reply: FastifyReply) => Promise<FastifyReply>;
  const post = (path: string, take: Take, role: 'read' | 'staff' = 'staff') =>
    app.post<{ Params: { siteId: string } }>(`/sites/:siteId/${path}`, { config: { role } }, (request, reply) =>
      take(deps, request, reply),
    );
  post('ticks', tick);
  post('amounts', amount);
  post('undo', undo);
  post('tasks', task);
  post('notes', note);
  post('cloths', cloth);
  post('read', read, 'read');
}
