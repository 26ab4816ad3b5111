import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { LeafturnError } from '../domain/errors.js';
import { findHouse } from '../domain/site.js';
import { isLocalDay } from '../domain/time.js';
import { inOrderOfWeight } from './alerts.js';
import { changesBetween, readMark, revisionRead } from './changes.js';
import { cookie, LAST_SITE, readCookie, rememberRead } from './cookies.js';
import type { PageDeps } from './deps.js';
import { historyRows } from './journal-words.js';
import { batchOf, currentRound, loadList, pageContext, rowsById, siteOf } from './loading.js';
import { BatchPage } from './pages/batch.js';
import { BenchPage, type Found, NotePage, SEARCH_SHOWS, SearchPage, SitesPage } from './pages/others.js';
import { NoListPage, TodayPage } from './pages/today.js';
import { sitePath } from './parts/layout.js';
import { sendPage } from './reply.js';

const HISTORY_SHOWS = 50;

type SiteParams = { Params: { siteId: string } };

/** What a page says after something was noted. The address carries the word, never the sentence. */
const SAID: ReadonlyMap<string, string> = new Map([
  ['note', 'Your note is kept. The list is made again with it.'],
  ['undo', 'Taken back.'],
  ['cloth', 'The cloth is noted.'],
  ['kept', 'It is noted. The list is made again with it.'],
]);

const text = (value: unknown): string => (typeof value === 'string' ? value : '');

async function today(deps: PageDeps, request: FastifyRequest<SiteParams>, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const page = pageContext(deps, request, site);
  const query = request.query as { day?: unknown; said?: unknown };
  const day = deps.today(site.id);
  const asked = text(query.day);
  const round = isLocalDay(asked) ? await deps.round(site.id, asked) : await currentRound(deps, site.id, day);
  if (!round) return sendPage(request, reply, <NoListPage page={page} today={isLocalDay(asked) ? asked : day} />);

  const readRevision = revisionRead(cookie(request, readCookie(site.id)), round);
  const read =
    readRevision !== undefined && readRevision < round.revision
      ? await deps.round(site.id, round.day, readRevision)
      : undefined;
  const changes = read ? changesBetween(read, round) : [];
  const was = new Map(changes.map((change) => [change.batchId, change.was]));
  // What reads the same needs no second reading.
  const unread = changes.length > 0 || (read !== undefined && round.changes.length > 0);
  if (!unread) rememberRead(reply, site.id, readMark(round));
  const { view, digest } = await loadList(deps, site, round, was);
  const said = SAID.get(text(query.said));
  return sendPage(
    request,
    reply,
    <TodayPage
      page={page}
      today={day}
      round={round}
      view={view}
      status={deps.status(site.id)}
      alerts={inOrderOfWeight(await deps.alerts.open(site.id))}
      changes={changes}
      digest={digest}
      {...(unread && readRevision !== undefined && { readRevision })}
      {...(said && { said })}
    />,
  );
}

async function batch(
  deps: PageDeps,
  request: FastifyRequest<{ Params: { siteId: string; batchId: string } }>,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const { siteId, batchId } = request.params;
  const site = siteOf(deps, siteId);
  const collection = await deps.collection(site.id);
  const state = batchOf(collection, site, batchId);
  const said = SAID.get(text((request.query as { said?: unknown }).said));
  const benchName = (benchId: string): string => collection.benches.get(benchId)?.name ?? benchId;
  const round = await currentRound(deps, site.id, deps.today(site.id));
  const row = round && rowsById(site, round, collection).get(batchId);
  const entries = await deps.history(site.id, batchId, HISTORY_SHOWS + 1);
  return sendPage(
    request,
    reply,
    <BatchPage
      page={pageContext(deps, request, site)}
      batch={state}
      benchName={benchName(state.benchId)}
      history={historyRows(entries.slice(0, HISTORY_SHOWS), benchName)}
      moreHistory={entries.length > HISTORY_SHOWS}
      benches={[...collection.benches.values()]}
      catalogue={deps.catalogue()}
      {...(said && { said })}
      {...(round && row && { listed: { round, row } })}
    />,
  );
}

async function bench(
  deps: PageDeps,
  request: FastifyRequest<{ Params: { siteId: string; benchId: string } }>,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const { siteId, benchId } = request.params;
  const site = siteOf(deps, siteId);
  const collection = await deps.collection(site.id);
  const state = collection.benches.get(benchId);
  if (!state) throw new LeafturnError('not-found', `There is no bench called ${benchId} at ${site.name}.`);
  const round = await currentRound(deps, site.id, deps.today(site.id));
  const rows = round ? [...rowsById(site, round, collection).values()] : [];
  return sendPage(
    request,
    reply,
    <BenchPage
      page={pageContext(deps, request, site)}
      bench={state}
      houseName={findHouse(site, state.houseId)?.name ?? state.houseId}
      rows={rows.filter((row) => row.advice.benchId === benchId)}
      {...(round && { round })}
    />,
  );
}

async function search(deps: PageDeps, request: FastifyRequest<SiteParams>, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const query = text((request.query as { q?: unknown }).q)
    .trim()
    .slice(0, 120);
  const wanted = query.toLowerCase().split(/\s+/).filter(Boolean);
  const collection = await deps.collection(site.id);
  const round = await currentRound(deps, site.id, deps.today(site.id));
  const rows = round ? rowsById(site, round, collection) : new Map();
  const found: Found[] = [];
  let total = 0;
  for (const state of wanted.length > 0 ? collection.batches.values() : []) {
    const row = rows.get(state.batchId);
    const benchName = collection.benches.get(state.benchId)?.name ?? state.benchId;
    const all =
      `${state.name} ${state.batchId} ${state.group} ${row?.advice.groupName ?? ''} ${benchName}`.toLowerCase();
    if (!wanted.every((word) => all.includes(word))) continue;
    total += 1;
    if (found.length < SEARCH_SHOWS) found.push({ batch: state, benchName, ...(row && { row }) });
  }
  const page = pageContext(deps, request, site);
  return sendPage(request, reply, <SearchPage page={page} query={query} found={found} total={total} />);
}

async function note(deps: PageDeps, request: FastifyRequest<SiteParams>, reply: FastifyReply): Promise<FastifyReply> {
  const site = siteOf(deps, request.params.siteId);
  const page = pageContext(deps, request, site);
  const query = request.query as { batch?: unknown; bench?: unknown };
  const collection = await deps.collection(site.id);
  const one = collection.batches.get(text(query.batch));
  const place = collection.benches.get(text(query.bench));
  const list = sitePath(site.id);
  if (one) {
    const benchName = collection.benches.get(one.benchId)?.name ?? one.benchId;
    return sendPage(
      request,
      reply,
      <NotePage
        page={page}
        subject={{ kind: 'batch', id: one.batchId }}
        name={one.name}
        about={benchName}
        back={`${list}#b-${one.batchId}`}
      />,
    );
  }
  if (place)
    return sendPage(
      request,
      reply,
      <NotePage
        page={page}
        subject={{ kind: 'bench', id: place.benchId }}
        name={place.name}
        about="This note goes to every batch on the bench."
        back={`${list}/benches/${place.benchId}`}
      />,
    );
  return sendPage(
    request,
    reply,
    <NotePage page={page} subject={{ kind: 'ask' }} name="One batch" about="" back={list} />,
  );
}

/** Pages that only show. */
export function registerReading(app: FastifyInstance, deps: PageDeps): void {
  app.get('/', (request, reply) => {
    const sites = deps.sites();
    const last = cookie(request, LAST_SITE);
    const site = sites.length === 1 ? sites[0] : sites.find((one) => one.id === last);
    return reply.redirect(site ? sitePath(site.id) : '/sites', 303);
  });
  app.get('/sites', (request, reply) => sendPage(request, reply, <SitesPage sites={deps.sites()} now={deps.now()} />));
  app.get<SiteParams>('/sites/:siteId', (request, reply) => today(deps, request, reply));
  app.get<SiteParams>('/sites/:siteId/batches', (request, reply) => search(deps, request, reply));
  app.get<SiteParams>('/sites/:siteId/note', (request, reply) => note(deps, request, reply));
  app.get<{ Params: { siteId: string; batchId: string } }>('/sites/:siteId/batches/:batchId', (request, reply) =>
    batch(deps, request, reply),
  );
  app.get<{ Params: { siteId: string; benchId: string } }>('/sites/:siteId/benches/:benchId', (request, reply) =>
    bench(deps, request, reply),
  );
  // A few bytes, asked for now and then by an open page: is it still what the service would say?
  app.get<SiteParams>('/sites/:siteId/pulse', async (request, reply) => {
    const site = siteOf(deps, request.params.siteId);
    const round = await currentRound(deps, site.id, deps.today(site.id));
    reply.header('cache-control', 'no-store');
    return reply.send({ now: deps.now(), digest: round ? (await loadList(deps, site, round)).digest : null });
  });
}
