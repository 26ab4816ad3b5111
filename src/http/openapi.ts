import swagger from '@fastify/swagger';
import type { FastifyInstance } from 'fastify';
import { jsonSchemaTransform, jsonSchemaTransformObject } from 'fastify-type-provider-zod';

const DESCRIPTION = `Leafturn says each morning of every batch of plants whether to water it, why, and what would change
that. This interface gives the same lists as the pages, takes what was done and seen, and tells of changes.

Every write needs the header Idempotency-Key: a new random value for each new write, the same when it is repeated.
What goes wrong is answered with a problem (RFC 9457) that names each field, what was expected and what came. Lists
are paged: follow \`next\`. Answers carry an ETag: send it back as If-None-Match and an unchanged answer costs nothing.
Instants are milliseconds UTC in answers; days are calendar days of the site. The unit is in the name.

The service advises; a person opens the valve. Follow the codes and the licensed practice of the place where water meets
electricity, and wherever pesticides are used.`;

/** Gathers the description of the routes that are registered after it, from the schemas that check their requests. */
export async function registerOpenApi(app: FastifyInstance, version: string): Promise<void> {
  await app.register(swagger, {
    // The pages have no tags and are not part of this interface.
    hideUntagged: true,
    openapi: {
      openapi: '3.1.0',
      info: { title: 'Leafturn', version, description: DESCRIPTION },
      components: {
        securitySchemes: {
          token: { type: 'http', scheme: 'bearer', description: 'Made by the owner with `leafturn token add`.' },
        },
      },
      security: [{ token: [] }],
    },
    transform: (document) => {
      const { schema, url } = jsonSchemaTransform(document);
      const role = document.route.config?.role;
      if (!schema || role === undefined) return { schema, url };
      return { schema: { ...schema, ...(role === 'open' ? { security: [] } : { 'x-role': role }) }, url };
    },
    transformObject: (document) => withoutUnused(jsonSchemaTransformObject(document)),
  });
}

/** Each named form is offered both as it is sent and as it is answered; the document keeps those it speaks of. */
function withoutUnused<T extends object>(document: T): T {
  const { components, ...rest } = document as { components?: { schemas?: Record<string, unknown> } };
  const schemas = components?.schemas ?? {};
  const used = new Set<string>();
  const follow = (part: unknown): void => {
    for (const [, name = ''] of JSON.stringify(part ?? null).matchAll(/"#\/components\/schemas\/([^"]+)"/g))
      if (!used.has(name)) {
        used.add(name);
        follow(schemas[name]);
      }
  };
  follow(rest);
  const kept = Object.fromEntries(Object.entries(schemas).filter(([name]) => used.has(name)));
  return { ...document, components: { ...components, schemas: kept } };
}
