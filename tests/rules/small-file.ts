import { problemLine } from '../../src/domain/errors.js';
import type { Condition, Effect, LimitDeclaration, Row, RulebookFile, Step } from '../../src/rules/schema.js';
import { STEPS } from '../../src/rules/schema.js';
import { ENGINE_LIMITS, vocabularyProblems } from '../../src/rules/vocabulary.js';

/*
 * Rulebook files made by hand. Nothing is read here, so that what cannot be read fails a test and not all of them.
 */

export const rowOf = (id: string, effect: Effect, ...when: Condition[]): Row => ({
  id,
  when,
  effect,
  because: `Because of ${id}.`,
  source: 'practice',
});

/** A limit of a rulebook file: a number of days from 0 to 10, but for what is given. */
export const limitOf = (name: string, more: Partial<LimitDeclaration> = {}): LimitDeclaration => ({
  name,
  label: `Label of ${name}`,
  section: 'all',
  kind: 'number',
  unit: 'days',
  whole: false,
  bounds: [0, 10],
  default: 5,
  reason: `Reason of ${name}.`,
  source: 'practice',
  set: [],
  ...more,
});

/**
 * The smallest rulebook file that reads well, with more limits and with other rows in some tables: the limits the
 * decision itself needs, and tables whose rows go by the sheath alone.
 */
export function smallFile(
  limits: readonly LimitDeclaration[] = [],
  tables: Partial<Record<Step, readonly Row[]>> = {},
): RulebookFile {
  const sheathed = rowOf('sheathed', { inspect: true }, { fact: 'sheathed', op: 'is', value: true });
  const bare = rowOf('bare', { inspect: true }, { fact: 'sheathed', op: 'is', value: false });
  return {
    format: 1,
    name: 'small',
    sources: { practice: 'common practice, no published source', starting: 'our starting value' },
    sections: { all: 'All limits', some: 'Some limits' },
    limits: [
      ...[...ENGINE_LIMITS].map(([name, more]) => limitOf(name, { ...more, default: more.kind === 'flag' ? true : 5 })),
      ...limits,
    ],
    tables: STEPS.map((id) => ({
      id,
      hit: id === 'stall' ? 'unique' : 'collect',
      about: `About ${id}.`,
      rows: [...(tables[id] ?? [sheathed, bare])],
    })),
  };
}

/** Rows of the first table that name limits, so that these do not count as unused. */
export const using = (...names: string[]): { safety: Row[] } => ({
  safety: [
    {
      ...rowOf('uses', { inspect: true }, { fact: 'sheathed', op: 'is', value: true }),
      because: `Uses ${names.map((name) => `{${name}}`).join(', ')}.`,
    },
  ],
});

/** What a file says of things that do not exist, one line each. */
export const wrongIn = (file: RulebookFile): string[] => vocabularyProblems(file).map(problemLine);
