import type { FastifyInstance } from 'fastify';
import { LeafturnError } from '../../domain/errors.js';
import type { ReadinessCheck, ServiceDeps } from '../deps.js';

/** For whoever watches over the process: is it alive, and can it do its work? */
export function healthRoutes(app: FastifyInstance, deps: ServiceDeps): void {
  const watched = { config: { role: 'open', rateLimit: false }, schema: { hide: true } } as const;
  app.get('/livez', watched, async (_request, reply) =>
    reply.header('cache-control', 'no-store').send({ status: 'alive' }),
  );

  app.get('/readyz', watched, async (request, reply) => {
    const checks = [await databaseCheck(deps), brokerCheck(deps), ...((await deps.readiness?.()) ?? [])];
    const ready = checks.every((check) => check.ready);
    return reply
      .code(ready ? 200 : 503)
      .header('cache-control', 'no-store')
      .send({
        status: ready ? 'ready' : 'not ready',
        // Strangers learn whether, not why.
        ...(request.caller && { checks }),
      });
  });
}

async function databaseCheck({ storage }: ServiceDeps): Promise<ReadinessCheck> {
  try {
    await storage.upkeep.sizes();
    return { part: 'database', ready: true };
  } catch (error) {
    const reason = error instanceof LeafturnError ? error.message : 'The database does not answer.';
    return { part: 'database', ready: false, reason };
  }
}

function brokerCheck(deps: ServiceDeps): ReadinessCheck {
  const { kind, connected, since, detail } = deps.brokerStatus();
  if (connected) return { part: 'broker', ready: true, since };
  const gone =
    kind === 'embedded' ? 'The message broker of the service does not run.' : 'The message broker cannot be reached.';
  return { part: 'broker', ready: false, reason: detail ? `${gone} ${detail}` : gone, since };
}
