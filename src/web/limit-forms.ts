import { z } from 'zod';
import { LeafturnError } from '../domain/errors.js';
import type { LimitScope, SettingsChange, SetValue } from '../domain/house-settings.js';
import { defined } from '../domain/optional.js';
import { TASK_KINDS } from '../domain/tasks.js';
import { changeSchema } from '../http/schemas/limits.js';
import type { LimitDeclaration } from '../rules/schema.js';
import { formKey, many, optional } from './forms.js';

const word = z.string().trim().min(1).max(60);
const number = optional(z.coerce.number('a number'));
const why = z
  .string()
  .trim()
  .min(1, 'the reason for the change, for whoever reads it later')
  .max(500, 'at most 500 letters');
const expected = z.coerce.number().int().min(0);

/** For which plants something is shown or set. */
export const scopeSchema = z.object({
  group: optional(word),
  phase: optional(word),
  drink: optional(word),
});

/** What is typed in on the page of one limit; which fields are filled depends on its kind. */
export const limitFormSchema = scopeSchema.extend({
  act: z.enum(['set', 'unset']).default('set'),
  limit: optional(word),
  alert: optional(word),
  unasked: optional(z.literal('yes')),
  word: optional(word),
  number,
  low: number,
  high: number,
  /** Kinds of task that shall be shown. */
  tasks: optional(z.literal('yes')),
  shown: many(z.enum(TASK_KINDS)),
  why,
});
export type LimitForm = z.infer<typeof limitFormSchema>;

/** What was seen on the preview, sent once more to be set. */
export const confirmFormSchema = z.object({
  key: formKey,
  change: z
    .string()
    .max(50_000)
    .transform((text, context): unknown => {
      try {
        return JSON.parse(text);
      } catch {
        context.addIssue({ code: 'custom', message: 'what was shown on the page before; open it again' });
        return z.NEVER;
      }
    })
    .pipe(changeSchema)
    .transform((change) => change as SettingsChange),
  why,
  expected,
});

export const backFormSchema = z.object({ key: formKey, expected, to: optional(z.coerce.number().int().min(0)) });

/**
 * The change a form asks for.
 * @throws LeafturnError `invalid-input` where no value was filled in
 */
export function changeOf(form: LimitForm, limits: ReadonlyMap<string, LimitDeclaration>): SettingsChange {
  if (form.tasks) return { tasksOff: TASK_KINDS.filter((kind) => !form.shown.includes(kind)) };
  if (form.alert !== undefined)
    return { alertLimits: { [form.alert]: form.act === 'unset' ? null : filled(form.number, 'number') } };
  const scope = scopeOf(form);
  if (form.act === 'unset') return { unset: [scope] };
  const kind = limits.get(scope.name)?.kind ?? 'number';
  return { limits: [{ ...scope, value: form.unasked ? null : valueIn(form, kind) }] };
}

const scopeOf = ({ limit = '', group, phase, drink }: LimitForm): LimitScope =>
  ({ name: limit, ...defined({ group, phase, drink }) }) as LimitScope;

function valueIn(form: LimitForm, kind: LimitDeclaration['kind']): SetValue {
  switch (kind) {
    case 'number':
      return filled(form.number, 'number');
    case 'word':
      return filled(form.word, 'value');
    case 'flag':
      return filled(form.word, 'value') === 'yes';
    case 'band':
      return [filled(form.low, 'low'), filled(form.high, 'high')];
    case 'season':
      return [[filled(form.low, 'from'), filled(form.high, 'to')]];
  }
}

function filled<T>(value: T | undefined, path: string): T {
  if (value !== undefined) return value;
  throw new LeafturnError('invalid-input', 'No value was filled in.', [
    { path, expected: 'a value', got: 'nothing', mend: 'Fill it in, or take your own value out.' },
  ]);
}
