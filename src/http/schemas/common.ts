import { z } from 'zod';
import { idSchema } from '../../domain/site.js';
import { isLocalDay } from '../../domain/time.js';

/** Forms shared by many answers. Names given with `id` become the schemas of the OpenAPI document. */

export const instant = z.number().int().describe('Milliseconds UTC since 1970.');
export const localDay = z
  .string()
  .refine(isLocalDay, 'a date such as 2026-10-25')
  .describe('A calendar day of the site, e.g. 2026-10-25.');
export const writtenInstant = z
  .union([z.number().int(), z.string().min(1).max(40)])
  .describe(
    'An instant: a date-time such as 2026-10-25T07:30 (on the wall clock of the site) or 2026-10-25T06:30:00Z, or milliseconds UTC.',
  );

export const siteParams = z.strictObject({ siteId: idSchema.describe('Id of the site.') });

export const pageOfSchema = <T extends z.ZodType>(item: T) =>
  z.object({
    items: z.array(item),
    next: z.string().nullable().describe('Address of the next page; null on the last.'),
  });

export const seenSchema = <T extends z.ZodType>(value: T) =>
  z
    .object({ value, at: instant, by: z.string(), entryId: z.number().int() })
    .describe('Something seen: what, when, by whom, and the journal entry that says so.');

const fieldErrorSchema = z
  .object({
    pointer: z.string().optional().describe('JSON pointer into the body, as a URI fragment.'),
    parameter: z.string().optional().describe('Name in the path or the query.'),
    header: z.string().optional(),
    expected: z.string(),
    got: z.string(),
    detail: z.string(),
  })
  .meta({ id: 'FieldError' });

export const problemSchema = z
  .object({
    type: z.string(),
    title: z.string(),
    status: z.number().int(),
    detail: z.string(),
    instance: z.string(),
    requestId: z.string(),
    errors: z.array(fieldErrorSchema).optional(),
  })
  .meta({ id: 'Problem', description: 'What went wrong, after RFC 9457.' });

const problem = (description: string) => ({
  description,
  content: { 'application/problem+json': { schema: problemSchema } },
});

/** The answers of a read. Typed as unknown because they are sent as bytes; the tests hold them against the schema. */
export const reads = (answer: z.ZodType): unknown => ({
  200: { description: 'What was asked for.', content: { 'application/json': { schema: answer } } },
  '4xx': problem('The request was refused; the problem says why.'),
});
/** The answers of a write. */
export const writes = (answer: z.ZodType): unknown => ({
  201: { description: 'What was entered.', content: { 'application/json': { schema: answer } } },
  '4xx': problem('Nothing was entered; the problem says why.'),
});

/** Headers of a write. The presence of the key is checked before everything else, with a problem of its own. */
export const writeHeaders = z.looseObject({
  'idempotency-key': z
    .string()
    .describe('A new random value for each new write; the same value when the write is repeated.'),
});
