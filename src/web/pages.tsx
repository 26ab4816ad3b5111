import formbody from '@fastify/formbody';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { LeafturnError, type Problem } from '../domain/errors.js';
import { refuseForeignPages } from '../http/origin.js';
import { asProblem } from '../http/problem.js';
import { registerAlerts } from './alerts.js';
import type { PageDeps } from './deps.js';
import { registerHouses } from './houses.js';
import { registerKeeping } from './keeping.js';
import { registerLimits } from './limits.js';
import { registerMessages } from './messages.js';
import { StillSaving } from './once.js';
import { ProblemPage } from './pages/others.js';
import { sitePath } from './parts/layout.js';
import { registerReading } from './reading.js';
import { sendPage } from './reply.js';
import { registerAssets } from './static.js';
import { registerWriting, wantsParts } from './writing.js';

const TITLES: Record<number, string> = {
  401: 'Please sign in',
  403: 'Not allowed',
  404: 'Not found',
  409: 'Already noted or changed',
  413: 'Too much at once',
  422: 'This could not be noted',
  429: 'Too many requests, wait a minute',
  503: 'Busy, try again',
  507: 'The disk is full',
};

interface Told {
  readonly status: number;
  readonly title: string;
  readonly message: string;
  readonly problems: readonly Problem[];
}

function tell(error: unknown): Told {
  const problem = asProblem(error);
  const status = problem.statusCode;
  const title = TITLES[status] ?? (status >= 500 ? 'Something went wrong' : 'This cannot be done');
  // The text of an unforeseen error is for the log; the person is told what still holds.
  if (status >= 500)
    return {
      status,
      title,
      message:
        'Nothing was noted. The last list is kept. Try again; if it happens again, look at the log of the service.',
      problems: [],
    };
  return { status, title, message: problem.message, problems: error instanceof LeafturnError ? error.problems : [] };
}

/** The service is busy, or the person must sign in first: the same form may be taken later. */
const isWorthAnotherTry = (status: number, error: unknown): boolean =>
  status >= 500 || status === 401 || status === 408 || status === 429 || error instanceof StillSaving;

async function answerProblem(
  deps: PageDeps,
  error: unknown,
  request: FastifyRequest,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const told = tell(error);
  if (told.status >= 500) request.log.error({ err: error }, 'page failed');
  if (wantsParts(request))
    return reply.code(told.status).send({ ...told, again: isWorthAnotherTry(told.status, error) });
  if (told.status === 401 && request.method === 'GET')
    return reply.redirect(`/sign-in?then=${encodeURIComponent(request.url)}`, 303);
  const siteId = (request.params as { siteId?: string } | undefined)?.siteId;
  const site = deps.sites().find((one) => one.id === siteId);
  const back = site ? sitePath(site.id) : '/sites';
  return sendPage(
    request,
    reply,
    <ProblemPage now={deps.now()} back={back} {...told} {...(site && { site })} />,
    told.status,
  );
}

/** The pages, at `/`, `/sites/…`, `/assets/…` and `/sw.js`. */
export function registerPages(app: FastifyInstance, deps: PageDeps): void {
  app.register(async (scope) => {
    if (!scope.hasContentTypeParser('application/x-www-form-urlencoded')) await scope.register(formbody);
    scope.addHook('onRequest', async (request) => {
      if (request.method === 'POST') refuseForeignPages(request);
    });
    scope.setErrorHandler((error, request, reply) => answerProblem(deps, error, request, reply));
    registerAssets(scope);
    registerReading(scope, deps);
    registerWriting(scope, deps);
    registerKeeping(scope, deps);
    registerLimits(scope, deps);
    registerAlerts(scope, deps);
    registerHouses(scope, deps);
    registerMessages(scope, deps);
  });
}
