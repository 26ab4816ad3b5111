import { readFileSync } from 'node:fs';
import { type Document, isNode, LineCounter, parseDocument } from 'yaml';
import { LeafturnError, type Problem } from '../../domain/errors.js';
import { pathText, shown } from '../../domain/problems.js';

/** A YAML file that was read, and the way from a path in its content to a line. */
export interface YamlFile {
  readonly file: string;
  readonly content: unknown;
  /** The same problem with file and line in front of its path. */
  readonly located: (problem: Problem) => Problem;
}

/** The inverse of `pathText`. */
const pathOf = (text: string): (string | number)[] =>
  [...text.matchAll(/\[(\d+)\]|([^.[\]]+)/g)].map(([, index, key]) =>
    index === undefined ? (key as string) : Number(index),
  );

/** No site file comes near this; a wrong path to a database or a log does. */
const LARGEST_FILE_BYTES = 8 * 1024 * 1024;

/**
 * Reads a YAML file.
 * @param label how to name the file to a person
 * @throws LeafturnError with every syntax error of the file
 */
export function readYamlFile(file: string, label: string): YamlFile {
  const text = readText(file, label);
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  const found = [...document.errors, ...document.warnings];
  if (found.length > 0) {
    throw new LeafturnError(
      'invalid-input',
      `${label} ${file} is not well-formed YAML.`,
      found.map((error) => ({
        path: `${file}:${lines.linePos(error.pos[0]).line}`,
        expected: 'well-formed YAML',
        got: error.message,
        mend: 'Check indentation (spaces, no tabs), quotes and colons around this line.',
      })),
    );
  }
  let content: unknown;
  try {
    content = document.toJS({ maxAliasCount: 100 });
  } catch (error) {
    throw new LeafturnError('invalid-input', `${label} ${file} cannot be used.`, [
      {
        path: file,
        expected: 'at most 100 uses of a YAML alias',
        got: error instanceof Error ? error.message : shown(error),
      },
    ]);
  }
  return { file, content, located: (problem) => locate(file, document, lines, problem) };
}

const READ_TROUBLE: Readonly<Record<string, string>> = {
  ENOENT: 'no such file',
  EACCES: 'no leave to read it',
  EISDIR: 'a folder',
  ERR_ENCODING_INVALID_ENCODED_DATA: 'bytes that are not text in UTF-8',
};

function readText(file: string, label: string): string {
  try {
    const bytes = readFileSync(file);
    if (bytes.length > LARGEST_FILE_BYTES)
      throw new LeafturnError('file-failed', `${label} ${file} is too large.`, [
        { path: file, expected: 'a text file of at most 8 MB', got: `${(bytes.length / 1_048_576).toFixed(1)} MB` },
      ]);
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    if (error instanceof LeafturnError) throw error;
    const code = (error as NodeJS.ErrnoException).code ?? '';
    const got = READ_TROUBLE[code] ?? String(error);
    throw new LeafturnError(
      'file-failed',
      `${label} ${file} cannot be read.`,
      [{ path: file, expected: 'a readable text file in UTF-8', got }],
      { cause: error },
    );
  }
}

function locate(file: string, document: Document, lines: LineCounter, problem: Problem): Problem {
  const path = pathOf(problem.path);
  // A key that is missing has no line of its own: its parent's is the place to add it.
  for (let length = path.length; length >= 0; length--) {
    const offset = offsetOf(document, path.slice(0, length));
    if (offset !== undefined)
      return { ...problem, path: `${file}:${lines.linePos(offset).line}: ${problem.path || '(top)'}` };
  }
  return { ...problem, path: `${file}: ${pathText(path)}` };
}

function offsetOf(document: Document, path: readonly (string | number)[]): number | undefined {
  if (path.length === 0) return document.contents?.range?.[0];
  const parent = path.length === 1 ? document.contents : document.getIn(path.slice(0, -1), true);
  const last = path.at(-1);
  // The line of a key is where the key stands, not where its value begins.
  const pairs = (parent as { items?: unknown[] } | null | undefined)?.items;
  if (typeof last === 'string' && Array.isArray(pairs)) {
    for (const pair of pairs) {
      const key = (pair as { key?: unknown }).key;
      if (isNode(key) && (key as { value?: unknown }).value === last) return key.range?.[0];
    }
    return undefined;
  }
  const node = document.getIn(path, true);
  return isNode(node) ? node.range?.[0] : undefined;
}
