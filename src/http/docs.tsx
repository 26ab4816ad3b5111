import type { FastifyInstance } from 'fastify';
import type { OpenAPIV3_1 } from 'openapi-types';
import { sendTagged } from './answers.js';
import { plainPage } from './plain-pages.js';

type Schema = OpenAPIV3_1.SchemaObject & { readonly $ref?: string };
type Operation = OpenAPIV3_1.OperationObject & { readonly 'x-role'?: string };
type Parameter = OpenAPIV3_1.ParameterObject;

/** `/openapi.json`, and the same as a page to read: plain HTML out of the document, no script. */
export function documentRoutes(app: FastifyInstance): void {
  const open = { config: { role: 'open' }, schema: { hide: true } } as const;
  let page: string | undefined;
  app.get('/openapi.json', open, async (request, reply) => sendTagged(request, reply, app.swagger()));
  app.get('/docs', open, async (_request, reply) => {
    page ??= documentPage(app.swagger() as unknown as OpenAPIV3_1.Document);
    return reply.type('text/html; charset=utf-8').header('cache-control', 'no-cache').send(page);
  });
}

interface Placed {
  readonly method: string;
  readonly path: string;
  readonly operation: Operation;
}
const METHODS = ['get', 'post', 'patch', 'put', 'delete'] as const;

export function documentPage(document: OpenAPIV3_1.Document): string {
  const operations = Object.entries(document.paths ?? {}).flatMap(([path, item]) =>
    METHODS.flatMap((method): Placed[] => {
      const operation = item?.[method] as Operation | undefined;
      return operation ? [{ method: method.toUpperCase(), path, operation }] : [];
    }),
  );
  const tags = [...new Set(operations.flatMap(({ operation }) => operation.tags ?? []))];
  const schemas = Object.entries((document.components?.schemas ?? {}) as Record<string, Schema>).sort(([a], [b]) =>
    a < b ? -1 : 1,
  );
  return plainPage(
    'The interface',
    <>
      <h1>
        {document.info.title} {document.info.version}: the interface
      </h1>
      {(document.info.description ?? '').split('\n\n').map((paragraph) => (
        <p key={paragraph}>{inWords(paragraph)}</p>
      ))}
      <p>
        The same for machines: <a href="/api/v1/openapi.json">openapi.json</a> (OpenAPI {document.openapi}).
      </p>
      <pre>{EXAMPLE}</pre>
      <nav>
        <ul>
          {tags.map((tag) => (
            <li key={tag}>
              <a href={`#${anchor(tag)}`}>{tag}</a>
            </li>
          ))}
          <li>
            <a href="#forms">forms</a>
          </li>
        </ul>
      </nav>
      {tags.map((tag) => (
        <section key={tag} id={anchor(tag)}>
          <h2>{tag}</h2>
          {operations
            .filter(({ operation }) => operation.tags?.includes(tag))
            .map((placed) => (
              <OperationPart key={`${placed.method} ${placed.path}`} {...placed} />
            ))}
        </section>
      ))}
      <section id="forms">
        <h2>Forms</h2>
        {schemas.map(([name, schema]) => (
          <div key={name} id={`form-${name}`}>
            <h3>{name}</h3>
            {schema.description && <p>{inWords(schema.description)}</p>}
            <SchemaPart schema={schema} />
          </div>
        ))}
      </section>
    </>,
  );
}

const anchor = (text: string): string => text.replace(/[^a-z0-9]+/gi, '-');

/** Names between backticks as code. */
const inWords = (text: string | undefined) =>
  (text ?? '').split('`').map((part, index) => (index % 2 === 1 ? <code key={part}>{part}</code> : part));

const EXAMPLE = `curl -H 'Authorization: Bearer TOKEN' http://localhost:8080/api/v1/sites

curl -H 'Authorization: Bearer TOKEN' http://localhost:8080/api/v1/sites/SITE/rounds/today

curl -H 'Authorization: Bearer TOKEN' -H 'Content-Type: application/json' -H 'Idempotency-Key: 5f0c2a' \\
  -d '{"batchIds": ["BATCH"], "amount": "light", "mlPerPot": 12, "answer": "as-advised"}' \\
  http://localhost:8080/api/v1/sites/SITE/waterings`;

function OperationPart({ method, path, operation }: Placed) {
  const parameters = (operation.parameters ?? []) as Parameter[];
  const body = contentOf(operation.requestBody as OpenAPIV3_1.RequestBodyObject | undefined);
  const answers = Object.entries(operation.responses ?? {}).filter(([status]) => status.startsWith('2'));
  return (
    <article id={anchor(`${method} ${path}`)}>
      <h3>
        <span class="method">{method}</span> <code>{path}</code>
      </h3>
      <p>
        {operation.summary}. {inWords(operation.description)}{' '}
        {operation['x-role'] ? `Needs the role ${operation['x-role']}.` : 'Needs no token.'}
      </p>
      {parameters.length > 0 && (
        <Fields
          rows={parameters.map(({ name, in: place, required, schema, description }) => ({
            name: `${name} (${place === 'query' ? 'query' : place})`,
            schema: schema as Schema,
            required: required === true,
            description,
          }))}
        />
      )}
      {body && (
        <details>
          <summary>Body</summary>
          <SchemaPart schema={body} />
        </details>
      )}
      {answers.map(([status, answer]) => {
        const schema = contentOf(answer as OpenAPIV3_1.ResponseObject);
        return (
          <details key={status}>
            <summary>Answer {status}</summary>
            {schema ? <SchemaPart schema={schema} /> : <p>No content described.</p>}
          </details>
        );
      })}
    </article>
  );
}

function contentOf(
  part: { readonly content?: Record<string, OpenAPIV3_1.MediaTypeObject> } | undefined,
): Schema | undefined {
  const [first] = Object.values(part?.content ?? {});
  return first?.schema as Schema | undefined;
}

interface Row {
  readonly name: string;
  readonly schema: Schema;
  readonly required: boolean;
  readonly description: string | undefined;
}

function Fields({ rows }: { readonly rows: readonly Row[] }) {
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">Field</th>
          <th scope="col">Kind</th>
          <th scope="col">Meaning</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ name, schema, required, description }) => (
          <tr key={name}>
            <td>
              <code>{name}</code>
              {required ? '' : ' (may be left out)'}
            </td>
            <td>
              <Kind schema={schema} />
            </td>
            <td>
              {inWords(description ?? schema.description)} {bounds(schema)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function SchemaPart({ schema }: { readonly schema: Schema }) {
  const choices = (schema.anyOf ?? schema.oneOf) as Schema[] | undefined;
  if (choices?.some((choice) => choice.properties))
    return (
      <>
        <p>One of:</p>
        {choices.map((choice, index) => (
          <SchemaPart key={index} schema={choice} />
        ))}
      </>
    );
  if (!schema.properties)
    return (
      <p>
        <Kind schema={schema} />
      </p>
    );
  return (
    <Fields
      rows={Object.entries(schema.properties as Record<string, Schema>).map(([name, field]) => ({
        name,
        schema: field,
        required: schema.required?.includes(name) === true && field.default === undefined,
        description: field.description,
      }))}
    />
  );
}

/** A schema in a few words; forms with a name are linked. */
function Kind({ schema }: { readonly schema: Schema }) {
  if (schema.$ref) {
    const name = schema.$ref.split('/').at(-1) ?? '';
    return <a href={`#form-${name}`}>{name}</a>;
  }
  if (schema.const !== undefined) return <code>{JSON.stringify(schema.const)}</code>;
  if (schema.enum) return <>{schema.enum.map((word) => String(word)).join(' | ')}</>;
  const choices = (schema.anyOf ?? schema.oneOf) as Schema[] | undefined;
  if (choices)
    return (
      <>
        {choices.map((choice, index) => (
          <span key={index}>
            {index > 0 && ' or '}
            <Kind schema={choice} />
          </span>
        ))}
      </>
    );
  if (schema.type === 'array')
    return (
      <>
        list of <Kind schema={(schema.items ?? {}) as Schema} />
      </>
    );
  if (schema.properties) return <SchemaPart schema={schema} />;
  if (schema.type === undefined) return <>anything</>;
  return <>{[schema.type].flat().join(' or ')}</>;
}

function bounds({ minimum, maximum, maxLength, pattern, default: preset }: Schema): string {
  const safe = (bound: number | undefined): bound is number => bound !== undefined && Math.abs(bound) < 2 ** 53 - 1;
  const parts = [
    safe(minimum) && `from ${minimum}`,
    safe(maximum) && `to ${maximum}`,
    maxLength !== undefined && `at most ${maxLength} characters`,
    pattern !== undefined && `form ${pattern}`,
    preset !== undefined && `left out: ${JSON.stringify(preset)}`,
  ].filter((part) => part !== false);
  return parts.length > 0 ? `(${parts.join('; ')})` : '';
}
