import { z } from 'zod';
import type { Problem } from '../../domain/errors.js';
import { didYouMean } from '../../domain/problems.js';

/** What several sections of the site file are held against. */

export const filePath = z.string().trim().min(1).max(4096);

/** Two entries with one id. */
export const usedOnce = (path: string, entries: readonly { readonly id: string }[], what: string): Problem[] =>
  sameTwice(
    path,
    'id',
    entries.map(({ id }) => id),
    `an id that no other ${what} has`,
    'Give one of them another id. Ids that already have a history should stay.',
  );

/** Two entries with one name. */
export const namedOnce = (path: string, entries: readonly { readonly name: string }[]): Problem[] =>
  sameTwice(
    path,
    'name',
    entries.map(({ name }) => name),
    'a name used once',
  );

function sameTwice(path: string, field: string, values: readonly string[], expected: string, mend?: string): Problem[] {
  return values.flatMap((value, index) => {
    const first = values.indexOf(value);
    if (first === index) return [];
    return [
      {
        path: `${path}[${index}].${field}`,
        expected,
        got: `${value}, as in ${path}[${first}]`,
        ...(mend !== undefined && { mend }),
      },
    ];
  });
}

export function unknownId(path: string, what: string, id: string, known: readonly string[]): Problem {
  return {
    path,
    expected: known.length > 0 ? `${what} (${known.join(', ')})` : `${what}, of which there is none`,
    got: id,
    mend: didYouMean(id, known) ?? 'Correct the id, or add what it names.',
  };
}
