import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { AskedScope } from '../advice/limits-view.js';
import { isLiving } from '../domain/collection.js';
import { LeafturnError, type Problem } from '../domain/errors.js';
import { defined } from '../domain/optional.js';
import { AMOUNTS, WATER_PHASES } from '../domain/plants.js';
import { didYouMean } from '../domain/problems.js';
import type { House, Site } from '../domain/site.js';
import { DEFAULT_LIMITS } from '../http/deps.js';
import { asProblem } from '../http/problem.js';
import type { PageDeps } from './deps.js';
import { readForm } from './forms.js';
import { backFormSchema, changeOf, confirmFormSchema, limitFormSchema, scopeSchema } from './limit-forms.js';
import { houseOf, pageContext, siteOf } from './loading.js';
import { once } from './once.js';
import { AlertLimitPage, LimitPage } from './pages/limit.js';
import { DraftPage, LimitHistoryPage } from './pages/limit-draft.js';
import { historyPath, LimitsPage } from './pages/limits.js';
import { ProblemPage } from './pages/others.js';
import { limitsPath } from './parts/layout.js';
import type { PlantScope } from './parts/scope-form.js';
import { sendPage } from './reply.js';

type HouseParams = { siteId: string; houseId: string };
type NamedParams = HouseParams & { name: string };

const SAID: ReadonlyMap<string, string> = new Map([
  ['set', 'It is set. The list is made again with it.'],
  ['back', 'What held before holds again. The list is made again with it.'],
]);
/** A preview makes two lists: it is held to as many as over the interface, and counted with them. */
const TRIES = {
  rateLimit: {
    max: DEFAULT_LIMITS.triesPerMinute,
    keyGenerator: (request: FastifyRequest) => `try ${request.ip}`,
  },
};
/** Changes shown on one page of the history. */
const HISTORY_SHOWS = 20;

interface Place {
  readonly site: Site;
  readonly house: House;
}
function placeOf(deps: PageDeps, { siteId, houseId }: HouseParams): Place {
  const site = siteOf(deps, siteId);
  return { site, house: houseOf(site, houseId) };
}

/** Species groups that stand in a house now. */
async function groupsIn(deps: PageDeps, { site, house }: Place): Promise<string[]> {
  const { batches, benches } = await deps.collection(site.id);
  const here = [...batches.values()]
    .filter(isLiving)
    .filter((batch) => benches.get(batch.benchId)?.houseId === house.id);
  const known = deps.limits.catalogue().speciesGroups.map(({ id }) => id);
  return [...new Set(here.map(({ group }) => group))].filter((group) => known.includes(group));
}

/** Plants named in an address; a name nobody knows shows all of them. */
function scopeOf(deps: PageDeps, query: unknown): PlantScope {
  const { group, phase, drink } = scopeSchema.safeParse(query).data ?? {};
  const groups = deps.limits.catalogue().speciesGroups;
  return defined({
    group: groups.find(({ id }) => id === group)?.id,
    phase: WATER_PHASES.find((one) => one === phase),
    drink: AMOUNTS.find((one) => one === drink),
  });
}

const askedOf = ({ group, phase, drink }: PlantScope, here: readonly string[]): AskedScope =>
  defined({ groups: group === undefined ? (here.length > 0 ? here : undefined) : [group], phase, drink });

async function overview(
  deps: PageDeps,
  request: FastifyRequest<{ Params: HouseParams }>,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const place = placeOf(deps, request.params);
  const { site, house } = place;
  const here = await groupsIn(deps, place);
  const { drink: _drink, ...scope } = scopeOf(deps, request.query);
  const view = await deps.limits.view(site.id, house.id, askedOf(scope, here));
  const said = SAID.get(String((request.query as { said?: unknown }).said));
  return sendPage(
    request,
    reply,
    <LimitsPage
      page={pageContext(deps, request, site)}
      house={house}
      catalogue={deps.limits.catalogue()}
      view={view}
      scope={scope}
      here={here}
      {...(said && { said })}
    />,
  );
}

function notKnown(name: string, names: readonly string[]): LeafturnError {
  const near = didYouMean(name, names);
  return new LeafturnError('not-found', `There is no limit called ${name}.${near ? ` ${near}` : ''}`);
}

async function oneLimit(
  deps: PageDeps,
  request: FastifyRequest<{ Params: NamedParams }>,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const place = placeOf(deps, request.params);
  const { site, house } = place;
  const { name } = request.params;
  const here = await groupsIn(deps, place);
  const scope = scopeOf(deps, request.query);
  const { sections } = await deps.limits.view(site.id, house.id, askedOf(scope, here));
  const found = sections.flatMap(({ limits }) => limits).find(({ limit }) => limit.name === name);
  if (!found) throw notKnown(name, [...deps.limits.rulebook().limits.keys()]);
  return sendPage(
    request,
    reply,
    <LimitPage
      page={pageContext(deps, request, site)}
      house={house}
      catalogue={deps.limits.catalogue()}
      view={found}
      scope={scope}
      here={here}
    />,
  );
}

async function oneAlertLimit(
  deps: PageDeps,
  request: FastifyRequest<{ Params: NamedParams }>,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const { site, house } = placeOf(deps, request.params);
  const { name } = request.params;
  const { alerts } = await deps.limits.view(site.id, house.id);
  const found = alerts.find((one) => one.name === name);
  const names = alerts.map((one) => one.name);
  if (!found) throw notKnown(name, names);
  return sendPage(
    request,
    reply,
    <AlertLimitPage page={pageContext(deps, request, site)} house={house} view={found} />,
  );
}

async function history(
  deps: PageDeps,
  request: FastifyRequest<{ Params: HouseParams }>,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const { site, house } = placeOf(deps, request.params);
  const before = Number((request.query as { before?: unknown }).before);
  const rows = await deps.limits.revisions(site.id, house.id, {
    limit: HISTORY_SHOWS + 1,
    ...(Number.isSafeInteger(before) && before > 0 && { beforeRevision: before }),
  });
  const shown = rows.slice(0, HISTORY_SHOWS);
  const oldest = shown.at(-1)?.settings.revision;
  return sendPage(
    request,
    reply,
    <LimitHistoryPage
      page={pageContext(deps, request, site)}
      house={house}
      current={deps.limits.current(site.id, house.id).revision}
      revisions={shown}
      {...(rows.length > shown.length && { more: `${historyPath(site.id, house.id)}?before=${oldest}` })}
    />,
  );
}

/** What is wrong with a change is told on a page that leads back to where it was typed in. */
async function orProblem(
  deps: PageDeps,
  request: FastifyRequest<{ Params: HouseParams }>,
  reply: FastifyReply,
  back: string,
  work: (place: Place) => Promise<FastifyReply>,
): Promise<FastifyReply> {
  const place = placeOf(deps, request.params);
  if (!deps.reader(request).isOwner) throw new LeafturnError('forbidden', 'Only the owner changes limits.');
  try {
    return await work(place);
  } catch (error) {
    if (!(error instanceof LeafturnError) || !['invalid-input', 'conflict'].includes(error.code)) throw error;
    // The last step of a pointer is the field; what comes before is the place in a change that has only one.
    const problems = error.problems.map((problem): Problem => {
      const field = problem.path.split('/').at(-1) ?? '';
      return { ...problem, path: /^\d*$/.test(field) ? '' : field };
    });
    return sendPage(
      request,
      reply,
      <ProblemPage
        site={place.site}
        now={deps.now()}
        title={error.code === 'conflict' ? 'Somebody was there first' : 'This cannot be set'}
        message={error.message}
        problems={problems}
        back={back}
      />,
      asProblem(error).statusCode,
    );
  }
}

type Post = (
  deps: PageDeps,
  request: FastifyRequest<{ Params: HouseParams }>,
  reply: FastifyReply,
) => Promise<FastifyReply>;

const tryOut: Post = (deps, request, reply) => {
  const back = limitsPath(request.params.siteId, request.params.houseId);
  return orProblem(deps, request, reply, back, async ({ site, house }) => {
    const form = readForm(limitFormSchema, request.body);
    const change = changeOf(form, deps.limits.rulebook().limits);
    const tried = await deps.limits.tryOut(site.id, house.id, change);
    const page = pageContext(deps, request, site);
    return sendPage(
      request,
      reply,
      <DraftPage page={page} house={house} change={change} why={form.why} tried={tried} />,
    );
  });
};

const set: Post = (deps, request, reply) => {
  const back = limitsPath(request.params.siteId, request.params.houseId);
  return orProblem(deps, request, reply, back, async ({ site, house }) => {
    const form = readForm(confirmFormSchema, request.body);
    const { name } = deps.reader(request);
    const key = `page:${site.id}:${form.key}:limits`;
    await once(deps.idempotency, key, JSON.stringify(form.change), deps.now(), async () => {
      const by = { by: name, why: form.why, expected: form.expected };
      const { settings } = await deps.limits.set(site.id, house.id, form.change, by);
      return [settings.revision];
    });
    return reply.redirect(`${back}?said=set`, 303);
  });
};

const goBack: Post = (deps, request, reply) => {
  const { siteId, houseId } = request.params;
  return orProblem(deps, request, reply, historyPath(siteId, houseId), async ({ site, house }) => {
    const form = readForm(backFormSchema, request.body);
    const { name } = deps.reader(request);
    const key = `page:${site.id}:${form.key}:back`;
    await once(deps.idempotency, key, String(form.to), deps.now(), async () => {
      const by = { by: name, expected: form.expected };
      const { settings } = await deps.limits.goBack(site.id, house.id, by, defined({ to: form.to }));
      return [settings.revision];
    });
    return reply.redirect(`${limitsPath(site.id, house.id)}?said=back`, 303);
  });
};

/** Pages on which a grower sees and changes what the rules go by in a house. */
export function registerLimits(app: FastifyInstance, deps: PageDeps): void {
  const at = '/sites/:siteId/houses/:houseId';
  app.get<{ Params: HouseParams }>(`${at}/limits`, (request, reply) => overview(deps, request, reply));
  app.get<{ Params: HouseParams }>(`${at}/limit-history`, (request, reply) => history(deps, request, reply));
  app.get<{ Params: NamedParams }>(`${at}/limits/:name`, (request, reply) => oneLimit(deps, request, reply));
  app.get<{ Params: NamedParams }>(`${at}/limits/alert/:name`, (request, reply) => oneAlertLimit(deps, request, reply));
  for (const [path, take, more] of [
    ['try', tryOut, TRIES],
    ['set', set, {}],
    ['back', goBack, {}],
  ] as const)
    app.post<{ Params: HouseParams }>(
      `${at}/limits/${path}`,
      { config: { role: 'owner', ...more } },
      (request, reply) => take(deps, request, reply),
    );
}
