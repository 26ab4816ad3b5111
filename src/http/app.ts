import helmet from '@fastify/helmet';
import rateLimit from '@fastify/rate-limit';
import Fastify, { type FastifyError, type FastifyInstance, type FastifyRequest, LogController } from 'fastify';
import { guardRoutes } from './access.js';
import { DEFAULT_LIMITS, type HttpLimits, type ServiceDeps } from './deps.js';
import { documentRoutes } from './docs.js';
import { eventRoutes } from './events.js';
import { answerWritesOnce } from './idempotency.js';
import { registerOpenApi } from './openapi.js';
import { errorPage } from './plain-pages.js';
import { PLAIN_STYLE, PLAIN_STYLE_ADDRESS } from './plain-style.js';
import { asProblem, HttpProblem, PROBLEM_KINDS, sendProblem } from './problem.js';
import { alertRoutes } from './routes/alerts.js';
import { calendarRoutes } from './routes/calendar.js';
import { collectionRoutes } from './routes/collection.js';
import { forecastRoutes } from './routes/forecasts.js';
import { healthRoutes } from './routes/health.js';
import { journalRoutes } from './routes/journal.js';
import { limitRoutes } from './routes/limits.js';
import { notificationRoutes } from './routes/notifications.js';
import { readingRoutes } from './routes/readings.js';
import { referenceRoutes } from './routes/reference.js';
import { roundRoutes } from './routes/rounds.js';
import { siteRoutes } from './routes/sites.js';
import { whatIfRoutes } from './routes/what-if.js';
import { Sessions, signInRoutes } from './session.js';
import { TokenList } from './tokens.js';
import { serializerCompiler, validatorCompiler } from './validation.js';

/**
 * The server with the API on it, not listening yet. The pages are added to it by whoever composes the service; they
 * come under the same access rules, limits and headers.
 */
export async function buildApp(deps: ServiceDeps): Promise<FastifyInstance> {
  const limits: HttpLimits = { ...DEFAULT_LIMITS, ...deps.limits };
  const app: FastifyInstance = Fastify({
    loggerInstance: deps.logger,
    // One line per answer is written below.
    logController: new LogController({ disableRequestLogging: true }),
    bodyLimit: limits.bodyBytes,
    requestTimeout: 30_000,
    connectionTimeout: 120_000,
    keepAliveTimeout: 72_000,
    maxRequestsPerSocket: 10_000,
    genReqId: requestIds(),
    ...(deps.trustProxy !== undefined && {
      trustProxy: typeof deps.trustProxy === 'string' ? deps.trustProxy : [...deps.trustProxy],
    }),
  });
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  handleTrouble(app);
  logAnswers(app);
  await registerHeaders(app);
  await registerLimits(app, limits);
  await registerOpenApi(app, deps.version);

  const tokens = new TokenList(deps.access, deps.storage.access, deps.now);
  const sessions = new Sessions(tokens, deps.access, deps.now);
  guardRoutes(app, tokens, sessions);
  signInRoutes(app, tokens, sessions, limits);
  app.get(PLAIN_STYLE_ADDRESS, { config: { role: 'open' }, schema: { hide: true } }, async (_request, reply) =>
    reply.type('text/css; charset=utf-8').header('cache-control', 'public, max-age=3600').send(PLAIN_STYLE),
  );
  healthRoutes(app, deps);
  await app.register(
    async (api) => {
      answerWritesOnce(api, deps.storage.idempotency, deps.now);
      referenceRoutes(api, deps, tokens);
      siteRoutes(api, deps);
      collectionRoutes(api, deps);
      journalRoutes(api, deps);
      roundRoutes(api, deps);
      readingRoutes(api, deps);
      forecastRoutes(api, deps);
      notificationRoutes(api, deps);
      calendarRoutes(api, deps);
      limitRoutes(api, deps, limits);
      alertRoutes(api, deps);
      whatIfRoutes(api, deps, limits);
      eventRoutes(api, deps, limits);
      documentRoutes(api);
    },
    { prefix: '/api/v1' },
  );
  app.addHook('onListen', async () => {
    if (!(await tokens.exist()))
      app.log.warn('No access tokens exist: the service answers only on this machine, and there anybody is the owner.');
  });
  return app;
}

/** Ids that rise within the process, behind a mark of its own, so that a line of the log is found again. */
function requestIds(): () => string {
  const mark = Math.floor(performance.timeOrigin).toString(36);
  let last = 0;
  return () => {
    last += 1;
    return `${mark}-${last.toString(36)}`;
  };
}

/** Scripts, styles and requests from here alone; nothing inline, nothing framed. */
const CONTENT_SECURITY_POLICY = Object.entries({
  'default-src': "'none'",
  'script-src': "'self'",
  'style-src': "'self'",
  'img-src': "'self' data:",
  'font-src': "'self'",
  'connect-src': "'self'",
  'manifest-src': "'self'",
  'worker-src': "'self'",
  'form-action': "'self'",
  'base-uri': "'none'",
  'frame-ancestors': "'none'",
})
  .map(([directive, sources]) => `${directive} ${sources}`)
  .join('; ');

async function registerHeaders(app: FastifyInstance): Promise<void> {
  await app.register(helmet, {
    // The library would put the same policy together again for every answer.
    contentSecurityPolicy: false,
    // HTTPS is the proxy's to enforce; a house network has none.
    strictTransportSecurity: false,
    referrerPolicy: { policy: 'same-origin' },
  });
  app.addHook('onRequest', (request, reply, done) => {
    reply.headers({ 'content-security-policy': CONTENT_SECURITY_POLICY, 'x-request-id': request.id });
    done();
  });
}

async function registerLimits(app: FastifyInstance, limits: HttpLimits): Promise<void> {
  const looks = (request: FastifyRequest) => request.method === 'GET' || request.method === 'HEAD';
  await app.register(rateLimit, {
    timeWindow: 60_000,
    max: (request) => (looks(request) ? limits.readsPerMinute : limits.writesPerMinute),
    keyGenerator: (request) => `${looks(request) ? 'read' : 'write'} ${request.ip}`,
    enableDraftSpec: true,
    errorResponseBuilder: (_request, { ttl }) =>
      new HttpProblem('too-many-requests', `Wait ${Math.ceil(ttl / 1000)} seconds.`),
  });
  // Searching for addresses counts like reading.
  app.setNotFoundHandler({ preHandler: app.rateLimit() }, async (request) => {
    throw new HttpProblem('not-found', `There is nothing at ${request.url.split('?', 1)[0]}.`);
  });
}

const wantsPage = (request: FastifyRequest): boolean =>
  !request.url.startsWith('/api/') && String(request.headers.accept ?? '').includes('text/html');

function handleTrouble(app: FastifyInstance): void {
  app.setErrorHandler<FastifyError>((error, request, reply) => {
    const problem = asProblem(error);
    if (problem.statusCode >= 500) request.log.error({ err: error }, 'the request failed');
    if (!wantsPage(request)) return sendProblem(problem, request, reply);
    if (problem.code === 'unauthenticated' && request.method === 'GET')
      return reply.redirect(`/sign-in?then=${encodeURIComponent(request.url)}`, 303);
    return reply
      .code(problem.statusCode)
      .headers(problem.headers)
      .header('cache-control', 'no-store')
      .type('text/html; charset=utf-8')
      .send(errorPage(PROBLEM_KINDS[problem.code].title, problem.message, request.id));
  });
}

/** The token of a calendar's feed, also where the address is mistyped or asked for by another method. */
const SECRET_IN_ADDRESS = /(calendar(?:\/|%2f)+)[^/?]+/i;

function logAnswers(app: FastifyInstance): void {
  app.addHook('onResponse', (request, reply, done) => {
    request.log.info(
      {
        method: request.method,
        url: request.url.replace(SECRET_IN_ADDRESS, '$1…'),
        status: reply.statusCode,
        ms: Math.round(reply.elapsedTime),
        ...(request.caller && { by: request.caller.name }),
      },
      'answered',
    );
    done();
  });
}
