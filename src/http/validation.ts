import type { FastifySchemaCompiler } from 'fastify';
import type { z } from 'zod';
import { pointerText, schemaProblems } from '../domain/problems.js';
import { invalidRequest, type RequestPart } from './problem.js';

/** Checks every part of a request against its zod schema; what is wrong points at the field. */
export const validatorCompiler: FastifySchemaCompiler<z.ZodType> =
  ({ schema, httpPart }) =>
  (content: unknown) => {
    const result = schema.safeParse(content);
    if (result.success) return { value: result.data };
    // A body that was not sent reaches us as null.
    const given = content ?? undefined;
    const problems = schemaProblems(schema, given, result.error, pointerText);
    return { error: invalidRequest(problems, (httpPart as RequestPart | undefined) ?? 'body') };
  };

/** Answers are typed where they are made and checked against their schemas by the tests, not once more at each answer. */
export const serializerCompiler = () => (content: unknown) => JSON.stringify(content);
