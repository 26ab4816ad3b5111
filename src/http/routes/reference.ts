import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { QUANTITY_NAMES } from '../../domain/quantities.js';
import { sendTagged } from '../answers.js';
import type { ServiceDeps } from '../deps.js';
import { notFound, PROBLEM_KINDS, type ProblemCode, type ProblemKind, problemAddress } from '../problem.js';
import { reads } from '../schemas/common.js';
import { quantityView } from '../schemas/site.js';
import type { TokenList } from '../tokens.js';
import { viewOfQuantity } from '../views.js';

const config = { role: 'read' } as const;
const tags = ['words'];
const named = z.object({ id: z.string(), name: z.string() });
const problemKindView = z.object({
  type: z.string(),
  status: z.number().int(),
  title: z.string(),
  mend: z.string(),
});

/** What the words of the API mean: quantities, ids of the catalogue, problems. */
export function referenceRoutes(app: FastifyInstance, deps: ServiceDeps, tokens: TokenList): void {
  const api = app.withTypeProvider<ZodTypeProvider>();

  api.get(
    '/',
    {
      config: { role: 'open' },
      schema: {
        tags: ['service'],
        summary: 'What this is, and how to get in',
        response: reads(
          z.object({
            service: z.string(),
            version: z.string(),
            access: z.enum(['this-machine-only', 'tokens']),
            accessInWords: z.string(),
            documentation: z.string(),
            openapi: z.string(),
          }),
        ),
      },
    },
    async (request, reply) => {
      const withTokens = await tokens.exist();
      return sendTagged(request, reply, {
        service: 'Leafturn',
        version: deps.version,
        access: withTokens ? 'tokens' : 'this-machine-only',
        accessInWords: withTokens
          ? 'Send a token as `Authorization: Bearer <token>`.'
          : 'No access tokens exist yet. The service answers only on its own machine, and there anybody is the owner.',
        documentation: '/api/v1/docs',
        openapi: '/api/v1/openapi.json',
      });
    },
  );

  api.get(
    '/quantities',
    {
      config,
      schema: {
        tags,
        summary: 'What sensors may report',
        description: 'Every quantity with its unit and the range a working sensor can give.',
        response: reads(z.object({ items: z.array(quantityView) })),
      },
    },
    async (request, reply) => sendTagged(request, reply, { items: QUANTITY_NAMES.map(viewOfQuantity) }),
  );

  api.get(
    '/catalogue',
    {
      config,
      schema: {
        tags,
        summary: 'Ids of the catalogue',
        description: 'The species groups, pots and mixes a batch may name, and the covers and cloths of houses.',
        response: reads(
          z.object({
            speciesGroups: z.array(named),
            pots: z.array(named),
            mixes: z.array(named),
            covers: z.array(named),
            cloths: z.array(named),
          }),
        ),
      },
    },
    async (request, reply) => {
      const { speciesGroups, pots, mixes, covers, cloths } = deps.catalogue();
      const names = (entries: readonly { readonly id: string; readonly name: string }[]) =>
        entries.map(({ id, name }) => ({ id, name }));
      return sendTagged(request, reply, {
        speciesGroups: names(speciesGroups),
        pots: names(pots),
        mixes: names(mixes),
        covers: names(covers),
        cloths: names(cloths),
      });
    },
  );

  const viewOfKind = (code: ProblemCode, { status, title, mend }: ProblemKind) => ({
    type: problemAddress(code),
    status,
    title,
    mend,
  });
  api.get(
    '/problems',
    {
      config: { role: 'open' },
      schema: {
        tags,
        summary: 'Everything that can go wrong',
        response: reads(z.object({ items: z.array(problemKindView) })),
      },
    },
    async (request, reply) =>
      sendTagged(request, reply, {
        items: Object.entries(PROBLEM_KINDS).map(([code, kind]) => viewOfKind(code as ProblemCode, kind)),
      }),
  );
  api.get(
    '/problems/:code',
    {
      config: { role: 'open' },
      schema: {
        tags,
        summary: 'What a problem means',
        params: z.strictObject({ code: z.string().max(60) }),
        response: reads(problemKindView),
      },
    },
    async (request, reply) => {
      const { code } = request.params;
      if (!Object.hasOwn(PROBLEM_KINDS, code)) throw notFound('problem', code);
      return sendTagged(request, reply, viewOfKind(code as ProblemCode, PROBLEM_KINDS[code as ProblemCode]));
    },
  );
}
