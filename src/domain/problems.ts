import { closest, distance } from 'fastest-levenshtein';
import { z } from 'zod';
import type { Problem } from './errors.js';

/** How a path is written: `a.b[0]` in files, a JSON pointer `/a/b/0` in answers of the API. */
export type PathForm = (path: Path) => string;

const forms = new WeakMap<z.ZodType, JsonSchema>();
function formOf(schema: z.ZodType): JsonSchema {
  const known = forms.get(schema);
  if (known) return known;
  const form = z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) as JsonSchema;
  forms.set(schema, form);
  return form;
}

/** What zod found wrong, as problems a person can mend: every unknown key apart, with the nearest known one. */
export function schemaProblems(
  schema: z.ZodType,
  content: unknown,
  error: z.core.$ZodError,
  pathForm: PathForm = pathText,
): Problem[] {
  const form = formOf(schema);
  return error.issues.flatMap((issue) => problemsOf(issue, content, form, pathForm));
}

interface JsonSchema {
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly additionalProperties?: JsonSchema | boolean;
  readonly items?: JsonSchema;
  readonly anyOf?: readonly JsonSchema[];
  readonly oneOf?: readonly JsonSchema[];
  readonly allOf?: readonly JsonSchema[];
  readonly $ref?: string;
  readonly $defs?: Readonly<Record<string, JsonSchema>>;
}

export type Path = readonly PropertyKey[];

export const pathText = (path: Path): string =>
  path.reduce<string>(
    (text, key) => (typeof key === 'number' ? `${text}[${key}]` : text ? `${text}.${String(key)}` : String(key)),
    '',
  );

/** RFC 6901. */
export const pointerText = (path: Path): string =>
  path.map((key) => `/${String(key).replaceAll('~', '~0').replaceAll('/', '~1')}`).join('');

export const valueAt = (content: unknown, path: Path): unknown =>
  path.reduce<unknown>(
    (value, key) => (typeof value === 'object' && value !== null ? Reflect.get(value, key) : undefined),
    content,
  );

export function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 80 ? `${text.slice(0, 77)}...` : text;
}

/** `Did you mean x?` where one of the known words is near enough to be meant. */
export function didYouMean(word: string, known: readonly string[]): string | undefined {
  if (known.length === 0) return undefined;
  const nearest = closest(word.toLowerCase(), [...known]);
  const apart = distance(word.toLowerCase(), nearest.toLowerCase());
  return apart <= Math.max(2, Math.floor(nearest.length / 3)) ? `Did you mean ${nearest}?` : undefined;
}

function problemsOf(issue: z.core.$ZodIssue, content: unknown, form: JsonSchema, pathForm: PathForm): Problem[] {
  const path = pathForm(issue.path);
  const value = valueAt(content, issue.path);
  switch (issue.code) {
    case 'unrecognized_keys': {
      const known = knownKeys(form, issue.path, content);
      return issue.keys.map((key) => ({
        path: pathForm([...issue.path, key]),
        expected: known.length > 0 ? `one of ${known.join(', ')}` : 'no such key',
        got: `the unknown key ${key}`,
        mend: didYouMean(key, known) ?? 'Correct the spelling or take it out.',
      }));
    }
    case 'invalid_value': {
      const words = issue.values.map(String);
      const near = typeof value === 'string' ? didYouMean(value, words) : undefined;
      return [{ path, expected: `one of ${words.join(', ')}`, got: shown(value), ...(near && { mend: near }) }];
    }
    case 'invalid_union': {
      // The branch that went wrong latest is the one that was meant; a discriminated union names the word instead.
      const branches = issue.errors.filter((errors) => errors.length > 0);
      const depth = (errors: readonly z.core.$ZodIssue[]): number =>
        Math.max(...errors.map((error) => error.path.length));
      const meant = [...branches].sort((a, b) => depth(b) - depth(a) || a.length - b.length)[0];
      if (meant)
        return meant.flatMap((inner) =>
          problemsOf({ ...inner, path: [...issue.path, ...inner.path] } as z.core.$ZodIssue, content, form, pathForm),
        );
      const words = discriminatorWords(form, issue.path);
      const near = typeof value === 'string' ? didYouMean(value, words) : undefined;
      const expected = words.length > 0 ? `one of ${words.join(', ')}` : plain(issue.message);
      return [{ path, expected, got: shown(value), ...(near && { mend: near }) }];
    }
    case 'custom': {
      // Checks of ours say in their params what came and how to mend it, where the value alone does not tell.
      const { got, mend } = (issue.params ?? {}) as { got?: string; mend?: string };
      return [{ path, expected: plain(issue.message), got: got ?? shown(value), ...(mend && { mend }) }];
    }
    default:
      return [
        { path, expected: expectedText(issue), got: shown(value), ...(value === undefined && { mend: 'Add it.' }) },
      ];
  }
}

const plain = (message: string): string => message.replace(/^Invalid \w+: expected /, '').replace(/, received .*$/, '');

const counted = (count: number | bigint, one: string, many: string): string =>
  `${count} ${Number(count) === 1 ? one : many}`;

function expectedText(issue: z.core.$ZodIssue): string {
  if (issue.code === 'too_small' && issue.origin !== 'string')
    return issue.origin === 'array'
      ? `at least ${counted(issue.minimum, 'entry', 'entries')}`
      : `at least ${issue.minimum}`;
  if (issue.code === 'too_big' && issue.origin !== 'string')
    return issue.origin === 'array'
      ? `at most ${counted(issue.maximum, 'entry', 'entries')}`
      : `at most ${issue.maximum}`;
  if (issue.code === 'too_small') return `at least ${counted(issue.minimum, 'character', 'characters')}`;
  if (issue.code === 'too_big') return `at most ${counted(issue.maximum, 'character', 'characters')}`;
  return plain(issue.message);
}

/** All forms the value at `path` may take. */
function formsAt(form: JsonSchema, path: Path): JsonSchema[] {
  const open = (part: JsonSchema | undefined): JsonSchema[] => {
    if (!part) return [];
    const named = part.$ref?.startsWith('#/$defs/') ? form.$defs?.[part.$ref.slice('#/$defs/'.length)] : undefined;
    return [
      part,
      ...open(named),
      ...[part.anyOf, part.oneOf, part.allOf].flatMap((parts) => parts ?? []).flatMap(open),
    ];
  };
  return path.reduce<JsonSchema[]>(
    (forms, key) =>
      forms.flatMap((part) =>
        typeof key === 'number'
          ? open(part.items)
          : open(
              part.properties?.[String(key)] ??
                (typeof part.additionalProperties === 'object' ? part.additionalProperties : undefined),
            ),
      ),
    open(form),
  );
}

/** Keys that may stand at `path`; of a union only those of the branch the content chose by a fixed word. */
function knownKeys(form: JsonSchema, path: Path, content: unknown): string[] {
  const forms = formsAt(form, path).filter((part) => part.properties !== undefined);
  const here = valueAt(content, path);
  const agrees = ([key, part]: [string, JsonSchema]): boolean => {
    const constant = (part as { const?: unknown }).const;
    return constant === undefined || valueAt(here, [key]) === undefined || valueAt(here, [key]) === constant;
  };
  const chosen = forms.filter((part) => Object.entries(part.properties ?? {}).every(agrees));
  return [...new Set((chosen.length > 0 ? chosen : forms).flatMap((part) => Object.keys(part.properties ?? {})))];
}

/** The words that choose a branch of a union: the last key of `path` is the one that tells them apart. */
function discriminatorWords(form: JsonSchema, path: Path): string[] {
  const key = String(path.at(-1));
  const words = formsAt(form, path.slice(0, -1)).flatMap((part) => {
    const constant = (part.properties?.[key] as { const?: unknown } | undefined)?.const;
    return typeof constant === 'string' ? [constant] : [];
  });
  return [...new Set(words)];
}
